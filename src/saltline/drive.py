"""How strongly the exciter drives each mode: through a point, or through the supports.

A force at a point does work on a mode in proportion to the mode's deflection there; supports that
move together do so in proportion to the mode's participation, the mass-weighted mean of its shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatch
from typing import Any

import numpy as np

from saltline.beam import BeamShape
from saltline.disc import DiscShape
from saltline.facts import facts
from saltline.mixed_shape import MixedShape
from saltline.modes import Mode, Modes
from saltline.plate import PlateShape
from saltline.problem import attach
from saltline.specimen import Specimen

NOT_EXCITED = 1e-3
"""Below this a mode is not excited by the drive; symmetry makes it nothing but for rounding."""

PLACES = 48
"""Gauss points along each direction of a plate, and along a disc's radius."""


def excitation(modes: Modes) -> list[float] | None:
    """How strongly the specimen's drive excites each mode, 0 to 1; None where no drive is stated.

    Through a point: the deflection there over the largest. Through the boundary: the root of the
    effective mass over the whole mass.
    """
    drive = modes.specimen.drive
    if drive is None:
        return None
    works = [abs(driving_work(mode, modes.specimen)) for mode in modes.modes]
    if drive.through == "point":
        return [work / _largest(mode.shape) for work, mode in zip(works, modes.modes, strict=True)]
    mass = facts(modes.specimen).mass_kg
    return [work / mass**0.5 for work in works]


def driving_work(mode: Mode, specimen: Specimen) -> float:
    """What the drive works on a mass-normalised mode, with its sign.

    Through a point: the deflection there, per root of kg. Through the boundary: the participation,
    root of kg.
    """
    drive = specimen.drive
    assert drive is not None
    if drive.through == "point":
        return _deflection(mode.shape, [place.value for place in drive.at])
    return _participation(mode, specimen)


# -- shapes ---------------------------------------------------------------------------------------


@singledispatch
def _deflection(shape: Any, at: Sequence[float]) -> float:
    """The deflection at a place; a disc's at its centre."""
    raise TypeError(f"no drive is known for {type(shape).__name__}")


@_deflection.register
def _(shape: BeamShape, at: Sequence[float]) -> float:
    return float(shape.at(np.array(at))[0])


@_deflection.register(PlateShape)
@_deflection.register(MixedShape)
def _(shape: PlateShape | MixedShape, at: Sequence[float]) -> float:
    return float(shape.at_points(np.array(at[:1]), np.array(at[1:]))[0])


@_deflection.register
def _(shape: DiscShape, at: Sequence[float]) -> float:
    del at
    return float(shape.radial(np.array([shape.inner_radius]))[0]) if shape.n == 0 else 0.0


@singledispatch
def _largest(shape: Any) -> float:
    """The largest deflection."""
    raise TypeError(f"no drive is known for {type(shape).__name__}")


@_largest.register
def _(shape: BeamShape) -> float:
    places = np.linspace(shape.line.breaks[0], shape.line.breaks[-1], 400)
    return float(np.abs(shape.at(places)).max())


@_largest.register(PlateShape)
@_largest.register(MixedShape)
def _(shape: PlateShape | MixedShape) -> float:
    x, y = (np.linspace(0.0, line.breaks[-1], 61) for line in (shape.x, shape.y))
    return float(np.abs(shape.at(x, y)).max())


@_largest.register
def _(shape: DiscShape) -> float:
    r = np.linspace(shape.inner_radius, shape.rim_radius, 200)
    return float(np.abs(shape.radial(r)).max())


# -- through the boundary -------------------------------------------------------------------------


def _participation(mode: Mode, specimen: Specimen) -> float:
    """The mass-weighted integral of a mass-normalised shape, root of kg; masses attached count."""
    own = _own_participation(mode.shape, mode, specimen)
    return own + sum(
        thing.mass.value * _deflection(mode.shape, [place.value for place in thing.at])
        for thing in specimen.attached
        if not isinstance(mode.shape, BeamShape)
    )


@singledispatch
def _own_participation(shape: Any, mode: Mode, specimen: Specimen) -> float:
    raise TypeError(f"no drive is known for {type(shape).__name__}")


@_own_participation.register
def _(shape: BeamShape, mode: Mode, specimen: Specimen) -> float:
    """Exactly, with the even motion of the beam as a function of its own basis."""
    del specimen
    if mode.family != "flatwise":
        return 0.0  # the supports move across the wide face
    assert mode.problem is not None
    assert mode.q is not None
    return float(mode.problem.rigid_motions[:, 0] @ attach(mode.problem)[1] @ mode.q)


@_own_participation.register(PlateShape)
@_own_participation.register(MixedShape)
def _(shape: PlateShape | MixedShape, mode: Mode, specimen: Specimen) -> float:
    xi, weights = np.polynomial.legendre.leggauss(PLACES)
    a, b = specimen.geometry.size
    w = shape.at((xi + 1.0) * a / 2.0, (xi + 1.0) * b / 2.0)
    mean = float(weights @ w @ weights) / 4.0
    plate = _own_mass(specimen)
    return plate * mean


@_own_participation.register
def _(shape: DiscShape, mode: Mode, specimen: Specimen) -> float:
    if shape.n > 0:
        return 0.0
    xi, weights = np.polynomial.legendre.leggauss(PLACES)
    half = (shape.rim_radius - shape.inner_radius) / 2.0
    r = shape.inner_radius + half * (xi + 1.0)
    integral = half * float(weights @ (shape.radial(r) * r))
    area = (shape.rim_radius**2 - shape.inner_radius**2) / 2.0
    return _own_mass(specimen) * integral / area


def _own_mass(specimen: Specimen) -> float:
    """The specimen's own mass, kg, without what is attached."""
    return facts(specimen).mass_kg - sum(thing.mass.value for thing in specimen.attached)
