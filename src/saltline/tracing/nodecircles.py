"""Nodal diameters and circles of a disc's mode."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from saltline.arrays import Values
from saltline.disc_shape import DiscShape
from saltline.record import record

HELD_NEARNESS = 1e-6
"""A root closer to a rigid hold than this fraction of the rim's radius is the hold itself."""

AT_REST = 1e-8
"""Where W is less than this part of its greatest value its sign is not to be relied on: with many
nodal diameters the middle of a disc is all but at rest."""


@record
class DiscPattern:
    """Where a disc's mode stands still.

    diameters: number of nodal diameters.
    radii_m:   of the nodal circles, m, ascending; held edges are not among them.
    """

    diameters: int
    radii_m: tuple[float, ...]

    @property
    def circles(self) -> int:
        """Number of nodal circles."""
        return len(self.radii_m)

    @property
    def counts(self) -> Mapping[str, int | None]:
        """What an observer counts, by the names of a measured list's columns."""
        return {"diameters": self.diameters, "circles": self.circles}


def disc_pattern(shape: DiscShape) -> DiscPattern:
    """Nodal diameters and circles of a disc's mode, the circles to rounding."""
    near = HELD_NEARNESS * shape.rim_radius
    radii = [
        float(r)
        for r in _sign_changes(shape, _samples(shape))
        if all(abs(r - held) > near for held in shape.held)
    ]
    return DiscPattern(shape.n, tuple(radii))


def _samples(shape: DiscShape) -> Values:
    """Radii dense enough that at most one root lies between neighbours (see `nodes._samples`)."""
    parts = []
    for element in shape.line.elements:
        k = 4 * element.fields["w"].shape[1]
        xi = -np.cos(np.pi * (np.arange(k) + 0.5) / k)
        parts.append(element.start + element.half * (xi + 1.0))
    return np.concatenate(parts)


def _sign_changes(shape: DiscShape, places: Values) -> Values:
    """Roots of W where its sign changes between neighbouring places at which it is not at rest.

    Newton's method, which halves the bracket instead wherever it would leave it.
    """
    values = shape.radial(places)
    moving = np.abs(values) > AT_REST * np.abs(values).max()
    places, values = places[moving], values[moving]
    at = np.flatnonzero(np.sign(values[:-1]) != np.sign(values[1:]))
    low, high, sign = places[at], places[at + 1], np.sign(values[at])
    r = (low + high) / 2.0
    rounding = 1e-14 * shape.rim_radius
    for _ in range(60):
        w, slope = (jet @ shape.q for jet in shape.line.jets("w", r, 1))
        is_left = np.sign(w) == sign
        low, high = np.where(is_left, r, low), np.where(is_left, high, r)
        newton = r - w / np.where(slope != 0.0, slope, np.inf)
        is_inside = (low - rounding <= newton) & (newton <= high + rounding)
        before, r = r, np.where(is_inside, newton, (low + high) / 2.0)
        if np.all(np.abs(r - before) <= rounding):
            break
    return np.asarray(r)
