"""Nodes and antinodes of beams: exact places, and how many there are."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outside import record
from saltline.nodes import BeamPattern, pattern_of
from saltline.solver import find_modes
from saltline.specimen import Specimen
from specimens import (
    CLASSIC_ENDS,
    beam,
    grouped,
    mass,
    plate,
    section,
    spring,
    support,
    tapered_beam,
)

MODES = 20
PLACES = {
    "nodes": grouped("beam_nodes.csv", "ends", "mode"),
    "antinodes": grouped("beam_antinodes.csv", "ends", "mode"),
}

ROUNDING = 1e-10
"""Of the length; the worst measured of nodes is 1e-13, of antinodes 2e-13."""


def patterns(specimen: Specimen, count: int, *, theory: str = "euler") -> list[BeamPattern]:
    found = []
    for mode in find_modes(specimen, count=count, theory=theory).modes:
        pattern = pattern_of(mode.shape)
        assert isinstance(pattern, BeamPattern)
        found.append(pattern)
    return found


def distance(found: Sequence[float], true: Sequence[float]) -> float:
    """The largest distance of two lists of places, infinite where their numbers differ."""
    if len(found) != len(true):
        return math.inf
    return float(np.max(np.abs(np.subtract(found, true)), initial=0.0))


# -- places ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("what", ["nodes", "antinodes"])
@pytest.mark.parametrize("ends", CLASSIC_ENDS)
def test_places_of_twenty_modes_match_shapes_recomputed_with_mpmath(ends: str, what: str) -> None:
    table = PLACES[what]
    error = max(
        distance(
            getattr(pattern, what),
            [float(row["x_over_l"]) for row in table.get((ends, str(order)), [])],
        )
        for order, pattern in enumerate(patterns(beam(ends), MODES), start=1)
    )
    record(
        f"beam, {what} of modes 1 to {MODES}, of the length",
        "exact shapes, mpmath",
        error,
        ROUNDING,
    )


def test_nodes_of_a_very_high_mode_lie_where_the_sine_has_its_zeros() -> None:
    highest = find_modes(beam("pinned-pinned"), count=100, theory="euler").modes[-1]
    found = pattern_of(highest.shape)
    assert isinstance(found, BeamPattern)
    # A millionth of the distance between two; rounding leaves 4e-10 of the length at mode 150.
    assert distance(found.nodes, np.arange(1, 100) / 100.0) < 1e-8
    assert distance(found.antinodes, (np.arange(100) + 0.5) / 100.0) < 1e-8


def test_places_scale_with_the_length() -> None:
    for short, long in zip(patterns(beam(), 5), patterns(beam(length=40.0), 5), strict=True):
        assert distance(np.multiply(short.nodes, 40.0), long.nodes) < 40.0 * ROUNDING
        assert distance(np.multiply(short.antinodes, 40.0), long.antinodes) < 40.0 * ROUNDING


def test_nodes_by_timoshenko_tend_to_those_by_euler_as_the_square_of_the_thickness() -> None:
    simple = patterns(beam("free-free"), 3)[2]
    off = [
        distance(
            patterns(beam("free-free", slenderness=s), 3, theory="timoshenko")[2].nodes,
            simple.nodes,
        )
        for s in (50.0, 100.0, 200.0)
    ]
    assert off[0] / off[1] == pytest.approx(4.0, rel=0.05)
    assert off[1] / off[2] == pytest.approx(4.0, rel=0.02)


# -- counts ---------------------------------------------------------------------------------------

NODES_OF_FIRST = {
    "clamped-clamped": 0, "clamped-pinned": 0, "clamped-guided": 0, "clamped-free": 0,
    "pinned-pinned": 0, "pinned-guided": 0, "pinned-free": 1, "guided-guided": 1,
    "guided-free": 1, "free-free": 2,
}  # fmt: skip
"""Nodes of the first elastic mode: as many as there are rigid modes below it."""


@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
@pytest.mark.parametrize("ends", CLASSIC_ENDS)
def test_each_mode_has_one_node_more_than_the_one_before(ends: str, theory: str) -> None:
    first = NODES_OF_FIRST[ends]
    found = patterns(beam(ends), 15, theory=theory)
    assert [p.counts for p in found] == [{"nodes": first + k} for k in range(15)]


@settings(max_examples=12, deadline=None, derandomize=True)
@given(
    st.sampled_from(CLASSIC_ENDS),
    st.lists(st.tuples(st.floats(0.05, 20.0), st.floats(0.05, 20.0)), min_size=2, max_size=4),
)
def test_no_step_of_section_changes_the_count_of_nodes(
    ends: str, pieces: list[tuple[float, float]]
) -> None:
    # The kernel of a beam is totally positive, uniform or not (Gantmacher and Krein).
    share = 1.0 / len(pieces)
    segments = [(share, section(stiffness=e, mass=m)) for e, m in pieces]
    found = patterns(beam(ends, segments=segments), 6)
    assert [len(p.nodes) for p in found] == [NODES_OF_FIRST[ends] + k for k in range(6)]


@pytest.mark.parametrize("shape", ["wedge", "cone"])
@pytest.mark.parametrize("tip", [0.5, 0.1, 1e-3])
def test_no_taper_changes_the_count_of_nodes(shape: str, tip: float) -> None:
    assert [len(p.nodes) for p in patterns(tapered_beam(shape, tip), 8)] == list(range(8))


@pytest.mark.parametrize("at", [0.2, 0.5, 0.83])
def test_a_mass_however_heavy_changes_no_count_of_nodes(at: float) -> None:
    for ratio in (0.1, 10.0, 1e3):
        found = patterns(beam(attached=[mass(at, ratio)]), 6)
        assert [len(p.nodes) for p in found] == list(range(6))


def test_a_rigid_hold_is_no_node_and_a_spring_may_be_near_one() -> None:
    held = patterns(beam("pinned-pinned", supports=[support(0.5)]), 4)
    # Two equal spans: out of phase, in phase, and so on; the support itself is not counted.
    assert [len(p.nodes) for p in held] == [0, 0, 2, 2]
    assert distance(held[2].nodes, [0.25, 0.75]) < ROUNDING
    # A very stiff spring moves a little: what was the support is now seen as a node.
    sprung = patterns(beam("pinned-pinned", supports=[support(0.5, 1e6)]), 4)
    assert [len(p.nodes) for p in sprung] == [1, 0, 3, 2]
    assert 0.5 in [pytest.approx(x, abs=ROUNDING) for x in sprung[0].nodes]


def test_a_stiff_elastic_end_has_the_nodes_of_a_rigid_one() -> None:
    sprung, rigid = patterns(beam((spring(1e7), "free")), 5), patterns(beam("pinned-free"), 5)
    for one, other in zip(sprung, rigid, strict=True):
        assert distance(one.nodes, other.nodes) < 1e-3


# -- antinodes ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ends", "at_start", "at_end"),
    [
        ("clamped-free", False, True),
        ("free-free", True, True),
        ("guided-pinned", True, False),
        ("guided-guided", True, True),
        ("clamped-clamped", False, False),
    ],
)
def test_an_end_that_moves_most_is_an_antinode(ends: str, at_start: bool, at_end: bool) -> None:
    for pattern in patterns(beam(ends), 6):
        assert (pattern.antinodes[0] == 0.0) is at_start
        assert (pattern.antinodes[-1] == 1.0) is at_end


@pytest.mark.parametrize("ends", CLASSIC_ENDS)
def test_just_one_antinode_lies_between_neighbouring_nodes_and_holds(ends: str) -> None:
    for pattern in patterns(beam(ends), 12):
        walls = np.concatenate([[-1e-9], pattern.nodes, [1.0 + 1e-9]])
        counts, _ = np.histogram(pattern.antinodes, walls)
        assert set(counts) == {1}


def test_an_antinode_moves_more_than_the_places_beside_it() -> None:
    mode = find_modes(beam(segments=[(0.4, section()), (0.6, section(stiffness=0.2))]), count=5)
    for m in mode.modes:
        pattern = pattern_of(m.shape)
        assert isinstance(pattern, BeamPattern)
        for x in pattern.antinodes:
            near = np.clip(np.array([x - 1e-3, x, x + 1e-3]), 0.0, 1.0)
            before, here, after = np.abs(m.shape.at(near))
            assert here >= max(before, after)


def test_a_clamped_square_shows_its_x_and_its_ring() -> None:
    # Modes 5 and 6 are (3,1) - (1,3) and (3,1) + (1,3): published many times, from memory.
    found = find_modes(plate("CCCC"), count=6).modes
    assert [pattern_of(mode.shape).word for mode in found[4:]] == ["X", "ring"]
