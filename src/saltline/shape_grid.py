"""A plate's shape on a grid, from which its node lines are followed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.mixed_shape import MixedShape
from saltline.plate_shape import PlateShape


@dataclass(frozen=True, slots=True)
class Grid:
    """Places x by y, and there the shape w, and w divided by what makes it vanish at held edges.

    A clamped edge makes the shape vanish as the square of the distance, a pinned one as the
    distance. Divided by that, a node line can be followed right to the edge; on the edge itself
    the quotient is the first derivative that does not vanish.
    """

    x: Values
    y: Values
    w: Values
    level: Values
    cell: float

    @staticmethod
    def over(shape: PlateShape | MixedShape) -> Grid:
        a, b = float(shape.x.breaks[-1]), float(shape.y.breaks[-1])
        waves = max(_degree_of(shape.x) / a, _degree_of(shape.y) / b)
        # An even number of places: the lines of symmetry fall between them, not on them.
        x, y = (
            np.linspace(0.0, side, 2 * min(max(math.ceil(1.5 * waves * side), 16), 150))
            for side in (a, b)
        )
        w, level = shape.levels(x, y)
        return Grid(x, y, w, _without_rest(level, w), math.hypot(x[1], y[1]))


AT_REST = 1e-3
"""A region whose largest deflection is below this part of the plate's is at rest to any eye."""


def _without_rest(level: Values, w: Values) -> Values:
    """The level with the sign turned in regions that are at rest.

    Near a corner of clamped edges the shape changes its sign again and again (Coffman 1982), by
    amounts that nobody can see; such a region is counted with the one around it.
    """
    from scipy.ndimage import find_objects, label  # needed for plates alone

    level = level.copy()
    limit = AT_REST * float(np.abs(w).max())
    for sign in (1.0, -1.0):
        regions, _ = label(sign * level > 0.0)
        for number, box in enumerate(find_objects(regions), start=1):
            here = regions[box] == number
            if np.abs(w[box])[here].max() < limit:
                level[box][here] *= -1.0
    return level


def _degree_of(line: Line) -> int:
    return int(sum(e.series("w").shape[1] for e in line.elements))


def contours(grid: Grid) -> list[Values]:
    from contourpy import contour_generator  # needed for plates alone

    lines = contour_generator(grid.x, grid.y, grid.level.T, name="serial").lines(0.0)
    return [np.array(line) for line in lines if len(line) > 1]
