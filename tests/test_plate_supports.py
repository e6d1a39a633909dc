"""Plates on points, on rigid patches and along lines: against finite elements and exact limits."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest
import scipy.sparse
import scipy.sparse.linalg
from skfem import Basis, BilinearForm, ElementTriArgyris, MeshTri
from skfem.helpers import dd, ddot, trace

from outside import record
from saltline.arrays import Values
from saltline.files.document import InputError
from saltline.files.specimen_file import read_specimen
from saltline.nodes import PlatePattern, pattern_of
from saltline.plates.cubature import Spot, rectangle_rule
from saltline.plates.plate_shape import PlateShape
from saltline.plates.plate_singular import singular_functions
from saltline.plates.potentials import Source, roots
from saltline.plates.singular import Singular, make_blend
from saltline.plates.sources import edge_source, line_end_source, patch_source, point_source
from saltline.plates.stiffness import plate_stiffness
from saltline.quantities_of import quantities, with_values
from saltline.solver import find_modes
from saltline.spread import bands
from specimens import Part, lambdas, mass, plate, ritz, support, worst

SETTLED = 2e-6
POINT = 3e-7
ROUNDING = 1e-9
UNIT = 1000.0
"""D in N m and rho h in kg/m2 of the unit plate."""

ORTHOTROPIC = (0.1, 0.03, 0.05)
STRETCHED = (0.1, 0.03, math.sqrt(0.1) / 2.0 - 0.015)
"""H^2 = Dx Dy: an isotropic plate stretched one way, where both roots are one."""


def stud(
    at: tuple[float, float],
    diameter: float,
    deflection: float | str = "rigid",
    rotation: float | str = "rigid",
) -> Part:
    """A rigid patch, its stiffnesses words or in the unit plate's D / a^2 and D."""
    return {
        "at": [f"{v!r} m" for v in at],
        "diameter": f"{diameter!r} m",
        "deflection": _or_word(deflection, "N/m"),
        "rotation": _or_word(rotation, "N m/rad"),
    }


def line(
    start: tuple[float, float],
    end: tuple[float, float],
    deflection: float | str = "rigid",
    rotation: float | str = "free",
) -> Part:
    """A support along a line, its stiffnesses words or in the unit plate's D / a^3 and D / a."""
    return {
        "from": [f"{v!r} m" for v in start],
        "to": [f"{v!r} m" for v in end],
        "deflection": _or_word(deflection, "N/m/m"),
        "rotation": _or_word(rotation, "N m/rad/m"),
    }


def _or_word(value: float | str, unit: str) -> str:
    return value if isinstance(value, str) else f"{value * UNIT!r} {unit}"


# -- singular functions ---------------------------------------------------------------------------

MATERIALS = {
    "isotropic": (1.0, 1.0, 1.0),
    "orthotropic": (1.0, 0.13, 0.1),
    "stiff in twist": (1.0, 0.9, 0.1),
    "stretched": (1.0, math.sqrt(0.1), 0.1),
}
AT = (0.1, 0.2)


def sources(material: str) -> dict[str, Source]:
    mu = roots(*MATERIALS[material])
    return {
        "point": point_source(AT, 1.0, mu),
        "left edge": edge_source(AT, 1.0, mu, 1.0 + 0j),
        "top edge": edge_source(AT, 1.0, mu, -1j),
        "image": edge_source(AT, 1.0, mu, 1j, is_image=True),
        "patch": patch_source(AT, 0.05, mu, 4),
        "line": line_end_source(AT, 1.0, mu, 1.0 + 0j, holds=(True, False)),
    }


@pytest.mark.parametrize("material", MATERIALS)
def test_singular_functions_solve_the_equation_of_the_plate(material: str) -> None:
    Dx, H, Dy = MATERIALS[material]
    # On the side of every cut and edge on which the functions are meant.
    x, y = np.array([0.37, 0.25, 0.55]), np.array([0.11, 0.17, 0.02])
    for name, source in sources(material).items():
        if name == "image":
            y = 0.4 - y
        w4, w22, w04 = source.jets(x, y, [(4, 0), (2, 2), (0, 4)])
        scale = np.abs(w4) + np.abs(w22) + np.abs(w04) + 1e-12
        assert np.all(np.abs(Dx * w4 + 2.0 * H * w22 + Dy * w04) < 1e-9 * scale.max()), name


@pytest.mark.parametrize("material", MATERIALS)
def test_derivatives_of_singular_functions_are_those_of_their_values(material: str) -> None:
    x, y, h = np.array([0.37, 0.25, 0.55]), np.array([0.11, 0.17, 0.02]), 1e-5
    for name, source in sources(material).items():
        for a, b in ((0, 0), (1, 0), (1, 1), (0, 2), (2, 0)):
            along, across = source.jets(x, y, [(a + 1, b), (a, b + 1)])
            for exact, dx, dy in ((along, h, 0.0), (across, 0.0, h)):
                up, down = (source.jets(x + s * dx, y + s * dy, [(a, b)])[0] for s in (1, -1))
                assert np.abs(exact - (up - down) / (2.0 * h)).max() < 1e-6 * (
                    np.abs(exact).max() + np.abs(up).max()
                ), (name, a, b)


