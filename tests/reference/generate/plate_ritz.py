"""Rayleigh-Ritz of a thin rectangular plate in Legendre polynomials: the second opinion on plates.

Kirchhoff plate, lengths scaled by a (x) and b (y), r = a/b, stiffness D11, D12, D22, D66:

    lambda^2 = [ D11 w_xx^2 + 2 D12 r^2 w_xx w_yy + D22 r^4 w_yy^2 + 4 D66 r^2 w_xy^2 ] / [ w^2 ]

integrated over the plate, lambda = omega a^2 sqrt(rho h/D) with D the unit of the stiffnesses.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg import cholesky, eigh, null_space, solve_triangular

ISOTROPIC = (1.0, 0.3, 1.0, 0.35)  # nu = 0.3: D11, D12 = nu, D22, D66 = (1 - nu)/2

Place = tuple[float, float]


@dataclass(frozen=True)
class Strip:
    """Functions of x on [0, 1]: columns of Legendre coefficients, and their products."""

    coefficients: np.ndarray
    products: dict[tuple[int, int], np.ndarray]

    def at(self, x: float) -> np.ndarray:
        """Return the row of the functions' values at x."""
        return legendre.legval(2 * x - 1, self.coefficients)


def held_rows(letter: str, end: int, degree: int) -> list[np.ndarray]:
    """Return the rows that an edge (C, S or F) at -1 or 1 holds at zero."""
    eye = np.eye(degree + 1)
    rows = [legendre.legval(end, eye), legendre.legval(end, legendre.legder(eye))]
    return rows[: {"C": 2, "S": 1, "F": 0}[letter]]


def strip(edges: str, *, degree: int, parity: int | None = None) -> Strip:
    """Return orthonormal functions which fit both edges; parity 0 or 1 keeps even or odd ones."""
    rows = held_rows(edges[0], -1, degree) + held_rows(edges[1], 1, degree)
    if parity is not None:
        rows += [row for n, row in enumerate(np.eye(degree + 1)) if n % 2 != parity]
    start = null_space(np.array(rows)) if rows else np.eye(degree + 1)
    points, weights = legendre.leggauss(degree + 2)

    def values(coefficients: np.ndarray, order: int) -> np.ndarray:
        series = legendre.legder(coefficients, order) if order else coefficients
        return 2**order * legendre.legval(points, series).T

    def product(coefficients: np.ndarray, i: int, j: int) -> np.ndarray:
        return (values(coefficients, i) * weights[:, None] / 2).T @ values(coefficients, j)

    _, turn = eigh(product(start, 2, 2), product(start, 0, 0))
    basis = start @ turn
    orders = [(2, 2), (2, 0), (0, 2), (1, 1), (0, 0)]
    return Strip(basis, {(i, j): product(basis, i, j) for i, j in orders})


def frequencies(
    edges: str,
    *,
    aspect: float,
    degree: int,
    count: int,
    stiffness: Sequence[float] = ISOTROPIC,
    held: Sequence[Place] = (),
    parity: tuple[int | None, int | None] = (None, None),
) -> np.ndarray:
    """Return the first elastic lambda; edges are left x=0, bottom y=0, right x=a, top y=b."""
    along = strip(edges[0] + edges[2], degree=degree, parity=parity[0])
    across = strip(edges[1] + edges[3], degree=degree, parity=parity[1])
    d11, d12, d22, d66 = stiffness
    x, y, r2 = along.products, across.products, aspect**2
    energy = d11 * np.kron(x[2, 2], y[0, 0]) + d22 * r2**2 * np.kron(x[0, 0], y[2, 2])
    energy += d12 * r2 * (np.kron(x[2, 0], y[0, 2]) + np.kron(x[0, 2], y[2, 0]))
    energy += 4 * d66 * r2 * np.kron(x[1, 1], y[1, 1])
    mass = np.kron(x[0, 0], y[0, 0])
    # Unit energy for every function: a constraint that mixes them then costs no digits.
    scale = 1 / np.sqrt(np.diag(energy + mass))
    energy, mass = (scale[:, None] * matrix * scale for matrix in (energy, mass))
    rows = [np.kron(along.at(px), across.at(py)) * scale for px, py in held]
    # A place on a node line of this symmetry class holds nothing.
    rows = [row for row in rows if np.linalg.norm(row) > 1e-9]
    if rows:
        free = null_space(np.array(rows))
        energy, mass = free.T @ energy @ free, free.T @ mass @ free
    return elastic(energy, mass, count)


def elastic(energy: np.ndarray, mass: np.ndarray, count: int) -> np.ndarray:
    """Return the lowest frequencies that are not zero.

    The largest eigenvalues of (K + M)^-1 M keep their digits, the smallest of M^-1 K would not.
    """
    factor = cholesky(energy + mass, lower=True)
    half = solve_triangular(factor, mass, lower=True)
    inverse = solve_triangular(factor, half.T, lower=True)
    n = len(inverse)
    tops = eigh(
        (inverse + inverse.T) / 2,
        eigvals_only=True,
        subset_by_index=(max(0, n - count - 3), n - 1),
    )
    squares = np.sort(1 / tops - 1)
    return np.sqrt(squares[squares > 1e-3])[:count]


DEGREES = (24, 36, 54)  # each 1.5 times the one before, as Aitken's rule wants it


def limit(edges: str, **case: object) -> tuple[np.ndarray, np.ndarray]:
    """Return the values extrapolated over DEGREES, and a bound on their relative uncertainty."""
    first, second, third = (frequencies(edges, degree=degree, **case) for degree in DEGREES)
    return aitken(first, second, third)


def aitken(
    first: np.ndarray, second: np.ndarray, third: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Extrapolate errors that fall by a constant factor; the correction bounds the uncertainty."""
    before, after = first - second, second - third
    falling = (before > 2 * after) & (after > 1e-9 * third)
    correction = np.where(falling, after**2 / np.where(falling, before - after, 1), 0)
    return third - correction, correction / third + 1e-8
