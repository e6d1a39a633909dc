"""Plates: closed forms, limits in beams, symmetry, and laws that hold for every plate."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
import pytest
import scipy.linalg
from hypothesis import given, settings
from hypothesis import strategies as st
from skfem import Basis, BilinearForm, ElementTriArgyris, MeshTri
from skfem.helpers import dd

from outside import record
from saltline.arrays import Flags, Values
from saltline.modes import Mode
from saltline.plates.plate_shape import PlateShape
from saltline.plates.stiffness import plate_stiffness
from saltline.quantities_of import with_values
from saltline.solver import find_modes
from saltline.specimen import Specimen
from specimens import (
    Part,
    beam,
    edge_spring,
    euler,
    lambdas,
    mass,
    omegas,
    plate,
    ritz,
    spring,
    support,
    worst,
)

ROUNDING = 1e-9
SETTLED = 2e-6
"""Twice what a mode may still move when it is called settled."""


def sized(edges: str, length: float, width: float) -> Specimen:
    return with_values(plate(edges), {"geometry.length": length, "geometry.width": width})


# -- stiffness ------------------------------------------------------------------------------------


def test_stiffness_of_an_isotropic_plate_is_the_textbooks() -> None:
    s = plate_stiffness(plate("FFFF"))
    # D = E h^3/(12 (1 - nu^2)), D1 = nu D, Dk = (1 - nu) D/2; the unit plate has D = 1000 N m.
    assert (s.Dx, s.Dy, s.D1, s.Dk, s.mass) == pytest.approx((1e3, 1e3, 300.0, 350.0, 1e3))


def test_stiffness_of_an_orthotropic_plate_is_in_the_stated_ratios() -> None:
    s = plate_stiffness(plate("FFFF", ratios=(0.1, 0.03, 0.05)))
    assert (s.Dx, s.Dy, s.D1, s.Dk) == pytest.approx((1e3, 100.0, 30.0, 50.0))


# -- closed forms ---------------------------------------------------------------------------------


def pinned(width: float, count: int, ratios: tuple[float, float, float]) -> Values:
    """lambda of a pinned plate, Leissa, NASA SP-160 (1969), ch. 9: sines each way."""
    dy, d1, dk = ratios
    m, n = np.arange(1, 81)[:, None] * math.pi, np.arange(1, 81)[None, :] * math.pi / width
    omega2 = m**4 + 2.0 * (d1 + 2.0 * dk) * m**2 * n**2 + dy * n**4
    return np.asarray(np.sqrt(np.sort(omega2, axis=None)[:count]))


ISOTROPIC = (1.0, 0.3, 0.35)


@pytest.mark.parametrize("width", [1.0, 2 / 3, 0.4, 2.5])
def test_forty_modes_of_a_pinned_plate_match_the_closed_form(width: float) -> None:
    found = lambdas(plate("SSSS", width=width), 40)
    record(
        "pinned plate, 1 to 40, four aspect ratios",
        "closed form",
        worst(found, pinned(width, 40, ISOTROPIC)),
        ROUNDING,
    )


@pytest.mark.parametrize("ratios", [(0.1, 0.03, 0.05), (3.0, 0.4, 0.9), (0.065, 0.0195, 0.0511)])
@pytest.mark.parametrize("width", [1.0, 0.7])
def test_thirty_modes_of_a_pinned_orthotropic_plate_match_the_closed_form(
    width: float, ratios: tuple[float, float, float]
) -> None:
    found = lambdas(plate("SSSS", width=width, ratios=ratios), 30)
    record(
        "pinned orthotropic plate, 1 to 30",
        "closed form",
        worst(found, pinned(width, 30, ratios)),
        ROUNDING,
    )


def test_guided_plate_has_the_closed_form_of_cosines() -> None:
    m, n = np.arange(40)[:, None] * math.pi, np.arange(40)[None, :] * math.pi / 0.7
    true = np.sort(m**2 + n**2, axis=None)[1:31]
    found = find_modes(plate("GGGG", width=0.7), count=30)
    assert found.rigid == 1
    record("guided plate, 1 to 30", "closed form", worst(omegas(found), true), ROUNDING)


# -- finite elements ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "ratios", "cells"), [(1.0, ISOTROPIC, (8, 8)), (2 / 3, (0.1, 0.03, 0.05), (8, 14))]
)
def test_free_plates_match_argyris_elements_of_scikit_fem(
    width: float, ratios: tuple[float, float, float], cells: tuple[int, int]
) -> None:
    dy, d1, dk = ratios
    x, y = (np.linspace(0.0, side, n + 1) for side, n in zip((1.0, width), cells, strict=True))
    basis = Basis(MeshTri.init_tensor(x, y), ElementTriArgyris(), intorder=8)

    def energy(u: object, v: object, _: object) -> Values:
        (uxx, uxy), (_, uyy) = dd(u)
        (vxx, vxy), (_, vyy) = dd(v)
        return uxx * vxx + dy * uyy * vyy + d1 * (uxx * vyy + uyy * vxx) + 4 * dk * uxy * vxy

    K = BilinearForm(energy).assemble(basis).toarray()
    M = BilinearForm(lambda u, v, _: u * v).assemble(basis).toarray()
    true = np.sqrt(scipy.linalg.eigh(K, M, eigvals_only=True, subset_by_index=(3, 8)))
    specimen = plate("FFFF", width=width, ratios=None if ratios == ISOTROPIC else ratios)
    # Argyris elements converge as h^8 in frequency: what these meshes leave is 5e-6.
    record(
        "free plates, modes 1 to 6",
        "Argyris finite elements (scikit-fem)",
        worst(lambdas(specimen, 6), true),
        1e-5,
    )


# -- beams as limits and as parts -----------------------------------------------------------------


@pytest.mark.parametrize(("edges", "ends"), [("FFFF", "free-free"), ("CFFF", "clamped-free")])
def test_bending_modes_of_a_narrow_strip_are_a_beams(edges: str, ends: str) -> None:
    strip = find_modes(plate(edges, width=1 / 40), count=10).modes
    bending = [mode for mode in strip if not has_node_along(mode, 1 / 80)][:5]
    assert len(bending) == 5
    found = np.array([2.0 * math.pi * mode.frequency_hz for mode in bending])
    # Its sides are free: E counts, not E/(1 - nu^2). Thin-plate theory still stiffens a strip by
    # some (width/wavelength)^2, less than one per cent here.
    error = worst(found, math.sqrt(0.91) * euler(beam(ends), 5))
    record("strip of width 1/40, bending modes 1 to 5", "Euler-Bernoulli beam", error, 0.01)


def has_node_along(mode: Mode, y: float) -> bool:
    assert isinstance(mode.shape, PlateShape)
    x = np.linspace(0.0, 1.0, 50)
    along, beside = (np.abs(mode.shape.at(x, np.array([v]))).max() for v in (y, 2.0 * y))
    return bool(along < 1e-6 * beside)


EDGE_HOLDS = {
    "turning at pins": (
        (edge_spring("rigid", 7.0), spring("rigid", 7.0)),
        (edge_spring("rigid", 0.3), spring("rigid", 0.3)),
    ),
    "moving": (
        (edge_spring(40.0, "free"), spring(40.0, "free")),
        (edge_spring(900.0, "rigid"), spring(900.0, "rigid")),
    ),
    "both": (
        (edge_spring(40.0, 3.0), spring(40.0, 3.0)),
        ("free", "free"),
    ),
}


@pytest.mark.parametrize("case", EDGE_HOLDS)
def test_between_guided_sides_a_narrow_plate_on_elastic_edges_is_a_beam_exactly(case: str) -> None:
    # No deflection varies across it, so nothing but Dx counts; stiffnesses are per width.
    (left, start), (right, end) = EDGE_HOLDS[case]
    edges = {"left": left, "right": right, "bottom": "guided", "top": "guided"}
    narrow = find_modes(plate(edges, width=0.05), count=6)
    like = find_modes(beam((start, end)), count=6, theory="euler")
    assert narrow.rigid == like.rigid
    record(
        "plate on elastic edges between guided sides, modes 1 to 6",
        "Euler-Bernoulli beam on springs",
        worst(omegas(narrow), omegas(like)),
        ROUNDING,
    )


# -- elastic edges --------------------------------------------------------------------------------

STIFFNESSES = [10.0**n for n in (-8, -5, -2, 0, 1, 2, 3, 4, 6, 10)]

SWEEPS: Mapping[str, tuple[Callable[[float], Part], str, str]] = {
    "turning, pinned": (lambda k: edge_spring("rigid", k), "SSSS", "CCCC"),
    "turning, free": (lambda k: edge_spring("free", k), "FFFF", "GGGG"),
    "moving, free": (lambda k: edge_spring(k, "free"), "FFFF", "SSSS"),
    "moving, guided": (lambda k: edge_spring(k, "rigid"), "GGGG", "CCCC"),
}


@pytest.mark.parametrize("sweep", SWEEPS)
def test_elastic_edges_run_from_one_classic_plate_to_the_other(sweep: str) -> None:
    hold, soft, stiff = SWEEPS[sweep]

    def found(stiffness: float) -> Values:
        edges = dict.fromkeys(("left", "bottom", "right", "top"), hold(stiffness))
        return ritz(plate(edges, width=0.8), 6, refinement=0)

    run = np.array([found(k) for k in STIFFNESSES])
    assert np.all(np.diff(run, axis=0) > -ROUNDING * run[1:])
    free, held = find_modes(plate(soft, width=0.8), count=6), lambdas(plate(stiff, width=0.8), 6)
    # Rigid motions that the springs now hold are slow modes below the others.
    slow = free.rigid - (1 if sweep == "turning, free" else 0)
    assert np.all(run[0, :slow] < 1e-2)
    assert worst(run[0, slow:], omegas(free)[: 6 - slow]) < SETTLED
    assert worst(run[-1], held) < SETTLED


def test_one_elastic_edge_runs_from_pinned_to_clamped() -> None:
    def found(left: str | Part) -> Values:
        edges = {"left": left, "bottom": "pinned", "right": "pinned", "top": "free"}
        return ritz(plate(edges), 4, refinement=1)

    run = np.array([found(edge_spring("rigid", k)) for k in STIFFNESSES])
    assert np.all(np.diff(run, axis=0) > -ROUNDING * run[1:])
    assert np.all(run[-1] > 1.001 * run[0])
    assert worst(run[0], found("pinned")) < SETTLED
    # Where the left edge turns stiffly it meets a free one: a singular corner, graded when clamped.
    assert worst(run[-1], found("clamped")) < 2e-5


# -- symmetry -------------------------------------------------------------------------------------


def parity(modes: tuple[Mode, ...], axis: int, size: tuple[float, float]) -> Flags:
    """True for each mode that is even about the middle of the axis."""
    here = np.array([0.1234 * size[0], 0.2345 * size[1]])
    mirrored = here.copy()
    mirrored[axis] = size[axis] - here[axis]
    found = []
    for mode in modes:
        assert isinstance(mode.shape, PlateShape)
        a, b = (mode.shape.at_points(p[:1], p[1:])[0] for p in (here, mirrored))
        assert abs(abs(a) - abs(b)) < 1e-6 * abs(a), "neither even nor odd"
        found.append(a * b > 0.0)
    return np.array(found)


@pytest.mark.parametrize(
    ("half", "whole", "is_even"),
    [
        ("SFSG", "SFSF", True),
        ("CCCG", "CCCC", True),
        ("CCCS", "CCCC", False),
        ("FFFG", "FFFF", True),
        ("FFFS", "FFFF", False),
        ("SCFG", "SCFC", True),
    ],
)
def test_a_guided_or_pinned_edge_is_the_middle_of_a_plate_twice_as_wide(
    half: str, whole: str, is_even: bool
) -> None:
    one = lambdas(plate(half, width=0.45), 6)
    other = find_modes(plate(whole, width=0.9), count=16).modes
    kept = parity(other, 1, (1.0, 0.9)) == is_even
    found = np.array([2.0 * math.pi * mode.frequency_hz for mode in other])[kept]
    # Exact, so what is left is what either solution has not settled.
    assert worst(one[:6], found[:6]) < SETTLED


def test_two_guided_edges_are_the_middles_of_a_plate_twice_as_large() -> None:
    quarter = lambdas(plate("FFGG", width=0.7), 5)
    modes = find_modes(sized("FFFF", 2.0, 1.4), count=24).modes
    kept = parity(modes, 0, (2.0, 1.4)) & parity(modes, 1, (2.0, 1.4))
    found = np.array([2.0 * math.pi * mode.frequency_hz for mode in modes])[kept]
    assert worst(quarter, found[:5]) < SETTLED


@pytest.mark.parametrize("edges", ["FFFF", "SSSS", "CCCC", "SFSF"])
@pytest.mark.parametrize("width", [1.0, 0.63])
def test_splitting_by_symmetry_loses_no_mode_and_adds_none(edges: str, width: float) -> None:
    # A grain of sand of 1e-12 of the plate's mass makes it unlike its mirror image: one problem.
    split = find_modes(plate(edges, width=width), count=12)
    whole = find_modes(plate(edges, width=width, attached=[mass((0.31, 0.27), 1e-12)]), count=12)
    assert split.rigid == whole.rigid
    assert worst(omegas(split), omegas(whole)) < 1e-7  # the grain calls for a higher degree


def test_moving_a_support_off_the_middle_a_little_changes_the_modes_a_little(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("saltline.solver.REFINEMENTS", 1)  # good to 1e-5, and that is enough
    # A free plate on a point in its middle splits in four; on one a hair beside it, in two.
    middle, beside = (
        find_modes(plate("FFFF", width=0.8, supports=[support((x, 0.4))]), count=6)
        for x in (0.5, 0.5001)
    )
    assert middle.rigid == beside.rigid == 2
    # The change is of second order in the distance for the modes that are even.
    assert worst(omegas(middle), omegas(beside)) < 1e-4


def test_a_plate_and_its_mirror_images_have_the_same_frequencies() -> None:
    found = [
        lambdas(plate(edges, width=0.7, attached=[mass(at, 0.3)]), 5)
        for edges, at in (
            ("SCSS", (0.2, 0.1)),
            ("SSSC", (0.2, 0.6)),
            ("SSSC", (0.8, 0.6)),
        )
    ]
    assert worst(found[1], found[0]) < SETTLED
    assert worst(found[2], found[0]) < SETTLED


def test_an_orthotropic_plate_turned_by_a_quarter_is_the_same_plate() -> None:
    dy, d1, dk = 0.1, 0.03, 0.05
    one = lambdas(plate("CSSF", width=0.7, ratios=(dy, d1, dk)), 6)
    # Turned: left to bottom, bottom to left, and so on; the unit plate's Dx is now the old Dy.
    turned = with_values(
        plate("SCFS", ratios=(1.0 / dy, d1 / dy, dk / dy)),
        {"geometry.length": 0.7, "geometry.width": 1.0},
    )
    assert worst(math.sqrt(dy) * lambdas(turned, 6), one) < 2e-5


# -- rigid motions --------------------------------------------------------------------------------

FREE = dict.fromkeys(("bottom", "right", "top"), "free")
CORNERS = ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))


@pytest.mark.parametrize(
    ("specimen", "rigid"),
    [
        (plate("FFFF"), 3),
        (plate("SFFF"), 1),
        (plate("FFFS"), 1),
        (plate("GFFF"), 2),
        (plate("GFGF"), 2),
        (plate("GGFF"), 1),
        (plate("GGGG"), 1),
        (plate("SGFF"), 1),
        (plate("SGFG"), 1),
        (plate("SSFF"), 0),
        (plate("SFSF"), 0),
        (plate("SFGF"), 0),
        (plate("CFFF"), 0),
        (plate("FFFF", supports=[support(CORNERS[0])]), 2),
        (plate("FFFF", supports=[support((0.5, 0.5))]), 2),
        (plate("FFFF", supports=[support(c) for c in CORNERS[:2]]), 1),
        (plate("FFFF", supports=[support(c) for c in CORNERS]), 0),
        (plate("FFFF", supports=[support(c, 5.0) for c in CORNERS[:2]]), 1),
        (plate("FFFF", supports=[support((x, 0.3)) for x in (0.2, 0.5, 0.9)]), 1),
        (plate("SFFF", supports=[support((0.5, 0.3))]), 0),
        (plate({**FREE, "left": edge_spring(4.0)}), 1),
        pytest.param(
            plate({**FREE, "left": edge_spring("free", 4.0)}), 2
        ),
        (plate("FFFF", attached=[mass((0.1, 0.2), 3.0)]), 3),
    ],
    ids=[
        "free", "pinned left", "pinned top", "guided left", "guided left and right",
        "guided left and bottom", "guided all round", "pinned left, guided bottom",
        "pinned left, guided bottom and top", "pinned left and bottom", "pinned left and right",
        "pinned left, guided right", "clamped", "on a corner", "on its middle", "on two corners",
        "on three corners", "on two soft corners", "on three points in line",
        "pinned left, on a point", "an elastic edge", "an edge that turns stiffly", "with a mass",
    ],
)  # fmt: skip
def test_rigid_modes_are_counted_and_left_out(
    specimen: Specimen, rigid: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("saltline.solver.REFINEMENTS", 1)  # counts need no convergence
    found = find_modes(specimen, count=3)
    assert found.rigid == rigid
    # A rigid mode taken for an elastic one would lie at zero.
    assert omegas(found)[0] > 1.0


# -- laws -----------------------------------------------------------------------------------------


@pytest.mark.parametrize("edges", ["FFFF", "CFFF", "CCSF", "SSFF"])
def test_ritz_values_fall_from_above_as_the_degree_rises(edges: str) -> None:
    values = np.array([ritz(plate(edges), 8, refinement=r) for r in range(3)])
    assert np.all(np.diff(values, axis=0) <= 1e-10 * values[1:])
    assert np.any(np.diff(values, axis=0) < 0.0)


@pytest.mark.parametrize("edges", ["CFFF", "CCSF", "CCFF"])
def test_corners_of_clamped_and_free_edges_settle_as_fast_as_smooth_ones(edges: str) -> None:
    # Polynomials alone fall short by 1e-5 there, and a degree twice as high takes half of that.
    coarse, fine = (ritz(plate(edges), 6, refinement=r) for r in (0, 2))
    assert worst(coarse, fine) < 2e-7


def test_twice_the_size_is_a_quarter_and_twice_the_thickness_twice_the_frequency() -> None:
    plain = plate("CSFS", width=0.6)
    large = with_values(plain, {"geometry.length": 2.0, "geometry.width": 1.2})
    thick = with_values(plain, {"geometry.thickness": 0.02})
    dense = with_values(plain, {"material.density": 4.0 * plain.material.density.value})
    true = lambdas(plain, 4)
    for specimen, factor in ((large, 0.25), (thick, 2.0), (dense, 0.5)):
        assert worst(lambdas(specimen, 4), factor * true) < ROUNDING


@settings(max_examples=4, deadline=None, derandomize=True)
@given(
    st.sampled_from(["FFFF", "SSSS", "CCCC", "SFSS", "GSGC"]),
    st.tuples(st.floats(0.1, 0.9), st.floats(0.1, 0.9)),
    st.floats(1e-3, 1e2),
)
def test_a_mass_lowers_each_mode_but_not_below_the_one_before(
    edges: str, at: tuple[float, float], ratio: float
) -> None:
    # Rayleigh: one degree of freedom made heavier; the frequencies interlace, in any one basis.
    def all_modes(weight: float) -> Values:
        specimen = plate(edges, width=0.9, attached=[mass((at[0], 0.9 * at[1]), weight)])
        rigid = find_modes(plate(edges), count=1).rigid
        return np.concatenate([np.zeros(rigid), ritz(specimen, 6, refinement=0)])[:6]

    light, heavy = all_modes(1e-12), all_modes(ratio)
    assert np.all(heavy <= light * (1.0 + ROUNDING))
    assert np.all(heavy[1:] >= light[:-1] * (1.0 - ROUNDING))


@pytest.mark.parametrize("way", ["deflection", "rotation"])
def test_a_stiffer_edge_never_lowers_a_mode(way: str) -> None:
    def found(stiffness: float) -> Values:
        left = edge_spring(**{"deflection": "free", "rotation": "free", way: stiffness})
        edges = {"left": left, "bottom": "free", "right": "pinned", "top": "free"}
        return lambdas(plate(edges), 5)

    run = np.array([found(k) for k in (0.1, 1.0, 30.0, 1e3, 1e5)])
    assert np.all(np.diff(run, axis=0) > -SETTLED * run[1:])
    assert np.all(run[-1] > 1.001 * run[0])
