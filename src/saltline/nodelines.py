"""Node lines of a plate's mode: traced, polished on the exact shape, joined at crossings, classed.

A grid finds where the lines run; every vertex is then moved onto the zero of the polynomial, so
the lines are as good as the shape and do not depend on the grid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from saltline.arrays import Flags, Values
from saltline.basis import Line
from saltline.mixed_shape import MixedShape
from saltline.plate_shape import PlateShape

CROSSING_LEVEL = 1e-6
"""A saddle of the shape this low (relative to the largest deflection) is a crossing of lines."""

SEEN_LEVEL = 0.03
"""A saddle this low looks like a crossing: grains lie where the motion is small, not only where it
is nothing, so two lines that barely miss each other are seen and counted as if they met."""


SPECK = 0.01
"""A line shorter than this fraction of the shortest side is no line that anybody sees."""


@dataclass(frozen=True, slots=True)
class NodeLine:
    """One node line of a plate.

    points: shape (n, 2), m; a closed line ends where it begins.
    course: "across x" (from the bottom to the top edge, cutting the length), "across y" (from the
            left to the right edge), "diagonal" (corner to corner), "closed", or "other".
    """

    points: Values
    course: str

    def evenly(self, count: int) -> Values:
        """Points evenly spaced along the line from its start to its end, shape (count, 2)."""
        steps = np.linalg.norm(np.diff(self.points, axis=0), axis=1)
        along = np.concatenate([[0.0], np.cumsum(steps)])
        wanted = np.linspace(0.0, along[-1], count)
        return np.column_stack([np.interp(wanted, along, self.points[:, k]) for k in (0, 1)])


@dataclass(frozen=True, slots=True)
class Net:
    """All the node lines of a plate's mode.

    lines:     as they run exactly.
    crossings: points where they cross, m, shape (k, 2); through: how many meet at each.
    seen:      the courses of the lines as an observer counts them, with lines that barely miss each
               other taken as crossing.
    regions:   how many parts of the plate move in like phase, each bounded by node lines.
    """

    lines: tuple[NodeLine, ...]
    crossings: Values
    through: tuple[int, ...]
    seen: tuple[str, ...]

    @property
    def regions(self) -> int:
        """Each line adds a region to the plate; k lines through one point add k - 1 more."""
        return 1 + len(self.lines) + sum(k - 1 for k in self.through)


def trace(shape: PlateShape | MixedShape) -> Net:
    """The node lines of a plate's shape."""
    grid = _Grid.over(shape)
    raw = _polished(shape, grid, _contours(grid))
    size = (float(grid.x[-1]), float(grid.y[-1]))
    raw = [line for line in raw if _extent(line) > max(grid.cell, SPECK * min(size))]
    raw, over = _joined_over_patches(raw, shape, grid.cell)
    saddles = _low_saddles(shape, grid)
    exact = [saddle for saddle in saddles if saddle.level < CROSSING_LEVEL]
    joined, through = _join_at(raw, exact, grid.cell)
    lines = [_oriented(NodeLine(line, _course(line, size))) for line in joined]
    lines.sort(key=lambda line: (line.course, *np.round(line.points.mean(axis=0), 9)))
    seen = sorted(_course(line, size) for line in _join_at(raw, saddles, grid.cell)[0])
    met = [*zip([saddle.place for saddle in exact], through, strict=True), *over]
    real = [(place, k) for place, k in met if k > 1]
    crossings = np.array([place for place, _ in real]).reshape(-1, 2)
    return Net(tuple(lines), crossings, tuple(k for _, k in real), tuple(seen))


# -- the grid -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Grid:
    """Places x by y, and there the shape divided by what makes it vanish at held edges.

    A clamped edge makes the shape vanish as the square of the distance, a pinned one as the
    distance. Divided by that, a node line can be followed right to the edge; on the edge itself
    the quotient is the first derivative that does not vanish.
    """

    x: Values
    y: Values
    level: Values
    cell: float

    @staticmethod
    def over(shape: PlateShape | MixedShape) -> _Grid:
        a, b = float(shape.x.breaks[-1]), float(shape.y.breaks[-1])
        waves = max(_degree_of(shape.x) / a, _degree_of(shape.y) / b)
        # An even number of places: the lines of symmetry fall between them, not on them.
        x, y = (
            np.linspace(0.0, side, 2 * min(max(math.ceil(1.5 * waves * side), 16), 150))
            for side in (a, b)
        )
        level = _without_rest(shape.divided(x, y), shape.at(x, y))
        return _Grid(x, y, level, math.hypot(x[1], y[1]))


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


