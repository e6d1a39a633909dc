"""The bases on a line of elements: what they promise, and that their integrals are exact."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from numpy.polynomial import Polynomial, legendre

from saltline.arrays import Values
from saltline.basis import (
    Line,
    c0_line,
    c1_line,
    c1_shear_line,
    combined,
    gram,
    mass_orthonormal,
    mirror_parities,
)
from saltline.integrals import EXPONENTS, energies_by_power, uniform_gram

BREAKS = [0.0, 0.3, 0.35, 1.2]
DEGREES = [7, 4, 9]
PLACES = np.array([0.0, 0.1, 0.299, 0.31, 0.35, 0.5, 0.9, 1.2])

Make = Callable[[list[float], list[int]], Line]


def fitted(line: Line, field: str, wanted: Polynomial) -> Values:
    """The coefficients of the least-squares fit of a polynomial in x."""
    x = np.linspace(0.0, 1.2, 200)
    return np.linalg.lstsq(line.rows(field, x), wanted(x), rcond=None)[0]


# -- lines ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("make", [c1_line, c1_shear_line, c0_line])
def test_each_end_function_alone_has_its_value_at_its_boundary(make: Make) -> None:
    line = make(BREAKS, DEGREES)
    for (field, boundary), dof in line.ends.items():
        row = line.row(field, BREAKS[boundary])
        wanted = np.zeros(line.size)
        wanted[dof] = 1.0
        np.testing.assert_allclose(row, wanted, rtol=0, atol=1e-13)


@pytest.mark.parametrize(("make", "fields"), [(c1_line, ["w", "psi"]), (c0_line, ["u"])])
def test_the_fields_that_are_shared_are_continuous(make: Make, fields: list[str]) -> None:
    line = make(BREAKS, DEGREES)
    for field in fields:
        for x in BREAKS[1:-1]:
            below, above = line.rows(field, np.array([np.nextafter(x, 0.0), x]))
            assert np.abs(below - above).max() < 1e-12


def test_rotation_of_a_c1_line_is_the_slope_of_its_deflection() -> None:
    line = c1_line(BREAKS, DEGREES)
    np.testing.assert_allclose(
        line.rows("psi", PLACES), line.rows("w", PLACES, 1), rtol=0, atol=1e-12
    )


def test_shear_strain_is_slope_less_rotation_and_the_bending_functions_have_none() -> None:
    line, bending = c1_shear_line(BREAKS, DEGREES), c1_line(BREAKS, DEGREES)
    gamma = line.rows("gamma", PLACES)
    np.testing.assert_allclose(
        gamma, line.rows("w", PLACES, 1) - line.rows("psi", PLACES), rtol=0, atol=1e-12
    )
    without_shear = line.size - np.linalg.matrix_rank(gram(line, ("gamma", 0), ("gamma", 0)))
    assert without_shear == bending.size


@pytest.mark.parametrize("derivative", [0, 1, 2, 3])
def test_rows_read_any_polynomial_up_to_the_lowest_degree_exactly(derivative: int) -> None:
    line = c1_line(BREAKS, DEGREES)
    wanted = Polynomial([0.3, -1.0, 2.0, 0.5, -0.7])
    q = fitted(line, "w", wanted)
    np.testing.assert_allclose(
        line.rows("w", PLACES, derivative) @ q,
        wanted.deriv(derivative)(PLACES),
        rtol=0,
        atol=1e-9,
    )


def test_jets_are_the_rows_of_each_derivative() -> None:
    line = c1_line(BREAKS, DEGREES)
    for order, rows in enumerate(line.jets("w", PLACES, 3)):
        np.testing.assert_array_equal(rows, line.rows("w", PLACES, order))


def test_a_series_is_the_motion_on_its_element() -> None:
    line = c1_line(BREAKS, DEGREES)
    q = np.random.default_rng(1).normal(size=line.size)
    series = line.series(q, "w")
    for number, element in enumerate(line.elements):
        xi = np.array([-0.9, 0.0, 0.4])
        x = element.start + element.half * (xi + 1.0)
        np.testing.assert_allclose(
            legendre.legval(xi, series[number]), line.rows("w", x) @ q, rtol=0, atol=1e-12
        )


def test_a_boundary_is_found_where_one_is_and_nowhere_else() -> None:
    line = c1_line(BREAKS, DEGREES)
    assert [line.boundary_at(x) for x in BREAKS] == [0, 1, 2, 3]
    assert line.boundary_at(0.3 + 1e-12) == 1
    assert line.boundary_at(0.3 + 1e-6) is None


# -- integrals ------------------------------------------------------------------------------------


def test_integrals_of_polynomials_are_those_of_the_antiderivative() -> None:
    line = c1_line(BREAKS, DEGREES)
    u, v = Polynomial([0.3, -1.0, 2.0, 0.5]), Polynomial([1.0, 0.0, -1.5, 0.25, 0.4])
    a, b = fitted(line, "w", u), fitted(line, "w", v)
    for i, j in ((0, 0), (1, 1), (2, 0), (2, 2)):
        product = u.deriv(i) * v.deriv(j)
        exact = product.integ()(1.2) - product.integ()(0.0)
        assert a @ gram(line, ("w", i), ("w", j)) @ b == pytest.approx(exact, rel=1e-10)


@pytest.mark.parametrize("extra", [0, 1, 3])
def test_a_weight_is_integrated_exactly_up_to_the_promised_degree_and_no_further(
    extra: int,
) -> None:
    line = c1_line([0.0, 1.2], [6])
    promised = 2 * extra + 1

    def integral(degree: int, points: int) -> Values:
        return gram(line, ("w", 0), ("w", 0), lambda _, s: s**degree, extra_points=points)

    np.testing.assert_allclose(
        integral(promised, extra), integral(promised, 12), rtol=0, atol=1e-15
    )
    assert np.abs(integral(promised + 1, extra) - integral(promised + 1, 12)).max() > 1e-12


def test_the_weight_is_told_the_element_and_the_fraction_of_it() -> None:
    line = c0_line(BREAKS, [1, 1, 1])
    ones = np.ones(line.size)
    lengths = np.diff(BREAKS)
    for number, length in enumerate(lengths):
        M = gram(line, ("u", 0), ("u", 0), lambda n, s, which=number: (n == which) * s)
        assert ones @ M @ ones == pytest.approx(length / 2.0, rel=1e-14)


def test_stiffness_of_the_bubbles_of_one_element_is_the_identity() -> None:
    # Their highest derivatives are orthonormal on [-1, 1]; an element of length 2 is that.
    bending = gram(c1_line([0.0, 2.0], [40]), ("w", 2), ("w", 2))[4:, 4:]
    np.testing.assert_allclose(bending, np.eye(37), rtol=0, atol=1e-11)
    stretching = gram(c0_line([0.0, 2.0], [40]), ("u", 1), ("u", 1))[2:, 2:]
    np.testing.assert_allclose(stretching, np.eye(39), rtol=0, atol=1e-12)


# -- better functions -----------------------------------------------------------------------------


@pytest.mark.parametrize("degree", [5, 30, 60])
@pytest.mark.parametrize("breaks", [[0.0, 0.7], [0.0, 0.004, 0.03, 0.7]])
def test_mass_orthonormal_functions_are_so_to_rounding_and_span_the_same_space(
    degree: int, breaks: list[float]
) -> None:
    line = c1_line(breaks, [5] * (len(breaks) - 2) + [degree])
    fine = mass_orthonormal(line, np.eye(line.size))
    assert fine.size == line.size
    np.testing.assert_allclose(
        gram(fine, ("w", 0), ("w", 0)), np.eye(line.size), rtol=0, atol=1e-12
    )
    stiffness = np.diag(gram(fine, ("w", 2), ("w", 2)))
    assert np.all(np.diff(stiffness[2:]) > 0.0), "stiffest last"
    # Two straight lines, which have no stiffness, and no more.
    assert np.count_nonzero(stiffness < 1e-6 * stiffness[2]) == 2


@pytest.mark.parametrize("make", [c0_line, c1_line, c1_shear_line])
def test_integrals_with_even_weights_are_those_with_any(make: Callable[..., Line]) -> None:
    line = make(BREAKS, DEGREES)
    weights = [1.0 + number for number in range(len(DEGREES))]
    Q = np.random.default_rng(4).normal(size=(line.size, 3))
    halves = np.diff(BREAKS) / 2.0
    fields = sorted(line.elements[0].fields)
    for left in fields:
        for right in fields:
            for orders in ((0, 0), (1, 0), (2, 2)):
                parts = (left, orders[0]), (right, orders[1])
                due = gram(line, *parts, lambda number, s: weights[number])
                found = uniform_gram(line, [(*parts, weights)])
                size = np.abs(due).max()
                np.testing.assert_allclose(found, due, rtol=0, atol=1e-12 * size)
                by_power = energies_by_power(line, parts, Q)
                energies = np.einsum("e,ep,epk->k", weights, halves[:, None] ** EXPONENTS, by_power)
                due_energies = np.einsum("ik,ij,jk->k", Q, due, Q)
                np.testing.assert_allclose(energies, due_energies, rtol=0, atol=1e-10 * size)


def test_combined_functions_are_those_combinations() -> None:
    line = c1_line(BREAKS, DEGREES)
    mix = np.random.default_rng(2).normal(size=(line.size, 3))
    np.testing.assert_allclose(
        combined(line, mix).rows("w", PLACES, 2),
        line.rows("w", PLACES, 2) @ mix,
        rtol=1e-10,
        atol=1e-10,
    )


@pytest.mark.parametrize("breaks", [[0.0, 1.4], [0.0, 0.7, 1.4], [0.0, 0.1, 1.3, 1.4]])
def test_mirror_parities_are_even_and_odd_and_together_everything(breaks: list[float]) -> None:
    degrees = {2: [9], 3: [6, 6], 4: [5, 8, 5]}[len(breaks)]
    line = c1_line(breaks, degrees)
    even, odd = mirror_parities(line)
    x = np.array([0.03, 0.2, 0.5, 0.69])
    here, mirrored = line.rows("w", x), line.rows("w", 1.4 - x)
    np.testing.assert_allclose(here @ even, mirrored @ even, rtol=0, atol=1e-12)
    np.testing.assert_allclose(here @ odd, -mirrored @ odd, rtol=0, atol=1e-12)
    assert even.shape[1] + odd.shape[1] == line.size
    assert np.linalg.matrix_rank(np.hstack([even, odd])) == line.size
