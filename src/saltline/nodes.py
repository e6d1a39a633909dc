"""Nodes, node lines and antinodes of a mode's shape, and the counts by which a mode is named.

A shape is a polynomial, so a node is a root of a polynomial: its place is good to rounding and
depends on no grid. Places where the specimen is held rigidly are not counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, singledispatch
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.polynomial import legendre

from saltline.arrays import Indices, Values
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
    places, values = motion.sampled()
    largest = float(np.abs(values[0]).max())
    if _is_at_rest(shape, places, largest):
        return BeamPattern((), ())
    roots, turns = _sign_changes(motion, places, values)
    nodes = [
        float(x)
        for x in roots
        if all(abs(x - held) > HELD_NEARNESS * length for held in shape.held)
    ]
    floor = 1e-9 * largest
    jets = motion.at(np.concatenate([turns, line.breaks[[0, -1]]]))
    w, _, bend, _ = jets[:, :-2]
    inner = turns[(np.abs(w) > floor) & (w * bend < 0.0)]
    ends = _moving_ends(line, jets[:, -2:], floor)
    return BeamPattern(tuple(nodes), tuple(sorted({*inner.tolist(), *ends})))


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
    turning = max(
        float(np.abs(_sampling(series.size)[1] @ series).max())
        for series in shape.line.series(shape.q, "psi")
    )
    return bool(largest < 1e-9 * places[-1] * turning)


def _moving_ends(line: Line, jets: Values, floor: float) -> list[float]:
    """The ends at which the motion is larger than anywhere near; jets: there, shape (4, 2)."""
    ends = line.breaks[[0, -1]]
    found = []
    for x, outward, w, slope, bend in zip(ends, (-1.0, 1.0), *jets[:3], strict=True):
        flat = abs(slope) * (ends[1] - ends[0]) < 1e-6 * abs(w)
        if abs(w) > floor and (w * bend < 0.0 if flat else w * slope * outward > 0.0):
            found.append(float(x))
    return found


@cache
def _sampling(size: int) -> tuple[Values, Values]:
    """Places on [-1, 1], and the Legendre polynomials there, shape (places, size).

    They are dense enough that at most one root lies between neighbours: a polynomial of degree p
    that is a mode has at most p roots on its element, crowding toward the ends as the cosines do;
    eight places a degree tell them apart.
    """
    k = 8 * size
    xi = -np.cos(np.pi * (np.arange(k) + 0.5) / k)
    return xi, legendre.legvander(xi, size - 1)


@cache
def _as_cosines(size: int) -> Values:
    """What turns a Legendre series (a column) into a series of cos(k arccos xi).

    A few cosines cost less than the recursion of the polynomials; both are good to rounding.
    """
    theta = np.pi * (np.arange(size) + 0.5) / size
    cosines = np.cos(np.outer(np.arange(size), theta)) * 2.0 / size
    cosines[0] /= 2.0
    return np.asarray(cosines @ legendre.legvander(np.cos(theta), size - 1))


@dataclass(frozen=True, slots=True)
class _Motion:
    """A beam's motion and its first three derivatives, element by element.

    series: for each element the four Legendre series as columns, shape (p + 1, 4);
    cosines: the same as series of cosines.
    """

    line: Line
    series: tuple[Values, ...]
    cosines: tuple[Values, ...]

    @staticmethod
    def of(shape: BeamShape) -> _Motion:
        series = []
        for c, element in zip(shape.series(), shape.line.elements, strict=True):
            step = legendre_derivative(c.size) / element.half
            rows = [c]
            for _ in range(3):
                rows.append(rows[-1] @ step)
            series.append(np.column_stack(rows))
        return _Motion(
            shape.line, tuple(series), tuple(_as_cosines(c.shape[0]) @ c for c in series)
        )

    def sampled(self) -> tuple[Values, Values]:
        """Places along the whole beam, and the motion and its derivatives there, (4, places)."""
        places, values = [], []
        for element, series in zip(self.line.elements, self.series, strict=True):
            xi, polynomials = _sampling(series.shape[0])
            places.append(element.start + element.half * (xi + 1.0))
            values.append((polynomials @ series).T)
        return np.concatenate(places), np.concatenate(values, axis=1)

    def at(self, x: Values) -> Values:
        """The motion and its derivatives at places x, shape (4, len(x))."""
        breaks = self.line.breaks
        which = np.searchsorted(breaks[1:-1], x, side="right")
        values = np.zeros((4, x.size))
        for number, (element, series) in enumerate(
            zip(self.line.elements, self.cosines, strict=True)
        ):
            here = np.flatnonzero(which == number)
            if here.size:
                xi = (x[here] - element.start) / element.half - 1.0
                theta = np.arccos(np.minimum(np.maximum(xi, -1.0), 1.0))
                cosines = np.cos(np.multiply.outer(theta, np.arange(series.shape[0])))
                values[:, here] = (cosines @ series).T
        return values


def _sign_changes(motion: _Motion, places: Values, values: Values) -> tuple[Values, Values]:
    """Roots of the motion and of its slope where they change sign between neighbouring places.

    values: the motion and its derivatives at the places. Newton's method from the chord's root,
    held inside the bracket: a step that would leave it is replaced by its middle.
    """
    at, order = _brackets(values)
    low, high = places[at], places[at + 1]
    f_low, f_high = values[order, at], values[order, at + 1]
    x = (low * f_high - high * f_low) / (f_high - f_low)
    column = np.arange(x.size)
    for _ in range(40):
        jets = motion.at(x)
        f, slope = jets[order, column], jets[order + 1, column]
        left = np.sign(f) == np.sign(f_low)
        low, high = np.where(left, x, low), np.where(left, high, x)
        step = f / np.where(slope != 0.0, slope, np.inf)
        inside = (x - step >= low) & (x - step <= high)
        before, x = x, np.where(inside, x - step, (low + high) / 2.0)
        if np.all(np.abs(x - before) <= 1e-14 * places[-1]):
            break
        if np.all(inside & (np.abs(step) <= 1e-9 * places[-1])):
            break  # the next step would be the square of this one
    return np.asarray(x[order == 0]), np.asarray(x[order == 1])


def _brackets(values: Values) -> tuple[Indices, Indices]:
    """Before which sign changes lie, first those of the motion, then those of its slope."""
    signs = np.sign(values[:2])
    order, at = np.nonzero(signs[:, :-1] * signs[:, 1:] < 0)
    return at, order
