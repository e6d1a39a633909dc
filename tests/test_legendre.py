"""Functions on one element: what they promise at its ends, and integrals of their products."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from numpy.polynomial import legendre

from saltline.arrays import Values
from saltline.legendre import (
    HERMITE,
    LINEAR,
    gauss,
    integrated_legendre,
    legendre_derivative,
    legendre_values,
    series_products,
    twice_integrated_legendre,
)

ENDS = np.array([-1.0, 1.0])


def orthonormal_legendre(n: int) -> Values:
    series = np.zeros(n + 1)
    series[n] = np.sqrt((2 * n + 1) / 2.0)
    return series


@pytest.mark.parametrize("k", [2, 3, 8, 41])
def test_a_c0_bubble_vanishes_at_the_ends_and_its_derivative_is_an_orthonormal_legendre(
    k: int,
) -> None:
    bubble = integrated_legendre(k)
    assert np.abs(legendre.legval(ENDS, bubble)).max() < 1e-15
    np.testing.assert_allclose(
        legendre.legder(bubble), orthonormal_legendre(k - 1), rtol=0, atol=1e-12
    )


@pytest.mark.parametrize("k", [4, 5, 9, 42])
def test_a_c1_bubble_vanishes_with_its_slope_and_its_curvature_is_an_orthonormal_legendre(
    k: int,
) -> None:
    bubble = twice_integrated_legendre(k)
    assert np.abs(legendre.legval(ENDS, bubble)).max() < 1e-15
    assert np.abs(legendre.legval(ENDS, legendre.legder(bubble))).max() < 1e-13
    np.testing.assert_allclose(
        legendre.legder(bubble, 2), orthonormal_legendre(k - 2), rtol=0, atol=1e-10
    )


def test_hermite_functions_each_carry_one_value_or_slope_and_linear_ones_one_value() -> None:
    values = legendre.legval(ENDS, HERMITE.T)
    slopes = legendre.legval(ENDS, legendre.legder(HERMITE, axis=1).T)
    np.testing.assert_allclose(
        np.column_stack([values[:, :1], slopes[:, :1], values[:, 1:], slopes[:, 1:]]),
        np.eye(4),
        rtol=0,
        atol=1e-15,
    )
    np.testing.assert_allclose(legendre.legval(ENDS, LINEAR.T), np.eye(2), rtol=0, atol=1e-15)


@pytest.mark.parametrize("points", [1, 2, 5, 30, 121])
def test_gauss_points_and_weights_are_those_of_40_digits(points: int) -> None:
    x, w = gauss(points)
    with mpmath.workdps(40):
        for i in {0, points // 3, points // 2}:
            root = mpmath.findroot(lambda z: mpmath.legendre(points, z), mpmath.mpf(float(x[i])))
            slope = mpmath.diff(lambda z: mpmath.legendre(points, z), root)
            assert abs(x[i] - root) < 1e-15
            assert abs(w[i] * (1 - root**2) * slope**2 / 2 - 1) < 1e-12
    assert np.array_equal(x, -x[::-1])
    assert np.array_equal(w, w[::-1])


@pytest.mark.parametrize("size", [1, 2, 3, 40, 160])
def test_values_and_derivatives_are_numpys(size: int) -> None:
    x = np.linspace(-1.0, 1.0, 91)
    np.testing.assert_allclose(
        legendre_values(x, size), legendre.legvander(x, size - 1), rtol=0, atol=1e-13
    )
    series = np.random.default_rng(7).normal(size=size)
    due = np.zeros(size)
    derivative = legendre.legder(series)
    due[: derivative.size] = derivative
    np.testing.assert_allclose(series @ legendre_derivative(size), due, rtol=1e-12, atol=1e-12)


def test_products_of_series_have_the_integrals_that_gauss_finds() -> None:
    a, b = np.random.default_rng(5).normal(size=(2, 4, 7))
    x, w = legendre.leggauss(7)  # exact to degree 13
    due = (legendre.legval(x, a.T) * w) @ legendre.legval(x, b[:, :5].T).T
    np.testing.assert_allclose(series_products(a, b[:, :5]), due, rtol=0, atol=1e-13)
