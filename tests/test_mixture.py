"""What a drive makes of a pair: against symmetry, closed forms and a forced response."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest
import scipy.sparse
import scipy.sparse.linalg
from skfem import Basis, BilinearForm, ElementTriArgyris, MeshTri
from skfem.helpers import dd, ddot, trace

from outside import record
from saltline.arrays import Values
from saltline.files.specimen_file import read_specimen
from saltline.forced.drive import NOT_EXCITED, excitation
from saltline.mixed_shape import MixedShape
from saltline.mixture import as_driven
from saltline.modes import Modes
from saltline.nodes import PlatePattern, pattern_of
from saltline.solver import find_modes
from saltline.specimen import Specimen

SIDE = 0.24
SHEET = """
kind: plate
material: {{youngs_modulus: 69 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}}
geometry: {{length: 240 mm, width: 240 mm, thickness: 2 mm}}
boundary: {{left: {edge}, right: {edge}, bottom: {edge}, top: {edge}}}
{drive}
"""
LOSS = 1e-3
"""The loss factor of the forced plates: a thousandth of what is seen is not the pair's."""

PLACES = np.linspace(0.0, SIDE, 25)


def sheet(edge: str = "free", drive: str = "") -> Specimen:
    return read_specimen(SHEET.format(edge=edge, drive=drive))


def at(x: float, y: float) -> str:
    return f"drive: {{through: point, at: [{x!r} m, {y!r} m]}}"


@cache
def modes_of(edge: str, drive: str = "", count: int = 8) -> Modes:
    return find_modes(sheet(edge, drive), count=count)


def grid(modes: Modes, rank: int) -> Values:
    shape = modes.modes[rank - 1].shape
    return np.asarray(shape.at(PLACES, PLACES))  # type: ignore[call-arg, arg-type]


# -- a plate driven by finite elements ------------------------------------------------------------


@cache
def elements() -> tuple[Basis, Values, Values]:
    """Argyris elements of the free sheet: basis, K and M in SI."""
    cells = np.linspace(0.0, SIDE, 7)
    basis = Basis(MeshTri.init_tensor(cells, cells), ElementTriArgyris(), intorder=8)
    D = 69e9 * 0.002**3 / 12.0 / 0.91
    K = BilinearForm(
        lambda u, v, _: 0.7 * ddot(dd(u), dd(v)) + 0.3 * trace(dd(u)) * trace(dd(v))
    ).assemble(basis)
    M = BilinearForm(lambda u, v, _: u * v).assemble(basis)
    return basis, D * K, 2700.0 * 0.002 * M


def forced(point: tuple[float, float], frequency_hz: float) -> Values:
    """The deflection a quarter of a period after a unit force, on the grid of PLACES.

    (K (1 + i eta) - omega^2 M) u = f, with f of a force at a point; what resonates lags by 90 deg.
    """
    basis, K, M = elements()
    omega = 2.0 * math.pi * frequency_hz
    f = basis.probes(np.array(point)[:, None]).toarray()[0]
    A = (K * (1.0 + 1j * LOSS) - omega**2 * M).tocsc()
    u = scipy.sparse.linalg.spsolve(A, f.astype(complex))
    X, Y = np.meshgrid(PLACES, PLACES, indexing="ij")
    return np.asarray((basis.probes(np.vstack([X.ravel(), Y.ravel()])) @ u.imag).reshape(X.shape))


def likeness(one: Values, other: Values) -> float:
    """The cosine between two figures, without its sign."""
    return abs(float(np.sum(one * other))) / float(np.linalg.norm(one) * np.linalg.norm(other))


POINTS = [(0.03, 0.05), (0.01, 0.12), (0.07, 0.17), (0.23, 0.01), (0.1, 0.1)]


@pytest.mark.parametrize("point", POINTS)
@pytest.mark.parametrize("rank", [4, 6])
def test_the_excited_mixture_is_what_a_forced_plate_shows(
    point: tuple[float, float], rank: int
) -> None:
    driven = as_driven(modes_of("free", at(*point)))
    one, other = driven.modes[rank - 1 : rank + 1]
    assert one.frequency_hz == pytest.approx(other.frequency_hz, rel=1e-9)
    seen = forced(point, one.frequency_hz)
    record(
        "what a point drive makes of a free square's pairs (angle, rad)",
        "forced response of Argyris elements (scikit-fem)",
        math.acos(min(likeness(seen, grid(driven, rank)), 1.0)),
        2e-3,
    )
    assert likeness(seen, grid(driven, rank + 1)) < 2e-3


@pytest.mark.parametrize("point", POINTS)
def test_the_other_mixture_is_not_excited_and_has_a_node_where_the_force_acts(
    point: tuple[float, float],
) -> None:
    driven = as_driven(modes_of("free", at(*point)))
    shares = excitation(driven)
    assert shares is not None
    for rank in (4, 6):
        assert shares[rank - 1] > NOT_EXCITED
        assert shares[rank] < 1e-9
        pattern = pattern_of(driven.modes[rank].shape)
        assert isinstance(pattern, PlatePattern)
        steps = [line.evenly(20001) for line in pattern.net.lines]
        nearest = min(float(np.hypot(*(line - point).T).min()) for line in steps)
        assert nearest < 1e-4 * SIDE


