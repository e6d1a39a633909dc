"""What the common factor of a list is said to mean: held against specimens that are just so."""

import re

import pytest

from saltline.measured_list import Measured
from saltline.naming.check import check
from saltline.show.scale_words import scale_words
from saltline.solver import find_modes
from specimens import beam

COUNT = 4


def words(true, described):
    """What is said of the description where the frequencies are those of the true specimen."""
    rows = [
        Measured(mode.frequency_hz, {"nodes": mode.order - 1})
        for mode in find_modes(true, count=COUNT, theory="euler").modes
    ]
    found = check(described, rows, count=COUNT, theory="euler")
    return scale_words(described, found)


def percent(text: str, what: str) -> float:
    (found,) = re.findall(rf"{what} (?:were )?([+-][0-9.]+) %", text)
    return float(found)


@pytest.mark.parametrize("longer", [0.8, 0.95, 1.05, 1.13])
def test_a_reed_that_is_longer_is_said_to_be_so_much_longer(longer):
    text = words(beam(length=longer), beam())
    assert percent(text, "the free length") == pytest.approx(100.0 * (longer - 1.0), abs=0.06)
    assert percent(text, "the modulus") == pytest.approx(100.0 * (longer**-4 - 1.0), abs=0.06)
    assert ("a clamp that gives acts like a longer one" in text) == (longer > 1.0)
