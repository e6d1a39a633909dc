"""Nodes, node lines and antinodes of a mode's shape, and the counts by which a mode is named.

A shape is a polynomial, so a node is a root of a polynomial: its place is good to rounding and
depends on no grid. Places where the specimen is held rigidly are not counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import singledispatch
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.polynomial import legendre

from saltline.arrays import Values
from saltline.basis import Line, legendre_derivative
from saltline.beam import BeamShape
from saltline.disc_shape import DiscShape
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape
from saltline.tracing.nodecircles import DiscPattern, disc_pattern

if TYPE_CHECKING:
    from saltline.tracing.nodelines import Net

HELD_NEARNESS = 1e-6
"""A root closer to a rigid hold than this fraction of the length is the hold itself."""


@dataclass(frozen=True, slots=True)
class BeamPattern:
    """Where a beam mode stands still and where it moves most.

    nodes, antinodes: m from the start, ascending; a free end that moves most is an antinode.
    """

    nodes: tuple[float, ...]
    antinodes: tuple[float, ...]

    @property
    def counts(self) -> Mapping[str, int | None]:
        """What an observer counts, by the names of a measured list's columns."""
        return {"nodes": len(self.nodes)}


@dataclass(frozen=True, slots=True)
class PlatePattern:
    """The node lines of a plate's mode and how they are counted.

    net:     the lines, m.
    lines_x: lines across x, running from the bottom to the top edge; None where the pattern is not
             made of lines across x and across y alone.
    lines_y: lines across y, running from the left to the right edge; None likewise.
    word:    the pattern in a word where it has no such count: "X", "ring", "2 rings" ...
    """

    net: Net
    lines_x: int | None
    lines_y: int | None
    word: str

    @property
    def counts(self) -> Mapping[str, int | None]:
        """What an observer counts, by the names of a measured list's columns."""
        return {"lines_x": self.lines_x, "lines_y": self.lines_y}


Pattern = BeamPattern | PlatePattern | DiscPattern


@singledispatch
def pattern_of(shape: Any) -> Pattern:
    """The pattern of nodes of a shape."""
    raise TypeError(f"no pattern is known for {type(shape).__name__}")


@pattern_of.register(BeamShape)
def beam_pattern(shape: BeamShape) -> BeamPattern:
    """Nodes and antinodes of a beam's mode."""
    line = shape.line
    length = float(line.breaks[-1] - line.breaks[0])
    motion = _Motion.of(shape)
    places = _samples(shape)
    values = motion.at(places)
    if _is_at_rest(shape, places, float(np.abs(values[0]).max())):
        return BeamPattern((), ())
    nodes = [
        float(x)
        for x in _sign_changes(motion, 0, places, values[0])
        if all(abs(x - held) > HELD_NEARNESS * length for held in shape.held)
    ]
    turns = _sign_changes(motion, 1, places, values[1])
    floor = 1e-9 * float(np.abs(values[0]).max())
    w, _, bend, _ = motion.at(turns)
    inner = turns[(np.abs(w) > floor) & (w * bend < 0.0)]
    return BeamPattern(tuple(nodes), tuple(sorted({*inner.tolist(), *_moving_ends(motion, floor)})))


@pattern_of.register(PlateShape)
def plate_pattern(shape: PlateShape | MixedShape) -> PlatePattern:
    """Node lines of a plate's mode, counted as they are seen."""
    from saltline.tracing.nodelines import trace  # a beam need not wait for it

    pattern = shape.known.get("pattern")
    if not isinstance(pattern, PlatePattern):
        pattern = shape.known["pattern"] = _counted(trace(shape))
    return pattern


def _counted(net: Net) -> PlatePattern:
    """Lines across the sides by their numbers, any others in words."""
    count = Counter(net.seen)
    if set(count) <= {"across x", "across y"}:
        return PlatePattern(net, count["across x"], count["across y"], "")
    return PlatePattern(net, None, None, _describe(count))


pattern_of.register(MixedShape, plate_pattern)
pattern_of.register(DiscShape, disc_pattern)


