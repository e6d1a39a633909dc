"""Where resonances are looked for, how fast, and with what level to begin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

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
from saltline.record import record

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


@record
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


@record
class Sweep:
    """One logarithmic sweep over the whole range.

    octave_per_min, seconds, cycles: at the one rate that every excited resonance inside allows.
    parts: the same range in stretches, each as fast as the excited resonance inside it allows.
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
    excited: Sequence[bool] | None = None,
) -> Sweep | None:
    """The sweep over some resonances, ascending; None where none lies `within` the exciter's range.

    above_hz, below_hz: the range; 0 and None where it follows from the resonances.
    excited: which of them the drive excites, by which alone the rates go; None for all. Where it
             excites none inside, the rates go by all of them.
    """
    reached = [within[0] <= f <= within[1] for f in frequencies_hz]
    inside = [f for f, is_reached in zip(frequencies_hz, reached, strict=True) if is_reached]
    if not inside:
        return None
    answering = _answering(reached, excited)
    low = max(above_hz or BELOW_FIRST * inside[0], within[0])
    high = min(below_hz or ABOVE_LAST * inside[-1], within[1])
    peaks = [frequencies_hz[n] for n in answering]
    rates = [pace(f, damping_ratio).sweep_octave_per_min for f in peaks]
    rate = min(USUAL_OCTAVES, *rates)
    return Sweep(
        low_hz=low,
        high_hz=high,
        octave_per_min=rate,
        seconds=sweep_seconds(low, high, rate),
        cycles=sweep_cycles(low, high, rate),
        parts=tuple(
            replace(part, number=None if part.number is None else answering[part.number])
            for part in stretches(peaks, damping_ratio, low_hz=low, high_hz=high)
        ),
        level=None,
        reach=None,
    )


def _answering(reached: Sequence[bool], excited: Sequence[bool] | None) -> list[int]:
    """The numbers of the resonances by which the rates go."""
    numbers = [n for n, is_reached in enumerate(reached) if is_reached]
    return [n for n in numbers if excited is None or excited[n]] or numbers


def first_level(drives: Sequence[float], through: str) -> Level | None:
    """The level of a first sweep past resonances that allow these drives (m/s2 or N)."""
    if not drives:
        return None
    kind = "acceleration" if through == "boundary" else "force"
    return Level(Quantity(FIRST_LOOK * min(drives)), kind)


def held(level: Level, rig: Rig, moved_kg: float) -> Reach | None:
    """Where the exciter can hold a level of its base; None for a force."""
    return None if level.kind == "force" else reach(level, rig, moved_kg)
