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
from saltline.planning.pace import pace
from saltline.sweeps.clipping import clipped
from saltline.sweeps.curve import Curve, curve_of, without_delay
from saltline.sweeps.doubts import crowds, cut_off
from saltline.sweeps.group_fit import Resonance
from saltline.sweeps.hurried import Hurried, hurried, recorded_points
from saltline.sweeps.judged import (
    SweptPast,
    on_pace,
    on_steps,
    on_surroundings,
    on_the_fit,
    swept_past,
)
from saltline.sweeps.lateness import Lateness, lateness
from saltline.sweeps.noise import smoothed_by
from saltline.sweeps.orientation import Orientation, oriented
from saltline.sweeps.peaks import Peak, first_peaks
from saltline.sweeps.resonance_fit import find_resonances
from saltline.sweeps.spikes import spikes, without_spikes
from saltline.sweeps.strange import Strange, drive_notches, lone_readings, may_be, swells
from saltline.sweeps.sweep import FEWEST_READINGS, Recording, gaps

MOSTLY = 0.7
"""Phases are of use where this part of the clear peaks turns out to be resonances with them."""

ROUNDED = 0.5
"""From this part of rounded readings on it is not asked whether they were smoothed."""

SHARP = 0.1
"""Resonances whose width is known to this part are asked how late the response is."""

SHARPEST = 1e-7
"""A damping ratio that is less is not told from none."""


