"""One family of motions, discretised: the matrices, what is attached, and how to see a shape.

Beams, plates and discs all end here: whatever the specimen, its motions are a few of these
problems (one a beam family, one a symmetry class of a plate, one a number of nodal diameters), and
`modes` solves them without knowing what they came from.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.eigen import lowest_modes
from saltline.functional import Functional, count_unheld, freedom
from saltline.record import record
from saltline.specimen import Specimen


@record
class Problem:
    """K and M over all functions, before anything is attached or held.

    family:        of all the modes of this problem.
    K, M:          shape (size, size).
    functionals:   masses, springs and rigid holds.
    rigid_motions: motions to which K gives no energy, shape (size, r).
    highest:       a rough guess of the highest omega^2 wanted.
    shape_of:      coefficients, shape (size,) -> the shape of that motion.
    rebuild:       another specimen of the same make -> the same functions, its own matrices.
    quotients:     modes -> what finds their Rayleigh quotients in a changed specimen; None without.
    cut:           modes, columns -> what the functions of the degree before make of them; None
                   where the functions of one degree are not among those of the next.
    multiplicity:  how many modes share each frequency by symmetry (2 for a disc's twins).
    """

    family: str
    K: Values
    M: Values
    functionals: Sequence[Functional]
    rigid_motions: Values
    highest: float
    shape_of: Callable[[Values], Any]
    rebuild: Callable[[Specimen], Problem]
    quotients: Callable[[Values], Callable[[Specimen], Values | None]] | None = None
    cut: Callable[[Values], Values] | None = None
    multiplicity: int = 1
    labels: dict[str, int] = field(default_factory=dict)


@record
class Solution:
    """omega^2, shape (m,), and coefficients over all functions, shape (size, m), q'Mq = 1."""

    omega2: Values
    q: Values
    rigid: int


def attach(problem: Problem) -> tuple[Values, Values]:
    """K and M with every mass and spring added, and nothing removed yet."""
    K, M = problem.K.copy(), problem.M.copy()
    for f in problem.functionals:
        if 0.0 < f.stiffness < np.inf:
            K += f.stiffness * (f.rows.T @ f.rows)
        if f.mass > 0.0:
            M += f.mass * (f.rows.T @ f.rows)
    return K, M


def solve(problem: Problem, count: int) -> Solution:
    """The lowest `count` elastic modes of the problem; raises `BuckledError`.

    The functions differ in stiffness by many powers of ten. Each is first scaled to unit energy, so
    that neither a rigid hold, which mixes them, nor the factorisation loses the soft ones among the
    rounding of the stiff ones.
    """
    K, M = attach(problem)
    standing = [f.rows for f in problem.functionals if f.stiffness > 0.0]
    rigid = count_unheld(standing, problem.rigid_motions)
    energy = np.diag(K) + 1e-3 * problem.highest * np.diag(M)
    scale = 1.0 / np.sqrt(np.where(energy > 0.0, energy, 1.0))
    scales = np.multiply.outer(scale, scale)
    K *= scales
    M *= scales
    held = [f.rows * scale for f in problem.functionals if np.isinf(f.stiffness)]
    free = freedom(held, K.shape[0])
    omega2, q = lowest_modes(
        free.reduced(K), free.reduced(M), count, rigid=rigid, highest=problem.highest
    )
    return Solution(omega2, scale[:, None] * free.expanded(q), rigid)