@pytest.mark.parametrize("material", MATERIALS)
def test_functions_of_a_point_and_of_a_patch_close_on_going_round(material: str) -> None:
    for name in ("point", "patch"):
        above, below = (
            sources(material)[name].jets(
                np.array([-0.3]), np.array([AT[1] + side * 1e-12]), [(0, 0), (0, 1), (1, 1)]
            )
            for side in (1.0, -1.0)
        )
        for one, other in zip(above, below, strict=True):
            assert np.abs(one - other).max() < 1e-7 * np.abs(above).max(), name


@pytest.mark.parametrize("edges", [[(0, 0), (0, 1), (1, 0)], [(0, 1), (1, 1)], [(0, 0)], []])
def test_held_edges_are_at_rest(edges: list[tuple[int, int]]) -> None:
    blends = (make_blend(1.0, edges), make_blend(0.8, [(0, 0), (0, 1), (1, 0), (1, 1)]))
    singular = Singular((sources("isotropic")["patch"],), blends, (0, 0))
    t = np.linspace(0.0, 1.0, 11)
    for end, order in edges:
        (w,) = singular.jets(np.full(11, float(end)), 0.8 * t, [(order, 0)])
        assert np.abs(w).max() < 1e-9 * np.abs(singular.jets(t, 0.3 * t + 0.3, [(0, 0)])[0]).max()
    for end, order in ((0.0, 0), (0.0, 1), (0.8, 0), (0.8, 1)):
        (w,) = singular.jets(t, np.full(11, end), [(0, order)])
        assert np.abs(w).max() < 1e-9 * np.abs(singular.jets(t, 0.3 * t + 0.3, [(0, 0)])[0]).max()


def test_integrals_of_singular_functions_are_exact() -> None:
    # In closed form: over each of two triangles the integral along the rays is elementary.
    rule = rectangle_rule(([0.0, 1.0], [0.0, 1.0]), ([20], [20]), [Spot(0.0, 0.0)])
    r = np.hypot(rule.x, rule.y)
    exact = (math.log(2.0) - 3.0 + math.pi / 2.0) / 2.0
    assert rule.weights @ np.log(r) == pytest.approx(exact, abs=1e-12)
    assert rule.weights @ (1.0 / r) == pytest.approx(
        2.0 * math.log(1.0 + math.sqrt(2.0)), abs=1e-12
    )
    rule = rectangle_rule(([0.0, 1.0], [0.0, 1.0]), ([20], [20]), [Spot(0.4, 0.5, 0.1)])
    assert np.sum(rule.weights) == pytest.approx(1.0 - math.pi * 0.01, abs=1e-13)
    many = [Spot(x, y, 0.02) for x, y in product((0.2, 0.8), repeat=2)] + [Spot(0.21, 0.25)]
    rule = rectangle_rule(([0.0, 0.1, 1.0], [0.0, 1.0]), ([9, 20], [20]), many)
    assert np.sum(rule.weights) == pytest.approx(1.0 - 4.0 * math.pi * 0.0004, abs=1e-13)


# -- points ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("parities", list(product((1, -1), repeat=2)))
def test_a_function_that_is_its_own_mirror_image_is_what_its_images_add_up_to(
    parities: tuple[int, int],
) -> None:
    specimen = plate("FFFF", supports=[stud((0.5, 0.5), 0.1)])
    found = singular_functions(specimen, plate_stiffness(specimen), (True, True))
    assert found is not None
    assert all(own is not None for source in found.sources for own in source.own)
    known = replace(found, parities=parities)
    summed = replace(
        known, sources=tuple(replace(source, own=(None, None)) for source in known.sources)
    )
    x, y = np.random.default_rng(3).uniform(0.0, 1.0, (2, 20))
    orders = [(0, 0), (1, 0), (0, 2), (1, 1)]
    c = np.random.default_rng(4).normal(size=found.size)
    for one, four, mixed, mixed_four in zip(
        known.jets(x, y, orders),
        summed.jets(x, y, orders),
        known.combined(c).jets(x, y, orders),
        summed.combined(c).jets(x, y, orders),
        strict=True,
    ):
        scale = np.abs(four).max()
        assert np.abs(4.0 * one - four).max() < 1e-9 * scale
        assert np.abs(4.0 * mixed - mixed_four).max() < 1e-9 * scale


def test_each_function_about_the_middle_belongs_to_motions_of_one_kind() -> None:
    specimen = plate("FFFF", supports=[stud((0.5, 0.5), 0.1)])
    found = singular_functions(specimen, plate_stiffness(specimen), (True, True))
    assert found is not None
    x, y = np.random.default_rng(3).uniform(0.0, 1.0, (2, 20))
    orders = [(0, 0), (0, 1)]
    images = found.images(x, y, orders)
    counts = np.zeros(found.size)
    for parities in product((1, -1), (1, -1)):
        here, theirs, taken = found.of_parities(parities, images)
        counts += taken
        assert 0 < here.size == np.count_nonzero(taken)
        all_of_them = replace(found, parities=parities).jets(x, y, orders)
        for some, read, every in zip(
            here.jets(x, y, orders), here.mirrored(theirs, orders), all_of_them, strict=True
        ):
            np.testing.assert_array_equal(some, read)
            np.testing.assert_allclose(read, every[:, taken], rtol=1e-12)
            assert not np.any(every[:, ~taken])
    assert np.all(counts == 1)


