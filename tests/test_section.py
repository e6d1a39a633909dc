"""Sections: area, second moments, torsion constant and shear coefficient against other sources."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementQuad2, LinearForm, MeshQuad, condense, solve
from skfem.helpers import dot, grad

from outside import record
from saltline.arrays import Values
from saltline.quantity import Quantity
from saltline.section import (
    SHAPES,
    Section,
    SectionProperties,
    rectangle_torsion_constant,
    section_properties,
    tapered_properties,
)
from specimens import table


def section(shape: str, **dimensions: float) -> Section:
    return Section(shape, {name: Quantity(value) for name, value in dimensions.items()})


def properties(shape: str, *, nu: float = 0.3, **dimensions: float) -> SectionProperties:
    return section_properties(section(shape, **dimensions), nu)


def parameters(row: dict[str, str]) -> dict[str, float]:
    return {
        name: float(value)
        for name, value in (pair.split("=") for pair in row["parameters"].split(";"))
    }


TORSION = table("torsion.csv")

Inside = Callable[[Values, Values], Values]
"""(x, y) from the middle, m -> whether the section is there."""

# -- area and second moments ----------------------------------------------------------------------


def integrated(inside: Inside, width: float, height: float) -> tuple[float, float, float]:
    """A, I about the horizontal and about the vertical middle line, by summing small cells."""
    n = 1200
    x = (np.arange(n) + 0.5) / n * width - width / 2.0
    y = (np.arange(n) + 0.5) / n * height - height / 2.0
    X, Y = np.meshgrid(x, y)
    part = inside(X, Y) * (width * height / n**2)
    return float(part.sum()), float((part * Y**2).sum()), float((part * X**2).sum())


@pytest.mark.parametrize(
    ("shape", "dimensions", "inside", "size"),
    [
        (
            "rectangle",
            {"width": 0.03, "thickness": 0.01},
            lambda x, y: np.ones_like(x),
            (0.03, 0.01),
        ),
        ("rod", {"diameter": 0.02}, lambda x, y: x**2 + y**2 < 1e-4, (0.02, 0.02)),
        (
            "tube",
            {"outer_diameter": 0.02, "wall": 0.004},
            lambda x, y: (x**2 + y**2 < 1e-4) & (x**2 + y**2 > 3.6e-5),
            (0.02, 0.02),
        ),
        (
            "box",
            {"width": 0.03, "height": 0.02, "wall": 0.0025},
            lambda x, y: (abs(x) > 0.0125) | (abs(y) > 0.0075),
            (0.03, 0.02),
        ),
    ],
)
def test_area_and_second_moments_are_the_integrals(
    shape: str, dimensions: dict[str, float], inside: Inside, size: tuple[float, float]
) -> None:
    found = properties(shape, **dimensions)
    # 1200 cells each way: a curved edge is met to about 1e-4, a straight one to 1e-6.
    for name, value in zip(("A", "I", "I_edge"), integrated(inside, *size), strict=True):
        assert float(getattr(found, name)) == pytest.approx(value, rel=2e-4), name
    assert (float(found.depth_edge), float(found.depth)) == pytest.approx(size)
    assert float(found.I_polar) == pytest.approx(float(found.I + found.I_edge), rel=1e-14)


def test_flatwise_is_out_of_the_wide_face_however_a_box_is_turned() -> None:
    lying = properties("box", width=0.03, height=0.02, wall=0.002)
    standing = properties("box", width=0.02, height=0.03, wall=0.002)
    for name in SectionProperties.__annotations__:
        assert getattr(lying, name) == getattr(standing, name), name
    assert lying.I_edge > lying.I


# -- torsion --------------------------------------------------------------------------------------


def test_torsion_constants_match_the_series_recomputed_with_mpmath() -> None:
    worst = 0.0
    rows = [row for row in TORSION if row["case"] == "k"]
    assert len(rows) >= 10
    for row in rows:
        ratio = parameters(row)["ratio"]
        J = float(rectangle_torsion_constant(np.asarray(ratio * 2e-3), np.asarray(2e-3)))
        worst = max(worst, abs(J / (ratio * 2e-3**4) / float(row["value"]) - 1.0))
    # The fifty terms summed leave 0.63 (t/b)/(8 100^4) of b t^3/3: 1.9e-9 of a square's J.
    record("torsion constant of a rectangle", "Saint-Venant's series, mpmath", worst, 3e-9)


@pytest.mark.parametrize("ratio", [1.0, 2.5])
def test_torsion_constants_match_finite_elements_of_prandtls_stress_function(
    ratio: float,
) -> None:
    # -laplace(phi) = 2, phi = 0 on the edge, J = 2 int phi (scikit-fem, biquadratic elements).
    mesh = MeshQuad.init_tensor(np.linspace(0.0, ratio, 41), np.linspace(0.0, 1.0, 41))
    basis = Basis(mesh, ElementQuad2())
    K = BilinearForm(lambda u, v, _: dot(grad(u), grad(v))).assemble(basis)
    load = LinearForm(lambda v, _: 2.0 * v).assemble(basis)
    phi = solve(*condense(K, load, D=basis.get_dofs()))
    J = float(phi @ load)
    found = float(rectangle_torsion_constant(np.asarray(1.0), np.asarray(ratio)))
    # The error of biquadratic elements falls as h^4: 40 a side leave about 1e-6.
    record(
        "torsion constant of a rectangle",
        "finite elements (scikit-fem)",
        abs(found / J - 1.0),
        1e-5,
    )


def test_torsion_constant_of_a_rod_and_a_tube_is_the_polar_moment() -> None:
    rod = properties("rod", diameter=0.02)
    assert float(rod.J) == pytest.approx(math.pi * 0.02**4 / 32, rel=1e-14)
    tube = properties("tube", outer_diameter=0.02, wall=0.003)
    assert float(tube.J) == pytest.approx(math.pi * (0.02**4 - 0.014**4) / 32, rel=1e-14)


def test_torsion_constant_of_a_thin_box_is_bredts() -> None:
    # 4 A_m^2 t / s with A_m and s at mid-wall (textbook); the walls' own share is (t/b)^2.
    box = properties("box", width=0.0301, height=0.0201, wall=1e-4)
    bredt = 4 * (0.03 * 0.02) ** 2 * 1e-4 / (2 * (0.03 + 0.02))
    assert float(box.J) == pytest.approx(bredt, rel=3e-5)
    assert bredt < box.J


# -- shear ----------------------------------------------------------------------------------------


COWPER = {
    "kappa-rectangle": lambda row: ("rectangle", {"width": 0.03, "thickness": 0.01}),
    "kappa-circle": lambda row: ("rod", {"diameter": 0.02}),
    "kappa-hollow-circle": lambda row: (
        "tube",
        {"outer_diameter": 0.02, "wall": 0.01 * (1.0 - row["inner"])},
    ),
    "kappa-thin-square-tube": lambda row: ("box", {"width": 0.02, "height": 0.02, "wall": 1e-4}),
}


@pytest.mark.parametrize("case", COWPER)
def test_shear_coefficients_match_cowper_1966(case: str) -> None:
    rows = [row for row in TORSION if row["case"] == case]
    assert len(rows) >= 5
    worst = 0.0
    for row in rows:
        stated = parameters(row)
        shape, dimensions = COWPER[case](stated)
        found = float(properties(shape, nu=stated["nu"], **dimensions).kappa)
        worst = max(worst, abs(found / float(row["value"]) - 1.0))
    # Both are the same closed form, to the table's 15 digits.
    record(f"shear coefficient, {case[6:]}", "Cowper 1966, from memory", worst, 1e-13)


def test_shear_coefficients_of_a_tube_run_from_the_rod_to_the_thin_ring_of_cowper_1966() -> None:
    nu = 0.3
    rod = 6 * (1 + nu) / (7 + 6 * nu)
    thin = 2 * (1 + nu) / (4 + 3 * nu)
    walls = [0.00999999, 0.009, 0.006, 0.003, 0.001, 1e-5, 1e-7]
    kappas = [float(properties("tube", outer_diameter=0.02, wall=t).kappa) for t in walls]
    assert np.all(np.diff(kappas) < 0.0)
    assert kappas[0] == pytest.approx(rod, rel=1e-11)
    assert kappas[-1] == pytest.approx(thin, rel=1e-4)


def test_shear_of_a_box_goes_through_the_walls_along_the_motion() -> None:
    # Edgewise, a very low wide box is two tall walls: two rectangles side by side (Cowper 1966).
    nu = 0.3
    box = properties("box", width=1.0, height=2e-3, wall=1e-4)
    assert float(box.kappa_edge) == pytest.approx(10 * (1 + nu) / (12 + 11 * nu), rel=1e-3)
    # Flatwise, it shears through the two short walls alone: at most their share of the area.
    assert 0.0 < box.kappa < 2e-3


# -- custom and tapered ---------------------------------------------------------------------------


def test_a_custom_section_is_what_it_states_and_unknown_where_it_does_not() -> None:
    found = properties("custom", area=1e-4, second_moment=2e-9, shear_coefficient=0.8)
    assert (float(found.A), float(found.I), float(found.kappa)) == (1e-4, 2e-9, 0.8)
    for name in ("I_edge", "J", "I_polar", "depth", "depth_edge"):
        assert np.isnan(getattr(found, name)), name


def test_dimensions_of_a_taper_run_evenly_and_the_properties_follow_from_them() -> None:
    start, end = (
        section("rectangle", width=b, thickness=t) for b, t in ((0.03, 0.01), (0.02, 0.002))
    )
    s = np.array([0.0, 0.25, 1.0])
    found = tapered_properties(start, end, 0.3, s)
    for k, (b, t) in enumerate(((0.03, 0.01), (0.0275, 0.008), (0.02, 0.002))):
        here = properties("rectangle", width=b, thickness=t)
        for name in SectionProperties.__annotations__:
            assert getattr(found, name)[k] == pytest.approx(
                float(getattr(here, name)), rel=1e-13
            ), name


@pytest.mark.parametrize(
    ("shape", "dimensions", "where"),
    [
        ("rectangle", {"width": 0.01, "thickness": 0.02}, "thickness"),
        ("tube", {"outer_diameter": 0.02, "wall": 0.01}, "wall"),
        ("box", {"width": 0.02, "height": 0.03, "wall": 0.011}, "wall"),
    ],
)
def test_impossible_dimensions_are_complained_of_at_the_dimension(
    shape: str, dimensions: dict[str, float], where: str
) -> None:
    assert [name for name, _ in SHAPES[shape].check(dimensions)] == [where]
    possible = {name: value * (0.4 if name == where else 1.0) for name, value in dimensions.items()}
    assert SHAPES[shape].check(possible) == []
