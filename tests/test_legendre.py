"""Functions on one element: what they promise at its ends, and integrals of their products."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.polynomial import legendre

from saltline.arrays import Values
from saltline.legendre import (
    HERMITE,
    LINEAR,
    integrated_legendre,
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


def test_products_of_series_have_the_integrals_that_gauss_finds() -> None:
    a, b = np.random.default_rng(5).normal(size=(2, 4, 7))
    x, w = legendre.leggauss(7)  # exact to degree 13
    due = (legendre.legval(x, a.T) * w) @ legendre.legval(x, b[:, :5].T).T
    np.testing.assert_allclose(series_products(a, b[:, :5]), due, rtol=0, atol=1e-13)
