"""How a mode's motion is seen: by eye, by strobe, with salt, or with a sensor alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

from saltline.facts import STANDARD_GRAVITY
from saltline.planning.rig import VISIBLE

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


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class Watch:
    """How one mode is seen at a level or below it.

    ways: "eye", "strobe", "salt", "sensor", the plainest first; a sensor is always one.
    salt_moves, salt_thrown: by how much the level would have to be multiplied for salt to begin to
          move, and to be thrown off; None where there is no motion or no level face.
    """

    ways: tuple[str, ...]
    salt_moves: float | None
    salt_thrown: float | None


def watch(
    frequency_hz: float,
    peak_displacement_m: float,
    *,
    family: str,
    can_flash: bool,
    visible_m: float = VISIBLE,
) -> Watch:
    """How a mode is seen.

    peak_displacement_m: amplitude where the specimen moves most, at the highest level that is used.
    can_flash: whether a strobe has a setting for this frequency that is safe to look at.
    visible_m: the smallest motion that is seen, peak-to-peak.
    """
    swing = 2.0 * peak_displacement_m
    acceleration = (2.0 * math.pi * frequency_hz) ** 2 * peak_displacement_m
    grains = salt(frequency_hz)
    can_dance = family in FACING
    ways = []
    if swing >= BLUR * visible_m:
        ways.append("eye")
    if can_flash and swing >= visible_m and frequency_hz > TOO_SLOW_FOR_BLUR_HZ:
        ways.append("strobe")
    if can_dance and acceleration >= grains.moves_m_s2:
        ways.append("salt")
    ways.append("sensor")
    if not can_dance or acceleration <= 0.0:
        return Watch(tuple(ways), None, None)
    return Watch(tuple(ways), grains.moves_m_s2 / acceleration, grains.thrown_m_s2 / acceleration)