def test_four_corner_points() -> None:
    corners = [support(at) for at in product((0.0, 1.0), repeat=2)]
    found = lambdas(plate("FFFF", supports=corners), 6)
    assert (
        worst(found, np.array([7.11088, 15.77024, 15.77024, 19.59614, 38.43154, 44.36961])) < 1e-6
    )


def receptance(at: tuple[float, float], width: float, many: int = 400) -> tuple[Values, Values]:
    """omega^2 and mass-normalised shape^2 at a place of the modes of a pinned plate."""
    m, n = np.arange(1, many)[:, None], np.arange(1, many)[None, :]
    shape = (
        2.0 / math.sqrt(width) * np.sin(m * math.pi * at[0]) * np.sin(n * math.pi * at[1] / width)
    )
    omega2 = (math.pi**2 * (m**2 + (n / width) ** 2)) ** 2
    return omega2.ravel(), (shape**2).ravel()


PLACES = [(0.3, 0.45), (0.5, 0.4), (0.04, 0.3), (0.05, 0.06)]


def assert_receptance(
    found: Values, at: tuple[float, float], stiffness: Callable[[float], float]
) -> None:
    """Modes of the pinned 1 x 0.8 plate with something at a place: 1/stiffness + receptance = 0."""
    omega2, shape2 = receptance(at, 0.8)
    # Beyond a quarter circle of wave numbers the series is its integral, 1/(4 pi k^2).
    shell = (math.pi * 390.0) ** 2
    inside = omega2 < shell**2

    def equation(lam: float) -> float:
        series = float(np.sum(shape2[inside] / (omega2[inside] - lam**2)))
        return series + 1.0 / (4.0 * math.pi * shell) + 1.0 / stiffness(lam)

    spared = [bool(np.min(np.abs(np.sqrt(omega2) / lam - 1.0)) < 1e-8) for lam in found]
    assert sum(spared) < 5
    for lam, is_spared in zip(found, spared, strict=True):
        low, high = lam * (1.0 - POINT), lam * (1.0 + POINT)
        error = POINT if is_spared or equation(low) * equation(high) < 0.0 else math.inf
        record("pinned plate with a point, modes 1 to 6", "receptance series", error, POINT)


@pytest.mark.parametrize(
    ("stiffness", "at"),
    [*(("rigid", at) for at in PLACES), *((30.0, at) for at in PLACES[::2])],
)
def test_a_point_on_a_pinned_plate_solves_the_receptance_equation(
    stiffness: float | str, at: tuple[float, float]
) -> None:
    found = lambdas(plate("SSSS", width=0.8, supports=[support(at, stiffness)]), 6)
    k = math.inf if isinstance(stiffness, str) else stiffness
    assert_receptance(found, at, lambda lam: k)


@pytest.mark.parametrize(
    ("ratio", "at"),
    [
        *((10.0, at) for at in PLACES),
        *((1.0, at) for at in PLACES[1::2]),
        *((0.1, at) for at in PLACES[::2]),
    ],
)
def test_a_mass_on_a_pinned_plate_solves_the_receptance_equation(
    ratio: float, at: tuple[float, float]
) -> None:
    found = lambdas(plate("SSSS", width=0.8, attached=[mass(at, ratio)]), 6)
    assert_receptance(found, at, lambda lam: -ratio * lam**2)


@pytest.mark.parametrize(
    ("edges", "ratios", "at"),
    [
        ("FFFF", None, (0.5, 0.5)),
        ("FFFF", None, (0.03, 0.5)),
        ("FFFF", None, (0.03, 0.04)),
        ("FFFF", None, (0.0, 0.4)),
        ("CCCC", None, (0.03, 0.5)),
        ("CSSC", None, (0.05, 0.06)),
        ("GSFF", None, (0.04, 0.6)),
        ("FFFF", ORTHOTROPIC, (0.5, 0.5)),
        ("FFFF", ORTHOTROPIC, (0.4, 0.03)),
        ("FFFF", STRETCHED, (0.3, 0.5)),
        ("SFFF", ORTHOTROPIC, (0.3, 1.0)),
    ],
)
def test_a_plate_on_a_point_settles_at_once(
    edges: str, ratios: tuple[float, float, float] | None, at: tuple[float, float]
) -> None:
    specimen = plate(edges, ratios=ratios, supports=[support(at)])
    coarse, fine = (ritz(specimen, 6, refinement=r) for r in (0, 1))
    # Other corners of clamped edges with free ones are not here: nothing else is slow.
    assert worst(coarse, fine) < 3e-6
    assert np.all(fine < coarse * (1.0 + ROUNDING))


