"""How fast to go past a resonance, how long to stay, how fine to step: what its damping asks for.

A resonance of damping ratio zeta has the quality factor Q = 1/(2 zeta) and is f/Q wide between its
half-power points.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from saltline.record import record

LINEAR = 54.0
"""ISO 7626-2: a linear sweep is slower than 54 f^2/Q^2 Hz/min (from memory)."""

LOGARITHMIC = 77.6
"""ISO 7626-2: a logarithmic sweep is slower than 77.6 f/Q^2 octave/min (from memory)."""

USUAL_OCTAVES = 1.0
"""IEC 60068-2-6: one octave a minute, the usual sweep; nobody reads a faster one off by eye."""

FOR_DAMPING = 1.0 / 9.0
"""At this part of the limits the half-power width is read 0.4 % too wide, at the limits 23 %."""

BUILT_UP = 0.95
"""The part of its final amplitude up to which a resonance is waited for."""

STEP_LOSS = 0.02
"""A stepped sine may read the peak this much too low."""

ENDURANCE_CYCLES = 1e7
"""So many cycles the endurance strain of a material speaks of; aluminium has no life without end
(common practice, no source)."""


@record
class Pace:
    """The pace at one resonance.

    bandwidth_hz:         between the half-power points.
    sweep_hz_per_s:       the fastest linear sweep,
    sweep_octave_per_min: and the fastest logarithmic one, that lets it build up.
    dwell_s:              until a drive at the resonance has built up 95 % of the amplitude.
    dwell_cycles:         the same in cycles.
    step_hz:              of a stepped sine.
    endurance_s:          how long the cycles take of which an endurance strain speaks.
    """

    bandwidth_hz: float
    sweep_hz_per_s: float
    sweep_octave_per_min: float
    dwell_s: float
    dwell_cycles: float
    step_hz: float
    endurance_s: float


def pace(frequency_hz: float, damping_ratio: float) -> Pace:
    """The pace that a resonance asks for; damping ratio as a number, 0.003 for 0.3 %.

    Sweeps: ISO 7626-2. Dwell: the envelope 1 - exp(-zeta omega t). Step: the response half a step
    off the peak, 1/sqrt(1 + (step/bandwidth)^2) of it (both textbook, light damping).
    """
    f, zeta = frequency_hz, damping_ratio
    assert f > 0.0
    assert zeta > 0.0
    Q = 1.0 / (2.0 * zeta)
    dwell_s = -math.log(1.0 - BUILT_UP) / (zeta * 2.0 * math.pi * f)
    return Pace(
        bandwidth_hz=f / Q,
        sweep_hz_per_s=LINEAR * f**2 / Q**2 / 60.0,
        sweep_octave_per_min=LOGARITHMIC * f / Q**2,
        dwell_s=dwell_s,
        dwell_cycles=dwell_s * f,
        step_hz=f / Q * math.sqrt(1.0 / (1.0 - STEP_LOSS) ** 2 - 1.0),
        endurance_s=ENDURANCE_CYCLES / f,
    )


def octaves(low_hz: float, high_hz: float) -> float:
    """How many octaves lie between two frequencies."""
    return math.log2(high_hz / low_hz)


def sweep_seconds(low_hz: float, high_hz: float, octave_per_min: float) -> float:
    """How long a logarithmic sweep takes: octaves over rate (IEC 60068-2-6)."""
    return 60.0 * octaves(low_hz, high_hz) / octave_per_min


def sweep_cycles(low_hz: float, high_hz: float, octave_per_min: float) -> float:
    """How many cycles one logarithmic sweep has: the integral of the frequency over its time,
    60 (f2 - f1)/(R ln 2).
    """
    return 60.0 * (high_hz - low_hz) / (octave_per_min * math.log(2.0))


@record
class Stretch:
    """A part of a sweep that has one rate.

    number: of the resonance inside, in the order in which they were given, from 0; None where the
            whole range has none.
    """

    low_hz: float
    high_hz: float
    octave_per_min: float
    number: int | None

    @property
    def seconds(self) -> float:
        """How long it takes."""
        return sweep_seconds(self.low_hz, self.high_hz, self.octave_per_min)


def stretches(
    frequencies_hz: Sequence[float], damping_ratio: float, *, low_hz: float, high_hz: float
) -> list[Stretch]:
    """A sweep in stretches, each as fast as the resonance inside it allows.

    frequencies_hz: resonances within the range, ascending. Stretches meet at the geometric mean of
    neighbours. None is faster than the usual octave a minute, which is also that of a range
    without resonances.
    """
    if not frequencies_hz:
        return [Stretch(low_hz, high_hz, USUAL_OCTAVES, None)]
    middles = [math.sqrt(a * b) for a, b in pairwise(frequencies_hz)]
    borders = [low_hz, *middles, high_hz]
    return [
        Stretch(
            low,
            high,
            min(USUAL_OCTAVES, pace(f, damping_ratio).sweep_octave_per_min),
            number,
        )
        for number, (f, (low, high)) in enumerate(
            zip(frequencies_hz, pairwise(borders), strict=True)
        )
    ]
