"""What a specimen looks like from above: its rim, where it is held, and what stands on it.

All in m in the specimen's own coordinates: along a beam from its start with the centre line at
y = 0, on a plate from the left bottom corner, on a disc from the centre.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import singledispatch
from itertools import accumulate
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.quantity import Quantity
from saltline.record import record
from saltline.section import Section, section_properties
from saltline.specimen import (
    Attachment,
    BeamGeometry,
    DiscGeometry,
    PlateGeometry,
    Specimen,
    Support,
)

BULGE = 5e-6
"""A circle is drawn in chords from which it bulges by no more than this, m."""

BLANK_WIDTH = 0.1
"""A beam whose width is not stated is drawn as wide as this part of its length,"""

NARROWEST, WIDEST = 0.010, 0.040
"""... but between these, m."""


@record
class Edge:
    """An end or edge and how it is held; the outside lies to the right when one follows it.

    points: shape (n, 2).
    """

    name: str
    word: str
    points: Values


@record
class Spot:
    """A thing at a place: a "support", a "mass" or the "drive"; diameter: of what it stands on."""

    what: str
    at: tuple[float, float]
    diameter: float = 0.0


@record
class Outline:
    """A specimen from above.

    rims:      closed lines, shape (n, 2): the outer one, then holes.
    edges:     the ends or edges that have a name in the specimen file.
    spots:     supports, masses, the driving point.
    lines:     supports along a line, each from end to end.
    is_as_stated: False where a beam's width is not stated and the rim is a choice.
    """

    rims: tuple[Values, ...]
    edges: tuple[Edge, ...]
    spots: tuple[Spot, ...] = ()
    lines: tuple[Values, ...] = ()
    is_as_stated: bool = True

    @property
    def low(self) -> Values:
        """The left bottom corner of the box about it."""
        return np.asarray(self.rims[0].min(axis=0))

    @property
    def high(self) -> Values:
        """The right top corner of the box about it."""
        return np.asarray(self.rims[0].max(axis=0))


def outline_of(specimen: Specimen) -> Outline:
    """A specimen from above."""
    return _outline(specimen.geometry, specimen)


@singledispatch
def _outline(geometry: Any, specimen: Specimen) -> Outline:
    raise TypeError(f"no outline is known for {type(geometry).__name__}")


def circle(radius: float, centre: Sequence[float] = (0.0, 0.0)) -> Values:
    """A closed circle, counter-clockwise, shape (n, 2)."""
    # A multiple of four: the outermost points are then on the axes.
    chords = 4 * max(math.ceil(math.pi / math.sqrt(32.0 * min(BULGE / radius, 1e-3))), 24)
    t = np.linspace(0.0, 2.0 * math.pi, chords + 1)
    points = np.column_stack([np.cos(t), np.sin(t)]) * radius + np.asarray(centre)
    points[-1] = points[0]
    return np.asarray(points)


# -- beams ----------------------------------------------------------------------------------------


@_outline.register
def _(geometry: BeamGeometry, specimen: Specimen) -> Outline:
    x, half, is_as_stated = beam_halves(geometry, "depth_edge", specimen)
    upper = np.column_stack([x, half])
    lower = np.column_stack([x, -half])
    rim = np.vstack([lower, upper[::-1], lower[:1]])
    ends = {"start": np.array([upper[0], lower[0]]), "end": np.array([lower[-1], upper[-1]])}
    edges = [Edge(name, specimen.boundary[name].word, line) for name, line in ends.items()]
    return Outline((rim,), tuple(edges), _spots(specimen), (), is_as_stated)


def beam_halves(
    geometry: BeamGeometry, size: str, specimen: Specimen
) -> tuple[Values, Values, bool]:
    """Half of a beam's outer size along its length, two places a segment, m.

    size: "depth_edge" for the width of the wide face, "depth" for the thickness.
    Returns the places, the halves there, and whether the file states all of them.
    """
    nu = specimen.material.poisson_ratio.value
    ends = list(accumulate(s.length.value for s in geometry.segments))
    x = np.column_stack([[0.0, *ends[:-1]], ends]).ravel()

    def outer(section: Section) -> float:
        return float(getattr(section_properties(section, nu), size))

    pairs = ((s.section_start, s.section_end) for s in geometry.segments)
    full = np.array([outer(section) for pair in pairs for section in pair])
    is_as_stated = not bool(np.isnan(full).any())
    blank = min(max(BLANK_WIDTH * geometry.length, NARROWEST), WIDEST)
    return x, np.where(np.isnan(full), blank, full) / 2.0, is_as_stated


# -- plates and discs -----------------------------------------------------------------------------


@_outline.register
def _(geometry: PlateGeometry, specimen: Specimen) -> Outline:
    a, b = geometry.size
    corners = np.array([[0.0, 0.0], [a, 0.0], [a, b], [0.0, b], [0.0, 0.0]])
    order = ("bottom", "right", "top", "left")
    edges = [
        Edge(name, specimen.boundary[name].word, corners[k : k + 2]) for k, name in enumerate(order)
    ]
    lines = [
        np.array([[q.value for q in s.at], [q.value for q in s.to]])
        for s in specimen.supports
        if s.to
    ]
    return Outline((corners,), tuple(edges), _spots(specimen), tuple(lines))


@_outline.register
def _(geometry: DiscGeometry, specimen: Specimen) -> Outline:
    rims = [circle(geometry.diameter.value / 2.0)]
    edges = [Edge("rim", specimen.boundary["rim"].word, rims[0])]
    if geometry.hole_diameter is not None:
        hole = circle(geometry.hole_diameter.value / 2.0)[::-1]
        rims.append(hole)
        edges.append(Edge("hole", specimen.boundary["hole"].word, hole))
    return Outline(tuple(rims), tuple(edges), _spots(specimen))


# -- what stands on it ----------------------------------------------------------------------------


def _spots(specimen: Specimen) -> tuple[Spot, ...]:
    """Supports at points, masses and the driving point."""
    spots = [_spot("support", s) for s in specimen.supports if not s.to]
    spots += [_spot("mass", thing) for thing in specimen.attached]
    drive = specimen.drive
    if drive is not None and drive.through == "point":
        spots.append(Spot("drive", _place(drive.at)))
    return tuple(spots)


def _spot(what: str, thing: Support | Attachment) -> Spot:
    diameter = 0.0 if thing.diameter is None else thing.diameter.value
    return Spot(what, _place(thing.at), diameter)


def _place(at: Sequence[Quantity]) -> tuple[float, float]:
    """A place of one, two or no coordinates; those that it lacks are 0."""
    x, y = (*(q.value for q in at), 0.0, 0.0)[:2]
    return x, y


def hatch(edge: Edge, *, apart: float, long: float) -> list[Values]:
    """Short slanted lines along the outside of an edge, each shape (2, 2).

    apart: their distance along the edge; long: how far they reach out.
    """
    steps = np.diff(edge.points, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    along = np.concatenate([[0.0], np.cumsum(lengths)])
    count = max(math.ceil(along[-1] / apart), 2)
    ticks = []
    for s in (np.arange(count) + 0.5) * along[-1] / count:
        k = min(int(np.searchsorted(along, s, side="right")) - 1, len(steps) - 1)
        direction = steps[k] / lengths[k]
        outward = np.array([direction[1], -direction[0]])
        foot = edge.points[k] + (s - along[k]) * direction
        ticks.append(np.array([foot, foot + long * (outward - direction)]))
    return ticks
