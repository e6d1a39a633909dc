"""Functionals: "the deflection here", "the slope there" as rows over a basis.

Masses, springs and rigid supports are all made of these. With f the row that reads off a motion,
a mass m adds m f'f to the mass matrix, a spring k adds k f'f to the stiffness matrix, and a rigid
support is the constraint f q = 0, removed with an orthonormal null space and never by a big number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy.linalg

from saltline.arrays import Values


@dataclass(frozen=True, slots=True)
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


def free_motions(constraints: Sequence[Values], size: int) -> Values:
    """An orthonormal basis of the motions that every constraint row reads as zero, (size, n).

    A row that reads a single coefficient just drops that coefficient, so a classic boundary is the
    absence of an end function and exact.
    """
    if not constraints:
        return np.eye(size)
    rows = np.vstack(constraints)
    rows = rows[np.any(rows != 0.0, axis=1)]
    single = np.count_nonzero(rows, axis=1) == 1
    kept = np.ones(size, dtype=bool)
    kept[np.argmax(rows[single] != 0.0, axis=1)] = False
    lift = np.eye(size)[:, kept]
    if np.all(single):
        return lift
    rest = rows[~single] @ lift
    rest /= np.linalg.norm(rest, axis=1, keepdims=True)
    return np.asarray(lift @ scipy.linalg.null_space(rest, rcond=1e-10))


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
    return motions - int(np.linalg.matrix_rank(readings, tol=1e-9))
