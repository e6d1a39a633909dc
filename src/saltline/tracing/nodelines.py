"""Node lines of a plate's mode: traced, polished on the exact shape, joined at crossings, classed.

A grid finds where the lines run; every vertex is then moved onto the zero of the shape, so the
lines are as good as the shape and do not depend on the grid.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.arrays import Flags, Values
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape, Segment
from saltline.record import record
from saltline.tracing.crossings import join_at, joined_over_patches
from saltline.tracing.line_order import NodeLine, in_order
from saltline.tracing.saddles import CROSSING_LEVEL, low_saddles
from saltline.tracing.shape_grid import Grid, contours

SPECK = 0.01
"""A line shorter than this fraction of the shortest side is no line that anybody sees."""


NEAR_CORNER = 0.05
"""A line that ends this near to a corner, in shortest sides, looks as if it ran into the corner."""

DIAGONALS = ({"bottom left", "right top"}, {"bottom right", "left top"})


@record
class Net:
    """All the node lines of a plate's mode.

    lines:     as they run exactly.
    crossings: points where they cross, m, shape (k, 2); through: how many meet at each.
    seen:      the courses of the lines as an observer counts them, with lines that barely miss each
               other taken as crossing.
    regions:   how many parts of the plate move in like phase, each bounded by node lines and by
               lines that are held at rest.
    """

    lines: tuple[NodeLine, ...]
    crossings: Values
    through: tuple[int, ...]
    seen: tuple[str, ...]
    regions: int


def trace(shape: PlateShape | MixedShape) -> Net:
    """The node lines of a plate's shape."""
    grid = Grid.over(shape)
    raw = _polished(shape, grid, contours(grid))
    size = (float(grid.x[-1]), float(grid.y[-1]))
    speck = max(grid.cell, SPECK * min(size))
    raw = [line for line in raw if _extent(line) > speck]
    raw, over = joined_over_patches(raw, shape, grid.cell)
    saddles = low_saddles(shape, grid)
    exact = [saddle for saddle in saddles if saddle.level < CROSSING_LEVEL]
    joined, through = join_at(raw, exact, grid.cell)
    met = [*zip([saddle.place for saddle in exact], through, strict=True), *over]
    # Each line adds a region to the plate; k lines through one point add k - 1 more.
    regions = 1 + len(joined) + sum(k - 1 for _, k in met if k > 1)

    def unheld(lines: Sequence[Values]) -> list[Values]:
        pieces = [p for line in lines for p in _off_resting(line, shape.resting, grid.cell)]
        return [piece for piece in pieces if _extent(piece) > speck]

    lines = in_order([NodeLine(line, _course(line, size)) for line in unheld(joined)], size)
    _polish_starts(shape, grid, [line.points for line in lines if line.course == "closed"])
    seen = sorted(_course(line, size) for line in unheld(join_at(raw, saddles, grid.cell)[0]))
    at_rest = [_is_resting(np.array([place]), shape.resting, grid.cell)[0] for place, _ in met]
    real = [
        (place, k - rest) for (place, k), rest in zip(met, at_rest, strict=True) if k - rest > 1
    ]
    crossings = np.array([place for place, _ in real]).reshape(-1, 2)
    return Net(tuple(lines), crossings, tuple(k for _, k in real), tuple(seen), regions)


# -- onto the exact zero --------------------------------------------------------------------------


def _polished(shape: PlateShape | MixedShape, grid: Grid, lines: list[Values]) -> list[Values]:
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


def _polish_starts(shape: PlateShape | MixedShape, grid: Grid, closed: Sequence[Values]) -> None:
    """Move the places where closed lines begin onto the zero of the shape, in place."""
    if closed:
        starts = np.array([points[0] for points in closed])
        _polish(shape, grid, starts)
        for points, start in zip(closed, starts, strict=True):
            points[0] = points[-1] = start


def _polish(shape: PlateShape | MixedShape, grid: Grid, points: Values) -> None:
    """Move points onto the zero of the shape, in place; one on an edge stays on that edge."""
    ends = np.array([grid.x[-1], grid.y[-1]])
    tolerance = 1e-12 * ends.max()
    at_low, at_high = points <= tolerance, points >= ends - tolerance
    free = ~(at_low | at_high)  # a point in a corner stays there
    left, right, bottom, top = shape.vanishing
    orders = np.where(at_low, (left, bottom), np.where(at_high, (right, top), 0))
    occurring = np.unique(orders, axis=0).tolist()
    for _ in range(3):
        for i, j in occurring:
            _step(shape, grid, points, free, np.all(orders == (i, j), axis=1), (i, j))


