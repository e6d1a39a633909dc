"""The parts of a specimen that move in like phase, and where each of them moves most.

Node lines and rigid holds part a shape into regions; across a node line the motion changes its
sign. Which of the two signs is called positive is a choice: here that of the first region that
moves well is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import singledispatch
from itertools import pairwise
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.disc_shape import DiscShape
from saltline.forced.shapes import beam_field
from saltline.mixed_shape import MixedShape
from saltline.nodes import beam_pattern
from saltline.plates.plate_shape import PlateShape
from saltline.record import record
from saltline.tracing.nodecircles import disc_pattern

AT_REST = 1e-3
"""A region that moves less than this part of the largest motion is at rest to any eye."""

WELL = 0.1
"""A region that moves at least this part of it moves well."""

ALIKE = 1e-6
"""Motions that differ by less than this part of the largest differ by rounding alone, be it from
nothing: places that move alike are taken in order."""

EQUAL = 0.99
"""What moves at least this part of the largest motion moves about equally far."""

LONG = 8
"""A ridge of equal motion is long that reaches over more places than these."""

PLACES = 40
"""Twice so many places along the longer side of a plate are looked at: an even number, so that the
lines of symmetry, which are often node lines, fall between them."""


@record
class Region:
    """A part that moves in like phase.

    sign:   1 or -1.
    peaks:  where it moves most, m: (x,) on a beam, (x, y) on a plate, and on a disc (x, y) from the
            centre; several where it moves about equally far in several places.
    height: the largest deflection there, as a part of the specimen's largest.
    """

    sign: int
    peaks: tuple[tuple[float, ...], ...]
    height: float

    @property
    def at(self) -> tuple[float, ...]:
        """The first of the peaks."""
        return self.peaks[0]


@record
class Phases:
    """The regions of a shape, in order of their places; the first that moves well is positive.

    sense:   1 or -1, by which the shape is multiplied to agree with these signs.
    largest: the largest deflection of the shape, by which it is divided to be at most 1.
    """

    sense: int
    largest: float
    regions: tuple[Region, ...]


@singledispatch
def phases_of(shape: Any) -> Phases:
    """The regions of a mode's shape.

    >>> phases_of("no shape")
    Traceback (most recent call last):
        ...
    TypeError: no regions are known for str
    """
    raise TypeError(f"no regions are known for {type(shape).__name__}")


Peaks = tuple[tuple[tuple[float, ...], ...], float]
"""Places where a region moves most, and the deflection there, of either sign."""


def _phases(peaks: Sequence[Peaks]) -> Phases:
    """The peaks of all regions, in order, as signs and heights; what is at rest is left out."""
    largest = max((abs(w) for _, w in peaks), default=0.0)
    moving = [(places, w) for places, w in peaks if abs(w) > AT_REST * largest]
    if not moving:
        return Phases(1, 1.0, ())
    well = next(w for _, w in moving if abs(w) >= WELL * largest)
    sense = 1 if well > 0.0 else -1
    return Phases(
        sense,
        largest,
        tuple(
            Region(sense if w > 0.0 else -sense, places, abs(w) / largest) for places, w in moving
        ),
    )


# -- beams ----------------------------------------------------------------------------------------


@phases_of.register
def _(shape: BeamShape) -> Phases:
    start, end = (float(x) for x in shape.line.breaks[[0, -1]])
    if _only_turns(shape):
        return Phases(1, 1.0, ())
    stops = [x for x in (*beam_pattern(shape).nodes, *shape.held) if start < x < end]
    peaks: list[Peaks] = []
    for low, high in pairwise([start, *sorted(stops), end]):
        x = np.linspace(low, high, 101)
        w = shape.at(x)
        k = _first_largest(np.abs(w))
        peaks.append((((float(x[k]),),), float(w[k])))
    return _phases(peaks)


def _only_turns(shape: BeamShape) -> bool:
    """Whether the deflection is only rounding: Timoshenko's mode of pure shear just turns."""
    if "psi" not in shape.line.elements[0].fields:
        return False
    x = np.linspace(0.0, float(shape.line.breaks[-1]), 101)
    turning = np.abs(beam_field(shape, "psi", x)).max() * x[-1]
    return bool(np.abs(shape.at(x)).max() < 1e-9 * turning)


def _first_largest(heights: Values) -> int:
    """The first of the places at which the height is the largest but for rounding."""
    return int(np.argmax(heights >= (1.0 - ALIKE) * heights.max()))


# -- plates ---------------------------------------------------------------------------------------


@phases_of.register(PlateShape)
@phases_of.register(MixedShape)
def _(shape: PlateShape | MixedShape) -> Phases:
    phases = shape.known.get("phases")
    if not isinstance(phases, Phases):
        phases = shape.known["phases"] = _phases_of_plate(shape)
    return phases