def test_two_ways_to_split_a_plate_on_points_agree() -> None:
    at = [(0.2, 0.2), (0.8, 0.2), (0.2, 0.6), (0.8, 0.6)]
    grain = [mass((0.31, 0.27), 1e-12)]
    split = plate("FFFF", width=0.8, supports=[support(p, 300.0) for p in at])
    whole = plate("FFFF", width=0.8, supports=[support(p, 300.0) for p in at], attached=grain)
    assert worst(ritz(split, 8, refinement=1), ritz(whole, 8, refinement=1)) < 1e-8


# -- patches, by finite elements ------------------------------------------------------------------


def hub_mesh(radius: float, rings: int, around: int) -> MeshTri:
    """The unit square about the origin less a circle, 8 * around cells round it.

    The polygon that stands for the circle is as far out in the mean.
    """
    n = 8 * around
    half = math.pi / n
    radius *= half / (math.cos(half) * math.log(1.0 / math.cos(half) + math.tan(half)))
    theta = 2.0 * math.pi * np.arange(n) / n
    circle = np.column_stack([np.cos(theta), np.sin(theta)])
    square = 0.5 * circle / np.abs(circle).max(axis=1)[:, None]
    reach = np.linalg.norm(square, axis=1)[:, None]
    points = np.vstack(
        [radius * (reach / radius) ** s * circle for s in np.linspace(0, 1, rings + 1)]
    )
    cells = []
    for i, j in product(range(rings), range(n)):
        a, b = i * n + j, i * n + (j + 1) % n
        cells += [[a, b, b + n], [a, b + n, a + n]]
    return MeshTri(points.T.copy(), np.array(cells).T.copy())


Pair = tuple[float, float]


def hub_lambdas(
    radius: float, count: int, springs: Pair | None = None, thing: Pair = (0.0, 0.0)
) -> Values:
    """lambda of a free square plate on a patch in its middle, by Argyris elements.

    springs: the patch's stiffness against deflection and tilt (D = 1); None where it is rigid.
    thing:   mass and rotary inertia of what stands on the patch (rho h = 1).
    What is off falls as the cube of the cells' size (2, 3, 4 and 6 were tried): extrapolated.
    """
    coarse, fine = (_hub_lambdas(radius, count, springs, thing, around) for around in (2, 4))
    return fine + (fine - coarse) / 7.0


Matrix = scipy.sparse.spmatrix


@cache
def hub_matrices(radius: float, around: int) -> tuple[Matrix, Matrix, Values, Values]:
    """K and M of the plate about the hole (D = 1, rho h = 1), the degrees of freedom at its rim,
    and what these are in the patch's motions 1, x and y."""
    mesh = hub_mesh(radius, 2 * around, around)
    basis = Basis(mesh, ElementTriArgyris(), intorder=8)
    K = BilinearForm(
        lambda u, v, _: 0.7 * ddot(dd(u), dd(v)) + 0.3 * trace(dd(u)) * trace(dd(v))
    ).assemble(basis)
    M = BilinearForm(lambda u, v, _: u * v).assemble(basis)
    facets = mesh.facets_satisfying(lambda x: np.hypot(*x) < 1.1 * radius, boundaries_only=True)
    held = basis.get_dofs(facets).all(["u", "u_x", "u_y", "u_n"])
    motions = (lambda x: 1.0 + 0.0 * x[0], lambda x: x[0], lambda x: x[1])
    return K, M, held, np.column_stack([basis.project(motion)[held] for motion in motions])


def _hub_lambdas(
    radius: float, count: int, springs: Pair | None, thing: Pair, around: int
) -> Values:
    K, M, held, motions = hub_matrices(radius, around)
    free = np.setdiff1d(np.arange(K.shape[0]), held)
    lift = scipy.sparse.eye(K.shape[0], format="csc")[:, free]
    extra = np.zeros((2, 3))
    if springs is not None:
        moves = np.zeros((K.shape[0], 3))  # A, B and C of the rigid patch
        moves[held] = motions
        lift = scipy.sparse.hstack([lift, scipy.sparse.csc_matrix(moves)], format="csc")
        area = math.pi * radius**2
        extra[0] = springs[0], springs[1], springs[1]
        extra[1] = np.array([area, *[area * radius**2 / 4.0] * 2])
        extra[1] += thing[0], thing[1], thing[1]
    K, M = (lift.T @ matrix @ lift for matrix in (K, M))
    if springs is not None:
        pad = K.shape[0] - 3
        diagonals = [np.concatenate([np.zeros(pad), row]) for row in extra]
        K, M = K + scipy.sparse.diags(diagonals[0]), M + scipy.sparse.diags(diagonals[1])
    values = scipy.sparse.linalg.eigsh(
        K.tocsc(), count, M.tocsc(), sigma=1.0, v0=np.ones(K.shape[0]), return_eigenvectors=False
    )
    return np.asarray(np.sqrt(np.sort(values)))


CENTRE = (0.5, 0.5)