def _contours(grid: _Grid) -> list[Values]:
    from contourpy import contour_generator  # needed for plates alone

    lines = contour_generator(grid.x, grid.y, grid.level.T, name="serial").lines(0.0)
    return [np.array(line) for line in lines if len(line) > 1]


# -- onto the exact zero --------------------------------------------------------------------------


def _polished(shape: PlateShape | MixedShape, grid: _Grid, lines: list[Values]) -> list[Values]:
    """The lines with every vertex moved onto the zero of the shape."""
    if not lines:
        return []
    vertices = np.vstack(lines)
    _polish(shape, grid, vertices)
    polished = np.split(vertices, np.cumsum([len(line) for line in lines])[:-1])
    for before, line in zip(lines, polished, strict=True):
        if np.all(before[0] == before[-1]):
            line[-1] = line[0]
    return polished


def _polish(shape: PlateShape | MixedShape, grid: _Grid, points: Values) -> None:
    """Move points onto the zero of the shape, in place; one on an edge stays on that edge."""
    a, b = grid.x[-1], grid.y[-1]
    tolerance = 1e-12 * max(a, b)
    on_edge = [
        points[:, 0] <= tolerance,
        points[:, 0] >= a - tolerance,
        points[:, 1] <= tolerance,
        points[:, 1] >= b - tolerance,
    ]
    touched = np.count_nonzero(on_edge, axis=0)
    for _ in range(3):
        _step(shape, grid, points, touched == 0, (0, 0), (1.0, 1.0))
        for number, (here, order) in enumerate(zip(on_edge, shape.vanishing, strict=True)):
            # A point in a corner stays there.
            along_y = number < 2
            orders, free = ((order, 0), (0.0, 1.0)) if along_y else ((0, order), (1.0, 0.0))
            _step(shape, grid, points, here & (touched == 1), orders, free)


def _step(
    shape: PlateShape | MixedShape,
    grid: _Grid,
    line: Values,
    which: Flags,
    orders: tuple[int, int],
    free: tuple[float, float],
) -> None:
    """One Newton step along the gradient for the chosen vertices, in place.

    orders: derivatives of the deflection that stand for it there; free: which coordinates may move.
    A step longer than a cell belongs to a place where the gradient fails (a crossing): not taken.
    """
    if not np.any(which):
        return
    x, y = line[which, 0], line[which, 1]
    i, j = orders
    w, w_x, w_y = shape.jet(x, y, ((i, j), (i + 1, j), (i, j + 1)))
    gradient = np.column_stack([free[0] * w_x, free[1] * w_y])
    steep = np.einsum("ij,ij->i", gradient, gradient)
    step = gradient * (w / np.where(steep > 0.0, steep, np.inf))[:, None]
    small = np.linalg.norm(step, axis=1) < 0.5 * grid.cell
    moved = line[which] - np.where(small[:, None], step, 0.0)
    line[which] = np.clip(moved, 0.0, [grid.x[-1], grid.y[-1]])


# -- crossings ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Saddle:
    """A saddle of the shape: place and nearness of the lines in m, relative level."""

    place: Values
    level: float
    gap: float


def _low_saddles(shape: PlateShape | MixedShape, grid: _Grid) -> list[_Saddle]:
    """Inner saddles of the shape at which it nearly vanishes, lowest first."""
    X, Y = np.meshgrid(grid.x[1:-1], grid.y[1:-1], indexing="ij")
    # Only places near a zero of the level can lead to a crossing.
    near = _near_zero(grid.level).ravel()
    x, y = X.ravel()[near], Y.ravel()[near]
    for _ in range(6):
        dx, dy = _toward_saddle(shape, x, y)
        keep = np.hypot(dx, dy) < 2.5 * grid.cell
        x, y = (x + dx)[keep], (y + dy)[keep]
        inside = (x > 0.0) & (x < grid.x[-1]) & (y > 0.0) & (y < grid.y[-1])
        x, y = x[inside], y[inside]
    places = _distinct(np.column_stack([x, y]), 2.0 * grid.cell)
    places = places[_off_patches(shape, places, grid.cell)]
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