def _phases_of_plate(shape: PlateShape | MixedShape) -> Phases:
    from scipy.ndimage import find_objects, label  # needed for plates alone

    a, b = float(shape.x.breaks[-1]), float(shape.y.breaks[-1])
    x, y = (
        np.linspace(0.0, side, 2 * max(math.ceil(PLACES * side / max(a, b)), 20)) for side in (a, b)
    )
    w = shape.at(x, y)
    rounding = ALIKE * float(np.abs(w).max())
    cell = (float(x[1]), float(y[1]))
    tops_of: list[list[tuple[float, float]]] = []
    for sign in (1.0, -1.0):
        regions, _ = label(sign * w > rounding)
        for number, box in enumerate(find_objects(regions), start=1):
            heights = np.where(regions[box] == number, sign * w[box], 0.0)
            if heights.max() <= AT_REST * np.abs(w).max():
                continue
            cells = _tops(heights)
            places = [(float(x[box[0]][i]), float(y[box[1]][j])) for i, j in cells]
            tops_of.append(_apart(places, 2.5 * max(cell)))
    refined = iter(_refined(shape, [at for tops in tops_of for at in tops], cell, (a, b)))
    found: list[Peaks] = []
    for tops in tops_of:
        here = [next(refined) for _ in tops]
        found.append((tuple(at for at, _ in here), here[0][1]))
    scale = max(a, b)
    return _phases(sorted(found, key=lambda peak: tuple(round(c / scale, 6) for c in peak[0][0])))


def _tops(heights: Values) -> list[tuple[int, int]]:
    """The cells where a region moves most; a long ridge, as an edge that moves straight, has one.

    heights: of the region, 0 elsewhere, so that no neighbour's motion hides a small region's own.
    """
    from scipy.ndimage import find_objects, label, maximum_filter

    is_peak = heights >= (1.0 - ALIKE) * maximum_filter(heights, size=3)
    ridges, _ = label(heights >= EQUAL * heights.max(), np.ones((3, 3)))
    cells = []
    for number, box in enumerate(find_objects(ridges), start=1):
        own = ridges[box] == number
        peaks = np.argwhere(own & is_peak[box])
        if len(peaks) > 1 and max(own.shape) > LONG:
            peaks = np.array([_crest(np.where(own, heights[box], 0.0))])
        cells += [(int(i) + box[0].start, int(j) + box[1].start) for i, j in peaks]
    return cells


def _crest(heights: Values) -> tuple[int, int]:
    """The highest cell across the middle of a long ridge."""
    i, j = (n // 2 for n in heights.shape)
    if heights.shape[0] < heights.shape[1]:
        return int(np.argmax(heights[:, j])), j
    return i, int(np.argmax(heights[i]))


def _apart(places: Sequence[tuple[float, float]], distance: float) -> list[tuple[float, float]]:
    """The places, without those that lie near one before them."""
    kept: list[tuple[float, float]] = []
    for at in places:
        if all(math.dist(at, other) > distance for other in kept):
            kept.append(at)
    return kept


def _refined(
    shape: PlateShape | MixedShape,
    places: Sequence[tuple[float, float]],
    cell: tuple[float, float],
    size: tuple[float, float],
) -> list[tuple[tuple[float, float], float]]:
    """The largest deflection near each place of the grid, by Newton's method; an edge is kept to.

    All of them are followed at once; one whose next step would leave its cell stays where it is.
    """
    if not places:
        return []
    start, end = np.array(places), np.array(size)
    at, going = start.copy(), np.full(len(start), True)
    for _ in range(4):
        gx, gy, xx, xy, yy = shape.jet(at[:, 0], at[:, 1], ((1, 0), (0, 1), (2, 0), (1, 1), (0, 2)))
        inner = (at > 0.0) & (at < end)
        xy = np.where(inner.all(axis=1), xy, 0.0)
        xx, yy = np.where(inner[:, 0], xx, 1.0), np.where(inner[:, 1], yy, 1.0)
        gx, gy = np.where(inner[:, 0], gx, 0.0), np.where(inner[:, 1], gy, 0.0)
        det = xx * yy - xy**2
        largest = np.max(np.abs([xx, xy, yy]), axis=0)
        going &= np.abs(det) >= 1e-12 * largest**2
        safe = np.where(going, det, 1.0)
        step = np.column_stack([gy * xy - gx * yy, gx * xy - gy * xx]) / safe[:, None]
        nearer = at + step
        going &= np.all(
            (np.abs(nearer - start) <= cell) & (nearer >= 0.0) & (nearer <= end), axis=1
        )
        at[going] = nearer[going]
    heights = shape.at_points(at[:, 0], at[:, 1])
    return [((float(x), float(y)), float(w)) for (x, y), w in zip(at, heights, strict=True)]


# -- discs ----------------------------------------------------------------------------------------


@phases_of.register
def _(shape: DiscShape) -> Phases:
    """A ring between two nodal circles has a region to each side of each nodal diameter."""
    peaks: list[Peaks] = []
    stops = [*disc_pattern(shape).radii_m, *shape.held]
    inner = shape.inner_radius
    between = sorted({inner, *(r for r in stops if inner < r < shape.rim_radius), shape.rim_radius})
    for low, high in pairwise(between):
        r = np.linspace(low, high, 101)
        w = shape.radial(r)
        k = _first_largest(np.abs(w))
        if shape.n == 0:
            peaks.append((_about(float(r[k])), float(w[k])))
        for sector in range(2 * shape.n):
            angle = math.pi * sector / shape.n
            at = (float(r[k]) * math.cos(angle), float(r[k]) * math.sin(angle))
            peaks.append(((at,), float(w[k]) * (-1.0) ** sector))
    return _phases(peaks)


def _about(radius: float) -> tuple[tuple[float, ...], ...]:
    """What moves alike all about the centre is told by four places, or by the centre."""
    if radius == 0.0:
        return ((0.0, 0.0),)
    return ((radius, 0.0), (0.0, radius), (-radius, 0.0), (0.0, -radius))
