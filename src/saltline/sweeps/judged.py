"""What a recording is good for at one resonance: its steps, its pace, its edges and gaps."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.planning.pace import FOR_DAMPING, Pace, pace
from saltline.record import record
from saltline.sweeps.curve import Curve
from saltline.sweeps.group_fit import Resonance
from saltline.sweeps.sweep import Recording
from saltline.sweeps.swept import swept_peak, true_bandwidth

FEW_IN_BAND = 3
"""Fewer readings in the half-power band do not show a damping (common practice, no source)."""

SPREAD = 10.0
"""A window widens a resonance by less than 2 % that is so many times as wide as its spectra are
apart (tried with a Hann window)."""

BADLY_FITTED = 0.05
"""A resonance is badly fitted where so much of the response at it is left unexplained."""

LEAST_MARK = 0.01
"""A resonance is said to be recorded wide from this part on."""


@record
class SweptPast:
    """How the sweep went past one resonance.

    rate_part: its rate over that up to which the resonance builds up (ISO 7626-2).
    height:    the recorded peak over that of a slow sweep.
    shift_hz:  by how much the recorded peak lies late.
    slow_hz:   the bandwidth that a slow sweep would show; None where the recorded one is no clue.
    width_hz:  the recorded bandwidth.
    """

    rate_part: float
    height: float
    shift_hz: float
    slow_hz: float | None
    width_hz: float


def swept_past(recording: Recording, frequency_hz: float, width_hz: float) -> SweptPast | None:
    """How the sweep went past a resonance recorded so wide; None where its rate is not known."""
    if recording.hz_per_s is None:
        return None
    rate = float(np.interp(frequency_hz, recording.hz, recording.hz_per_s))
    slow = true_bandwidth(width_hz, rate)
    bandwidth = slow or width_hz
    peak = swept_peak(abs(rate) / bandwidth**2)
    limit = pace(frequency_hz, bandwidth / 2.0 / frequency_hz).sweep_hz_per_s
    return SweptPast(
        rate_part=abs(rate) / limit,
        height=peak.height,
        shift_hz=math.copysign(peak.shift * bandwidth, rate),
        slow_hz=slow,
        width_hz=width_hz,
    )


def on_steps(recording: Recording, place_hz: float, in_band: int, due: Pace) -> list[str]:
    """Whether the readings are close enough, in sentences."""
    if in_band < FEW_IN_BAND:
        return [
            f"{in_band} reading{'' if in_band == 1 else 's'} in the half-power band: the damping "
            f"is not to be trusted; step by {due.step_hz:.2g} Hz or less"
        ]
    if due.bandwidth_hz < SPREAD * recording.smeared_hz:
        longer = math.ceil(SPREAD * recording.smeared_hz / due.bandwidth_hz)
        return [
            "the window of the spectra widens it by a few percent: for its damping record "
            f"{longer} times as long, or sweep"
        ]
    i = int(np.clip(np.searchsorted(recording.hz, place_hz), 1, recording.hz.size - 1))
    step = float(recording.hz[i] - recording.hz[i - 1])
    if step > due.step_hz:
        lost = 1.0 - 1.0 / math.hypot(1.0, step / due.bandwidth_hz)
        return [f"steps of {step:.2g} Hz: the highest reading may be {100 * lost:.0f} % low"]
    return []


def on_pace(swept: SweptPast | None, frequency_hz: float) -> list[str]:
    """Whether the sweep was slow enough, in sentences."""
    if swept is None or swept.rate_part <= FOR_DAMPING:
        return []
    why = f"swept at {swept.rate_part:.2g} times the limit of ISO 7626-2"
    if swept.slow_hz is None:
        return [f"{why} or more: neither width nor height is its own; sweep far slower"]
    limit = pace(frequency_hz, swept.slow_hz / 2.0 / frequency_hz).sweep_hz_per_s
    if swept.rate_part <= 1.0:
        wide = swept.width_hz / swept.slow_hz - 1.0
        slower = f"for its damping sweep at {FOR_DAMPING * limit:.2g} Hz/s or slower"
        return [f"{why}, which widens it by {100 * wide:.0f} %; {slower}"] * (wide > LEAST_MARK)
    way = "up" if swept.shift_hz > 0.0 else "down"
    return [
        f"{why}: recorded {100 * (1 - swept.height):.0f} % low, {abs(swept.shift_hz):.2g} Hz too "
        f"far {way} and too wide; a slow sweep would show a bandwidth of about "
        f"{swept.slow_hz:.2g} Hz; sweep at {limit:.2g} Hz/s or slower"
    ]


def on_surroundings(
    recording: Recording, place_hz: float, half_width_hz: float, gaps: Sequence[tuple[float, float]]
) -> list[str]:
    """Whether it was recorded as a whole, in sentences."""
    said = []
    low, high = float(recording.hz[0]), float(recording.hz[-1])
    if place_hz - low < half_width_hz or high - place_hz < half_width_hz:
        said.append("it lies at the edge of the sweep: begin or end farther from it")
    for first, last in gaps:
        if first - half_width_hz < place_hz < last + half_width_hz:
            said.append(f"nothing was recorded from {first:.5g} to {last:.5g} Hz, across it")
    return said


def on_the_fit(curve: Curve, r: Resonance) -> list[str]:
    """Whether it looks like a resonance at all, in sentences."""
    i = int(np.argmin(np.abs(curve.hz - r.place_hz)))
    left = r.misfit * math.hypot(float(curve.scatter[i]) / float(curve.size[i]), r.noise_part)
    if r.misfit > 2.0 and left > BADLY_FITTED:
        return [
            f"{100 * left:.0f} % of the response at it is left unexplained: it leans, as with a "
            "loose or overdriven specimen, or there is more than one"
        ]
    return []
