"""What the exciter alone can do at each frequency, and at which frequencies a level is within it.

At low frequency the stroke ends a motion, then the velocity, at high frequency the acceleration or
the force on all that moves. For a sine of base acceleration a at omega = 2 pi f the displacement is
a/omega^2 and the velocity a/omega (mechanics). SI throughout.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise

from saltline.planning.rig import Rig
from saltline.quantity import Quantity, QuantityError, parse_quantity
from saltline.record import record
from saltline.words import quoted

LEVELS: Mapping[str, int] = {"length": -2, "velocity": -1, "acceleration": 0}
"""Kind of quantity of a level -> the power of omega in it per unit of acceleration."""

ASKED = "level"
"""What limits a drive that is no stronger than was asked for."""


@record
class Zone:
    """Frequencies, Hz, in which one limit of the exciter is the nearest."""

    low_hz: float
    high_hz: float
    limited_by: str


@record
class Level:
    """How strongly to drive: of the base a displacement, velocity or acceleration, or a force.

    quantity: the amplitude, in SI; kind: "length", "velocity", "acceleration" or "force".
    """

    quantity: Quantity
    kind: str

    def drive(self, frequency_hz: float) -> float:
        """The same as an amplitude of the base's acceleration, m/s2; a force in N as it is."""
        omega = 2.0 * math.pi * frequency_hz
        return self.quantity.value * omega ** -LEVELS.get(self.kind, 0)


class LevelError(ValueError):
    """A level that cannot be read or used: what was found, what is allowed, what puts it right."""


def parse_level(text: str, *, through: str) -> Level:
    """A level such as "0.5 g", "20 mm/s" or "1 mm", amplitudes; where a point is driven "5 N".

    through: what drives the specimen, "boundary" or "point". Raises LevelError.
    """
    allowed, more = _ALLOWED[through]
    faults = []
    for kind in allowed:
        try:
            quantity = parse_quantity(text, kind, path="level")
        except QuantityError as fault:
            faults.append(str(fault))
            continue
        if quantity.value <= 0.0:
            raise LevelError(f"level {quoted(text)} must be more than zero")
        return Level(quantity, kind)
    raise LevelError(faults[0] + more)


_ALLOWED: Mapping[str, tuple[tuple[str, ...], str]] = {
    "boundary": (
        ("acceleration", "velocity", "length"),
        ', or a velocity or displacement of the base ("20 mm/s", "1 mm"), all amplitudes, '
        "for the drive goes through the supports",
    ),
    "point": (("force",), ", for the drive goes through a point"),
}
"""Drive -> the kinds of quantity that a level may be, and what a complaint adds of the others."""


def accelerations(rig: Rig, moved_kg: float, frequency_hz: float) -> dict[str, float]:
    """The base acceleration, m/s2, that each limit of the exciter allows at a frequency.

    moved_kg: all that moves, the specimen as if rigid.
    """
    exciter = rig.exciter
    omega = 2.0 * math.pi * frequency_hz
    found = {
        "stroke": omega**2 * exciter.stroke.value / 2.0,
        "force": exciter.force.value / moved_kg,
    }
    if exciter.velocity is not None:
        found["velocity"] = omega * exciter.velocity.value
    if exciter.acceleration is not None:
        found["acceleration"] = exciter.acceleration.value
    return found


_POWERS: Mapping[str, int] = {"stroke": 2, "velocity": 1, "acceleration": 0, "force": 0}
"""The power of the frequency with which each limit grows."""


def zones(rig: Rig, moved_kg: float) -> list[Zone]:
    """Which limit of the exciter is the nearest from its lowest to its highest frequency.

    Where they meet are the crossover frequencies.
    """
    low, high = rig.exciter.lowest_frequency.value, rig.exciter.highest_frequency.value
    at_one = accelerations(rig, moved_kg, 1.0)
    crossings = {low, high}
    for one, a in at_one.items():
        for other, b in at_one.items():
            steps = _POWERS[one] - _POWERS[other]
            if steps > 0:
                crossing = (b / a) ** (1.0 / steps)
                if low < crossing < high:
                    crossings.add(crossing)
    found: list[Zone] = []
    borders = sorted(crossings)
    for start, end in pairwise(borders):
        allowed = accelerations(rig, moved_kg, math.sqrt(start * end))
        limit = min(allowed, key=lambda name: allowed[name])
        if found and found[-1].limited_by == limit:
            found[-1] = Zone(found[-1].low_hz, end, limit)
        else:
            found.append(Zone(start, end, limit))
    return found


@record
class Reach:
    """From where to where the exciter alone can hold a level of its base, and what ends it there.

    low_hz is more than high_hz where it can nowhere.
    """

    low_hz: float
    high_hz: float
    low_by: str
    high_by: str

    @property
    def is_empty(self) -> bool:
        """Whether the level can be held nowhere."""
        return self.low_hz > self.high_hz


def reach(level: Level, rig: Rig, moved_kg: float) -> Reach:
    """Where the exciter can hold a level of its base (not a force), the specimen as if rigid."""
    low = (rig.exciter.lowest_frequency.value, "frequency")
    high = (rig.exciter.highest_frequency.value, "frequency")
    asked = level.drive(1.0)
    nearest_first = sorted(accelerations(rig, moved_kg, 1.0).items(), key=lambda item: item[1])
    for name, allowed in nearest_first:
        # allowed f^p >= asked f^r
        steps = _POWERS[name] + LEVELS[level.kind]
        if steps == 0:
            if asked > allowed * (1.0 + 1e-12):
                return Reach(math.inf, 0.0, name, name)
        elif steps > 0:
            low = max(low, ((asked / allowed) ** (1.0 / steps), name))
        else:
            high = min(high, ((allowed / asked) ** (-1.0 / steps), name))
    return Reach(low[0], high[0], low[1], high[1])
