"""Pairs of modes that lie so close that a small imperfection mixes their figures.

Two modes of nearly one frequency answer to a small deviation of the specimen by turning into
mixtures a cos(t) + b sin(t), b cos(t) - a sin(t). First-order perturbation theory gives the angle:
tan(2 t) = 2 V / (difference of omega^2), with V the deviation's work between the two shapes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from saltline.arrays import Values
from saltline.modes import Mode, Modes
from saltline.plate import PlateShape
from saltline.problem import attach
from saltline.quantities_of import quantities, with_values

NEAR = 0.03
"""Modes closer than this (relative) are partners."""

MASS_SHARE = 0.01
"""The imperfection that is tried: so much of the mass, off centre where it mixes the two most."""

SIDE_SHARE = 0.002
"""... or one side longer by its tolerance, or by this where it has none."""

TURNED = math.radians(10.0)
"""A pair whose figures turn by more than this is called fragile."""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two partners.

    apart: their relative distance; angle_deg: how far the imperfections that are tried turn the
    one figure toward the other, at most 45.
    """

    first: Mode
    second: Mode
    apart: float
    angle_deg: float

    @property
    def is_fragile(self) -> bool:
        """Whether a small deviation gives the figures another look."""
        return self.angle_deg > math.degrees(TURNED)


def partners(modes: Modes) -> dict[int, list[int]]:
    """Rank -> the ranks of its partners, for the modes that have any."""
    found: dict[int, list[int]] = {}
    for first, second in _near(modes.modes):
        found.setdefault(first.rank, []).append(second.rank)
        found.setdefault(second.rank, []).append(first.rank)
    return found


def pairs(modes: Modes) -> list[Pair]:
    """All pairs of partners of a plate, and how easily each is turned."""
    grids: dict[int, Values] = {}
    found = []
    for first, second in _near(modes.modes):
        if not (isinstance(first.shape, PlateShape) and isinstance(second.shape, PlateShape)):
            continue
        for mode in (first, second):
            if mode.rank not in grids:
                grids[mode.rank] = _on_grid(modes, mode)
        angle = max(_by_mass(modes, first, second, grids), *_by_sides(modes, first, second))
        apart = second.frequency_hz / first.frequency_hz - 1.0
        found.append(Pair(first, second, apart, math.degrees(angle)))
    return found


def _near(modes: Sequence[Mode]) -> list[tuple[Mode, Mode]]:
    return [
        (a, b) for a, b in combinations(modes, 2) if b.frequency_hz <= (1.0 + NEAR) * a.frequency_hz
    ]


def _on_grid(modes: Modes, mode: Mode) -> Values:
    a, b = modes.specimen.geometry.size
    assert isinstance(mode.shape, PlateShape)
    return mode.shape.at(np.linspace(0.0, a, 41), np.linspace(0.0, b, 41))


def _angle(work: float, difference: float) -> float:
    return 0.5 * math.atan2(2.0 * abs(work), abs(difference))


def _omega2(mode: Mode) -> float:
    return (2.0 * math.pi * mode.frequency_hz) ** 2


def _by_mass(modes: Modes, first: Mode, second: Mode, grids: dict[int, Values]) -> float:
    """The angle by a small mass at the place where it mixes the two most."""
    u, v = grids[first.rank], grids[second.rank]
    # Mass-normalised shapes: the mean square of the deflection is one over the mass.
    mass = 1.0 / float(np.mean(u[1:-1, 1:-1] ** 2))
    omega2 = (_omega2(first) + _omega2(second)) / 2.0
    work = omega2 * MASS_SHARE * mass * float(np.abs(u * v).max())
    return _angle(work, _omega2(second) - _omega2(first))


def _by_sides(modes: Modes, first: Mode, second: Mode) -> list[float]:
    """The angles by either side being longer; only modes of one symmetry are mixed by that."""
    problem = first.problem
    if problem is None or problem is not second.problem:
        return [0.0]
    assert first.q is not None
    assert second.q is not None
    known = quantities(modes.specimen)
    omega2 = (_omega2(first) + _omega2(second)) / 2.0
    angles = []
    for path in ("geometry.length", "geometry.width"):
        q = known[path]
        step = q.tolerance or SIDE_SHARE * q.value
        K, M = attach(problem.rebuild(with_values(modes.specimen, {path: q.value + step})))
        work = float(first.q @ (K - omega2 * M) @ second.q)
        angles.append(_angle(work, _omega2(second) - _omega2(first)))
    return angles
