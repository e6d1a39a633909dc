"""How far modes are at most from those over fewer of their functions, without solving for these."""

from __future__ import annotations

import numpy as np

from saltline.arrays import Indices, Values
from saltline.basis import Line
from saltline.eigen import BuckledError, lowest_modes
from saltline.problem import Problem, attach


def lower_functions(line: Line, less: int) -> Indices:
    """Numbers of the functions whose degree is by so much lower, or more, on each element.

    The functions of a line are hierarchical: these are all that one of lower degree has.
    """
    is_lower = np.ones(line.size, dtype=bool)
    for element in line.elements:
        for series in element.fields.values():
            is_lower[element.dofs] &= ~np.any(series[:, -less:], axis=1)
    return np.flatnonzero(is_lower)


def cut_on_line(line: Line, less: int, Q: Values) -> Values:
    """What the lower functions of a line alone make of modes, columns of shape (size, k)."""
    motions = np.zeros_like(Q)
    kept = lower_functions(line, less)
    motions[kept] = Q[kept]
    return motions


def largest_changes(problem: Problem, Q: Values, omega2: Values, rigid: int) -> Values | None:
    """How far each frequency is at most (relative) from that of the degree before.

    Q, omega2: the lowest elastic modes of the problem, columns of shape (size, k), and (k,).
    rigid:     0 where there is no motion without strain below them.

    That frequency is no lower, for there are fewer functions, and no higher than Ritz's over any
    motions made of these (the minimum-maximum principle; Courant and Hilbert 1953, ch. I, from
    memory). What they make of the modes are such motions, and good ones: k functions in the place
    of all the lower ones.

    None where the problem cannot be cut, or what is left of a mode breaks a rigid hold.
    """
    if problem.cut is None:
        return None
    motions = problem.cut(Q)
    held = [f.rows for f in problem.functionals if np.isinf(f.stiffness)]
    if held and np.any(np.vstack(held) @ motions):
        return None
    if rigid > 0:
        if any(f.stiffness > 0.0 for f in problem.functionals):
            return None  # which of the motions without strain are left is not told
        rigid = problem.rigid_motions.shape[1]
        motions = np.hstack([problem.rigid_motions, motions])
    K, M = attach(problem)
    K, M = motions.T @ K @ motions, motions.T @ M @ motions
    energy = np.diag(K) + 1e-3 * problem.highest * np.diag(M)
    scale = 1.0 / np.sqrt(np.multiply.outer(energy, energy))
    try:
        above, _ = lowest_modes(
            K * scale, M * scale, Q.shape[1], rigid=rigid, highest=problem.highest
        )
    except BuckledError:
        return None  # motions that are alike are no measure of anything
    if above.size < omega2.size or not np.all(above > 0.0):
        return None
    return np.asarray(np.abs(1.0 - np.sqrt(omega2 / above)))
