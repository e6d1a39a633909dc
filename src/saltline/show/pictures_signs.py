"""Where the + and - of a figure stand: each inside its own region, clear of every line."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.arrays import Flags, Values
from saltline.record import record
from saltline.show.face import Surface
from saltline.show.outline import Outline
from saltline.show.pictures import TYPE_PT

SIZES = (
    (2.0, TYPE_PT + 2.0, 0.05),
    (1.6, TYPE_PT, 0.05),
    (1.15, TYPE_PT, -0.12),
)
"""A sign and the light ground about it: the radius on paper, mm, the type's size in points, and how
far the ground reaches beyond the type, in ems. The first for which there is room is taken."""

STEP_MM = 0.25
"""Room is looked for in steps of about this length on paper."""

APART_MM = 18.0
"""Signs of one region stand no nearer to each other on paper: more than one where it is large."""

FAR = 0.5
"""A place of a region that moves this part of what the region's largest is gets a sign too."""

SPOT_MM = 1.6
"""A mark of a support, a mass or the drive reaches so far on paper, at least."""

AT_REST = 0.01
"""A region that moves less than this part of the largest motion is at rest to the eye."""

ROUNDING = 1e-6
"""What moves less than this part of it lies on a line, whichever sign rounding leaves there."""


@record
class Sign:
    """at: m; sign: 1 or -1; radius: on paper, mm; points, pad: as in `SIZES`."""

    at: tuple[float, float]
    sign: int
    radius: float
    points: float
    pad: float


def signs_of(surface: Surface, mm_per_m: float) -> list[Sign]:
    """The signs of all regions, as near as may be to where each moves most.

    mm_per_m: of paper. A region that is narrower than the smallest sign goes without: a sign that
    reached over a line would be counted on the wrong side of it.
    """
    from scipy.ndimage import distance_transform_edt, label

    x, y, w = _fine(surface, mm_per_m)
    is_on, is_free = _inside(surface.face.outline, x, y, mm_per_m)
    is_between = ~_crossed(surface.face.lines, x, y)
    steps = (float(x[1] - x[0]) * mm_per_m, float(y[1] - y[0]) * mm_per_m)
    found = []
    for sign in (1, -1):
        height = np.where(is_on, sign * w, 0.0)
        # Beyond the box is the outside. A line may run anywhere between two places: the last step
        # to it is not counted.
        free = np.pad((height > ROUNDING) & is_free, 1)
        room = distance_transform_edt(free, sampling=steps)[1:-1, 1:-1] - max(steps)
        # Where lines cross, two regions of one sign meet at a point: no step may lead over it.
        parts, many = label((height > ROUNDING) & is_between)
        for number in range(1, many + 1):
            own = parts == number
            if height[own].max() < AT_REST:
                continue
            for i, j in _standing(np.where(own, height, 0.0), np.where(own, room, -1.0), steps):
                size = next(size for size in SIZES if room[i, j] >= size[0])
                found.append(Sign((float(x[i]), float(y[j])), sign, *size))
    return found


def _standing(
    height: Values, room: Values, steps: tuple[float, float]
) -> list[tuple[np.intp, np.intp]]:
    """Where signs of one region stand, as indices.

    height: how far each place of it moves, 0 elsewhere; room: how far it is to what a sign may not
    touch, mm; steps: between places, mm.
    """
    from scipy.ndimage import maximum_filter

    nearby = [2 * round(APART_MM / 4.0 / step) + 1 for step in steps]
    is_top = (height >= maximum_filter(height, size=nearby)) & (height >= FAR * height.max())
    tops = np.argwhere(is_top)
    # What differs by rounding alone is taken in order of the places.
    order = np.argsort(-np.round(height[is_top], 6), kind="stable")
    I, J = np.indices(height.shape)
    found: list[tuple[np.intp, np.intp]] = []
    for top in tops[order]:
        far = np.hypot((I - top[0]) * steps[0], (J - top[1]) * steps[1])
        least = float(far[room >= SIZES[-1][0]].min(initial=np.inf))
        if math.isinf(least):
            break
        for radius, *_ in SIZES:
            place = np.where(room >= radius, far, np.inf)
            i, j = np.unravel_index(np.argmin(place), place.shape)
            # A sign that went far from its top for being large would say less than a small one.
            if place[i, j] <= least + radius:
                apart = [np.hypot((i - k) * steps[0], (j - m) * steps[1]) for k, m in found]
                if not apart or min(apart) >= APART_MM:
                    found.append((i, j))
                break
    return found


