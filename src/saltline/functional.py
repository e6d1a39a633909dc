"""Functionals: "the deflection here", "the slope there" as rows over a basis.

Masses, springs and rigid supports are all made of these. With f the row that reads off a motion,
a mass m adds m f'f to the mass matrix, a spring k adds k f'f to the stiffness matrix, and a rigid
support is the constraint f q = 0, removed with an orthonormal null space and never by a big number.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.arrays import Indices, Values
from saltline.record import record


@record
class Functional:
    """A motion that is read off, and what stands against it.

    rows:      one or more functionals, shape (k, size); several stand for a motion along a line,
               each row already scaled by the root of its quadrature weight.
    stiffness: N/m or N m/rad (per length along a line); infinite for a rigid hold.
    mass:      kg or kg m2.
    """

    rows: Values
    stiffness: float = 0.0
    mass: float = 0.0


@record
class Freedom:
    """The motions that some constraints leave, with orthonormal coordinates.

    kept: the coefficients that no constraint holds at zero by itself.
    V, T: I - V T V' turns them so that the first V.shape[1] are those which the rest hold at zero
          (Householder's reflections in the compact form of Schreiber and Van Loan 1989, SIAM J.
          Sci. Stat. Comput. 10, 53).
    """

    size: int
    kept: Indices
    V: Values
    T: Values

    def reduced(self, A: Values) -> Values:
        """A symmetric matrix over all coefficients as one over the free motions."""
        if self.kept.size < self.size:
            A = A[np.ix_(self.kept, self.kept)]
        held = self.V.shape[1]
        if held == 0:
            return A
        W = A @ (self.V @ self.T)
        turned = A - W @ self.V.T - self.V @ W.T
        turned += self.V @ (self.T.T @ (self.V.T @ W)) @ self.V.T
        return np.asarray((turned + turned.T)[held:, held:] / 2.0)

    def expanded(self, q: Values) -> Values:
        """Free motions, columns, as coefficients, shape (size, n)."""
        if self.kept.size == self.size and self.V.shape[1] == 0:
            return q
        turned = np.vstack([np.zeros((self.V.shape[1], q.shape[1])), q])
        full = np.zeros((self.size, q.shape[1]))
        full[self.kept] = turned - self.V @ (self.T @ (self.V.T @ turned))
        return full


SAID_ALREADY = 1e-8
"""A row of which less than this is not said by the others says nothing new. The rows of a rigid
patch come ever nearer to each other as its rim is followed farther; what is left of the last is
known to some 1e-16 alone, and to hold that at rest would shift a mode by parts in a million."""


def freedom(constraints: Sequence[Values], size: int) -> Freedom:
    """The motions that every constraint row reads as zero.

    A row that reads a single coefficient just drops that coefficient, so a classic boundary is the
    absence of an end function and exact. Rows that say the same thing twice count once.
    """
    if not constraints:
        return Freedom(size, np.arange(size), np.zeros((size, 0)), np.zeros((0, 0)))
    rows = np.vstack(constraints)
    rows = rows[np.any(rows != 0.0, axis=1)]
    single = np.count_nonzero(rows, axis=1) == 1
    is_kept = np.ones(size, dtype=bool)
    is_kept[np.argmax(rows[single] != 0.0, axis=1)] = False
    kept = np.flatnonzero(is_kept)
    rest = rows[~single][:, kept]
    sizes = np.linalg.norm(rest, axis=1, keepdims=True)
    rest = rest[sizes[:, 0] > 0.0] / sizes[sizes > 0.0][:, None]
    if rest.size == 0:
        return Freedom(size, kept, np.zeros((kept.size, 0)), np.zeros((0, 0)))
    import scipy.linalg  # only constraints that read several coefficients need it

    (reflectors, tau), R, _ = scipy.linalg.qr(rest.T, mode="raw", pivoting=True)
    diagonal = np.abs(np.diag(R))
    rank = int(np.sum(diagonal > SAID_ALREADY * diagonal[0]))
    V = np.tril(reflectors[:, :rank], -1)
    V[np.arange(rank), np.arange(rank)] = 1.0
    T = np.diag(tau[:rank])
    for k in range(1, rank):
        T[:k, k] = -tau[k] * T[:k, :k] @ (V[:, :k].T @ V[:, k])
    return Freedom(size, kept, V, T)


def count_unheld(standing: Sequence[Values], rigid_motions: Values) -> int:
    """How many of the rigid motions no functional reads: the number of rigid-body modes."""
    motions = int(rigid_motions.shape[1])
    if not standing or motions == 0:
        return motions
    rows = np.vstack(standing)
    readings = rows @ rigid_motions
    # What a functional reads of a rigid motion, if it reads it at all, is no rounding of its row.
    sizes = np.linalg.norm(rows, axis=1)[:, None] * np.linalg.norm(rigid_motions, axis=0)[None, :]
    readings[np.abs(readings) < 1e-10 * sizes] = 0.0
    readings = readings[np.any(readings != 0.0, axis=1)]
    if readings.size == 0:
        return motions
    readings = readings / np.linalg.norm(readings, axis=1, keepdims=True)
    return motions - int(np.sum(np.linalg.svd(readings, compute_uv=False) > 1e-9))
