"""What holds of every specimen, whatever it is: order, similarity, mirrors, nodes, monotony.

Laws, not values: dimensional analysis, Rayleigh's theorem, the oscillation theorem.
"""

from __future__ import annotations

import math
import os
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from any_specimens import KINDS, Parts, beams, built, grown, length_of, mirrored
from saltline.arrays import Values
from saltline.kinds import THEORIES
from saltline.modes import Modes
from saltline.motions import FAMILIES
from saltline.nodes import beam_pattern
from saltline.solver import find_modes
from saltline.specimen import Specimen

SETTLED = 3e-6
"""Two solutions of one problem differ by no more; each has settled to 1e-6."""

COUNT = 5


TIMES = int(os.environ.get("SALTLINE_EXAMPLES", "1"))
"""How many times as many examples are tried, by hand."""


def few(examples: int) -> settings:
    """So many examples, the same in every run."""
    return settings(
        max_examples=TIMES * examples, deadline=None, derandomize=True, database=None,
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )  # fmt: skip


def frequencies(specimen: Specimen, **asked: object) -> Values:
    """Of the lowest modes, rigid ones as zeros among them, Hz."""
    found = find_modes(specimen, count=COUNT, **asked)  # type: ignore[arg-type]
    return np.array([0.0] * found.rigid + [mode.frequency_hz for mode in found.modes])[:COUNT]


def are_close(found: Values, due: Values) -> bool:
    return found == pytest.approx(due, rel=SETTLED, abs=SETTLED * float(np.max(due)) * 1e-3)


def check_order(found: Modes) -> None:
    """Positive, finite, ascending, and numbered from one within each family."""
    hz = [mode.frequency_hz for mode in found.modes]
    assert all(math.isfinite(f) and f > 0.0 for f in hz)
    assert all(low <= high * (1.0 + 1e-9) for low, high in pairwise(hz))
    assert [mode.rank for mode in found.modes] == list(range(1, len(hz) + 1))
    for family in {mode.family for mode in found.modes}:
        orders = [mode.order for mode in found.modes if mode.family == family]
        assert orders == list(range(1, len(orders) + 1))
    assert not found.unsettled


@few(10)
@given(beams(), st.sampled_from(THEORIES))
def test_modes_of_any_beam_are_in_order_in_every_family(parts: Parts, theory: str) -> None:
    found = find_modes(built(parts), count=8, theory=theory, families=FAMILIES)
    check_order(found)
    assert len(found.modes) == 8
    for mode in found.modes:
        pattern = beam_pattern(mode.shape)  # type: ignore[arg-type]
        for places in (pattern.nodes, pattern.antinodes):
            assert all(0.0 <= x <= length_of(parts) * (1.0 + 1e-9) for x in places)
            assert list(places) == sorted(set(places))


@pytest.mark.parametrize("kind", ["plate", "disc"])
@few(4)
@given(st.data())
def test_modes_of_any_flat_specimen_are_in_order(kind: str, data: st.DataObject) -> None:
    check_order(find_modes(built(data.draw(KINDS[kind]())), count=COUNT))


@pytest.mark.parametrize(("kind", "theory"), [("beam", "timoshenko"), ("beam", "euler"),
                                              ("plate", None), ("disc", None)])  # fmt: skip
@few(3)
@given(st.data(), st.sampled_from((0.2, 2.0)), st.sampled_from((0.3, 4.0)))
def test_similar_specimens_differ_by_one_factor(
    kind: str, theory: str | None, data: st.DataObject, size: float, ratio: float
) -> None:
    """Frequency goes as sqrt(E / rho) / size where all else grows along (dimensional analysis)."""
    parts = data.draw(KINDS[kind]())
    known = frequencies(built(parts), theory=theory)
    larger = frequencies(built(parts, size=size), theory=theory)
    denser = frequencies(built(parts, density=ratio), theory=theory)
    stiffer = frequencies(built(parts, modulus=ratio), theory=theory)
    assert are_close(larger, known / size)
    assert are_close(denser, known / math.sqrt(ratio))
    assert are_close(stiffer, known * math.sqrt(ratio))


@few(8)
@given(beams(), st.sampled_from(THEORIES))
def test_a_beam_turned_end_for_end_has_the_same_modes_and_mirrored_nodes(
    parts: Parts, theory: str
) -> None:
    one, other = (find_modes(built(p), count=4, theory=theory) for p in (parts, mirrored(parts)))
    hz = [np.array([mode.frequency_hz for mode in found.modes]) for found in (one, other)]
    assert are_close(hz[1], hz[0])
    length = length_of(parts)
    for mode, image in zip(one.modes, other.modes, strict=True):
        if _is_alone(mode.rank, hz[0]):
            nodes, images = (beam_pattern(m.shape).nodes for m in (mode, image))  # type: ignore[arg-type]
            assert [length - x for x in reversed(images)] == pytest.approx(nodes, abs=1e-5 * length)


def _is_alone(rank: int, hz: Values) -> bool:
    """Whether no other mode is so near that rounding mixes the two."""
    gaps = np.abs(np.delete(hz, rank - 1) / hz[rank - 1] - 1.0)
    return bool(np.min(gaps) > 0.01)


@few(10)
@given(beams(masses_alone=True))
def test_each_mode_of_a_beam_held_at_its_ends_has_one_node_more(parts: Parts) -> None:
    """Of all its motions, rigid ones included, the n-th changes sign n - 1 times between the ends.

    The oscillation theorem of Gantmacher and Krein (from memory), for a beam by Euler and Bernoulli
    with any section along it and masses at points.
    """
    found = find_modes(built(parts), count=4, theory="euler")
    counts = [len(beam_pattern(mode.shape).nodes) for mode in found.modes]  # type: ignore[arg-type]
    assert counts == [found.rigid + mode.order - 1 for mode in found.modes]


@few(8)
@given(beams().filter(lambda parts: bool(parts["attached"])))
def test_more_mass_never_raises_a_frequency(parts: Parts) -> None:
    heavy = dict(parts["attached"][0])
    heavy["mass"] = grown(heavy["mass"].value * 2.5, "kg")
    more = parts | {"attached": [heavy, *parts["attached"][1:]]}
    light, loaded = frequencies(built(parts)), frequencies(built(more))
    assert np.all(loaded <= light * (1.0 + SETTLED))


@pytest.mark.parametrize("kind", KINDS)
@few(4)
@given(st.data())
def test_a_firmer_hold_never_lowers_a_frequency(kind: str, data: st.DataObject) -> None:
    parts = data.draw(KINDS[kind]())
    edge = data.draw(st.sampled_from(sorted(parts["boundary"])))
    firmer = parts | {"boundary": parts["boundary"] | {edge: "clamped"}}
    assert np.all(frequencies(built(firmer)) >= frequencies(built(parts)) * (1.0 - SETTLED))