@dataclass(frozen=True, slots=True)
class Pick:
    """One resonance.

    frequency_hz, damping_ratio, amplitude: natural frequency; the height of this resonance alone.
    frequency_error_hz, damping_error: standard errors.
    residue: the response of this resonance alone at its frequency; None where no phase is known.
    bandwidth_hz:  between the half-power points of the fit.
    half_power:    the damping ratio by the recorded half-power points; None where one is missing.
    in_band:       how many readings lie in the half-power band.
    swept:         what the sweep did; None where its rate is not known or does not matter.
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
    fit = _fitted(smooth)
    if recording.has_phase and not _is_told_by_phase(fit):
        still = _fitted(replace(smooth, response=smooth.magnitude))
        if len(still.found) > len(fit.found):
            fit = still
            said = f"{recording.path}: its phases do not fit its peaks, and are not used"
            recording = replace(
                recording, response=recording.magnitude, remarks=(*recording.remarks, said)
            )
    fit, late = _in_time(smooth, fit) if recording.has_phase else (fit, Lateness())
    empty = gaps(recording)
    picks = [_hurried_pick(recording, one, empty) for one in fit.fast]
    picks += [
        _picked(recording, fit.curve, fit.found, resonance, empty)
        for resonance in fit.found
        if resonance.half_width_hz - recording.added_hz > SHARPEST * resonance.place_hz
        and not any(one.low_hz < resonance.place_hz < one.high_hz for one in fit.fast)
    ]
    picks.sort(key=lambda one: one.frequency_hz)
    if fit.how.delay_s and not late.is_known:
        said = f"{recording.path}: how late it is shows too roughly for its phases to be compared"
        recording = replace(recording, remarks=(*recording.remarks, said))
        picks = [replace(one, residue=None) for one in picks]
    doubts = crowds(picks, has_phase=recording.has_phase)
    picks = [
        replace(one, warnings=(*one.warnings, doubts[row])) if row in doubts else one
        for row, one in enumerate(picks)
    ]
    strange = [
        *lone_readings(recording, lone),
        *may_be(picks),
        *(() if recording.has_phase else swells(picks)),
        *drive_notches(recording),
        *cut_off(recording, picks, empty),
    ]
    if not recording.how:
        ceiling = clipped(recording.magnitude, recording.path, "amplitude")
        recording = replace(recording, remarks=(*recording.remarks, *ceiling))
    return Picked(
        recording=recording,
        picks=tuple(picks),
        strange=tuple(sorted(strange, key=lambda s: s.frequency_hz)),
        gaps=tuple(empty),
        noise=np.interp(hz, fit.curve.hz, fit.curve.scatter)
        / (hz / fit.curve.pivot) ** fit.curve.power,
        delay_s=fit.how.delay_s + late.delay_s,
        is_turned=fit.how.is_turned,
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    """A recording's curve, its clear peaks, its resonances, those that were swept past too fast,
    and how its phase was read.
    """

    curve: Curve
    peaks: Sequence[Peak]
    found: Sequence[Resonance]
    fast: Sequence[Hurried]
    how: Orientation


def _fitted(recording: Recording) -> _Fit:
    curve = curve_of(recording.hz, recording.response, smeared_hz=recording.smeared_hz)
    if not recording.smeared_hz and np.mean(curve.step > 0.0) < ROUNDED:
        # What an instrument has smoothed are fewer readings than they seem. Rounded ones are wrong
        # alike with their neighbours, smoothed or not.
        curve = curve.thinned(smoothed_by(curve.y))
    peaks = first_peaks(curve)
    fast = hurried(recording, peaks)
    barred = [(one.low_hz, one.high_hz) for one in fast]
    how = Orientation()
    if recording.has_phase:
        curve, how = oriented(curve, peaks)
    return _Fit(curve, peaks, find_resonances(curve, peaks, barred=barred), fast, how)


def _in_time(recording: Recording, fit: _Fit) -> tuple[_Fit, Lateness]:
    """The fit once what the phases of its resonances show of a delay is taken off too."""
    sharp = [r for r in fit.found if r.width_error < SHARP]
    residues = [1j * r.coefficient for r in sharp]
    late = lateness([r.place_hz for r in sharp], residues)
    if late.delay_s == 0.0:
        return fit, late
    sense = -1.0 if fit.how.is_turned else 1.0
    delay = late.delay_s + fit.how.delay_s
    on_time = without_delay(recording.hz, recording.response, sense * delay)
    again = _fitted(replace(recording, response=on_time))
    if again.how.delay_s or len(again.found) < len(sharp):
        return fit, Lateness(is_known=False)
    return again, Lateness(delay)


def _is_told_by_phase(fit: _Fit) -> bool:
    """Whether there is a resonance at most of the peaks that stand clear."""
    places = [(r.place_hz, r.bandwidth_hz) for r in fit.found]
    places += [(one.hz, one.high_hz - one.low_hz) for one in fit.fast]
    met = [
        any(abs(peak.hz - hz) < max(peak.width_hz, width) for hz, width in places)
        for peak in fit.peaks
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
    in_band = _in_band(recording, r.place_hz, r.half_width_hz)
    due = pace(frequency, zeta)
    points = recorded_points(recording, r.place_hz, r.bandwidth_hz, _between(found, r))
    swept = swept_past(recording, frequency, 2.0 * r.half_width_hz)
    return Pick(
        frequency_hz=frequency,
        damping_ratio=zeta,
        amplitude=curve.recorded(height, r.place_hz),
        frequency_error_hz=math.hypot(r.place_error_hz, swept.shift_hz if swept else 0.0),
        damping_error=zeta * r.width_error * r.half_width_hz / half_width,
        residue=residue,
        bandwidth_hz=2.0 * half_width,
        half_power=(points[1] - points[0]) / (points[0] + points[1]) if points else None,
        in_band=in_band,
        swept=swept,
        warnings=(
            *on_steps(recording, r.place_hz, in_band, due),
            *on_pace(swept, frequency),
            *on_surroundings(recording, r.place_hz, r.half_width_hz, empty),
            *on_the_fit(curve, r),
        ),
    )


def _hurried_pick(recording: Recording, one: Hurried, empty: Sequence[tuple[float, float]]) -> Pick:
    """A peak as it was recorded; its errors are what the sweep has done to it."""
    low, high = one.points
    zeta, width = (high - low) / (high + low), high - low
    slow = one.past.slow_hz or 0.0
    in_band = _in_band(recording, (low + high) / 2.0, width / 2.0)
    due = pace(one.hz, zeta)
    return Pick(
        frequency_hz=one.hz,
        damping_ratio=zeta,
        amplitude=one.height,
        frequency_error_hz=math.hypot(one.past.shift_hz, width / max(in_band, 1)),
        damping_error=zeta * (1.0 - slow / width),
        residue=None,
        bandwidth_hz=width,
        half_power=zeta,
        in_band=in_band,
        swept=one.past,
        warnings=(
            *on_steps(recording, one.hz, in_band, due),
            *on_pace(one.past, one.hz),
            *on_surroundings(recording, one.hz, width / 2.0, empty),
        ),
    )


def _in_band(recording: Recording, place_hz: float, half_width_hz: float) -> int:
    """How many readings lie within a half-width of a place."""
    band = (place_hz - half_width_hz, place_hz + half_width_hz)
    first, last = (int(i) for i in np.searchsorted(recording.hz, band))
    return last - first


def _between(found: Sequence[Resonance], r: Resonance) -> tuple[float, float]:
    """From halfway to the resonance before up to halfway to the next."""
    places = [o.place_hz for o in found]
    low = max((p for p in places if p < r.place_hz), default=-math.inf)
    high = min((p for p in places if p > r.place_hz), default=math.inf)
    return (low + r.place_hz) / 2.0, (high + r.place_hz) / 2.0


def _height(curve: Curve, r: Resonance) -> float:
    """The height of a resonance in a magnitude; where it is a dent, by how much it moves that."""
    power = -r.coefficient.imag
    size = float(np.interp(r.place_hz, curve.hz, curve.size))
    return math.sqrt(power) if power > 0.25 * size**2 else abs(r.coefficient) / (2.0 * size)
