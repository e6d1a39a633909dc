"""A sum of plate shapes: what a drive or an imperfection makes of modes of one frequency."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field
from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.plates.plate_shape import PlateShape, Segment
from saltline.record import record

if TYPE_CHECKING:
    from saltline.plates.plate_places import Patch


@record
class MixedShape:
    """A sum of plate shapes, each with its weight; it is read like a plate's shape."""

    parts: tuple[tuple[PlateShape, float], ...]
    known: dict[str, object] = field(default_factory=dict, repr=False, compare=False)

    @property
    def x(self) -> Line:
        """The first part's axis along the length: its elements say how fine to look."""
        return self.parts[0][0].x

    @property
    def y(self) -> Line:
        """The first part's axis along the width."""
        return self.parts[0][0].y

    @property
    def vanishing(self) -> tuple[int, int, int, int]:
        """How many times the deflection vanishes at each edge."""
        return self.parts[0][0].vanishing

    @property
    def resting(self) -> tuple[Segment, ...]:
        """Lines along which the plate is held at rest."""
        return self.parts[0][0].resting

    @property
    def patches(self) -> tuple[tuple[Patch, tuple[float, float, float]], ...]:
        """Rigid patches, each with its motion (A, B, C)."""
        mixed = []
        for group in zip(*(shape.patches for shape, _ in self.parts), strict=True):
            motions = np.array([motion for _, motion in group])
            weights = np.array([weight for _, weight in self.parts])
            A, B, C = (float(v) for v in weights @ motions)
            mixed.append((group[0][0], (A, B, C)))
        return tuple(mixed)

    def at(self, x: Values, y: Values, dx: int = 0, dy: int = 0) -> Values:
        """The deflection or a derivative on the grid of places x by y."""
        return np.asarray(sum(weight * shape.at(x, y, dx, dy) for shape, weight in self.parts))

    def at_points(self, x: Values, y: Values, dx: int = 0, dy: int = 0) -> Values:
        """The deflection or a derivative at the points (x[i], y[i])."""
        return self.jet(x, y, ((dx, dy),))[0]

    def jet(self, x: Values, y: Values, orders: Sequence[tuple[int, int]]) -> list[Values]:
        """Several derivatives of the deflection at the points (x[i], y[i])."""
        jets = [[weight * v for v in shape.jet(x, y, orders)] for shape, weight in self.parts]
        return [np.asarray(sum(values)) for values in zip(*jets, strict=True)]

    def levels(self, x: Values, y: Values) -> tuple[Values, Values]:
        """The deflection on a grid, and divided by what makes it vanish at held edges."""
        pairs = [(weight, shape.levels(x, y)) for shape, weight in self.parts]
        w, level = (np.asarray(sum(weight * pair[n] for weight, pair in pairs)) for n in (0, 1))
        return w, level
