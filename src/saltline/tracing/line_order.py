"""Node lines in an order, each with a start and a direction, that the figure alone decides.

Where a line was found first, and how fine the grid was, must not show in what is marked: places
that differ by rounding alone count as one.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cmp_to_key

import numpy as np

from saltline.arrays import Values
from saltline.record import record

ALIKE = 1e-4
"""Places nearer to each other than this part of the longer side are one."""


@record
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


def in_order(lines: Sequence[NodeLine], size: tuple[float, float]) -> list[NodeLine]:
    """The lines by course, then from left to right and from the bottom up; size: of the plate, m.

    Each runs from left to right, or from the bottom up where it runs across x; a closed one
    counter-clockwise from the right, where it is level with its middle.
    """
    alike = ALIKE * max(size)
    turned = [_from_the_right(line) if line.course == "closed" else _forward(line, alike)
              for line in lines]  # fmt: skip

    def compared(one: NodeLine, other: NodeLine) -> int:
        return _compared(one, other, alike)

    return sorted(turned, key=cmp_to_key(compared))


def _compared(one: NodeLine, other: NodeLine, alike: float) -> int:
    """Negative where the first comes first."""
    if one.course != other.course:
        return -1 if one.course < other.course else 1
    return _sign(_places(one) - _places(other), alike)


def _places(line: NodeLine) -> Values:
    """What is compared of a line: its middle, its start, a place on its way."""
    return np.concatenate([_middle(line.points), line.points[0], line.evenly(5)[1]])


def _sign(differences: Values, alike: float) -> int:
    """That of the first difference that is more than rounding; 0 without one."""
    told = differences[np.abs(differences) > alike]
    return int(np.sign(told[0])) if told.size else 0


def _middle(points: Values) -> Values:
    """The mean place along a line: that of its vertices would tell where they lie denser."""
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    return np.asarray(steps @ (points[:-1] + points[1:]) / 2.0 / steps.sum())


def _forward(line: NodeLine, alike: float) -> NodeLine:
    """An open line the way that it is told."""
    along = line.points[-1] - line.points[0]
    if line.course == "across x":
        along = along[::-1]
    return line if _sign(along, alike) >= 0 else NodeLine(line.points[::-1], line.course)


def _from_the_right(line: NodeLine) -> NodeLine:
    """A closed line, counter-clockwise from where it is farthest right at the level of its middle.

    That place lies between two vertices, so it does not jump from one to the next.
    """
    points = line.points[:-1]
    x, y = points.T
    if np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y) < 0.0:
        points = points[::-1]
    level = points[:, 1] - _middle(line.points)[1]
    after = np.roll(level, -1)
    here = np.flatnonzero((level < 0.0) != (after < 0.0))
    part = level[here] / (level[here] - after[here])
    places = points[here] + part[:, None] * (np.roll(points, -1, axis=0)[here] - points[here])
    k = int(np.argmax(places[:, 0]))
    way = np.roll(points, -(here[k] + 1), axis=0)
    return NodeLine(np.vstack([places[k], way, places[k]]), line.course)
