"""The strain and the stress at the surface of a specimen, and where they are largest.

Bending strains the surface by half the thickness times the curvature: h/2 psi' on a beam, the
tensor h/2 (w_xx, w_yy, w_xy) on a plate, h/2 (W'', W'/r) on a disc (thin-plate theory, textbook).
Strain here is the surface tensor (along x, along y, half the shear) of which stress follows by
Hooke's law for plane stress; on a beam along x alone. Neither holds the concentration at the edge
of a clamp, at a hole or beside a force at a point; places nearer than a thickness to such a force,
or to a corner, are left out, for there thin-plate theory has no finite answer. SI throughout.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import singledispatch
from itertools import pairwise, product
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.disc_shape import DiscShape
from saltline.forced.shapes import RigidShape, beam_field, plates_among
from saltline.forced.together import jets_together
from saltline.modes import Modes, Shape
from saltline.record import record
from saltline.section import tapered_properties
from saltline.specimen import (
    Attachment,
    BeamGeometry,
    DiscGeometry,
    PlateGeometry,
    Specimen,
    Support,
)

ACROSS = 33
"""So many places along each side of a plate, and along a disc's radius."""

RING = 48
"""So many on a ring about a support, at the rim of a stud or a thickness away from a point."""

PER_ELEMENT = 65
"""So many along each element of a beam."""


@record
class Surface:
    """Places at which a specimen's strain is watched.

    places: shape (count, dimensions), m, as in `shapes`.
    half:   half the thickness at each, m, shape (count,); NaN where a section does not state it.
    hooke:  stress over strain for plane stress, Pa, shape (3, 3).
    """

    places: Values
    half: Values
    hooke: Values


def surface(modes: Modes) -> Surface:
    """The places at which the strain of a specimen's modes is watched."""
    places, half = _places(modes.specimen.geometry, modes)
    return Surface(places, half, _hooke(modes.specimen))


def strain_readings(watched: Surface, shapes: Sequence[Shape | RigidShape]) -> Values:
    """The strain tensor of each mass-normalised shape, shape (n, count, 3), per root of kg."""
    curvatures = np.zeros((len(shapes), len(watched.places), 3))
    plates = plates_among(shapes)
    if plates:
        x, y = watched.places.T
        jets = jets_together(list(plates.values()), x, y, ((2, 0), (0, 2), (1, 1)))
        curvatures[list(plates)] = np.moveaxis(jets, 0, -1)
    for n in set(range(len(shapes))) - set(plates):
        curvatures[n] = _curvature(shapes[n], watched.places)
    return np.asarray(-watched.half[:, None] * curvatures)


def at_worst_phase(strain: Values) -> Values:
    """A complex strain tensor, shape (..., 3), at the phase at which it is largest; real.

    That is where the sum of the squares of its components is; where all of them move in phase, as
    near a resonance, it is their amplitude.
    """
    phase = 0.5 * np.angle(np.sum(np.asarray(strain) ** 2, axis=-1, keepdims=True))
    return np.asarray(np.real(strain * np.exp(-1j * phase)))


def principal(tensor: Values) -> Values:
    """The principal value of largest magnitude of tensors (xx, yy, xy), shape (..., 3)."""
    xx, yy, xy = np.moveaxis(np.asarray(tensor), -1, 0)
    middle, radius = (xx + yy) / 2.0, np.hypot((xx - yy) / 2.0, xy)
    return np.asarray(np.abs(middle) + radius)


def stress(watched: Surface, strain: Values) -> Values:
    """The stress tensor, Pa, of a strain tensor, shape (..., 3)."""
    engineering = strain * np.array([1.0, 1.0, 2.0])
    return np.asarray(engineering @ watched.hooke.T)


def _hooke(specimen: Specimen) -> Values:
    """Stress over (strain along x, along y, shear) for plane stress; of a beam along x alone."""
    material = specimen.material
    Ex, nu_xy = material.youngs_modulus.value, material.poisson_ratio.value
    if isinstance(specimen.geometry, BeamGeometry):
        return np.diag([Ex, 0.0, 0.0])
    Ey = Ex if material.youngs_modulus_y is None else material.youngs_modulus_y.value
    nu_yx = nu_xy * Ey / Ex
    part = 1.0 / (1.0 - nu_xy * nu_yx)
    return np.array(
        [
            [Ex * part, nu_yx * Ex * part, 0.0],
            [nu_yx * Ex * part, Ey * part, 0.0],
            [0.0, 0.0, material.G],
        ]
    )


# -- where ----------------------------------------------------------------------------------------


@singledispatch
def _places(geometry: Any, modes: Modes) -> tuple[Values, Values]:
    """The places and half the thickness at each."""
    raise TypeError(f"no surface is known of {type(geometry).__name__}")