@pytest.mark.parametrize("diameter", [0.05, 0.2])
def test_a_plate_bolted_in_its_middle_matches_finite_elements(diameter: float) -> None:
    found = lambdas(plate("FFFF", supports=[stud(CENTRE, diameter)]), 8)
    error = worst(found, hub_lambdas(diameter / 2.0, 8))
    record("free plate on a rigid patch, modes 1 to 8", "Argyris finite elements", error, 5e-4)


@pytest.mark.parametrize(
    ("springs", "thing"),
    [((40.0, 0.8), (0.0, 0.0)), ((3.0, 20.0), (0.3, 0.004))],
)
def test_a_plate_on_an_elastic_patch_matches_finite_elements(springs: Pair, thing: Pair) -> None:
    loaded = [mass(CENTRE, thing[0], inertia=thing[1])] if thing[0] else []
    found = lambdas(plate("FFFF", supports=[stud(CENTRE, 0.1, *springs)], attached=loaded), 8)
    error = worst(found, hub_lambdas(0.05, 8, springs, thing))
    record("free plate on an elastic patch, modes 1 to 8", "Argyris finite elements", error, 5e-4)


def test_a_thing_on_a_foot_is_the_same_thing_on_a_loose_stud() -> None:
    at, load = (0.3, 0.4), {"ratio": 0.2, "inertia": 0.003}
    alone = plate("CFFF", attached=[mass(at, **load, foot=0.1)])
    loose = plate("CFFF", supports=[stud(at, 0.1, 1e-7, 1e-7)], attached=[mass(at, **load)])
    assert worst(ritz(alone, 6, refinement=0), ritz(loose, 6, refinement=0)) < 1e-6


def test_things_beside_the_middle_of_a_stud_swing_with_it() -> None:
    """Four masses m round the middle at a distance d are one of 4 m with inertia 2 m d^2."""
    held, d = [stud(CENTRE, 0.1, 50.0, 2.0)], 0.03
    round_it = [(0.5 + d, 0.5), (0.5 - d, 0.5), (0.5, 0.5 + d), (0.5, 0.5 - d)]
    four = plate("FFFF", supports=held, attached=[mass(at, 0.05) for at in round_it])
    one = plate("FFFF", supports=held, attached=[mass(CENTRE, 0.2, inertia=0.1 * d**2)])
    assert worst(ritz(four, 8, refinement=0), ritz(one, 8, refinement=0)) < ROUNDING


# -- patches, by what must hold -------------------------------------------------------------------


@pytest.mark.parametrize("aside", [0.0, 1e-5, 2e-5, 3e-5])
def test_a_plate_on_four_studs_settles_wherever_they_stand(aside: float) -> None:
    """Rows of their rims that say almost the same had held modes by what rounding left of them."""
    places = product((1 / 6 + aside, 5 / 6 - aside), (2 / 15, 8 / 15))
    studs = [stud(at, 1 / 15) for at in places]
    modes = find_modes(plate("FFFF", width=2 / 3, supports=studs), count=10).modes
    assert max(mode.change for mode in modes) < 2e-7


def test_the_rocking_modes_of_a_square_plate_bolted_in_its_middle_are_a_pair() -> None:
    found = lambdas(plate("FFFF", supports=[stud(CENTRE, 0.05)]), 8)
    assert abs(found[1] / found[0] - 1.0) < ROUNDING
    assert abs(found[6] / found[5] - 1.0) < ROUNDING
    assert found[2] > 1.1 * found[1]


@pytest.mark.parametrize(
    ("edges", "ratios", "at", "diameter"),
    [
        ("FFFF", None, CENTRE, 0.05),
        ("FFFF", None, CENTRE, 0.4),
        ("SCSC", None, (0.3, 0.4), 0.1),
        ("FFFF", ORTHOTROPIC, CENTRE, 0.05),
        ("FFFF", ORTHOTROPIC, (0.3, 0.4), 0.15),
        ("SFFF", STRETCHED, (0.6, 0.5), 0.05),
        ("FFFF", None, (0.15, 0.5), 0.1),
    ],
)
def test_a_plate_on_a_patch_settles_at_once(
    edges: str,
    ratios: tuple[float, float, float] | None,
    at: tuple[float, float],
    diameter: float,
) -> None:
    specimen = plate(edges, ratios=ratios, supports=[stud(at, diameter)])
    assert worst(ritz(specimen, 6, refinement=0), ritz(specimen, 6, refinement=1)) < 8e-6


def test_a_nearly_isotropic_plate_on_a_patch_is_nearly_an_isotropic_one() -> None:
    one, other = (
        lambdas(plate("FFFF", ratios=ratios, supports=[stud(CENTRE, 0.05)]), 6)
        for ratios in (None, (1.0, 0.3, 0.3501))
    )
    assert worst(one, other) < 2e-4


