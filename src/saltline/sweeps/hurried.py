"""Peaks past which a sweep went so fast that no pole fits them: by their half-power points alone.

A swept resonance comes late, low and wide, and rings on: its free vibration beats with the drive
that has gone ahead. A fit of poles would take the beats for resonances.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values
from saltline.planning.pace import FOR_DAMPING
from saltline.record import record
from saltline.sweeps.judged import SweptPast, swept_past
from saltline.sweeps.noise import block_means
from saltline.sweeps.peaks import Peak, half_power_points
from saltline.sweeps.sweep import Recording
from saltline.sweeps.swept import FASTEST

NARROWEST = 0.6
"""No resonance is recorded narrower than so many times the square root of the rate in Hz/s: the
least is 0.87 times that, for with less damping it rings on (by `swept.envelope`, at 30 B^2/s)."""

RUNG_OUT = 0.01
"""A resonance rings until this part of its height is left."""

BEFORE = 1.5
"""A hurried peak begins so many bandwidths before its highest reading."""

FINE = 28
"""Readings are taken together as long as so many are left in a bandwidth."""


@record
class Hurried:
    """A peak that was swept past too fast.

    hz, height: of its highest reading. points: its half-power points, Hz. past: how it was swept.
    low_hz, high_hz: where it and its ringing are.
    """

    hz: float
    height: float
    points: tuple[float, float]
    past: SweptPast
    low_hz: float
    high_hz: float


def hurried(
    recording: Recording, peaks: Sequence[Peak]
) -> tuple[list[Hurried], list[tuple[float, float]]]:
    """Those of the clear peaks that were swept past too fast, and where those lie, from and to in
    Hz, that are too narrow to be any: beats, and what rings when a sweep begins.
    """
    found: list[Hurried] = []
    ringing: list[tuple[float, float]] = []
    if recording.hz_per_s is None:
        return found, ringing
    for peak in sorted(peaks, key=lambda peak: -peak.height):
        if any(one.low_hz < peak.hz < one.high_hz for one in found):
            continue
        points = recorded_points(recording, peak.hz, peak.width_hz, (-math.inf, math.inf))
        if points is None:
            continue
        width = points[1] - points[0]
        rate = float(np.interp(peak.hz, recording.hz, recording.hz_per_s))
        if width < NARROWEST * math.sqrt(abs(rate)):
            ringing.append((points[0] - width, points[1] + width))
            continue
        past = swept_past(recording, peak.hz, width)
        if past is not None and past.rate_part > FOR_DAMPING:
            found.append(_with_ringing(recording, peak, points, past))
    return found, ringing


def _with_ringing(
    recording: Recording, peak: Peak, points: tuple[float, float], past: SweptPast
) -> Hurried:
    assert recording.hz_per_s is not None
    rate = float(np.interp(peak.hz, recording.hz, recording.hz_per_s))
    width = points[1] - points[0]
    # It falls by exp(-pi B t) while the drive goes on by t times the rate. Where the width does not
    # tell B, that is less than the least which it would.
    bandwidth = past.slow_hz or math.sqrt(abs(rate) / FASTEST)
    seconds = math.log(1.0 / RUNG_OUT) / (math.pi * bandwidth)
    before, after = BEFORE * width, max(abs(rate) * seconds, BEFORE * width)
    low, high = (before, after) if rate > 0.0 else (after, before)
    height = float(np.interp(peak.hz, recording.hz, recording.magnitude))
    return Hurried(peak.hz, height, points, past, peak.hz - low, peak.hz + high)


def recorded_points(
    recording: Recording, place_hz: float, bandwidth_hz: float, within: tuple[float, float]
) -> tuple[float, float] | None:
    """The recorded half-power points of a peak, Hz; None where one is missing.

    within: the range in which they are looked for, and eight bandwidths at most.
    """
    low = max(within[0], place_hz - 8.0 * bandwidth_hz)
    high = min(within[1], place_hz + 8.0 * bandwidth_hz)
    i, j = (int(k) for k in np.searchsorted(recording.hz, (low, high)))
    if j - i < 3:
        return None
    hz, size = _together(recording.hz[i:j], recording.magnitude[i:j], bandwidth_hz)
    near = np.flatnonzero(np.abs(hz - place_hz) <= bandwidth_hz)
    if not near.size:
        return None
    top = int(near[np.argmax(size[near])])
    left, right = half_power_points(hz, size, top, 0, hz.size - 1)
    return None if left is None or right is None else (left, right)


def _together(hz: Values, size: Values, bandwidth_hz: float) -> tuple[Values, Values]:
    """Readings taken together where a bandwidth has many of them."""
    count = max(int(bandwidth_hz / FINE / float(np.ptp(hz)) * hz.size), 1)
    return block_means(hz, count), np.sqrt(block_means(size**2, count))
