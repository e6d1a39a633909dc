"""What a rig is: the exciter with its fixture, the strobe, the sensor, and what the eye can see."""

from __future__ import annotations

from dataclasses import field
from pathlib import Path

from saltline.quantity import Quantity
from saltline.record import record

VISIBLE = 0.2e-3
"""The smallest motion, m peak-to-peak, that is seen where the file states none (common practice, no
source)."""


@record
class Exciter:
    """An electrodynamic exciter and what is fixed to its table; SI.

    force:          rated sine force, N, amplitude.
    stroke:         largest displacement, m, peak-to-peak.
    velocity, acceleration: largest of the table, m/s and m/s2, amplitudes; None where not stated.
    lowest_frequency, highest_frequency: Hz.
    moving_mass:    of the exciter's own moving parts, kg.
    fixture_mass:   of the clamp and all else between table and specimen, kg.
    static_moment, dynamic_moment: largest moments across the drive axis at rest and in motion, N m;
                    None where not known.
    clamp_distance: from the drive axis to the face of the clamp where the specimen's free length
                    begins, m; None where not stated.
    drive_axis:     where the drive axis meets the specimen, in the specimen's coordinates, m: (x,)
                    on a beam, (x, y) on a plate; () where it follows from how the specimen is held.
    """

    force: Quantity
    stroke: Quantity
    lowest_frequency: Quantity
    highest_frequency: Quantity
    moving_mass: Quantity
    velocity: Quantity | None = None
    acceleration: Quantity | None = None
    fixture_mass: Quantity = field(default=Quantity(0.0))
    static_moment: Quantity | None = None
    dynamic_moment: Quantity | None = None
    clamp_distance: Quantity | None = None
    drive_axis: tuple[Quantity, ...] = ()


@record
class Strobe:
    """A stroboscope: lowest and highest flash rate, Hz."""

    lowest_rate: Quantity
    highest_rate: Quantity


@record
class Sensor:
    """An accelerometer.

    mass:  kg.
    at:    where it is on the specimen, m: (x,) on a beam, (x, y) on a plate, (r,) on a disc, from
           its centre; () where it is on the base, that is on the table or the clamp.
    range: largest acceleration, m/s2, amplitude; None where not stated.
    """

    mass: Quantity
    at: tuple[Quantity, ...] = ()
    range: Quantity | None = None


@record
class Rig:
    """Everything about the bench that a plan depends on.

    strobe, sensor:          None where there is none.
    smallest_visible_motion: m, peak-to-peak.
    """

    name: str
    exciter: Exciter
    strobe: Strobe | None = None
    sensor: Sensor | None = None
    smallest_visible_motion: Quantity = field(default=Quantity(VISIBLE))
    path: Path | None = field(default=None, compare=False)
    text: str = field(default="", compare=False, repr=False)

    @property
    def carried_kg(self) -> float:
        """What moves besides the specimen: moving parts, fixture, a sensor on the base."""
        carried = self.exciter.moving_mass.value + self.exciter.fixture_mass.value
        if self.sensor is not None and not self.sensor.at:
            carried += self.sensor.mass.value
        return carried
