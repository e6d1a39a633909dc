"""A recorded sweep -> its resonances, each with what the recording is good for.

Every resonance is judged by the readings in its half-power band, by the pace at which the sweep
went past it, and by what else it may be.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from saltline.arrays import Values
from saltline.curve import Curve, curve_of
from saltline.noise import block_means
from saltline.orientation import Orientation, oriented
from saltline.pace import FOR_DAMPING, Pace, pace
from saltline.peaks import first_peaks, half_power_points
from saltline.resonance_fit import Resonance, find_resonances
from saltline.spikes import spikes, without_spikes
from saltline.strange import Strange, drive_notches, lone_readings, may_be
from saltline.sweep import FEWEST_READINGS, Recording, gaps
from saltline.swept import swept_peak, true_bandwidth

FEW_IN_BAND = 3
"""Fewer readings in the half-power band do not show a damping (common practice, no source)."""

SPREAD = 10.0
"""A window widens a resonance by less than 2 % that is so many times as wide as its spectra are
apart (tried with a Hann window)."""

BADLY_FITTED = 0.05
"""A resonance is badly fitted where so much of the response at it is left unexplained."""

MOSTLY = 0.7
"""Phases are of use where this part of the clear peaks turns out to be resonances with them."""

LEAST_MARK = 0.01
"""A swept peak is said to be low, or wide, from this part on."""

SHARPEST = 1e-7
"""A damping ratio that is less is not told from none."""


@dataclass(frozen=True, slots=True)
class SweptPast:
    """How the sweep went past one resonance.

    rate_part: its rate over that up to which the resonance builds up (ISO 7626-2).
    height:    the recorded peak over that of a slow sweep.
    shift_hz:  by how much the recorded peak lies late.
    slow_hz:   the bandwidth that a slow sweep would show; None where the recorded one is no clue.
    """

    rate_part: float
    height: float
    shift_hz: float
    slow_hz: float | None


@dataclass(frozen=True, slots=True)
class Pick:
    """One resonance.

    frequency_hz, damping_ratio, amplitude: natural frequency; the height of this resonance alone.
    frequency_error_hz, damping_error: standard errors.
    residue: the response of this resonance alone at its frequency; None where no phase is known.
    bandwidth_hz:  between the half-power points of the fit.
    half_power:    the damping ratio by the recorded half-power points; None where one is missing.
    in_band:       how many readings lie in the half-power band.
    pace:          what its damping asks for; swept: what the sweep did; None where its rate is not
                   known or does not matter.
    warnings:      sentences on what is not to be trusted.
    """

    frequency_hz: float
    damping_ratio: float
    amplitude: float
    frequency_error_hz: float
    damping_error: float
    residue: complex | None
    bandwidth_hz: float
    half_power: float | None
    in_band: int
    pace: Pace
    swept: SweptPast | None
    warnings: tuple[str, ...] = ()

    @property
    def quality_factor(self) -> float:
        """Q = 1/(2 zeta)."""
        return 0.5 / self.damping_ratio


@dataclass(frozen=True, slots=True)
class Picked:
    """What a recording holds.

    picks:    by frequency.
    strange:  what is pointed out beside them: hum, spikes, harmonics, notches of the drive.
    gaps:     where nothing was recorded, Hz.
    noise:    the scatter of the magnitude at each reading, as recorded.
    delay_s:  of the response, taken off before the fit; is_turned: whether its phase was a lag.
    """

    recording: Recording
    picks: tuple[Pick, ...]
    strange: tuple[Strange, ...]
    gaps: tuple[tuple[float, float], ...]
    noise: Values
    delay_s: float = 0.0
    is_turned: bool = False


def pick(recording: Recording) -> Picked:
    """The resonances of a recording of at least `FEWEST_READINGS` readings."""
    hz = recording.hz
    assert hz.size >= FEWEST_READINGS
    lone = spikes(recording.magnitude)
    smooth = replace(recording, response=without_spikes(recording.response, lone))
    curve, found, how = _found(smooth)
    if recording.has_phase and not _is_told_by_phase(curve, found):
        still = replace(smooth, response=smooth.magnitude)
        other, others, _ = _found(still)
        if len(others) > len(found):
            curve, found, how = other, others, Orientation()
            said = f"{recording.path}: its phases do not fit its peaks, and are not used"
            recording = replace(
                recording, response=recording.magnitude, remarks=(*recording.remarks, said)
            )
    empty = gaps(recording)
    picks = [
        _picked(recording, curve, found, resonance, empty)
        for resonance in found
        if resonance.half_width_hz - recording.added_hz > SHARPEST * resonance.place_hz
    ]
    strange = [
        *lone_readings(recording, lone),
        *may_be(recording, picks),
        *drive_notches(recording),
    ]
    return Picked(
        recording=recording,
        picks=tuple(picks),
        strange=tuple(sorted(strange, key=lambda s: s.frequency_hz)),
        gaps=tuple(empty),
        noise=curve.scatter / (hz / curve.pivot) ** curve.power,
        delay_s=how.delay_s,
        is_turned=how.is_turned,
    )


def _found(recording: Recording) -> tuple[Curve, list[Resonance], Orientation]:
    """The resonances of a recording, the curve to which they were fitted, and how it was read."""
    curve = curve_of(recording.hz, recording.response)
    peaks = first_peaks(curve)
    how = Orientation()
    if recording.has_phase:
        curve, how = oriented(curve, peaks)
    return curve, find_resonances(curve, peaks), how


def _is_told_by_phase(curve: Curve, found: Sequence[Resonance]) -> bool:
    """Whether there is a resonance at most of the peaks that stand clear."""
    peaks = first_peaks(curve)
    met = [
        any(abs(peak.hz - r.place_hz) < max(peak.width_hz, r.bandwidth_hz) for r in found)
        for peak in peaks
    ]
    return sum(met) >= MOSTLY * len(met)


def _picked(
    recording: Recording,
    curve: Curve,
    found: Sequence[Resonance],
    r: Resonance,
    empty: Sequence[tuple[float, float]],
) -> Pick:
    half_width = r.half_width_hz - recording.added_hz
    frequency = math.hypot(r.place_hz, half_width)
    zeta = half_width / frequency
    height = abs(r.coefficient) if curve.has_phase else _height(curve, r)
    residue = None
    if curve.has_phase:
        residue = complex(1j * r.coefficient * curve.recorded(1.0, r.place_hz))
    band = (r.place_hz - r.half_width_hz, r.place_hz + r.half_width_hz)
    first, last = (int(i) for i in np.searchsorted(recording.hz, band))
    due = pace(frequency, zeta)
    points = _half_power(recording, found, r)
    width = points[1] - points[0] if points else 2.0 * r.half_width_hz
    swept = _swept(recording, frequency, width, due)
    return Pick(
        frequency_hz=frequency,
        damping_ratio=zeta,
        amplitude=curve.recorded(height, r.place_hz),
        frequency_error_hz=r.place_error_hz,
        damping_error=zeta * r.width_error * r.half_width_hz / half_width,
        residue=residue,
        bandwidth_hz=2.0 * half_width,
        half_power=(points[1] - points[0]) / (points[0] + points[1]) if points else None,
        in_band=last - first,
        pace=due,
        swept=swept,
        warnings=_warnings(recording, curve, r, last - first, swept, empty, due),
    )


def _height(curve: Curve, r: Resonance) -> float:
    """The height of a resonance in a magnitude; where it is a dent, by how much it moves that."""
    power = -r.coefficient.imag
    size = float(np.interp(r.place_hz, curve.hz, curve.size))
    return math.sqrt(power) if power > 0.25 * size**2 else abs(r.coefficient) / (2.0 * size)


def _half_power(
    recording: Recording, found: Sequence[Resonance], r: Resonance
) -> tuple[float, float] | None:
    """The recorded half-power points, Hz; looked for up to halfway to the next resonances."""
    places = [o.place_hz for o in found]
    low = max((p for p in places if p < r.place_hz), default=-math.inf)
    high = min((p for p in places if p > r.place_hz), default=math.inf)
    low = max((low + r.place_hz) / 2.0, r.place_hz - 8.0 * r.bandwidth_hz)
    high = min((high + r.place_hz) / 2.0, r.place_hz + 8.0 * r.bandwidth_hz)
    i, j = (int(k) for k in np.searchsorted(recording.hz, (low, high)))
    if j - i < 3:
        return None
    hz, size = recording.hz[i:j], recording.magnitude[i:j]
    together = max(int(r.half_width_hz / 14.0 / float(np.ptp(hz)) * (j - i)), 1)
    hz, size = block_means(hz, together), np.sqrt(block_means(size**2, together))
    near = np.flatnonzero(np.abs(hz - r.place_hz) <= r.bandwidth_hz)
    if not near.size:
        return None
    top = int(near[np.argmax(size[near])])
    left, right = half_power_points(hz, size, top, 0, hz.size - 1)
    return None if left is None or right is None else (left, right)


def _swept(
    recording: Recording, frequency_hz: float, width_hz: float, due: Pace
) -> SweptPast | None:
    if recording.hz_per_s is None:
        return None
    rate = float(np.interp(frequency_hz, recording.hz, recording.hz_per_s))
    slow = true_bandwidth(width_hz, rate)
    bandwidth = slow or width_hz
    peak = swept_peak(abs(rate) / bandwidth**2)
    return SweptPast(
        rate_part=abs(rate) / due.sweep_hz_per_s * (due.bandwidth_hz / bandwidth) ** 2,
        height=peak.height,
        shift_hz=math.copysign(peak.shift * bandwidth, rate),
        slow_hz=slow,
    )


# -- what is not to be trusted --------------------------------------------------------------------


def _warnings(
    recording: Recording,
    curve: Curve,
    r: Resonance,
    in_band: int,
    swept: SweptPast | None,
    empty: Sequence[tuple[float, float]],
    due: Pace,
) -> tuple[str, ...]:
    return (
        *_on_steps(recording, r, in_band, due),
        *_on_pace(recording, swept, due),
        *_on_surroundings(recording, r, empty),
        *_on_the_fit(curve, r),
    )


def _on_steps(recording: Recording, r: Resonance, in_band: int, due: Pace) -> list[str]:
    i = int(np.clip(np.searchsorted(recording.hz, r.place_hz), 1, recording.hz.size - 1))
    step = float(recording.hz[i] - recording.hz[i - 1])
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
    if step > due.step_hz:
        lost = 1.0 - 1.0 / math.hypot(1.0, step / due.bandwidth_hz)
        return [f"steps of {step:.2g} Hz: the highest reading may be {100 * lost:.0f} % low"]
    return []


def _on_pace(recording: Recording, swept: SweptPast | None, due: Pace) -> list[str]:
    if swept is None or swept.rate_part <= FOR_DAMPING:
        return []
    limit = due.sweep_hz_per_s * (1.0 if swept.rate_part > 1.0 else FOR_DAMPING)
    why = f"swept at {swept.rate_part:.2g} times the limit of ISO 7626-2"
    if swept.slow_hz is None:
        return [f"{why}: neither width nor height is the resonance's own; sweep far slower"]
    slower = f"sweep at {limit * (swept.slow_hz / due.bandwidth_hz) ** 2:.2g} Hz/s or slower"
    if swept.rate_part <= 1.0:
        wide = due.bandwidth_hz / swept.slow_hz - 1.0
        if wide < LEAST_MARK:
            return []
        return [f"{why}, enough to widen it by {100 * wide:.0f} %; for its damping {slower}"]
    way = "up" if swept.shift_hz > 0.0 else "down"
    return [
        f"{why}: recorded {100 * (1 - swept.height):.0f} % low, {abs(swept.shift_hz):.2g} Hz too "
        f"far {way} and too wide; a slow sweep would show a bandwidth of about "
        f"{swept.slow_hz:.2g} Hz; {slower}"
    ]


def _on_surroundings(
    recording: Recording, r: Resonance, empty: Sequence[tuple[float, float]]
) -> list[str]:
    said = []
    low, high = float(recording.hz[0]), float(recording.hz[-1])
    if r.place_hz - low < r.half_width_hz or high - r.place_hz < r.half_width_hz:
        said.append("it lies at the edge of the sweep: begin or end farther from it")
    for first, last in empty:
        if first - r.half_width_hz < r.place_hz < last + r.half_width_hz:
            said.append(f"nothing was recorded from {first:.5g} to {last:.5g} Hz, across it")
    return said


def _on_the_fit(curve: Curve, r: Resonance) -> list[str]:
    i = int(np.argmin(np.abs(curve.hz - r.place_hz)))
    left = r.misfit * math.hypot(float(curve.scatter[i]) / float(curve.size[i]), r.noise_part)
    if r.misfit > 2.0 and left > BADLY_FITTED:
        return [
            f"{100 * left:.0f} % of the response at it is left unexplained: it leans, as with a "
            "loose or overdriven specimen, or there is more than one"
        ]
    return []
