"""Hum and harmonics in a list."""

import pytest

from saltline.files.measured import Measured
from saltline.naming.suspects import suspicions


def words(*hz):
    return [(s.hum, s.harmonic) for s in suspicions([Measured(f) for f in hz])]


@pytest.mark.parametrize(
    ("hz", "said"),
    [
        (50.0, "the mains frequency of 50 Hz"),
        (59.9, "the mains frequency of 60 Hz"),
        (100.1, "2 times the mains frequency of 50 Hz"),
        (180.0, "3 times the mains frequency of 60 Hz"),
        (300.0, "6 times the mains frequency of 50 Hz"),
        (50.5, ""),
        (25.0, ""),
        (700.0, ""),
    ],
)
def test_multiples_of_the_mains_are_named(hz, said):
    ((hum, _),) = words(hz)
    assert hum.startswith(said) if said else hum == ""


def test_two_and_three_times_another_line_and_parts_of_it_are_named():
    base, twice, thrice = words(131.0, 262.3, 392.0)
    assert twice[1].startswith("2 times row 1 (131 Hz)")
    assert thrice[1].startswith("3 times row 1 (131 Hz)")
    assert base[1].startswith("half of row 2 (262.3 Hz)")


def test_lines_that_only_come_near_are_left_alone():
    assert words(131.0, 265.0, 400.0) == [("", ""), ("", ""), ("", "")]


def test_a_suspect_is_more_likely_no_mode():
    plain, hum = suspicions([Measured(77.0), Measured(50.0)])
    assert plain.odds == 1.0
    assert hum.odds > 1.0
