"""How a mode's motion is seen: by eye, by strobe, with salt, or with a sensor alone."""

from __future__ import annotations

import math

from saltline.facts import STANDARD_GRAVITY
from saltline.planning.rig import VISIBLE
from saltline.record import record

BLUR = 2.5
"""The eye alone sees a blur, in which nodes can be counted, from so many times the smallest visible
motion (our choice)."""

TOO_SLOW_FOR_BLUR_HZ = 10.0
"""Below this the eye follows the motion itself (common practice, no source)."""

HOP = 3e-3
"""Grains that hop higher than this, m, about ten times their size, leave the specimen or no longer
gather (our choice)."""

FACING = ("flatwise", "torsion", "plate", "disc")
"""Families in which a face that lies level moves up and down, so that salt can dance on it."""


@record
class Salt:
    """The largest acceleration of the specimen, m/s2, between which salt draws a mode's figure.

    moves:  above it grains leave the surface: 1 g (common practice, no source; and mechanics).
    thrown: above it they hop higher than `HOP`.
    """

    moves_m_s2: float
    thrown_m_s2: float


def salt(frequency_hz: float, *, hop_m: float = HOP) -> Salt:
    """The band of peak accelerations in which grains hop and stay.

    A grain leaves a face X sin(omega t) where the downward acceleration reaches g, with the speed
    (a/omega) sqrt(1 - (g/a)^2), and rises v^2/(2 g) higher (mechanics). Solved for a.
    """
    g = STANDARD_GRAVITY
    omega = 2.0 * math.pi * frequency_hz
    return Salt(g, g * math.sqrt(1.0 + 2.0 * hop_m * omega**2 / g))


@record
class Watch:
    """How one mode is seen at a level or below it.

    ways: "eye", "strobe", "salt", "sensor", the plainest first; none where nothing shows it.
    by_eye, by_strobe: by how much the level would have to be multiplied for the motion to be seen
          so; by_strobe None where no strobe may be used, both None where there is no motion.
    salt_moves, salt_thrown: by how much the level would have to be multiplied for salt to begin to
          move, and to be thrown off; None where there is no motion or no level face.
    """

    ways: tuple[str, ...]
    by_eye: float | None
    by_strobe: float | None
    salt_moves: float | None
    salt_thrown: float | None

    @property
    def visible(self) -> float | None:
        """By how much the level would have to be multiplied for the motion to be seen at all."""
        return self.by_eye if self.by_strobe is None else self.by_strobe


def watch(
    frequency_hz: float,
    peak_displacement_m: float,
    *,
    family: str,
    can_flash: bool,
    can_sense: bool,
    visible_m: float = VISIBLE,
) -> Watch:
    """How a mode is seen.

    peak_displacement_m: amplitude where the specimen moves most, at the highest level that is used.
    can_flash: whether a strobe has a setting for this frequency that is safe to look at.
    can_sense: whether there is a sensor that can see it.
    visible_m: the smallest motion that is seen, peak-to-peak.
    """
    swing = 2.0 * peak_displacement_m
    can_flash = can_flash and frequency_hz > TOO_SLOW_FOR_BLUR_HZ
    by_eye = BLUR * visible_m / swing if swing > 0.0 else None
    by_strobe = visible_m / swing if can_flash and swing > 0.0 else None
    moves, thrown = _grains(frequency_hz, peak_displacement_m) if family in FACING else (None, None)
    enough = {"eye": by_eye, "strobe": by_strobe, "salt": moves}
    ways = [way for way, times in enough.items() if times is not None and times <= 1.0]
    ways += ["sensor"] if can_sense else []
    return Watch(tuple(ways), by_eye, by_strobe, moves, thrown)


def _grains(frequency_hz: float, peak_displacement_m: float) -> tuple[float | None, float | None]:
    """By how much a motion would have to be multiplied for grains to move, and to be thrown off."""
    acceleration = (2.0 * math.pi * frequency_hz) ** 2 * peak_displacement_m
    if acceleration <= 0.0:
        return None, None
    grains = salt(frequency_hz)
    return grains.moves_m_s2 / acceleration, grains.thrown_m_s2 / acceleration