def _fine(surface: Surface, mm_per_m: float) -> tuple[Values, Values, Values]:
    """The surface at places about `STEP_MM` apart on paper: x, y and the deflection."""
    from scipy.ndimage import zoom

    sides = [np.ptp(axis) * mm_per_m for axis in (surface.x, surface.y)]
    counts = [
        max(math.ceil(side / STEP_MM), len(axis) - 1) + 1
        for side, axis in zip(sides, (surface.x, surface.y), strict=True)
    ]
    scale = [n / old for n, old in zip(counts, surface.w.shape, strict=True)]
    w = np.asarray(zoom(surface.w, scale, order=1, grid_mode=False))
    x, y = (
        np.linspace(axis[0], axis[-1], n)
        for axis, n in zip((surface.x, surface.y), w.shape, strict=True)
    )
    return x, y, w


def _inside(outline: Outline, x: Values, y: Values, mm_per_m: float) -> tuple[Flags, Flags]:
    """Which places lie on the specimen, and which of them clear of what stands on it.

    Both of the shape (len(x), len(y)).
    """
    from matplotlib.path import Path

    X, Y = np.meshgrid(x, y, indexing="ij")
    places: Values = np.column_stack([X.ravel(), Y.ravel()])
    middle = (outline.low + outline.high) / 2.0
    # On the rim itself counts as inside: beyond the box is the outside.
    inner = middle + (places - middle) * (1.0 - 1e-6)
    rim, *holes = (Path(line) for line in outline.rims)
    is_on = rim.contains_points(inner)
    for hole in holes:
        is_on &= ~hole.contains_points(places)
    is_free = is_on.copy()
    for spot in outline.spots:
        reach = max(spot.diameter / 2.0, SPOT_MM / mm_per_m)
        is_free &= np.hypot(places[:, 0] - spot.at[0], places[:, 1] - spot.at[1]) > reach
    for line in outline.lines:
        is_free &= _distance(places, line) > SPOT_MM / 2.0 / mm_per_m
    return np.asarray(is_on.reshape(X.shape)), np.asarray(is_free.reshape(X.shape))


def _crossed(lines: Sequence[Values], x: Values, y: Values) -> Flags:
    """Which places node lines pass, with all places beside them: shape (len(x), len(y))."""
    from scipy.ndimage import binary_dilation

    passed = np.zeros((len(x), len(y)), dtype=bool)
    low, step = np.array([x[0], y[0]]), np.array([x[1] - x[0], y[1] - y[0]])
    for line in lines:
        at = (line - low) / step
        along = np.concatenate([[0.0], np.cumsum(np.abs(np.diff(at, axis=0)).max(axis=1))])
        dense = np.linspace(0.0, along[-1], math.ceil(2.0 * along[-1]) + 1)
        i, j = (np.rint(np.interp(dense, along, axis)).astype(int) for axis in at.T)
        # A circle may reach beyond the box about a specimen by rounding.
        passed[i.clip(0, len(x) - 1), j.clip(0, len(y) - 1)] = True
    return np.asarray(binary_dilation(passed, np.ones((3, 3), dtype=bool)))


def _distance(places: Values, line: Values) -> Values:
    """How far each place lies from a straight line from end to end."""
    start, way = line[0], line[-1] - line[0]
    part = np.clip((places - start) @ way / max(float(way @ way), 1e-300), 0.0, 1.0)
    return np.asarray(np.linalg.norm(places - start - part[:, None] * way, axis=1))