def test_a_force_in_the_centre_moves_neither_of_a_pair() -> None:
    """Turned by half a turn both change their sign, and the force does not."""
    driven = as_driven(modes_of("free", at(SIDE / 2, SIDE / 2)))
    shares = excitation(driven)
    assert shares is not None
    for rank in (4, 5, 6, 7):
        w = grid(driven, rank)
        assert np.abs(w + w[::-1, ::-1]).max() < 1e-6 * np.abs(w).max()
        assert shares[rank - 1] < NOT_EXCITED
        np.testing.assert_array_equal(w, grid(modes_of("free"), rank))
    # The forced plate at the pair's frequency: even about the centre, nothing of the pair in it.
    seen = forced((SIDE / 2, SIDE / 2), driven.modes[3].frequency_hz)
    assert np.abs(seen - seen[::-1, ::-1]).max() < 1e-4 * np.abs(seen).max()


@pytest.mark.parametrize(("point", "mirror"), [((0.05, 0.05), 1.0), ((0.05, 0.19), -1.0)])
def test_a_force_on_a_diagonal_excites_what_is_even_about_it(
    point: tuple[float, float], mirror: float
) -> None:
    driven = as_driven(modes_of("free", at(*point)))
    for rank in (4, 6):
        for number, sign in ((rank, 1.0), (rank + 1, -1.0)):
            w = grid(driven, number)
            swapped = w.T if mirror > 0.0 else w[::-1, ::-1].T
            assert np.abs(w - sign * swapped).max() < 1e-6 * np.abs(w).max()


def test_a_force_on_a_middle_line_excites_one_of_the_listed_figures() -> None:
    driven = as_driven(modes_of("free", at(0.01, SIDE / 2)))
    plain = modes_of("free")
    for rank in (4, 6):
        alike = [likeness(grid(driven, rank), grid(plain, r)) for r in (rank, rank + 1)]
        assert sorted(alike) == pytest.approx([0.0, 1.0], abs=1e-9)


# -- through the boundary -------------------------------------------------------------------------


def test_a_shaken_pinned_square_shows_a_ring_and_not_the_diagonals() -> None:
    """Of sin 3x sin y and sin x sin 3y the sum moves mass, the difference none.

    The sum's node line is sin^2 x + sin^2 y = 3/2, the difference's are the diagonals (textbook).
    """
    driven = as_driven(modes_of("pinned", "drive: {through: boundary}"))
    x = math.pi * PLACES / SIDE
    three_one, one_three = np.outer(np.sin(3 * x), np.sin(x)), np.outer(np.sin(x), np.sin(3 * x))
    assert likeness(grid(driven, 5), three_one + one_three) == pytest.approx(1.0, abs=1e-9)
    assert likeness(grid(driven, 6), three_one - one_three) == pytest.approx(1.0, abs=1e-9)
    ring, diagonals = (pattern_of(mode.shape) for mode in driven.modes[4:6])
    assert isinstance(ring, PlatePattern)
    assert isinstance(diagonals, PlatePattern)
    assert (ring.word, diagonals.word) == ("ring", "X")
    x, y = math.pi * ring.net.lines[0].points.T / SIDE
    assert np.abs(np.sin(x) ** 2 + np.sin(y) ** 2 - 1.5).max() < 1e-7
    shares = excitation(driven)
    assert shares is not None
    assert shares[5] < 1e-9


# -- what stays -----------------------------------------------------------------------------------


def test_without_a_drive_nothing_is_turned() -> None:
    plain = modes_of("free")
    assert as_driven(plain) is plain


def test_modes_of_frequencies_of_their_own_are_left_as_they_are() -> None:
    driven = as_driven(modes_of("free", at(0.03, 0.05)))
    for rank in (1, 2, 3, 8):
        assert not isinstance(driven.modes[rank - 1].shape, MixedShape)


def test_the_mixtures_carry_unit_mass_and_keep_their_ranks() -> None:
    point = (0.03, 0.05)
    driven = as_driven(modes_of("free", at(*point)))
    xi, weights = np.polynomial.legendre.leggauss(40)
    places = (xi + 1.0) * SIDE / 2.0
    W = np.array([mode.shape.at(places, places) for mode in driven.modes[3:7]])  # type: ignore[call-arg, arg-type]
    M = 2700.0 * 0.002 * SIDE**2 / 4.0 * np.einsum("aij,bij,i,j->ab", W, W, weights, weights)
    np.testing.assert_allclose(M, np.eye(4), rtol=0, atol=1e-9)
    assert [mode.rank for mode in driven.modes] == list(range(1, 9))