def test_stiffer_springs_lead_from_a_loose_patch_to_a_held_one() -> None:
    def found(k: float) -> Values:
        springs = [stud((0.4, 0.5), 0.1, k, 0.1 * k)]
        return ritz(plate("FFFF", width=0.8, supports=springs), 6, refinement=0)

    run = np.array([found(10.0**n) for n in range(-2, 9)])
    assert np.all(np.diff(run, axis=0) > -ROUNDING * run[1:])  # Rayleigh: all in one basis
    held = lambdas(plate("FFFF", width=0.8, supports=[stud((0.4, 0.5), 0.1)]), 6)
    assert worst(run[-1], held) < 2e-5


@pytest.mark.parametrize(
    ("held", "rigid"),
    [
        (stud((0.4, 0.5), 0.1), 0),
        (stud((0.4, 0.5), 0.1, "rigid", 3.0), 0),
        (stud((0.4, 0.5), 0.1, "free", 3.0), 1),
        (stud((0.4, 0.5), 0.1, "free"), 1),
        (line((0.2, 0.3), (0.2, 0.7)), 1),
        (line((0.2, 0.3), (0.2, 0.7), "free", "rigid"), 2),
        (line((0.2, 0.3), (0.2, 0.7), 3.0, 2.0), 0),
    ],
)
def test_rigid_motions_are_counted(held: Part, rigid: int) -> None:
    assert find_modes(plate("FFFF", supports=[held]), count=2).rigid == rigid


def test_a_patch_moves_as_a_rigid_body_and_the_plate_goes_with_it() -> None:
    modes = find_modes(plate("FFFF", supports=[stud((0.4, 0.5), 0.1, 40.0, 0.8)]), count=6).modes
    theta = np.linspace(0.0, 2.0 * math.pi, 37)
    for mode in modes:
        shape = mode.shape
        assert isinstance(shape, PlateShape)
        ((patch, (A, B, C)),) = shape.patches
        inside, outside = (
            shape.at_points(0.4 + r * np.cos(theta), 0.5 + r * np.sin(theta))
            for r in (0.05 * (1.0 - 1e-9), 0.05 * (1.0 + 1e-9))
        )
        scale = np.abs(shape.at(np.linspace(0, 1, 21), np.linspace(0, 1, 21))).max()
        assert patch.radius == 0.05
        assert (
            np.abs(inside - A - 0.05 * (B * np.cos(theta) + C * np.sin(theta))).max() < 1e-8 * scale
        )
        assert np.abs(inside - outside).max() < 1e-6 * scale


def test_shapes_with_singular_parts_know_their_derivatives() -> None:
    specimen = plate("SCFF", supports=[support((0.6, 0.55))])
    shape = find_modes(specimen, count=3).modes[2].shape
    assert isinstance(shape, PlateShape)
    x, y, h = np.array([0.2, 0.63, 0.9]), np.array([0.3, 0.5, 0.8]), 1e-5
    for a, b in ((0, 0), (1, 0), (0, 1)):
        slopes = shape.jet(x, y, [(a + 1, b), (a, b + 1)])
        for slope, dx, dy in zip(slopes, (h, 0.0), (0.0, h), strict=True):
            up, down = (shape.at_points(x + s * dx, y + s * dy, a, b) for s in (1, -1))
            assert np.abs(slope - (up - down) / (2.0 * h)).max() < 1e-5 * np.abs(slope).max()
    assert np.allclose(np.diag(shape.at(x, y)), shape.at_points(x, y), rtol=1e-12)
    assert abs(shape.at_points(np.array([0.6]), np.array([0.55]))[0]) < 1e-9


# -- node lines -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("held", "words"),
    [
        (support(CENTRE), ["0,0", "1,1", "X", "2,1", "1,2", "4 arcs"]),
        (stud(CENTRE, 0.05), ["0,1", "1,0", "0,0", "1,1", "X", "2,1", "1,2", "4 arcs"]),
        (stud(CENTRE, 0.1, 300.0, 3.0), ["0,1", "1,0", "0,0", "1,1"]),
    ],
)
def test_node_lines_go_straight_over_what_holds_the_middle(held: Part, words: list[str]) -> None:
    modes = find_modes(plate("FFFF", supports=[held]), count=len(words)).modes
    seen = []
    for mode in modes:
        pattern = pattern_of(mode.shape)
        assert isinstance(pattern, PlatePattern)
        seen.append(pattern.word or f"{pattern.lines_x},{pattern.lines_y}")
    # The two of a pair have one frequency and no order of their own.
    assert sorted(seen) == sorted(words)


# -- lines ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("rotation", "edges"), [("free", "SFFF"), ("rigid", "CFFF")])
def test_a_line_along_a_whole_edge_is_that_edge_held(rotation: str, edges: str) -> None:
    held = line((0.0, 0.0), (0.0, 1.0), "rigid", rotation)
    one, other = (
        ritz(plate("FFFF", supports=[held]), 6, refinement=3),
        ritz(plate(edges), 6, refinement=3),
    )
    # The elements are not the same ones: what is left is what a clamped-free corner leaves.
    assert worst(one, other) < (ROUNDING if rotation == "free" else 1e-7)


