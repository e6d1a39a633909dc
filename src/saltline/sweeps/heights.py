"""The heights of close resonances in a magnitude: each alone, without what its neighbours add.

A response H(f) = sum_j G_j/(f - z_j) + b of modes that are damped proportionally has real residues
G_j, and real b of what lies far away, but for one common phase. Its square has the same poles, with
the residues r_k = G_k (sum_j G_j/(z_k - conj z_j) + b) there (partial fractions). The fit knows
these; they tell the G_j, and with them |G_k|/h_k, the heights.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise, product

import numpy as np

from saltline.arrays import Values
from saltline.sweeps.group_fit import Resonance

CLOSE = 4.0
"""Resonances nearer than so many mean bandwidths add to each other's height."""

MOST = 5
"""So many are told apart at once: every pattern of signs is tried."""


def heights(found: Sequence[Resonance]) -> list[float]:
    """The height of each resonance of a squared magnitude, alone; NaN where it stands by itself.

    found: by frequency.
    """
    known = [math.nan] * len(found)
    first = 0
    for last in [*_ends(found), len(found)]:
        if 1 < last - first <= MOST:
            known[first:last] = _of_group(found[first:last])
        first = last
    return known


def _ends(found: Sequence[Resonance]) -> list[int]:
    """Where a group of close ones ends, as the number of the next one."""
    return [
        number
        for number, (one, other) in enumerate(pairwise(found), start=1)
        if other.place_hz - one.place_hz > CLOSE * (one.half_width_hz + other.half_width_hz)
    ]


def _of_group(group: Sequence[Resonance]) -> list[float]:
    """The heights that explain the residues best, over all patterns of signs."""
    from scipy.optimize import least_squares

    h = np.array([r.half_width_hz for r in group])
    z = np.array([r.place_hz for r in group]) + 1j * h
    residues = np.array([r.coefficient for r in group]) * h / 2.0
    apart = 1.0 / (z[:, None] - z.conj())
    start = h * np.sqrt(np.abs([r.coefficient for r in group]))
    unit = float(start.max() / h.min())  # of b, so that all unknowns are alike

    def misfit(x: Values) -> Values:
        G, b = start * x[:-1], unit * x[-1]
        off = (G * (apart @ G + b) - residues) / np.abs(residues)
        return np.concatenate([off.real, off.imag])

    tried = [
        least_squares(misfit, [1.0, *signs, 0.0], method="lm")
        for signs in product((1.0, -1.0), repeat=len(group) - 1)
    ]
    best = min(tried, key=lambda one: float(one.cost))
    return [float(height) for height in np.abs(start * best.x[:-1]) / h]
