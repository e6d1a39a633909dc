"""What a clamp that gives a little, or a sensor, does to a specimen's modes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from saltline.modes import Modes
from saltline.quantities_of import with_values
from saltline.quantity import Quantity
from saltline.record import record
from saltline.section import section_properties
from saltline.solver import find_modes
from saltline.specimen import Attachment, BeamGeometry, DiscGeometry, PredictionError, Specimen

CLAMP_STEPS = (math.inf, 1000.0, 300.0, 100.0, 30.0, 10.0, 3.0)
"""Rotational stiffnesses of a clamp, in E I / L."""


@record
class ClampStep:
    """One stiffness of the clamp.

    stiffness: N m/rad; ratio: the same in E I / L of the beam at the clamp.
    frequencies_hz: of the first modes.
    """

    stiffness: float
    ratio: float
    frequencies_hz: tuple[float, ...]


def clamp_effect(specimen: Specimen, *, count: int = 3) -> list[ClampStep]:
    """The first flatwise frequencies as every clamped end grows softer against rotation.

    Under compression the steps end where the beam would buckle. Raises PredictionError where no
    end is clamped.
    """
    geometry = specimen.geometry
    clamped = [name for name, hold in specimen.boundary.items() if hold.word == "clamped"]
    if not isinstance(geometry, BeamGeometry) or not clamped:
        raise PredictionError("--clamp needs a beam with a clamped end")
    segment = geometry.segments[0 if "start" in clamped else -1]
    section = segment.section_start if "start" in clamped else segment.section_end
    properties = section_properties(section, specimen.material.poisson_ratio.value)
    unit = specimen.material.youngs_modulus.value * float(properties.I) / geometry.length
    steps = []
    for ratio in CLAMP_STEPS:
        changed = {f"boundary.{name}.rotation": ratio * unit for name in clamped}
        softer = with_values(specimen, changed)
        try:
            found = find_modes(softer, count=count)
        except PredictionError:
            break
        steps.append(
            ClampStep(ratio * unit, ratio, tuple(mode.frequency_hz for mode in found.modes))
        )
    return steps


def with_sensor(specimen: Specimen, mass: float, at: Sequence[float]) -> Specimen:
    """The specimen with one more thing attached; mass in kg, place in m.

    Raises PredictionError where the place is not on the specimen.
    """
    size = specimen.geometry.size
    if len(at) != len(size):
        due = ("4.5 g at centre", "4.5 g at 300 mm", "4.5 g at 60 mm, 40 mm")[len(size)]
        raise PredictionError(f'on a {specimen.kind} a sensor is placed like this: "{due}"')
    geometry = specimen.geometry
    if isinstance(geometry, DiscGeometry) and geometry.hole_diameter is not None:
        raise PredictionError("a sensor on a disc is at its centre, where this one has its hole")
    for x, extent in zip(at, size, strict=True):
        if not 0.0 <= x <= extent:
            raise PredictionError(
                f"the sensor at {1e3 * x:g} mm is not on the specimen, which ends at "
                f"{1e3 * extent:g} mm"
            )
    thing = Attachment(tuple(Quantity(x) for x in at), Quantity(mass), Quantity(0.0))
    return replace(specimen, attached=(*specimen.attached, thing))


def sensor_effect(
    modes: Modes, mass: float, at: Sequence[float], *, families: Sequence[str]
) -> Modes:
    """The same modes with a sensor attached."""
    changed = with_sensor(modes.specimen, mass, at)
    return find_modes(changed, count=len(modes.modes), theory=modes.theory, families=families)