@pytest.mark.parametrize("stiffness", [3.0, 1e3])
def test_an_elastic_line_along_a_whole_edge_is_that_edge_on_springs(stiffness: float) -> None:
    held = line((0.0, 0.0), (1.0, 0.0), stiffness, 0.1 * stiffness)
    hold = {
        "deflection": f"{stiffness * UNIT!r} N/m/m",
        "rotation": f"{0.1 * stiffness * UNIT!r} N m/rad/m",
    }
    edges = {"left": "free", "right": "pinned", "bottom": hold, "top": "free"}
    loose = {**edges, "bottom": "free"}
    one, other = lambdas(plate(loose, supports=[held]), 6), lambdas(plate(edges), 6)
    assert worst(one, other) < SETTLED


def test_a_line_over_a_pinned_plate_makes_two_spans_of_it() -> None:
    # Modes odd about the line do not feel it; an even one has no slope there: a clamped half.
    found = lambdas(plate("SSSS", width=0.8, supports=[line((0.5, 0.0), (0.5, 0.8))]), 8)
    pinned, clamped = (4.0 * lambdas(plate(edges, width=1.6), 8) for edges in ("SSSS", "SSCS"))
    true = np.sort(np.concatenate([pinned, clamped]))[:8]
    assert worst(found, true) < SETTLED


