"""Nodes, node lines and antinodes of a mode's shape, and the counts by which a mode is named.

A shape is a polynomial, so a node is a root of a polynomial: its place is good to rounding and
depends on no grid. Places where the specimen is held rigidly are not counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import singledispatch
from typing import Any

import numpy as np
from numpy.polynomial import legendre

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.nodelines import Net, trace
from saltline.plate import PlateShape

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


Pattern = BeamPattern | PlatePattern


@singledispatch
def pattern_of(shape: Any) -> Pattern:
    """The pattern of nodes of a shape."""
    raise TypeError(f"no pattern is known for {type(shape).__name__}")


@pattern_of.register
def beam_pattern(shape: BeamShape) -> BeamPattern:
    """Nodes and antinodes of a beam's mode."""
    line = shape.line
    length = float(line.breaks[-1] - line.breaks[0])
    motion = _piecewise(shape, 0)
    places = _samples(shape)
    nodes = [
        x
        for x in _sign_changes(shape, 0, places)
        if all(abs(x - held) > HELD_NEARNESS * length for held in shape.held)
    ]
    turns = _sign_changes(shape, 1, places)
    values = np.abs(motion(np.concatenate([turns, places])))
    floor = 1e-9 * values.max()
    curvature = _piecewise(shape, 2)(turns)
    inner = [
        float(x)
        for x, w, bend in zip(turns, motion(turns), curvature, strict=True)
        if abs(w) > floor and w * bend < 0.0
    ]
    return BeamPattern(tuple(nodes), tuple(sorted({*inner, *_moving_ends(shape, floor)})))


@pattern_of.register
def plate_pattern(shape: PlateShape) -> PlatePattern:
    """Node lines of a plate's mode, counted as they are seen."""
    net = trace(shape)
    count = Counter(net.seen)
    if set(count) <= {"across x", "across y"}:
        return PlatePattern(net, count["across x"], count["across y"], "")
    return PlatePattern(net, None, None, _describe(count))


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


def _moving_ends(shape: BeamShape, floor: float) -> list[float]:
    """The ends at which the motion is larger than anywhere near."""
    line = shape.line
    start, end = float(line.breaks[0]), float(line.breaks[-1])
    found = []
    for x, outward in ((start, -1.0), (end, 1.0)):
        here = np.array([x])
        w, slope, bend = (float(shape.at(here, derivative)[0]) for derivative in (0, 1, 2))
        flat = abs(slope) * (end - start) < 1e-6 * abs(w)
        if abs(w) > floor and (w * bend < 0.0 if flat else w * slope * outward > 0.0):
            found.append(x)
    return found


def _piecewise(shape: BeamShape, derivative: int) -> Callable[[Values], Values]:
    """The motion's derivative as a function of places, evaluated element by element."""
    line = shape.line
    series = [
        legendre.legtrim(
            legendre.legder(c, derivative) / e.half**derivative, 1e-17 * np.abs(c).max()
        )
        for c, e in zip(shape.series(), line.elements, strict=True)
    ]
    last = len(series) - 1

    def evaluate(x: Values) -> Values:
        which = np.clip(np.searchsorted(line.breaks, x, side="right") - 1, 0, last)
        values = np.zeros_like(x)
        for number in np.unique(which):
            element, here = line.elements[number], which == number
            xi = (x[here] - element.start) / element.half - 1.0
            values[here] = legendre.legval(xi, series[number])
        return values

    return evaluate


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


def _sign_changes(shape: BeamShape, derivative: int, places: Values) -> Values:
    """Roots of the motion's derivative where its sign changes between neighbouring places.

    Regula falsi by Illinois' rule never leaves the bracket and so cannot run off to another root;
    two steps of Newton's method then take each root down to rounding.
    """
    f, slope = _piecewise(shape, derivative), _piecewise(shape, derivative + 1)
    values = f(places)
    at = np.flatnonzero(np.sign(values[:-1]) * np.sign(values[1:]) < 0)
    low, high, f_low, f_high = places[at], places[at + 1], values[at], values[at + 1]
    x = (low + high) / 2.0
    near = 1e-7 * (places[-1] - places[0])
    for _ in range(60):
        before, x = (
            x,
            (low * f_high - high * f_low) / np.where(f_high != f_low, f_high - f_low, 1.0),
        )
        if np.all(np.abs(x - before) <= near):
            break
        fx = f(x)
        left = np.sign(fx) == np.sign(f_low)
        low, f_high = np.where(left, x, low), np.where(left, f_high / 2.0, fx)
        high, f_low = np.where(left, high, x), np.where(left, fx, f_low / 2.0)
    for _ in range(2):
        steep = slope(x)
        step = f(x) / np.where(steep != 0.0, steep, np.inf)
        x = np.where(np.abs(step) <= near, x - step, x)
    return np.asarray(x)
