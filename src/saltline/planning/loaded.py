"""The specimen as it is tested: with the rig's sensor on it, where that has its place there.

On a beam, on a plate and at a disc's centre the sensor is attached and all is solved with it. Off
the centre of a disc, where nothing can be attached, its mass lowers the frequencies to first order
and takes part in force and moment at the motion of its place; the shapes stay those without it. SI
throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.effects import with_sensor
from saltline.forced.response import Driven, absolute_acceleration, for_drive
from saltline.mixture import as_driven
from saltline.modes import Modes
from saltline.planning.places import shifts
from saltline.planning.rig import Rig, Sensor
from saltline.quantity import Quantity
from saltline.record import record
from saltline.solver import find_modes
from saltline.specimen import DiscGeometry, Specimen


@record
class Asked:
    """Which modes are asked for; see `find_modes`."""

    count: int
    below_hz: float | None
    theory: str | None
    families: Sequence[str] | None


@record
class Loaded:
    """The modes of a specimen as it is tested.

    specimen: with the sensor attached, where that can be.
    modes:    as the drive makes them.
    bare:     the same modes without the sensor; `modes` themselves where none is on the specimen.
    """

    specimen: Specimen
    modes: Modes
    bare: Modes

    @property
    def is_loaded(self) -> bool:
        """Whether a sensor is on the specimen."""
        return self.modes is not self.bare

    def bare_hz(self, family: str, order: int) -> float | None:
        """The frequency of a mode without the sensor; None where no sensor is on the specimen."""
        if not self.is_loaded:
            return None
        found = (m.frequency_hz for m in self.bare.modes if (m.family, m.order) == (family, order))
        return next(found, None)


def sensor_on(rig: Rig | None) -> Sensor | None:
    """The rig's sensor, where that is on the specimen."""
    sensor = None if rig is None else rig.sensor
    return sensor if sensor is not None and sensor.at else None


def loaded(specimen: Specimen, rig: Rig | None, asked: Asked) -> Loaded:
    """The modes of a specimen with the rig's sensor.

    Raises PredictionError as `find_modes` does.
    """
    sensor = sensor_on(rig)
    if sensor is None:
        modes = _solved(specimen, asked)
        return Loaded(specimen, modes, modes)
    if _is_loose(specimen, sensor):
        bare = _solved(specimen, asked)
        return Loaded(specimen, _lowered(bare, sensor), bare)
    tested = _attached(specimen, sensor)
    modes = _solved(tested, asked)
    as_many = replace(asked, count=max(1, len(modes.modes)), below_hz=None)
    return Loaded(tested, modes, _solved(specimen, as_many))


def _attached(specimen: Specimen, sensor: Sensor) -> Specimen:
    """The specimen with the sensor on it, whose quantities keep their tolerances."""
    size = specimen.geometry.size
    places = sensor.at[: len(size)]  # none at a disc's centre
    at = tuple(
        # 12.2 in and 309.88 mm are the same end, if not the same float.
        replace(q, value=min(q.value, extent), path=f"sensor.at.{n}")
        for n, (q, extent) in enumerate(zip(places, size, strict=False))
    )
    added = with_sensor(specimen, sensor.mass.value, [q.value for q in at])
    thing = replace(
        added.attached[-1],
        at=at,
        mass=replace(sensor.mass, path="sensor.mass"),
        rotary_inertia=Quantity(0.0, path="sensor.rotary_inertia"),
    )
    return replace(specimen, attached=(*specimen.attached, thing))


def _solved(specimen: Specimen, asked: Asked) -> Modes:
    return as_driven(
        find_modes(
            for_drive(specimen),
            count=asked.count,
            below_hz=asked.below_hz,
            beyond=0 if asked.below_hz is None else 1,
            theory=asked.theory,
            families=asked.families,
        )
    )


# -- off the centre of a disc ---------------------------------------------------------------------


def _is_loose(specimen: Specimen, sensor: Sensor) -> bool:
    """Whether the sensor is where nothing can be attached."""
    geometry = specimen.geometry
    if not isinstance(geometry, DiscGeometry):
        return False
    return geometry.hole_diameter is not None or sensor.at[0].value > 0.0


def _lowered(bare: Modes, sensor: Sensor) -> Modes:
    """The modes with the frequencies that they have with the sensor, each with its old rank."""
    moved = shifts(bare, sensor.mass.value, [q.value for q in sensor.at])
    modes = (
        replace(mode, frequency_hz=(1.0 + shift) * mode.frequency_hz)
        for mode, shift in zip(bare.modes, moved, strict=True)
    )
    return replace(bare, modes=tuple(sorted(modes, key=lambda mode: mode.frequency_hz)))


@record
class Loose:
    """A sensor off a disc's centre: mass in kg, radius in m."""

    mass: float
    radius: float


def loose_sensor(specimen: Specimen, rig: Rig) -> Loose | None:
    """The sensor that is on the specimen yet not in its modes; None where there is none."""
    sensor = sensor_on(rig)
    if sensor is None or not _is_loose(specimen, sensor):
        return None
    return Loose(sensor.mass.value, sensor.at[0].value)


def loose_force(known: Driven, rig: Rig, frequencies_hz: Values) -> Values:
    """What force a loose sensor takes, per unit of drive, kg (per N none); complex, (frequencies,).

    Nothing where there is none.
    """
    loose = loose_sensor(known.modes.specimen, rig)
    if loose is None:
        return np.zeros(len(frequencies_hz), dtype=complex)
    at = np.array([[loose.radius]])
    return loose.mass * absolute_acceleration(known, frequencies_hz, at)[:, 0]