def _distinct(points: Values, apart: float) -> Values:
    """The middle of each cluster of points, shape (k, 2)."""
    middles: list[Values] = []
    while len(points):
        near = np.linalg.norm(points - points[0], axis=1) < apart
        middles.append(points[near].mean(axis=0))
        points = points[~near]
    return np.array(middles).reshape(-1, 2)


def _weighed(shape: PlateShape | MixedShape, grid: _Grid, places: Values) -> list[_Saddle]:
    """The saddles that are low enough to matter and not at an edge, lowest first."""
    orders = ((0, 0), (2, 0), (1, 1), (0, 2))
    w, xx, xy, yy = shape.jet(places[:, 0], places[:, 1], orders)
    level = np.abs(w) / np.abs(shape.at(grid.x, grid.y)).max()
    bend = np.sqrt(np.maximum(xy**2 - xx * yy, np.finfo(float).tiny))
    gap = np.where(level < CROSSING_LEVEL, 0.0, np.sqrt(2.0 * np.abs(w) / bend))
    margin = 0.5 * np.array([grid.x[1], grid.y[1]])
    limits = np.array([grid.x[-1], grid.y[-1]]) - margin
    free = np.all((places > margin) & (places < limits), axis=1)
    free &= _off_patches(shape, places, grid.cell)
    return [
        _Saddle(places[k], float(level[k]), float(gap[k]))
        for k in np.argsort(level, kind="stable")
        if level[k] < SEEN_LEVEL and free[k]
    ]


def _off_patches(shape: PlateShape | MixedShape, places: Values, cell: float) -> Flags:
    """Which places are well off the patches at rest, at whose rims all is flat."""
    off = np.ones(len(places), dtype=bool)
    for patch, _ in shape.patches:
        away = np.linalg.norm(places - patch.at, axis=1)
        off &= (away > max(1.5 * patch.radius, 2.0 * cell)) | (not patch.is_still)
    return off


def _near_zero(level: Values) -> Flags:
    """Inner grid places with both signs among their neighbours."""
    positive = level > 0.0
    count = sum(
        positive[1 + i : level.shape[0] - 1 + i, 1 + j : level.shape[1] - 1 + j].astype(int)
        for i in (-1, 0, 1)
        for j in (-1, 0, 1)
    )
    return np.asarray((count > 0) & (count < 9))


