"""Legendre polynomials, what is made of them on [-1, 1], and their integrals.

`numpy.polynomial` has values and Gauss points too; every prediction would wait for it, longer than
a reed takes to be solved, and its weights at the ends are the less exact ones.
"""

from __future__ import annotations

from functools import cache

import numpy as np

from saltline.arrays import Values


def orthonormal_legendre(n: int) -> Values:
    """The Legendre polynomial of degree n whose square has the integral 1."""
    series = np.zeros(n + 1)
    series[n] = np.sqrt(n + 0.5)
    return series


def integrated_legendre(k: int) -> Values:
    """The k-th C0 bubble, k >= 2: its derivative is the orthonormal Legendre polynomial k - 1."""
    series = np.zeros(k + 1)
    series[k], series[k - 2] = 1.0, -1.0
    return np.asarray(series / np.sqrt(2.0 * (2 * k - 1)))


def twice_integrated_legendre(k: int) -> Values:
    """The k-th C1 bubble, k >= 4: its second derivative is the orthonormal Legendre k - 2."""
    n = k - 2
    series = np.zeros(k + 1)
    series[n + 2] = 1.0 / ((2 * n + 1) * (2 * n + 3))
    series[n] = -2.0 / ((2 * n - 1) * (2 * n + 3))
    series[n - 2] = 1.0 / ((2 * n + 1) * (2 * n - 1))
    return np.asarray(series * np.sqrt((2 * n + 1) / 2.0))


HERMITE = np.array(
    [
        [0.5, -0.6, 0.0, 0.1],  # value 1 at -1
        [1 / 6, -0.1, -1 / 6, 0.1],  # slope 1 at -1
        [0.5, 0.6, 0.0, -0.1],  # value 1 at +1
        [-1 / 6, -0.1, 1 / 6, 0.1],  # slope 1 at +1
    ]
)
"""The cubic Hermite functions as Legendre series."""

LINEAR = np.array([[0.5, -0.5], [0.5, 0.5]])
"""The linear end functions as Legendre series."""


@cache
def gauss(points: int) -> tuple[Values, Values]:
    """Gauss-Legendre abscissae and weights on [-1, 1].

    The abscissae are the eigenvalues of the polynomials' recursion (Golub and Welsch, Calculation
    of Gauss quadrature rules, 1969), and of the weights w = 2 / sum (2 k + 1) P_k(x)^2 (textbook).
    """
    k = np.arange(points)
    beside = k[1:] / np.sqrt(4.0 * k[1:] ** 2 - 1.0)
    x = np.linalg.eigvalsh(np.diag(beside, -1))  # which reads the lower triangle
    x = (x - x[::-1]) / 2.0
    return x, 2.0 / np.sum((2 * k + 1) * legendre_values(x, points) ** 2, axis=1)


def legendre_values(x: Values, size: int) -> Values:
    """The polynomials of degrees 0 to size - 1 at places on [-1, 1], shape (len(x), size).

    Bonnet's recursion: (k + 1) P_k+1 = (2 k + 1) x P_k - k P_k-1.
    """
    values = np.ones((size, x.size))
    if size > 1:
        values[1] = x
    for k in range(1, size - 1):
        values[k + 1] = ((2 * k + 1) * x * values[k] - k * values[k - 1]) / (k + 1)
    return values.T


@cache
def legendre_derivative(size: int) -> Values:
    """The matrix that turns a Legendre series (a row) into that of its derivative, same length."""
    n, k = np.arange(size)[:, None], np.arange(size)[None, :]
    # P_n' is the sum of (2 k + 1) P_k over k = n - 1, n - 3 ... (textbook).
    return np.where((k < n) & ((n - k) % 2 == 1), 2.0 * k + 1.0, 0.0)


@cache
def legendre_at_gauss(degree: int, points: int) -> Values:
    """The polynomials up to a degree at the abscissae of `gauss`, shape (degree + 1, points)."""
    return np.ascontiguousarray(legendre_values(gauss(points)[0], degree + 1).T)


def series_products(a: Values, b: Values) -> Values:
    """Integrals over [-1, 1] of products of Legendre series, the rows of a with those of b.

    Legendre polynomials are orthogonal, and the square of each has the integral 2 / (2 k + 1).
    """
    size = min(a.shape[1], b.shape[1])
    squares = 2.0 / (2.0 * np.arange(size) + 1.0)
    return np.asarray((a[:, :size] * squares) @ b[:, :size].T)
