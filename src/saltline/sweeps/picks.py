"""A recorded sweep -> its resonances, each with what the recording is good for.

Every resonance is judged by the readings in its half-power band, by the pace at which the sweep
went past it, and by what else it may be.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.record import record
from saltline.sweeps.clipping import clipped
from saltline.sweeps.curve import Curve, curve_of, without_delay
from saltline.sweeps.doubts import crowds, cut_off
from saltline.sweeps.group_fit import Resonance
from saltline.sweeps.heights import heights
from saltline.sweeps.hurried import Hurried, hurried
from saltline.sweeps.lateness import Lateness, lateness
from saltline.sweeps.noise import smoothed_by
from saltline.sweeps.one_pick import Pick, fitted_pick, hurried_pick
from saltline.sweeps.orientation import Orientation, oriented
from saltline.sweeps.peaks import Peak, first_peaks
from saltline.sweeps.resonance_fit import find_resonances
from saltline.sweeps.spikes import spikes, without_spikes
from saltline.sweeps.strange import Strange, drive_notches, lone_readings, may_be, swells
from saltline.sweeps.sweep import FEWEST_READINGS, Recording, gaps, remarked

MOSTLY = 0.7
"""Phases are of use where this part of the clear peaks turns out to be resonances with them."""

ROUNDED = 0.5
"""From this part of rounded readings on it is not asked whether they were smoothed."""

SHARP = 0.1
"""Resonances whose width is known to this part are asked how late the response is."""

SHARPEST = 1e-7
"""A damping ratio that is less is not told from none."""


@record
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
    recording, fit = _with_useful_phases(recording, smooth)
    late = Lateness()
    if recording.has_phase:
        fit, late = _in_time(smooth, fit)
    empty = gaps(recording)
    picks = _all_picks(recording, fit, empty)
    if fit.how.delay_s and not late.is_known:
        said = "how late it is shows too roughly for its phases to be compared"
        recording = remarked(recording, said)
        picks = [replace(one, residue=None) for one in picks]
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


def _with_useful_phases(recording: Recording, smooth: Recording) -> tuple[Recording, _Fit]:
    """The recording and its fit, without the phases where magnitudes alone show more.

    smooth: without its lone readings.
    """
    fit = _fitted(smooth)
    if not recording.has_phase or _is_told_by_phase(fit):
        return recording, fit
    still = _fitted(replace(smooth, response=smooth.magnitude))
    if len(still.found) <= len(fit.found):
        return recording, fit
    said = "its phases do not fit its peaks, and are not used"
    return remarked(replace(recording, response=recording.magnitude), said), still


def _all_picks(recording: Recording, fit: _Fit, empty: Sequence[tuple[float, float]]) -> list[Pick]:
    """Those fitted and those swept past too fast, by frequency, with what is in doubt.

    empty: where nothing was recorded, Hz.
    """
    # Of a magnitude alone neighbours are to be told apart; phases have done that.
    alone = [math.nan] * len(fit.found) if fit.curve.has_phase else heights(fit.found)
    picks = [hurried_pick(recording, one, empty) for one in fit.fast]
    picks += [
        fitted_pick(recording, fit.curve, fit.found, resonance, empty, height)
        for resonance, height in zip(fit.found, alone, strict=True)
        if resonance.half_width_hz - recording.added_hz > SHARPEST * resonance.place_hz
        and not any(one.low_hz < resonance.place_hz < one.high_hz for one in fit.fast)
    ]
    picks.sort(key=lambda one: one.frequency_hz)
    doubts = crowds(picks, has_phase=recording.has_phase)
    return [
        replace(one, warnings=(*one.warnings, doubts[row])) if row in doubts else one
        for row, one in enumerate(picks)
    ]


@record
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
    fast, ringing = hurried(recording, peaks)
    barred = [*((one.low_hz, one.high_hz) for one in fast), *ringing]
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
