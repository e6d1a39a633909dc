"""Saddles of a plate's shape at which it nearly vanishes: there node lines cross, or seem to."""

from __future__ import annotations

import numpy as np

from saltline.arrays import Flags, Values
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape
from saltline.record import record
from saltline.tracing.shape_grid import Grid

CROSSING_LEVEL = 1e-6
"""A saddle of the shape this low (relative to the largest deflection) is a crossing of lines."""

SEEN_LEVEL = 0.03
"""A saddle this low looks like a crossing: grains lie where the motion is small, not only where it
is nothing, so two lines that barely miss each other are seen and counted as if they met."""


@record
class Saddle:
    """A saddle of the shape: place and nearness of the lines in m, relative level."""

    place: Values
    level: float
    gap: float


def low_saddles(shape: PlateShape | MixedShape, grid: Grid) -> list[Saddle]:
    """Inner saddles of the shape at which it nearly vanishes, lowest first."""
    x, y = _saddles_of_grid(grid)
    for _ in range(6):
        dx, dy = _toward_saddle(shape, x, y)
        keep = np.hypot(dx, dy) < 2.5 * grid.cell
        x, y = (x + dx)[keep], (y + dy)[keep]
        inside = (x > 0.0) & (x < grid.x[-1]) & (y > 0.0) & (y < grid.y[-1])
        x, y = x[inside], y[inside]
    places = _distinct(np.column_stack([x, y]), 2.0 * grid.cell)
    places = places[_is_well_inside(shape, grid, places)]
    moving = np.arange(len(places))
    for _ in range(40):  # where more than two lines meet the saddle is flat: slow, but sure
        steps = np.column_stack(_toward_saddle(shape, places[moving, 0], places[moving, 1]))
        on = np.linalg.norm(steps, axis=1) > 1e-13 * grid.cell
        moving = moving[on]
        if moving.size == 0:
            break
        places[moving] += steps[on]
    return _weighed(shape, grid, places)


def _toward_saddle(shape: PlateShape | MixedShape, x: Values, y: Values) -> tuple[Values, Values]:
    """Newton's step toward a place without slope; NaN where the shape is a hill or a hollow."""
    gx, gy, xx, xy, yy = shape.jet(x, y, ((1, 0), (0, 1), (2, 0), (1, 1), (0, 2)))
    det = xx * yy - xy**2
    det = np.where(det < 0.0, det, np.nan)
    return -(yy * gx - xy * gy) / det, -(xx * gy - xy * gx) / det


def _saddles_of_grid(grid: Grid) -> tuple[Values, Values]:
    """Places from which a Newton step by differences of the grid leads to a saddle near by."""
    gx, gy = np.gradient(grid.w, grid.x, grid.y)
    (xx, xy), yy = np.gradient(gx, grid.x, grid.y), np.gradient(gy, grid.y, axis=1)
    det = np.minimum(xx * yy - xy**2, -np.finfo(float).tiny)
    # Only places near a zero of the level can lead to a crossing.
    near = np.hypot(yy * gx - xy * gy, xx * gy - xy * gx) < 4.0 * grid.cell * -det
    near &= xx * yy < xy**2
    near[1:-1, 1:-1] &= _near_zero(grid.level)
    near[[0, -1], :] = near[:, [0, -1]] = False
    i, j = np.nonzero(near)
    return grid.x[i], grid.y[j]


def _distinct(points: Values, apart: float) -> Values:
    """The middle of each cluster of points, shape (k, 2)."""
    middles: list[Values] = []
    while len(points):
        near = np.linalg.norm(points - points[0], axis=1) < apart
        middles.append(points[near].mean(axis=0))
        points = points[~near]
    return np.array(middles).reshape(-1, 2)


def _weighed(shape: PlateShape | MixedShape, grid: Grid, places: Values) -> list[Saddle]:
    """The saddles that are low enough to matter and not at an edge, lowest first."""
    orders = ((0, 0), (2, 0), (1, 1), (0, 2))
    w, xx, xy, yy = shape.jet(places[:, 0], places[:, 1], orders)
    level = np.abs(w) / np.abs(grid.w).max()
    bend = np.sqrt(np.maximum(xy**2 - xx * yy, np.finfo(float).tiny))
    gap = np.where(level < CROSSING_LEVEL, 0.0, np.sqrt(2.0 * np.abs(w) / bend))
    inside = _is_well_inside(shape, grid, places)
    return [
        Saddle(places[k], float(level[k]), float(gap[k]))
        for k in np.argsort(level, kind="stable")
        if level[k] < SEEN_LEVEL and inside[k]
    ]


def _is_well_inside(shape: PlateShape | MixedShape, grid: Grid, places: Values) -> Flags:
    """Which places are off the edges and the patches at rest, where all is flat."""
    margin = 0.5 * np.array([grid.x[1], grid.y[1]])
    limits = np.array([grid.x[-1], grid.y[-1]]) - margin
    inside: Flags = np.all((places > margin) & (places < limits), axis=1)
    for patch, _ in shape.patches:
        away = np.linalg.norm(places - patch.at, axis=1)
        inside &= (away > max(1.5 * patch.radius, 2.0 * grid.cell)) | (not patch.is_still)
    return inside


def _near_zero(level: Values) -> Flags:
    """Inner grid places with both signs among their neighbours."""
    positive = level > 0.0
    count = sum(
        positive[1 + i : level.shape[0] - 1 + i, 1 + j : level.shape[1] - 1 + j].astype(int)
        for i in (-1, 0, 1)
        for j in (-1, 0, 1)
    )
    return np.asarray((count > 0) & (count < 9))