@pytest.mark.parametrize("ends", [((0.0, 0.3), (0.0, 0.7)), ((0.0, 0.0), (0.0, 0.4))])
def test_an_edge_held_in_part_lies_between_a_free_and_a_pinned_one(
    ends: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    specimen = plate("FFFF", supports=[line(*ends)])
    coarse, fine = (ritz(specimen, 6, refinement=r) for r in (0, 2))
    assert worst(coarse, fine) < 1e-6
    # Rayleigh: a plate on springs, or on more of them, is never slower (rigid motions counted).
    assert np.all(fine <= lambdas(plate("SFFF"), 6) * (1.0 + SETTLED))
    free = np.concatenate([np.zeros(2), lambdas(plate("FFFF"), 4)])
    assert np.all(fine >= free * (1.0 - SETTLED))


@pytest.mark.parametrize("ratios", [None, ORTHOTROPIC])
@pytest.mark.parametrize("rotation", ["free", "rigid"])
def test_a_line_that_ends_within_the_plate_settles_at_once(
    rotation: str, ratios: tuple[float, float, float] | None
) -> None:
    held = line((0.4, 0.3), (0.4, 0.7), "rigid", rotation)
    specimen = plate("FFFF", ratios=ratios, supports=[held])
    assert worst(ritz(specimen, 6, refinement=0), ritz(specimen, 6, refinement=1)) < 3e-6


@pytest.mark.parametrize("rotation", ["free", "rigid"])
def test_a_line_that_runs_into_a_free_edge_settles_at_once(rotation: str) -> None:
    # Where the line meets the edge, half of all motions see a clamped corner.
    specimen = plate("FFFF", supports=[line((0.4, 0.0), (0.4, 0.7), "rigid", rotation)])
    assert worst(ritz(specimen, 6, refinement=0), ritz(specimen, 6, refinement=1)) < 3e-6


def test_a_rigid_line_does_not_shut_out_what_singular_places_beside_it_call_for() -> None:
    held = [line((0.3, 0.0), (0.3, 0.75)), line((0.0, 0.0), (0.15, 0.0), "rigid", "rigid")]
    specimen = plate("FFFF", width=0.75, supports=held)
    assert worst(ritz(specimen, 6, refinement=0), ritz(specimen, 6, refinement=1)) < 5e-6


def test_a_stud_may_stand_where_a_line_ends_beside_it() -> None:
    # No boundary between elements may run over the stud, so it is found slowly.
    held = [line((0.2, 0.0), (0.2, 0.5)), stud((0.7, 0.5), 0.1)]
    beside = [line((0.2, 0.0), (0.2, 0.5)), stud((0.7, 0.5 + 1e-9), 0.1)]
    first, second = (ritz(plate("FFFF", supports=held), 4, refinement=r) for r in (0, 1))
    assert 1e-4 < worst(first, second) < 5e-3
    assert worst(first, ritz(plate("FFFF", supports=beside), 4, refinement=0)) < 1e-6


def test_points_close_together_come_near_to_a_line() -> None:
    def on_points(many: int) -> Values:
        at = [(0.4, float(y)) for y in np.linspace(0.3, 0.7, many)]
        return ritz(plate("FFFF", supports=[support(place) for place in at]), 4, refinement=0)

    whole = ritz(plate("FFFF", supports=[line((0.4, 0.3), (0.4, 0.7))]), 4, refinement=0)
    few, more = on_points(4), on_points(8)
    assert np.all(few < more)
    assert np.all(more < whole)
    # The ends of a row of points bend more freely than those of a line.
    assert worst(more, whole) < 0.6 * worst(few, whole) < 0.05


# -- tolerances -----------------------------------------------------------------------------------


BANDS = {
    "elastic point": "{at: [62 ± 0.1 cm, 30 cm], deflection: 200 kN/m ± 0.1 %}",
    "point": "{at: [62 ± 0.1 cm, 30 ± 0.1 cm], deflection: rigid}",
    "elastic patch": "{at: [62 cm, 30 ± 0.1 cm], diameter: 80 ± 0.1 mm, deflection: 50 kN/m,"
    " rotation: 1 kN m/rad ± 0.1 %}",
    "patch": "{at: [62 cm, 30 cm], diameter: 80 ± 0.1 mm, deflection: rigid, rotation: rigid}",
    "line": "{from: [62 ± 0.1 cm, 0 cm], to: [62 cm, 80 cm], deflection: rigid}",
}
LOADS = {
    "mass": "{at: [62 ± 0.1 cm, 30 cm], mass: 90 ± 0.1 kg}",
    "foot": "{at: [62 cm, 30 ± 0.1 cm], diameter: 80 ± 0.1 mm, mass: 90 kg,"
    " rotary_inertia: 3 kg m2}",
}


@pytest.mark.parametrize("name", [*BANDS, *LOADS])
def test_bands_agree_with_solving_again(name: str) -> None:
    here = f"supports: [{BANDS[name]}]" if name in BANDS else f"attached: [{LOADS[name]}]"
    specimen = read_specimen(
        "kind: plate\n"
        "material: {youngs_modulus: 109.2 GPa, density: 100000 kg/m3, poisson_ratio: 0.3}\n"
        "geometry: {length: 1000 ± 1 mm, width: 800 mm, thickness: 10 mm}\n"
        "boundary: {left: pinned, right: free, bottom: free, top: free}\n"
        f"{here}\n"
    )
    found = bands(find_modes(specimen, count=4))
    known = quantities(specimen)
    paths = [path for path, q in known.items() if q.tolerance > 0.0]
    assert len(paths) >= 2
    for path in paths:
        step = 0.1 * known[path].tolerance
        up, down = (
            ritz(with_values(specimen, {path: known[path].value + s * step}), 4, refinement=0)
            for s in (1, -1)
        )
        true = np.log(up / down) / 0.2
        shares = np.array([band.shares[path] for band in found if band is not None])
        # A tolerance of a thousandth moves a frequency by some thousandths.
        assert np.abs(shares - true).max() < 1e-6, path


# -- the file -------------------------------------------------------------------------------------

FILE = """\
kind: plate
material: steel
geometry: {{length: 300 mm, width: 200 mm, thickness: 2 mm}}
boundary: {{left: {left}, right: free, bottom: free, top: free}}
supports: [{{{support}}}]
"""


def test_a_support_along_a_line_is_read() -> None:
    text = FILE.format(
        left="free", support="from: [0 mm, 60 mm], to: [0 mm, 120 mm], deflection: 2e6 N/m/m"
    )
    (found,) = read_specimen(text).supports
    assert [q.value for q in (*found.at, *found.to)] == [0.0, 0.06, 0.0, 0.12]
    assert (found.hold.deflection.value, found.hold.rotation.value) == (2e6, 0.0)
    assert found.at[0] is found.to[0]


@pytest.mark.parametrize(
    ("left", "support", "complaint"),
    [
        ("free", "from: [0 mm, 60 mm], to: [9 mm, 90 mm], deflection: rigid", "aslant"),
        ("free", "from: [0 mm, 60 mm], to: [0 mm, 60 mm], deflection: rigid", "no length"),
        ("free", "from: [0 mm, 60 mm], to: [0 mm, 600 mm], deflection: rigid", "outside"),
        ("free", "from: [0 mm, 60 mm], deflection: rigid", 'lacks "to"'),
        (
            "free",
            "at: [0 mm, 1 mm], from: [0 mm, 60 mm], to: [0 mm, 90 mm], deflection: rigid",
            "along a line",
        ),
        ("free", "from: [0 mm, 60 mm], to: [0 mm, 90 mm], deflection: free", "holds nothing"),
        ("free", "from: [0 mm, 6 mm], to: [0 mm, 9 mm], deflection: 2 N/m", "N/m/m"),
        ("clamped", "from: [0 mm, 60 mm], to: [0 mm, 90 mm], deflection: rigid", "holds already"),
        (
            "free",
            "from: [0 mm, 60 mm], to: [0 mm, 90 mm], deflection: rigid, diameter: 8 mm",
            "stud",
        ),
    ],
)
def test_a_wrong_support_along_a_line_is_complained_of(
    left: str, support: str, complaint: str
) -> None:
    with pytest.raises(InputError, match=complaint):
        read_specimen(FILE.format(left=left, support=support))


def test_a_line_may_run_to_a_clamped_edge() -> None:
    text = FILE.format(
        left="clamped", support="from: [0 mm, 60 mm], to: [90 mm, 60 mm], deflection: rigid"
    )
    assert read_specimen(text).supports[0].to


def test_a_line_is_for_plates_alone() -> None:
    text = FILE.format(left="free", support="from: 10 mm, to: 20 mm, deflection: rigid")
    beam = text.replace("plate", "beam")
    with pytest.raises(InputError):
        read_specimen(beam)