@_places.register
def _(geometry: BeamGeometry, modes: Modes) -> tuple[Values, Values]:
    """On each element of a beam, its ends among them: a step has its thinner side's strain."""
    nu = modes.specimen.material.poisson_ratio.value
    places, half, start = [], [], 0.0
    # Just inside of each piece, so that a step or a support is seen from either side.
    inner = (1.0 - 1e-9) * -np.cos(np.pi * np.arange(PER_ELEMENT) / (PER_ELEMENT - 1))
    breaks = _breaks(geometry, modes)
    for segment in geometry.segments:
        length = segment.length.value
        here = [b for b in breaks if start - 1e-9 < b < start + length + 1e-9]
        for low, high in pairwise(here):
            x = low + (high - low) * (inner + 1.0) / 2.0
            s = np.clip((x - start) / length, 0.0, 1.0)
            depth = tapered_properties(segment.section_start, segment.section_end, nu, s).depth
            places.append(x)
            half.append(depth / 2.0)
        start += length
    return np.concatenate(places)[:, None], np.concatenate(half)


def _breaks(geometry: BeamGeometry, modes: Modes) -> list[float]:
    shapes = [mode.shape for mode in modes.modes if isinstance(mode.shape, BeamShape)]
    return [float(b) for b in shapes[0].line.breaks] if shapes else [0.0, geometry.length]


@_places.register
def _(geometry: PlateGeometry, modes: Modes) -> tuple[Values, Values]:
    """A grid that is finer toward the edges, without its corners, and rings about what holds it."""
    a, b = geometry.size
    h = geometry.thickness.value
    t = (1.0 - np.cos(np.pi * np.arange(ACROSS) / (ACROSS - 1))) / 2.0
    grid = np.array(list(product(a * t, b * t)))
    specimen = modes.specimen
    corners = np.array(list(product((0.0, a), (0.0, b))))
    points, rings = [corners], [grid]
    for place, radius in _pressed(specimen):
        if radius == 0.0:
            points.append(place[None, :])
        rings.append(place + _ring(radius or h))
    places = np.vstack(rings)
    inside = np.all((places >= 0.0) & (places <= [a, b]), axis=1)
    away = np.min([np.hypot(*(places - point).T) for point in np.vstack(points)], axis=0)
    kept = places[inside & (away >= h)]
    return kept, np.full(len(kept), h / 2.0)


def _pressed(specimen: Specimen) -> Iterator[tuple[Values, float]]:
    """Where something holds, loads or drives a plate, and the radius of a stud or a foot there."""
    things: list[Support | Attachment] = [*specimen.supports, *specimen.attached]
    for thing in things:
        if not (isinstance(thing, Support) and thing.to):
            radius = 0.0 if thing.diameter is None else thing.diameter.value / 2.0
            yield np.array([q.value for q in thing.at]), radius
    if specimen.drive is not None and specimen.drive.at:
        yield np.array([q.value for q in specimen.drive.at]), 0.0


def _ring(radius: float) -> Values:
    """Places just outside of a circle about the origin, shape (RING, 2)."""
    angle = 2.0 * np.pi * np.arange(RING) / RING
    return (1.0 + 1e-6) * radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)


@_places.register
def _(geometry: DiscGeometry, modes: Modes) -> tuple[Values, Values]:
    """Along the radius; from a thickness away from a force at the centre."""
    specimen, h = modes.specimen, geometry.thickness.value
    rim = geometry.diameter.value / 2.0
    things: list[Support | Attachment] = [*specimen.supports, *specimen.attached]
    hubs = [thing.diameter.value / 2.0 for thing in things if thing.diameter is not None]
    inner = max(hubs, default=0.0)
    if geometry.hole_diameter is not None:
        inner = geometry.hole_diameter.value / 2.0
    is_pressed = bool(things) or (specimen.drive is not None and specimen.drive.through == "point")
    if inner == 0.0 and is_pressed:
        inner = min(h, rim / 2.0)
    t = (1.0 - np.cos(np.pi * np.arange(2 * ACROSS) / (2 * ACROSS - 1))) / 2.0
    r = inner + (rim - inner) * t
    return r[:, None], np.full(r.size, h / 2.0)


# -- curvature ------------------------------------------------------------------------------------


@singledispatch
def _curvature(shape: Any, places: Values) -> Values:
    """The curvature tensor (w_xx, w_yy, w_xy) at places, shape (count, 3); not of a plate."""
    raise TypeError(f"no curvature is known for {type(shape).__name__}")


@_curvature.register
def _(shape: BeamShape, places: Values) -> Values:
    """The slope of the rotation; only a flatwise mode bends in this direction."""
    curvature = np.zeros((len(places), 3))
    if shape.family == "flatwise":
        curvature[:, 0] = beam_field(shape, "psi", places[:, 0], 1)
    return curvature


@_curvature.register
def _(shape: DiscShape, places: Values) -> Values:
    """Along the radius and round the disc, on a diameter of antinodes."""
    r = places[:, 0]
    W, W1, W2 = (shape.radial(r, derivative) for derivative in range(3))
    n2 = shape.n**2
    safe = np.where(r > 0.0, r, 1.0)
    hoop = np.where(r > 0.0, W1 / safe - n2 * W / safe**2, W2 * (1.0 - n2 / 2.0))
    return np.stack([W2, hoop, np.zeros_like(r)], axis=1)


@_curvature.register
def _(shape: RigidShape, places: Values) -> Values:
    del shape
    return np.zeros((len(places), 3))
