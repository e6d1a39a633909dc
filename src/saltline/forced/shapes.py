"""Any mode's shape, whatever the specimen, read at places.

A place is a row of coordinates in m: x on a beam, (x, y) on a plate, the radius on a disc (along
a diameter of antinodes, where its modes move most).
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatch
from itertools import product
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.disc_shape import DiscShape
from saltline.forced.together import jets_together
from saltline.legendre import legendre_derivative, legendre_values
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape
from saltline.record import record
from saltline.specimen import BeamGeometry, DiscGeometry, Geometry, PlateGeometry

ACROSS = 61
"""How many places along each side of a plate are looked at for the largest deflection."""

GRID = {BeamGeometry: 801, PlateGeometry: 41, DiscGeometry: 201}
"""How many places in each direction a grid has."""


@record
class RigidShape:
    """A motion without strain: c[0] + c[1] x + c[2] y."""

    c: tuple[float, float, float]


def deflections_of(shapes: Sequence[Any], places: Values) -> Values:
    """The deflections of many shapes at the same places, shape (shapes, count)."""
    found = np.zeros((len(shapes), len(places)))
    plates = plates_among(shapes)
    if plates:
        x, y = places.T
        found[list(plates)] = jets_together(list(plates.values()), x, y, ((0, 0),))[0]
    rows: dict[tuple[int, str], Values] = {}
    for n in set(range(len(shapes))) - set(plates):
        shape = shapes[n]
        if isinstance(shape, BeamShape):
            key = id(shape.line), shape.field
            if key not in rows:
                rows[key] = shape.line.rows(shape.field, places[:, 0])
            found[n] = rows[key] @ shape.q
        else:
            found[n] = deflections(shape, places)
    return found


def plates_among(shapes: Sequence[Any]) -> dict[int, PlateShape | MixedShape]:
    """Number -> shape of those that are a plate's, which are best read together."""
    return {n: s for n, s in enumerate(shapes) if isinstance(s, PlateShape | MixedShape)}


@singledispatch
def deflections(shape: Any, places: Values) -> Values:
    """The deflection at places of shape (count, dimensions)."""
    raise TypeError(f"no deflection is known for {type(shape).__name__}")


@deflections.register
def _(shape: BeamShape, places: Values) -> Values:
    return beam_field(shape, shape.field, places[:, 0])


@deflections.register(PlateShape)
@deflections.register(MixedShape)
def _(shape: PlateShape | MixedShape, places: Values) -> Values:
    return shape.at_points(places[:, 0], places[:, 1])


@deflections.register
def _(shape: DiscShape, places: Values) -> Values:
    return shape.at_points(places[:, 0], np.zeros(len(places)))


@deflections.register
def _(shape: RigidShape, places: Values) -> Values:
    columns = places.shape[1]
    return np.asarray(shape.c[0] + places @ np.array(shape.c[1 : 1 + columns]))


def beam_field(shape: BeamShape, field: str, x: Values, derivative: int = 0) -> Values:
    """A field of a beam's shape or its derivative at places x, as one series an element."""
    line = shape.line
    which = np.clip(np.searchsorted(line.breaks, x, side="right") - 1, 0, len(line.elements) - 1)
    values = np.zeros(x.size)
    for number, (element, series) in enumerate(
        zip(line.elements, line.series(shape.q, field), strict=True)
    ):
        here = which == number
        for _ in range(derivative):
            series = series @ legendre_derivative(series.size) / element.half
        xi = (x[here] - element.start) / element.half - 1.0
        values[here] = legendre_values(xi, series.size) @ series
    return values


def grid(geometry: Geometry) -> Values:
    """Places evenly over a specimen, its ends, edges and corners among them.

    Shape (count, dimensions).
    """
    extents = [(0.0, size) for size in geometry.size]
    if isinstance(geometry, DiscGeometry):
        hole = 0.0 if geometry.hole_diameter is None else geometry.hole_diameter.value
        extents = [(hole / 2.0, geometry.diameter.value / 2.0)]
    axes = [np.linspace(low, high, GRID[type(geometry)]) for low, high in extents]
    return np.array(list(product(*axes)))


@singledispatch
def largest(shape: Any) -> float:
    """The largest deflection."""
    raise TypeError(f"no deflection is known for {type(shape).__name__}")


@largest.register
def _(shape: BeamShape) -> float:
    places = np.linspace(shape.line.breaks[0], shape.line.breaks[-1], 400)
    return float(np.abs(shape.at(places)).max())


@largest.register(PlateShape)
@largest.register(MixedShape)
def _(shape: PlateShape | MixedShape) -> float:
    x, y = (np.linspace(0.0, line.breaks[-1], ACROSS) for line in (shape.x, shape.y))
    return float(np.abs(shape.at(x, y)).max())


@largest.register
def _(shape: DiscShape) -> float:
    r = np.linspace(shape.inner_radius, shape.rim_radius, 200)
    return float(np.abs(shape.radial(r)).max())
