"""What kinds of quantity an input file may hold, and what a sensible one looks like."""

from __future__ import annotations

from collections.abc import Mapping

from saltline.record import record
from saltline.units import (
    ACCELERATION,
    ANGLE,
    FORCE,
    LENGTH,
    MASS,
    MOMENT,
    NUMBER,
    PRESSURE,
    RATE,
    TIME,
    Dimension,
)


@record
class Kind:
    """What a quantity measures.

    noun:       for messages, "length"
    dimensions: those allowed; a second one is the same without the angle, or with it
    si:         its SI unit
    unit:       a unit usual in the laboratory
    example:    a whole quantity for messages
    """

    noun: str
    dimensions: tuple[Dimension, ...]
    si: str
    unit: str
    example: str

    @property
    def a_noun(self) -> str:
        """The noun with its article."""
        return f"{'an' if self.noun[0] in 'aeiou' else 'a'} {self.noun}"


_MOMENT_PER_ANGLE: Dimension = (2, 1, -2, -1, 0)
_FORCE_PER_ANGLE: Dimension = (1, 1, -2, -1, 0)
ANGULAR_RATE: Dimension = (0, 0, -1, 1, 0)

KINDS: Mapping[str, Kind] = {
    "length": Kind("length", (LENGTH,), "m", "mm", "310 mm"),
    "area": Kind("area", ((2, 0, 0, 0, 0),), "m2", "mm2", "80 mm2"),
    "second_moment": Kind("second moment of area", ((4, 0, 0, 0, 0),), "m4", "mm4", "68 mm4"),
    "pressure": Kind("pressure", (PRESSURE,), "Pa", "GPa", "103 GPa"),
    "density": Kind("density", ((-3, 1, 0, 0, 0),), "kg/m3", "kg/m3", "8500 kg/m3"),
    "mass": Kind("mass", (MASS,), "kg", "g", "4.5 g"),
    "rotary_inertia": Kind("rotary inertia", ((2, 1, 0, 0, 0),), "kg m2", "kg mm2", "12 kg mm2"),
    "force": Kind("force", (FORCE,), "N", "N", "120 N"),
    "moment": Kind("moment", (MOMENT,), "N m", "N m", "12 N m"),
    "stiffness": Kind("stiffness", ((0, 1, -2, 0, 0),), "N/m", "N/m", "2e6 N/m"),
    "rotational_stiffness": Kind(
        "rotational stiffness", (_MOMENT_PER_ANGLE, MOMENT), "N m/rad", "N m/rad", "300 N m/rad"
    ),
    "stiffness_per_length": Kind(
        "stiffness per length", (PRESSURE,), "N/m/m", "N/m/m", "2e6 N/m/m"
    ),
    "rotational_stiffness_per_length": Kind(
        "rotational stiffness per length",
        (_FORCE_PER_ANGLE, FORCE),
        "N m/rad/m",
        "N m/rad/m",
        "300 N m/rad/m",
    ),
    "ratio": Kind("plain number or percentage", (NUMBER,), "", "", "0.4 %"),
    "frequency": Kind("frequency", (RATE, ANGULAR_RATE), "Hz", "Hz", "26.1 Hz"),
    "time": Kind("time", (TIME,), "s", "s", "30 s"),
    "velocity": Kind("velocity", ((1, 0, -1, 0, 0),), "m/s", "mm/s", "250 mm/s"),
    "acceleration": Kind("acceleration", (ACCELERATION,), "m/s2", "g", "0.5 g"),
    "angle": Kind("angle", (ANGLE,), "rad", "deg", "90 deg"),
    "sweep_rate": Kind("linear sweep rate", ((0, 0, -2, 0, 0),), "Hz/s", "Hz/s", "2 Hz/s"),
    "octave_rate": Kind(
        "logarithmic sweep rate", ((0, 0, -1, 0, 1),), "octave/s", "octave/min", "1 octave/min"
    ),
}
"""Every kind of quantity that an input file may hold; ratios alone go without a unit."""

EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "length": {
        "geometry.width": "200 mm",
        "geometry.thickness": "2 mm",
        "geometry.diameter": "240 mm",
        "hole_diameter": "40 mm",
        "width": "25 mm",
        "thickness": "3.2 mm",
        "height": "12 mm",
        "wall": "1.5 mm",
        "diameter": "8 mm",
        "outer_diameter": "20 mm",
        "at": "120 mm",
    },
    "pressure": {"shear_modulus": "39 GPa"},
    "ratio": {"poisson_ratio": "0.3", "shear_coefficient": "0.85", "endurance_strain": "0.1 %"},
}
"""Kind -> a key, with the one above it where that matters -> a sensible quantity of it."""


def example_of(path: str, kind: str) -> str:
    """A sensible quantity for a dotted path of an input file, else for any of its kind."""
    words = [word for word in path.split(".") if not word.isdigit()]
    known = EXAMPLES.get(kind, {})
    return known.get(".".join(words[-2:])) or known.get("".join(words[-1:])) or KINDS[kind].example
