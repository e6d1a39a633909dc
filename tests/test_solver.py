"""The list of modes: ranks and orders, how many, what has settled, and what mass they carry."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.modes import SETTLED, Mode, Modes
from saltline.plates.cubature import Spot, rectangle_rule
from saltline.plates.plate_shape import PlateShape
from saltline.quantities_of import with_values
from saltline.solver import MOST_BELOW, find_modes
from saltline.specimen import Specimen
from specimens import UNIT, beam, euler, lambdas, mass, omegas, plate, ritz, worst

SPECIMENS = {
    "a beam": beam(attached=[mass(0.7, 0.3)]),
    "a square plate": plate("FFFF"),
    "a pinned square plate": plate("SSSS"),
    "an oblong plate": plate("CCSS", width=0.6),
}


def names(modes: Modes) -> list[tuple[int, str, int]]:
    return [(m.rank, m.family, m.order) for m in modes.modes]


# -- the list -------------------------------------------------------------------------------------


@pytest.mark.parametrize("specimen", SPECIMENS.values(), ids=SPECIMENS)
@pytest.mark.parametrize("count", [1, 2, 13])
def test_so_many_modes_come_by_frequency_with_ranks_and_orders_from_one(
    specimen: Specimen, count: int
) -> None:
    found = find_modes(specimen, count=count)
    family = "flatwise" if specimen.kind == "beam" else "plate"
    assert names(found) == [(k, family, k) for k in range(1, count + 1)]
    assert all(a.frequency_hz <= b.frequency_hz * (1.0 + 1e-9) for a, b in pairwise(found.modes))
    assert found.specimen is specimen


@pytest.mark.parametrize("specimen", SPECIMENS.values(), ids=SPECIMENS)
def test_a_longer_list_begins_with_the_shorter_one(specimen: Specimen) -> None:
    assert worst(lambdas(specimen, 25)[:7], lambdas(specimen, 7)) < SETTLED


@pytest.mark.parametrize("specimen", SPECIMENS.values(), ids=SPECIMENS)
def test_below_a_frequency_are_all_the_modes_up_to_it_and_no_others(specimen: Specimen) -> None:
    many = find_modes(specimen, count=40)
    # 12 modes are tried first: fewer, as many, and more than are found at once.
    for number in (1, 12, 13, 30):
        limit = many.modes[number - 1].frequency_hz * 1.000001
        wanted = [m for m in many.modes if m.frequency_hz <= limit]
        found = find_modes(specimen, below_hz=limit)
        assert names(found) == names(dataclasses.replace(many, modes=tuple(wanted)))
        assert worst(omegas(found), omegas(many)[: len(wanted)]) < SETTLED
    assert find_modes(specimen, below_hz=many.modes[0].frequency_hz * 0.999).modes == ()


def test_some_modes_beyond_the_frequency_come_where_they_are_asked_for() -> None:
    many = find_modes(beam(), count=20)
    for number in (3, 11, 12):
        limit = many.modes[number - 1].frequency_hz * 1.000001
        found = find_modes(beam(), below_hz=limit, beyond=2)
        assert len(found.modes) == number + 2
        assert worst(omegas(found), omegas(many)[: number + 2]) < SETTLED


def test_a_limit_that_is_a_slip_brings_no_more_modes_than_make_a_list() -> None:
    found = find_modes(beam(), below_hz=1e300, theory="euler")
    assert len(found.modes) == MOST_BELOW
    # Clamped and free, (n - 1/2) pi is the root of the frequency equation to rounding from n = 20.
    roots = (np.arange(20, MOST_BELOW + 1) - 0.5) * math.pi
    assert worst(omegas(found)[19:], roots**2) < SETTLED


def test_each_kind_of_specimen_has_its_theory() -> None:
    assert find_modes(beam(), count=1).theory == "timoshenko"
    assert find_modes(beam(), count=1, theory="euler").theory == "euler"
    assert find_modes(plate("CFFF"), count=1).theory == "kirchhoff"


# -- equal frequencies ----------------------------------------------------------------------------


SIZES = (1.0, 0.3, 0.7, 1.1, 3.3)
"""Lengths of other floats: the plate is the same but for rounding."""


@pytest.mark.parametrize("edges", ["FFFF", "SSSS", "CCCC"])
def test_pairs_of_a_square_plate_come_in_the_same_order_however_rounding_falls(edges: str) -> None:
    def parities(size: float) -> list[bool]:
        found = []
        for mode in modes_of_size(edges, size):
            here, mirrored = values(mode, [(0.23 * size, 0.31 * size), (0.77 * size, 0.31 * size)])
            found.append(bool(here * mirrored > 0.0))
        return found

    first = parities(1.0)
    for size in SIZES:
        assert parities(size) == first


def test_the_shapes_of_a_pair_of_one_symmetry_class_do_not_depend_on_rounding() -> None:
    # Modes 5 and 6 of the pinned square are (3, 1) and (1, 3), both even about both middle lines.
    points = [(0.1, 0.2), (0.3, 0.35), (0.45, 0.2), (0.6, 0.9)]

    def shapes(size: float) -> Values:
        found = []
        for mode in modes_of_size("SSSS", size)[4:6]:
            w = values(mode, [(x * size, y * size) for x, y in points])
            found.append(w * np.sign(w[0]) / np.linalg.norm(w))
        return np.array(found)

    for size in SIZES:
        np.testing.assert_allclose(shapes(size), shapes(1.0), rtol=0, atol=1e-6)


def modes_of_size(edges: str, size: float) -> tuple[Mode, ...]:
    specimen = with_values(plate(edges), {"geometry.length": size, "geometry.width": size})
    return find_modes(specimen, count=8).modes


def values(mode: Mode, points: list[tuple[float, float]]) -> Values:
    assert isinstance(mode.shape, PlateShape)
    x, y = np.array(points).T
    return mode.shape.at_points(x, y)


# -- settling -------------------------------------------------------------------------------------


def test_a_settled_mode_says_how_little_it_moved_and_moves_no_more() -> None:
    found = find_modes(beam("free-free"), count=10, theory="euler")
    assert found.unsettled == ()
    assert all(0.0 <= m.change <= SETTLED for m in found.modes)


def test_what_the_last_rise_of_the_degree_still_moved_is_called_unsettled(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    specimen = plate("CFFF")
    coarse, fine = (ritz(specimen, 6, refinement=r) for r in (0, 1))
    moved = coarse / fine - 1.0
    middle = float(np.median(moved))
    monkeypatch.setattr("saltline.solver.REFINEMENTS", 1)
    monkeypatch.setattr("saltline.modes.SETTLED", middle)
    found = find_modes(specimen, count=6)
    np.testing.assert_allclose([m.change for m in found.modes], moved, atol=1e-12)
    late = [rank for rank, change in enumerate(moved, start=1) if change > middle]
    assert [m.rank for m in found.unsettled] == late
    assert 0 < len(late) < 6


# -- mass -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
def test_beam_shapes_carry_unit_mass_and_are_orthogonal_in_it(theory: str) -> None:
    ratio, at = 0.4, 0.7
    slenderness = 10.0
    specimen = beam(slenderness=slenderness, attached=[mass(at, ratio)])
    xi, w = leggauss(60)
    pieces = [(0.0, at), (at, 1.0)]
    x = np.concatenate([a + (b - a) * (xi + 1.0) / 2.0 for a, b in pieces])
    weights = np.concatenate([(b - a) / 2.0 * w for a, b in pieces])
    shapes, turns = [], []
    for mode in find_modes(specimen, count=6, theory=theory).modes:
        assert isinstance(mode.shape, BeamShape)
        shapes.append(np.concatenate([mode.shape.at(x), mode.shape.at(np.array([at]))]))
        turns.append(mode.shape.line.rows("psi", x) @ mode.shape.q)
    W, psi = np.array(shapes), np.array(turns)
    M = UNIT * (W * np.concatenate([weights, [ratio]])) @ W.T
    if theory == "timoshenko":
        M += UNIT / (12.0 * slenderness**2) * (psi * weights) @ psi.T
    np.testing.assert_allclose(M, np.eye(6), rtol=0, atol=1e-11)


def test_plate_shapes_carry_unit_mass_and_are_orthogonal_in_it() -> None:
    at, ratio = (0.3, 0.45), 0.2
    specimen = plate("SSSS", width=0.9, attached=[mass(at, ratio)])
    rule = rectangle_rule(([0.0, 1.0], [0.0, 0.9]), ([30], [30]), [Spot(*at)])
    places = np.append(rule.x, at[0]), np.append(rule.y, at[1])
    shapes = []
    for mode in find_modes(specimen, count=5).modes:
        assert isinstance(mode.shape, PlateShape)
        shapes.append(mode.shape.at_points(*places))
    W = np.array(shapes)
    M = UNIT * (W * np.append(rule.weights, ratio)) @ W.T
    np.testing.assert_allclose(M, np.eye(5), rtol=0, atol=1e-9)


def test_modes_of_a_beam_are_the_same_whichever_number_is_asked_for() -> None:
    one = [euler(beam(), count)[0] for count in (1, 3, 10, 100)]
    assert max(one) / min(one) - 1.0 < 1e-9
    first: Mode = find_modes(beam(), count=1, theory="euler").modes[0]
    assert 2.0 * math.pi * first.frequency_hz == pytest.approx(one[0], rel=1e-12)
