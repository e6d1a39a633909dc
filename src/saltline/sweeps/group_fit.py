"""A resonance, and how close ones are fitted together to a window of a curve."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values
from saltline.record import record
from saltline.sweeps.curve import GRADE, Curve
from saltline.sweeps.peaks import Peak
from saltline.sweeps.poles import Poles, Stretch, fit_poles, misfit_without

FEWEST_TO_TELL = 6
"""So many readings at the top and at the foot of a peak are needed to tell their scatter apart."""

MORE_AT_TOP = 2.5
"""A peak whose top scatters by so many times its foot (variance) is noisy by its height."""


@record
class Resonance:
    """A pole of the curve.

    place_hz:    where its frequency of decay lies; half_width_hz: its decay rate, as a frequency.
    coefficient: of `poles`; its magnitude is the height of the resonance alone (has_phase), or the
                 square of that.
    place_error_hz, width_error: standard errors of the place, and of the half-width as a part.
    evidence:    by how much the logarithm of the likelihood is greater with it.
    noise_part:  the part of the response by which the readings near it scatter besides the noise.
    misfit:      what is left of the readings over their scatter, 1 where only noise is left.
    """

    place_hz: float
    half_width_hz: float
    coefficient: complex
    place_error_hz: float = math.inf
    width_error: float = math.inf
    evidence: float = math.inf
    noise_part: float = 0.0
    misfit: float = 1.0

    @property
    def frequency_hz(self) -> float:
        """The natural frequency, undamped: |pole| / 2 pi."""
        return math.hypot(self.place_hz, self.half_width_hz)

    @property
    def damping_ratio(self) -> float:
        """The decay rate over the natural frequency."""
        return self.half_width_hz / self.frequency_hz

    @property
    def bandwidth_hz(self) -> float:
        """Between the half-power points."""
        return 2.0 * self.half_width_hz


def started(curve: Curve, peak: Peak) -> Resonance:
    """A resonance to begin a fit with."""
    coefficient = peak.height * 1j if curve.has_phase else -(peak.height**2) * 1j
    return Resonance(peak.hz, max(peak.width_hz / 2.0, 1e-9 * peak.hz), coefficient)


def height_of(r: Resonance, curve: Curve) -> float:
    """By how much the resonance raises or lowers the curve's magnitude."""
    c = abs(r.coefficient)
    if curve.has_phase:
        return c
    around = max(float(np.interp(r.place_hz, curve.hz, curve.size)) ** 2 - c, 0.0)
    return c / max(math.sqrt(c), 2.0 * math.sqrt(around))


def contributed(curve: Curve, resonances: Sequence[Resonance]) -> Values:
    """What the resonances contribute to the curve's readings."""
    total = np.zeros_like(curve.y)
    for r in resonances:
        own = r.coefficient * r.half_width_hz / (curve.hz - r.place_hz - 1j * r.half_width_hz)
        total += own if curve.has_phase else own.real
    return total


def fit_group(window: Curve, group: Sequence[Resonance]) -> list[Resonance]:
    """The resonances of a group as they fit its window best."""
    window, scale, x, s = _scaled(window, group)
    even = _stretch(window, scale, window.scatter)
    found = fit_poles(even, x, s)
    noise_part = _noise_part(window, even, found)
    if noise_part > 0.0:
        even = _stretch(window, scale, np.hypot(window.scatter, noise_part * window.size))
        found = fit_poles(even, found.x, found.s)
    least = 1.0 if window.smeared_hz else 0.0  # a fit of few readings follows noise they share
    return _read(even, found, scale, noise_part, least)


def unexplained(window: Curve, group: Sequence[Resonance]) -> float:
    """The part of the response, root mean square, that a group fitted to the window leaves over."""
    window, scale, x, s = _scaled(window, group)
    even = _stretch(window, scale, np.ones(window.hz.size))
    whole = float(np.sum(even.real(even.y) ** 2))
    return math.sqrt(fit_poles(even, x, s).misfit / whole)


@record
class _Scale:
    """Frequencies as x = (f - middle) / unit."""

    middle: float
    unit: float


def _scaled(window: Curve, group: Sequence[Resonance]) -> tuple[Curve, _Scale, Values, Values]:
    """The window thinned for its group, the scale of x, and the group's poles on it."""
    places = np.array([r.place_hz for r in group])
    widths = np.array([r.half_width_hz for r in group])
    window = window.graded(places, widths / GRADE)
    middle = (float(window.hz[0]) + float(window.hz[-1])) / 2.0
    scale = _Scale(middle, float(np.median(widths)))
    return window, scale, (places - middle) / scale.unit, widths / scale.unit


def _stretch(window: Curve, scale: _Scale, deviation: Values) -> Stretch:
    slope = 1.0 if window.has_phase else 2.0 * window.size  # of a square along its magnitude
    degree = 1 if window.has_phase else 2
    return Stretch(
        (window.hz - scale.middle) / scale.unit, window.y, 1.0 / (slope * deviation), degree
    )


def _noise_part(window: Curve, stretch: Stretch, found: Poles) -> float:
    """The part of the response by which readings scatter besides their even scatter.

    By what is left at the peak against what is left at the foot, where it jumps from one reading to
    the next: what is smooth is no noise. 0 where the peak scatters little more.
    """
    n = window.hz.size
    left = found.residual.reshape(-1, n) / stretch.weight
    if not window.has_phase:
        left = left / (2.0 * window.size)
    jumps = np.mean(np.diff(left, axis=1) ** 2, axis=0) / 2.0
    size = (window.size[1:] + window.size[:-1]) / 2.0
    top = size > 0.5 * size.max()
    foot = size <= np.median(size)
    if min(np.count_nonzero(top), np.count_nonzero(foot)) < FEWEST_TO_TELL:
        return 0.0
    at_top, at_foot = float(jumps[top].mean()), float(jumps[foot].mean())
    if at_top < MORE_AT_TOP * at_foot:
        return 0.0
    squares = float(np.mean(size[top] ** 2)) - float(np.mean(size[foot] ** 2))
    return math.sqrt((at_top - at_foot) / squares) if squares > 0.0 else 0.0


def _read(
    stretch: Stretch, found: Poles, scale: _Scale, noise_part: float, least: float
) -> list[Resonance]:
    """The resonances of a fit; least: what the readings scatter by, at least, in their variance."""
    m = found.x.size
    variance = max(found.misfit / found.freedom, least, float(np.finfo(float).tiny))
    inflated = variance * _runs(found.residual, stretch)
    covariance = found.covariance
    errors = np.full(2 * m, math.inf)
    if covariance is not None:
        errors = np.sqrt(np.diag(covariance) * inflated)
    return [
        Resonance(
            place_hz=scale.middle + scale.unit * float(found.x[k]),
            half_width_hz=scale.unit * float(found.s[k]),
            coefficient=complex(found.g[k]),
            place_error_hz=scale.unit * float(errors[k]),
            width_error=float(errors[m + k]),
            evidence=(misfit_without(stretch, found, k) - found.misfit) / (2.0 * inflated),
            noise_part=noise_part,
            misfit=math.sqrt(variance),
        )
        for k in range(m)
    ]


def _runs(residual: Values, stretch: Stretch) -> float:
    """By how much what is left is worth fewer readings because neighbours are alike (AR(1))."""
    n = stretch.x.size
    parts = residual.reshape(-1, n)
    power = float(np.sum(parts**2))
    if power <= 0.0:
        return 1.0
    alike = float(np.sum(parts[:, 1:] * parts[:, :-1])) / power
    alike = min(max(alike, 0.0), 0.95)
    return (1.0 + alike) / (1.0 - alike)
