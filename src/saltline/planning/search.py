"""Where resonances are looked for, how fast, and with what level to begin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from saltline.planning.envelope import Level, Reach, reach
from saltline.planning.pace import (
    USUAL_OCTAVES,
    Pace,
    Stretch,
    pace,
    stretches,
    sweep_cycles,
    sweep_seconds,
)
from saltline.planning.rig import Rig
from saltline.quantity import Quantity

BELOW_FIRST = 0.8
"""A sweep begins at this part of the first resonance where no range is stated."""

ABOVE_LAST = 1.1
"""... and ends at this multiple of the last."""

SOFTER = 0.05
"""A resonance may lie so much below its prediction: clamps give (common practice, no source)."""

WIDTHS = 2.0
"""A resonance is approached and left by so many of its half-power widths (our choice)."""

FIRST_LOOK = 0.1
"""A sweep begins at this part of what the least strong of its resonances allows (our choice)."""


@dataclass(frozen=True, slots=True)
class Search:
    """Where one resonance is looked for, slowly.

    low_hz, high_hz: the band of its prediction, with a soft clamp and a sensor's mass allowed for.
    seconds:         at the fastest linear sweep that lets it build up.
    steps:           of a stepped sine over the same range.
    """

    low_hz: float
    high_hz: float
    seconds: float
    steps: int


def search(low_hz: float, high_hz: float, known: Pace) -> Search:
    """Where to look for a resonance that is predicted from `low_hz` to `high_hz`."""
    low = (1.0 - SOFTER) * low_hz - WIDTHS * known.bandwidth_hz
    low = max(low, low_hz / 2.0)  # heavy damping must not lead below zero
    high = high_hz + WIDTHS * known.bandwidth_hz
    return Search(
        low, high, (high - low) / known.sweep_hz_per_s, math.ceil((high - low) / known.step_hz)
    )


@dataclass(frozen=True, slots=True)
class Sweep:
    """One logarithmic sweep over the whole range.

    octave_per_min, seconds, cycles: at the one rate that every resonance inside allows.
    parts: the same range in stretches, each as fast as the resonance inside it allows.
    level: with which it is driven. reach: where the exciter can hold that; None for a force.
    """

    low_hz: float
    high_hz: float
    octave_per_min: float
    seconds: float
    cycles: float
    parts: tuple[Stretch, ...]
    level: Level | None
    reach: Reach | None


def sweep(
    frequencies_hz: Sequence[float],
    damping_ratio: float,
    *,
    above_hz: float,
    below_hz: float | None,
    within: tuple[float, float] = (0.0, math.inf),
) -> Sweep | None:
    """The sweep over some resonances, ascending; None where none lies `within` the exciter's range.

    above_hz, below_hz: the range; 0 and None where it follows from the resonances.
    """
    inside = [f for f in frequencies_hz if within[0] <= f <= within[1]]
    if not inside:
        return None
    low = max(above_hz or BELOW_FIRST * inside[0], within[0])
    high = min(below_hz or ABOVE_LAST * inside[-1], within[1])
    rates = [pace(f, damping_ratio).sweep_octave_per_min for f in inside]
    rate = min(USUAL_OCTAVES, *rates)
    return Sweep(
        low_hz=low,
        high_hz=high,
        octave_per_min=rate,
        seconds=sweep_seconds(low, high, rate),
        cycles=sweep_cycles(low, high, rate),
        parts=tuple(stretches(inside, damping_ratio, low_hz=low, high_hz=high)),
        level=None,
        reach=None,
    )


def first_level(drives: Sequence[float], through: str) -> Level | None:
    """The level of a first sweep past resonances that allow these drives (m/s2 or N)."""
    if not drives:
        return None
    kind = "acceleration" if through == "boundary" else "force"
    return Level(Quantity(FIRST_LOOK * min(drives)), kind)


def held(level: Level, rig: Rig, moved_kg: float) -> Reach | None:
    """Where the exciter can hold a level of its base; None for a force."""
    return None if level.kind == "force" else reach(level, rig, moved_kg)