def _join_at(
    lines: list[Values], saddles: list[_Saddle], cell: float
) -> tuple[list[Values], list[int]]:
    """Cut the lines near each crossing and join the ends that face each other through it.

    Returns the lines, and how many go through each saddle: fewer than two is no crossing.
    """
    through = []
    for saddle in saddles:
        radius = max(1.6 * cell, 1.5 * saddle.gap)
        pieces: list[Values] = []
        ends: list[tuple[int, int]] = []  # (piece, 0 for its start or -1 for its end)
        for line in lines:
            near = np.linalg.norm(line - saddle.place, axis=1) < radius
            for piece, start_cut, end_cut in _cut(line, near):
                pieces.append(piece)
                number = len(pieces) - 1
                ends += [(number, 0)] * start_cut + [(number, -1)] * end_cut
        is_crossing = len(ends) >= 4 and len(ends) % 2 == 0
        lines = _link(pieces, ends, saddle.place) if is_crossing else lines
        through.append(len(ends) // 2 if is_crossing else 0)
    return lines, through


def _joined_over_patches(
    lines: list[Values], shape: PlateShape | MixedShape, cell: float
) -> tuple[list[Values], list[tuple[Values, int]]]:
    """Join the lines that run to a patch at rest, straight over it.

    Returns the lines, and for each such patch its centre and how many go over it.
    """
    found = []
    for patch, _ in shape.patches:
        centre = np.array(patch.at)
        reached = [_nearest(line, centre) < patch.radius for line in lines]
        if not patch.is_still or not any(reached):
            continue
        radius = max(1.2 * patch.radius, 1.6 * cell)
        pieces: list[Values] = []
        ends: list[tuple[int, int]] = []
        for line, is_reached in zip(lines, reached, strict=True):
            near = (np.linalg.norm(line - centre, axis=1) < radius) & is_reached
            for piece, start_cut, end_cut in _cut(line, near):
                pieces.append(piece)
                number = len(pieces) - 1
                ends += [(number, 0)] * start_cut + [(number, -1)] * end_cut
        if len(ends) % 2 == 0:
            lines = _link(pieces, ends, centre)
            found.append((centre, len(ends) // 2))
    return lines, found


def _nearest(line: Values, place: Values) -> float:
    """The distance from a place to the nearest point of a line."""
    start, step = line[:-1] - place, np.diff(line, axis=0)
    long = np.einsum("ij,ij->i", step, step)
    t = -np.einsum("ij,ij->i", start, step) / np.where(long > 0.0, long, 1.0)
    feet = start + np.clip(t, 0.0, 1.0)[:, None] * step
    return float(np.linalg.norm(feet, axis=1).min(initial=math.inf))


def _cut(line: Values, near: Flags) -> list[tuple[Values, bool, bool]]:
    """The runs of a line outside of the cut, each with whether its start and end are cuts."""
    if not np.any(near):
        return [(line, False, False)]
    closed = bool(np.all(line[0] == line[-1]))
    if closed:
        first = int(np.argmax(near))
        line, near = np.roll(line[:-1], -first, axis=0), np.roll(near[:-1], -first)
    runs = []
    starts = np.flatnonzero(~near & np.concatenate([[True], near[:-1]]))
    for start in starts:
        rest = np.flatnonzero(near[start:])
        stop = start + int(rest[0]) if rest.size else len(line)
        end_cut = stop < len(line) or closed
        runs.append((line[start:stop], bool(start > 0), bool(end_cut)))
    return runs


def _link(pieces: list[Values], ends: list[tuple[int, int]], crossing: Values) -> list[Values]:
    """Join cut ends through the crossing, each with the one most nearly opposite."""
    if not ends:
        return pieces
    away = np.array([pieces[n][side] - crossing for n, side in ends])
    angles = np.arctan2(away[:, 1], away[:, 0])
    order = [ends[i] for i in np.argsort(angles)]
    half = len(order) // 2
    chains: dict[int, Values] = dict(enumerate(pieces))
    owner = {n: n for n in chains}
    for one, other in zip(order[:half], order[half:], strict=True):
        a, b = owner[one[0]], owner[other[0]]
        first = chains[a] if _is_tip(chains[a], pieces[one[0]][one[1]], -1) else chains[a][::-1]
        if a == b:
            chains[a] = np.vstack([first, crossing, first[:1]])
            continue
        second = chains[b] if _is_tip(chains[b], pieces[other[0]][other[1]], 0) else chains[b][::-1]
        chains[a] = np.vstack([first, crossing, second])
        del chains[b]
        owner = {n: a if o == b else o for n, o in owner.items()}
    return list(chains.values())


def _is_tip(chain: Values, point: Values, side: int) -> bool:
    return bool(np.all(chain[side] == point))


# -- what the lines are ---------------------------------------------------------------------------


def _extent(line: Values) -> float:
    return float(np.linalg.norm(line.max(axis=0) - line.min(axis=0)))


def _course(line: Values, size: tuple[float, float]) -> str:
    """Which edges a line joins, in a word (see `NodeLine`)."""
    if np.all(line[0] == line[-1]):
        return "closed"
    start, end = _edges_at(line[0], size), _edges_at(line[-1], size)
    across_x = ("bottom" in start and "top" in end) or ("top" in start and "bottom" in end)
    across_y = ("left" in start and "right" in end) or ("right" in start and "left" in end)
    if across_x and across_y:
        return "diagonal"
    if across_x or across_y:
        return "across x" if across_x else "across y"
    return "other"


def _oriented(line: NodeLine) -> NodeLine:
    """The line running from left to right, or from the bottom up where it runs across x."""
    first, last = (1, 0) if line.course == "across x" else (0, 1)
    start, end = line.points[0], line.points[-1]
    if (end[first], end[last]) < (start[first], start[last]):
        return NodeLine(line.points[::-1], line.course)
    return line


def _edges_at(point: Values, size: tuple[float, float]) -> set[str]:
    tolerance = 1e-6 * min(size)
    x, y = point
    near = {"left": x, "right": size[0] - x, "bottom": y, "top": size[1] - y}
    return {edge for edge, distance in near.items() if distance < tolerance}