def _describe(count: Counter[str]) -> str:
    """A pattern that is no grid of lines, in a few plain words."""
    if count == {"diagonal": 2}:
        return "X"
    names = {
        "diagonal": ("diagonal", "diagonals"),
        "closed": ("ring", "rings"),
        "across x": ("line across x", "lines across x"),
        "across y": ("line across y", "lines across y"),
        "other": ("arc", "arcs"),
    }
    parts = [
        f"{count[course]} {many}" if count[course] > 1 else one
        for course, (one, many) in names.items()
        if count[course]
    ]
    return " + ".join(parts)


def _is_at_rest(shape: BeamShape, places: Values, largest: float) -> bool:
    """Whether the deflection is only rounding: Timoshenko's mode of pure shear just turns."""
    if "psi" not in shape.line.elements[0].fields:
        return False
    turning = np.abs(shape.line.rows("psi", places) @ shape.q).max()
    return bool(largest < 1e-9 * places[-1] * turning)


def _moving_ends(motion: _Motion, floor: float) -> list[float]:
    """The ends at which the motion is larger than anywhere near."""
    ends = motion.line.breaks[[0, -1]]
    found = []
    for x, outward, w, slope, bend in zip(ends, (-1.0, 1.0), *motion.at(ends)[:3], strict=True):
        flat = abs(slope) * (ends[1] - ends[0]) < 1e-6 * abs(w)
        if abs(w) > floor and (w * bend < 0.0 if flat else w * slope * outward > 0.0):
            found.append(float(x))
    return found


@dataclass(frozen=True, slots=True)
class _Motion:
    """A beam's motion and its first three derivatives, element by element.

    series: for each element the four Legendre series as columns, shape (p + 1, 4).
    """

    line: Line
    series: tuple[Values, ...]

    @staticmethod
    def of(shape: BeamShape) -> _Motion:
        series = []
        for c, element in zip(shape.series(), shape.line.elements, strict=True):
            step = legendre_derivative(c.size) / element.half
            rows = [c]
            for _ in range(3):
                rows.append(rows[-1] @ step)
            series.append(np.column_stack(rows))
        return _Motion(shape.line, tuple(series))

    def at(self, x: Values) -> Values:
        """The motion and its derivatives at places x, shape (4, len(x))."""
        breaks = self.line.breaks
        which = np.clip(np.searchsorted(breaks, x, side="right") - 1, 0, len(self.series) - 1)
        values = np.zeros((4, x.size))
        for number, (element, series) in enumerate(
            zip(self.line.elements, self.series, strict=True)
        ):
            here = np.flatnonzero(which == number)
            if here.size:
                xi = (x[here] - element.start) / element.half - 1.0
                values[:, here] = (legendre.legvander(xi, series.shape[0] - 1) @ series).T
        return values


def _samples(shape: BeamShape) -> Values:
    """Places inside the elements, dense enough that at most one root lies between neighbours.

    A polynomial of degree p that is a mode has at most p roots on its element, crowding toward the
    ends as the cosines do; eight places a degree tell them apart.
    """
    parts = []
    for element, series in zip(shape.line.elements, shape.series(), strict=True):
        k = 8 * series.size
        xi = -np.cos(np.pi * (np.arange(k) + 0.5) / k)
        parts.append(element.start + element.half * (xi + 1.0))
    return np.concatenate(parts)


def _sign_changes(motion: _Motion, derivative: int, places: Values, values: Values) -> Values:
    """Roots of the motion's derivative where its sign changes between neighbouring places.

    values: the derivative at the places. Newton's method from the chord's root, held inside the
    bracket: a step that would leave it is replaced by its middle.
    """
    at = np.flatnonzero(np.sign(values[:-1]) * np.sign(values[1:]) < 0)
    low, high, f_low, f_high = places[at], places[at + 1], values[at], values[at + 1]
    x = (low * f_high - high * f_low) / (f_high - f_low)
    for _ in range(40):
        f, slope = motion.at(x)[derivative : derivative + 2]
        left = np.sign(f) == np.sign(f_low)
        low, high = np.where(left, x, low), np.where(left, high, x)
        step = f / np.where(slope != 0.0, slope, np.inf)
        inside = (x - step >= low) & (x - step <= high)
        before, x = x, np.where(inside, x - step, (low + high) / 2.0)
        if np.all(np.abs(x - before) <= 1e-14 * places[-1]):
            break
        if np.all(inside & (np.abs(step) <= 1e-9 * places[-1])):
            break  # the next step would be the square of this one
    return np.asarray(x)
