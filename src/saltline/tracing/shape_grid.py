"""A plate's shape on a grid, from which its node lines are followed."""

from __future__ import annotations

import math

import numpy as np

from saltline.arrays import Flags, Values
from saltline.basis import Line
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape, Segment
from saltline.record import record


@record
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
        level = _straight_at_corners(level, w, shape.vanishing)
        for segment in shape.resting:
            _read_beside(level, x, y, segment)
        return Grid(x, y, w, _without_rest(level, w), math.hypot(x[1], y[1]))


AT_REST = 1e-3
"""A region whose largest deflection is below this part of the plate's is at rest to any eye."""


def _read_beside(level: Values, x: Values, y: Values, segment: Segment) -> None:
    """Along a held part of an edge take the level from beside it, in place: no line runs there."""
    (x0, y0), (x1, y1) = segment
    tolerance = 1e-9 * (x[-1] + y[-1])
    for at, start, stop, size, along, rows in (
        ((x0, x1), y0, y1, x[-1], y, level),
        ((y0, y1), x0, x1, y[-1], x, level.T),
    ):
        here = (along >= min(start, stop) - tolerance) & (along <= max(start, stop) + tolerance)
        if max(at) <= tolerance:
            rows[0, here] = rows[1, here]
        elif min(at) >= size - tolerance:
            rows[-1, here] = rows[-2, here]


def _straight_at_corners(level: Values, w: Values, vanishing: tuple[int, int, int, int]) -> Values:
    """The level with the sign, about a corner of clamped edges, that it has farther out.

    There the shape changes its sign again and again (Coffman 1982), by amounts that nobody can see:
    within the quarter of a circle that is at rest each ray takes the sign of its outer end.
    """
    level = level.copy()
    limit = AT_REST * float(np.abs(w).max())
    left, right, bottom, top = (order == 2 for order in vanishing)
    for along, is_x in ((slice(None), left), (slice(None, None, -1), right)):
        for across, is_y in ((slice(None), bottom), (slice(None, None, -1), top)):
            if is_x and is_y:
                _take_sign_from_afar(level[along, across], w[along, across], limit)
    return level


def _take_sign_from_afar(level: Values, w: Values, limit: float) -> None:
    """In place, about the grid's first place."""
    n = min(level.shape)
    i, j = np.meshgrid(np.arange(n), np.arange(n), indexing="ij")
    r = np.hypot(i, j)
    live = np.abs(w[:n, :n]) > limit
    reach = math.floor(float(r[live].min(initial=n - 1.0)))
    if reach < 2:
        return
    inside = (r < reach) & (r > 0.0)
    outward = reach / r[inside]
    ends = [np.rint(k[inside] * outward).astype(int) for k in (i, j)]
    corner = level[:n, :n]
    corner[inside] = np.abs(corner[inside]) * np.sign(level[ends[0], ends[1]])


def _without_rest(level: Values, w: Values) -> Values:
    """The level with the sign turned in regions that are at rest, to that of the one around it."""
    level = level.copy()
    moving = np.abs(w) >= AT_REST * float(np.abs(w).max())
    for sign in (1.0, -1.0):
        regions = sign * level > 0.0
        level[regions & ~_grown(regions & moving, regions)] *= -1.0
    return level


def _grown(seeds: Flags, within: Flags) -> Flags:
    """All places from which a seed can be reached from neighbour to neighbour within some regions.

    Nearly all are next to a seed, so that a few rounds do what scipy's labels would, without the
    quarter of a second that it takes to load those.
    """
    grown = seeds
    while True:
        wider = grown.copy()
        wider[1:] |= grown[:-1]
        wider[:-1] |= grown[1:]
        wider[:, 1:] |= grown[:, :-1]
        wider[:, :-1] |= grown[:, 1:]
        wider &= within
        if np.count_nonzero(wider) == np.count_nonzero(grown):
            return wider
        grown = wider


def _degree_of(line: Line) -> int:
    return int(sum(e.series("w").shape[1] for e in line.elements))


def contours(grid: Grid) -> list[Values]:
    from contourpy import contour_generator  # needed for plates alone

    lines = contour_generator(grid.x, grid.y, grid.level.T, name="serial").lines(0.0)
    return [np.array(line) for line in lines if len(line) > 1]
