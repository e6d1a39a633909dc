"""The lowest modes of a stiffness and a mass matrix."""

from __future__ import annotations

import numpy as np

from saltline.arrays import Values


class BuckledError(ArithmeticError):
    """The stiffness is not positive: a compressive preload is at or beyond buckling."""


def lowest_modes(
    K: Values, M: Values, count: int, *, rigid: int, highest: float
) -> tuple[Values, Values]:
    """The lowest elastic modes of K q = omega^2 M q.

    K, M:    shape (n, n), symmetric, K positive semidefinite, M positive semidefinite.
    count:   how many elastic modes are wanted; fewer come back where there are fewer.
    rigid:   how many rigid-body modes lie below them; they are left out.
    highest: a rough guess of the highest omega^2 wanted, which sets the shift.

    Returns omega^2, shape (m,), and vectors with q' M q = 1, shape (n, m). Raises BuckledError.

    The inverse problem M q = (1/(omega^2 + s)) (K + s M) q is solved: a polynomial basis has a mass
    matrix that is singular to rounding, while K + s M is not, and the wanted modes are the
    *largest* of the inverse problem, where rounding is least. The shift s lies between the lowest
    and the highest mode wanted, so that both lose equally few digits.
    """
    n = K.shape[0]
    wanted = min(count + rigid, n)
    shift = 1e-3 * highest
    try:
        mu, q = largest_modes(M, K + shift * M, wanted)
    except np.linalg.LinAlgError as error:
        raise BuckledError from error
    mu, q = mu[::-1], q[:, ::-1]
    present = mu > 1e-14 * mu[0]  # directions without mass are no modes
    mu, q = mu[present], q[:, present]
    omega2 = 1.0 / mu - shift
    q = q / np.sqrt(mu)
    if np.any(omega2 < -1e-9 * shift):
        raise BuckledError
    return np.maximum(omega2[rigid:], 0.0), q[:, rigid:]


SMALL = 160
"""Up to this size numpy's own solver serves; to load scipy's takes longer than to solve."""


def largest_modes(A: Values, B: Values, count: int) -> tuple[Values, Values]:
    """The `count` largest eigenvalues of A v = mu B v, rising, and vectors with v' B v = 1.

    A: symmetric; B: symmetric and positive, or LinAlgError is raised.
    """
    n = A.shape[0]
    if n > SMALL:
        import scipy.linalg  # a quarter of a second that a short beam need not wait

        mu, v = scipy.linalg.eigh(A, B, subset_by_index=(n - count, n - 1), check_finite=False)
        return np.asarray(mu), np.asarray(v)
    inverse = _inverse_of_triangle(np.linalg.cholesky(B))
    mu, u = np.linalg.eigh(inverse @ A @ inverse.T)  # of which it reads the lower triangle
    return mu[n - count :], inverse.T @ u[:, n - count :]


WHOLE = 32
"""A triangle up to this size is inverted like any matrix: to cut it takes longer."""


def _inverse_of_triangle(L: Values) -> Values:
    """The inverse of a lower triangular matrix, by halves; numpy has none that spares the zeros."""
    n = len(L)
    if n <= WHOLE:
        return np.linalg.inv(L)
    upper, lower = slice(0, n // 2), slice(n // 2, n)
    found = np.zeros_like(L)
    found[upper, upper] = _inverse_of_triangle(L[upper, upper])
    found[lower, lower] = _inverse_of_triangle(L[lower, lower])
    found[lower, upper] = -found[lower, lower] @ (L[lower, upper] @ found[upper, upper])
    return found