def _step(
    shape: PlateShape | MixedShape,
    grid: Grid,
    line: Values,
    free: Flags,
    which: Flags,
    orders: tuple[int, int],
) -> None:
    """One Newton step along the gradient for the chosen vertices, in place.

    free: which of their coordinates may move; orders: derivatives of the deflection that stand for
    it there. A step longer than a cell belongs to a place where the gradient fails (a crossing):
    not taken.
    """
    x, y = line[which, 0], line[which, 1]
    i, j = orders
    w, w_x, w_y = shape.jet(x, y, ((i, j), (i + 1, j), (i, j + 1)))
    gradient = np.column_stack([w_x, w_y]) * free[which]
    steep = np.einsum("ij,ij->i", gradient, gradient)
    step = gradient * (w / np.where(steep > 0.0, steep, np.inf))[:, None]
    small = np.linalg.norm(step, axis=1) < 0.5 * grid.cell
    moved = line[which] - np.where(small[:, None], step, 0.0)
    line[which] = np.clip(moved, 0.0, [grid.x[-1], grid.y[-1]])


def _is_resting(points: Values, resting: Sequence[Segment], cell: float) -> Flags:
    """Which points lie, but for a part of a cell, where the plate is held at rest along a line."""
    held = np.zeros(len(points), dtype=bool)
    for start, end in resting:
        a, b = np.array(start), np.array(end)
        t = np.clip((points - a) @ (b - a) / float((b - a) @ (b - a)), 0.0, 1.0)
        held |= np.linalg.norm(points - a - t[:, None] * (b - a), axis=1) < 0.3 * cell
    return held


def _off_resting(line: Values, resting: Sequence[Segment], cell: float) -> list[Values]:
    """The pieces of a line that do not run along a place that is held at rest."""
    held = _is_resting(line, resting, cell)
    runs = np.split(np.arange(len(line)), np.flatnonzero(np.diff(held)) + 1)
    # What only crosses such a place has a vertex or two there.
    along = [run for run in runs if held[run[0]] and _extent(line[run]) > 1.5 * cell]
    if not along:
        return [line]
    left = np.setdiff1d(np.arange(len(line)), np.concatenate(along))
    pieces = np.split(left, np.flatnonzero(np.diff(left) > 1) + 1)
    if len(pieces) > 1 and np.all(line[0] == line[-1]) and 0 in left:
        pieces = [np.concatenate([pieces[-1], pieces[0][1:]]), *pieces[1:-1]]
    return [line[piece] for piece in pieces if piece.size > 1]


# -- what the lines are ---------------------------------------------------------------------------


def _extent(line: Values) -> float:
    return float(np.linalg.norm(line.max(axis=0) - line.min(axis=0)))


def _course(line: Values, size: tuple[float, float]) -> str:
    """Which edges a line joins, in a word (see `NodeLine`)."""
    if np.all(line[0] == line[-1]):
        return "closed"
    start, end = _edges_at(line[0], size), _edges_at(line[-1], size)
    if {_corner_at(line[0], size), _corner_at(line[-1], size)} in DIAGONALS:
        return "diagonal"
    across_x = ("bottom" in start and "top" in end) or ("top" in start and "bottom" in end)
    across_y = ("left" in start and "right" in end) or ("right" in start and "left" in end)
    if across_x and across_y:
        return "diagonal"
    if across_x or across_y:
        return "across x" if across_x else "across y"
    return "other"


def _corner_at(point: Values, size: tuple[float, float]) -> str:
    """The corner near which a point on an edge lies, as its two edges; "" for none."""
    near = _edges_at(point, size, NEAR_CORNER)
    return " ".join(sorted(near)) if len(near) == 2 and _edges_at(point, size) else ""


def _edges_at(point: Values, size: tuple[float, float], part: float = 1e-6) -> set[str]:
    tolerance = part * min(size)
    x, y = point
    near = {"left": x, "right": size[0] - x, "bottom": y, "top": size[1] - y}
    return {edge for edge, distance in near.items() if distance < tolerance}
