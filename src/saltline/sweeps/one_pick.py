"""One resonance of a recording as it is told: by its fit or as it was recorded, and judged."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.planning.pace import pace
from saltline.record import record
from saltline.sweeps.curve import Curve
from saltline.sweeps.group_fit import Resonance
from saltline.sweeps.hurried import Hurried, recorded_points
from saltline.sweeps.judged import (
    SweptPast,
    on_pace,
    on_steps,
    on_surroundings,
    on_the_fit,
    swept_past,
)
from saltline.sweeps.sweep import Recording


@record
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


def fitted_pick(
    recording: Recording,
    curve: Curve,
    found: Sequence[Resonance],
    r: Resonance,
    empty: Sequence[tuple[float, float]],
    alone: float = math.nan,
) -> Pick:
    """A resonance as it was fitted.

    found: all of them, r among them. empty: where nothing was recorded, Hz. alone: the height of r
    in a magnitude without what its neighbours add; NaN where it has no close ones.
    """
    half_width = r.half_width_hz - recording.added_hz
    frequency = math.hypot(r.place_hz, half_width)
    zeta = half_width / frequency
    height = abs(r.coefficient) if curve.has_phase else alone
    if math.isnan(height):
        height = _height(curve, r)
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


def hurried_pick(recording: Recording, one: Hurried, empty: Sequence[tuple[float, float]]) -> Pick:
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
