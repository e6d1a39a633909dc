"""What a mode of a plate or a disc looks like from above: node lines, regions, deflections."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import singledispatch
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.disc_shape import DiscShape
from saltline.mixed_shape import MixedShape
from saltline.nodes import Pattern, PlatePattern
from saltline.plates.plate_shape import PlateShape
from saltline.record import record
from saltline.show.outline import Outline, circle
from saltline.tracing.nodecircles import DiscPattern
from saltline.tracing.regions import Phases, phases_of

REFINEMENTS = 2
"""So many times a point is put between each two of a plate's node line."""

CELLS = 50
"""The deflection is read at twice so many places along the longer side of the box."""


@record
class Face:
    """One mode from above, in m; signs and heights as in `Phases`.

    lines: its node lines, each shape (n, 2).
    """

    outline: Outline
    lines: tuple[Values, ...]
    phases: Phases


@record
class Surface:
    """A face and how far every place of it moves.

    x, y: places along the sides of the box about the specimen, ends included.
    w:    the deflection there, at most 1, shape (len(x), len(y)); in a hole or beyond a rim it goes
          on smoothly or is 0, to be covered there.
    """

    face: Face
    x: Values
    y: Values
    w: Values


def face_of(shape: Any, pattern: Pattern, outline: Outline) -> Face:
    """A mode of a plate or a disc from above."""
    return Face(outline, _lines(shape, pattern), phases_of(shape))


def surface_of(shape: Any, face: Face) -> Surface:
    """How far every place of a mode moves."""
    x, y = box_axes(face.outline)
    sense, largest = face.phases.sense, face.phases.largest
    return Surface(face, x, y, sense / largest * _deflection(shape, x, y))


def box_axes(outline: Outline, cells: int = CELLS) -> tuple[Values, Values]:
    """Places along the sides of the box about a specimen, ends included, evenly both ways."""
    sides = outline.high - outline.low
    counts = (2 * max(math.ceil(cells * side / sides.max()), 8) for side in sides)
    x, y = (
        np.linspace(low, high, count)
        for low, high, count in zip(outline.low, outline.high, counts, strict=True)
    )
    return x, y


# -- deflections ----------------------------------------------------------------------------------


@singledispatch
def _deflection(shape: Any, x: Values, y: Values) -> Values:
    raise TypeError(f"{type(shape).__name__} is not seen from above")


@_deflection.register(PlateShape)
@_deflection.register(MixedShape)
def _(shape: PlateShape | MixedShape, x: Values, y: Values) -> Values:
    return shape.at(x, y)


@_deflection.register
def _(shape: DiscShape, x: Values, y: Values) -> Values:
    X, Y = np.meshgrid(x, y, indexing="ij")
    return np.asarray(np.nan_to_num(shape.at_points(X, Y), nan=0.0))


# -- node lines -----------------------------------------------------------------------------------


@singledispatch
def _lines(shape: Any, pattern: Pattern) -> tuple[Values, ...]:
    raise TypeError(f"{type(shape).__name__} is not seen from above")


@_lines.register(PlateShape)
@_lines.register(MixedShape)
def _(shape: PlateShape | MixedShape, pattern: PlatePattern) -> tuple[Values, ...]:
    """The lines as they were traced, with points between, each on the zero of the shape."""

    def gradient(x: Values, y: Values) -> list[Values]:
        return shape.jet(x, y, ((0, 0), (1, 0), (0, 1)))

    return tuple(_smooth(line.points, gradient) for line in pattern.net.lines)


def _smooth(points: Values, jet: Callable[[Values, Values], list[Values]]) -> Values:
    """A polyline with points between, moved onto the zero; near a crossing on the chord."""
    for _ in range(REFINEMENTS):
        chord = np.diff(points, axis=0)
        middle = points[:-1] + chord / 2.0
        for _ in range(2):
            w, wx, wy = jet(middle[:, 0], middle[:, 1])
            steep = wx**2 + wy**2
            step = np.column_stack([wx, wy]) * (w / np.where(steep > 0.0, steep, np.inf))[:, None]
            is_small = np.linalg.norm(step, axis=1) < 0.1 * np.linalg.norm(chord, axis=1)
            middle = middle - np.where(is_small[:, None], step, 0.0)
        finer = np.empty((2 * len(points) - 1, 2))
        finer[0::2], finer[1::2] = points, middle
        points = finer
    return points


@_lines.register
def _(shape: DiscShape, pattern: DiscPattern) -> tuple[Values, ...]:
    """Circles, and diameters as one line each, or as two where a hole or a hub is between."""
    lines = [circle(r) for r in pattern.radii_m]
    reach = np.array([shape.inner_radius, shape.rim_radius])
    for k in range(pattern.diameters):
        angle = math.pi * (k + 0.5) / pattern.diameters
        direction = np.array([math.cos(angle), math.sin(angle)])
        if shape.inner_radius > 0.0:
            lines += [np.outer(reach, direction), np.outer(reach, -direction)]
        else:
            lines.append(np.outer([-shape.rim_radius, shape.rim_radius], direction))
    return tuple(lines)
