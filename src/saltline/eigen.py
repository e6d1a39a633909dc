"""The lowest modes of a stiffness and a mass matrix."""

from __future__ import annotations

import numpy as np
import scipy.linalg

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
        mu, q = scipy.linalg.eigh(
            M, K + shift * M, subset_by_index=(n - wanted, n - 1), check_finite=False
        )
    except np.linalg.LinAlgError as error:
        raise BuckledError from error
    mu, q = mu[::-1], q[:, ::-1]
    present = mu > 1e-14 * mu[0]  # directions without mass are no modes
    mu, q = mu[present], q[:, present]
    omega2 = 1.0 / mu - shift
    q = q / np.sqrt(mu)
    if np.any(omega2 < -1e-9 * shift):
        raise BuckledError
    return omega2[rigid:], q[:, rigid:]
