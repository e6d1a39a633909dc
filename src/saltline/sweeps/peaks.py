"""Where resonances may be: peaks that stand clear of the noise, and what a fit leaves unexplained.

A resonance may be narrower than two readings or wider than a thousand. So readings are looked at as
they are and as means of two, four, eight ... neighbours: a wide peak in the noise stands out once
its readings are taken together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from saltline.arrays import Indices, Values
from saltline.record import record
from saltline.sweeps.curve import Curve
from saltline.sweeps.noise import RAYLEIGH, block_means, running_median

FEWEST = 24
"""So many means a curve has at least, or it is looked at no more coarsely."""

RISES = 0.1
"""A first peak rises by this part of its height above what lies around it."""

BLOCK = 64
"""A peak at one coarseness stands out within so many means to either side, or twice as many."""

LEAST_CONTRAST = 5.0
"""What is left of a fit is looked at from so many times the usual contrast on (its deviation)."""

LEAST_PART = 0.005
"""... and from this part of the response itself on."""

MOST_AT_ONCE = 24
"""So many candidates are tried at once."""


@record
class Peak:
    """A place where a resonance may be; its width between half-power points, and its height."""

    hz: float
    width_hz: float
    height: float


def first_peaks(curve: Curve) -> list[Peak]:
    """The peaks of the magnitude that stand clear of the noise, by frequency."""
    found: list[Peak] = []
    for level in _levels(curve):
        found += [peak for peak in _clear_peaks(level) if not _is_known(peak, found, level)]
    return sorted(found, key=lambda peak: peak.hz)


@record
class _Level:
    """A curve at one coarseness."""

    hz: Values
    magnitude: Values
    scatter: Values
    step: Values


def _levels(curve: Curve) -> Iterator[_Level]:
    yield _level(curve)
    while curve.hz.size // 2 >= FEWEST:
        curve = curve.thinned(2)
        yield _level(curve)


def _level(curve: Curve) -> _Level:
    magnitude = np.abs(curve.y) if curve.has_phase else np.sqrt(curve.y)
    return _Level(curve.hz, magnitude, curve.scatter, curve.step)


def _clear_peaks(level: _Level) -> list[Peak]:
    a = level.magnitude
    if a.size < 5:
        return []
    # Noise alone has peaks as far above its troughs as twice its largest deviation.
    times = 2.0 * math.sqrt(2.0 * math.log(a.size)) + 1.5
    least = np.maximum(times * level.scatter, np.maximum(2.0 * level.step, RISES * a))
    at = _maxima(a)
    at = at[(at > 0) & (at < a.size - 1)]
    at = at[a[at] - _lowest_near(a)[at] > least[at]]
    found = []
    for i in at:
        rise, low, high = prominence(a, int(i))
        if rise > least[i]:
            width = half_power_width(level.hz, a, int(i), low, high)
            found.append(Peak(float(level.hz[i]), width, float(a[i])))
    return found


def _lowest_near(a: Values) -> Values:
    """Of the lowest values in the blocks before and after that of each, the higher one.

    A peak that does not rise above that is seen at a coarser look, or is none.
    """
    starts = np.arange(0, a.size, BLOCK)
    lowest = np.pad(np.minimum.reduceat(a, starts), 1, mode="edge")
    return np.repeat(np.maximum(lowest[:-2], lowest[2:]), BLOCK)[: a.size]


def prominence(a: Values, i: int) -> tuple[float, int, int]:
    """How far the peak at i rises above the higher of the troughs between it and higher ones.

    Returns this and the places of the troughs.
    """
    low, high = _foot(a[i::-1]), _foot(a[i:])
    return float(a[i] - max(a[i - low], a[i + high])), i - low, i + high


def _foot(a: Values) -> int:
    """The place of the lowest value before one that is higher than the first."""
    reach = 64
    while True:
        higher = np.flatnonzero(a[1:reach] > a[0])
        if higher.size:
            return int(np.argmin(a[: higher[0] + 1]))
        if reach >= a.size:
            return int(np.argmin(a))
        reach *= 4


def _is_known(peak: Peak, found: Sequence[Peak], level: _Level) -> bool:
    """Whether a finer look has shown the peak already."""
    i = int(np.searchsorted(level.hz, peak.hz))
    near = level.hz[min(i + 1, level.hz.size - 1)] - level.hz[max(i - 1, 0)]
    return any(
        abs(other.hz - peak.hz) < max(0.75 * near, 0.35 * min(other.width_hz, peak.width_hz))
        for other in found
    )


def half_power_width(hz: Values, a: Values, i: int, low: int, high: int) -> float:
    """The width of the peak at i between its half-power points, Hz.

    They are looked for between `low` and `high`; where one is missing the peak is taken to be
    symmetrical, and where both are, as wide as that.
    """
    left, right = half_power_points(hz, a, i, low, high)
    if left is None and right is None:
        return float(hz[high] - hz[low])
    if left is None or right is None:
        return 2.0 * abs((left if right is None else right) - float(hz[i]))  # type: ignore[operator]
    return right - left


def half_power_points(
    hz: Values, a: Values, i: int, low: int, high: int
) -> tuple[float | None, float | None]:
    """Where the magnitude has fallen to 1/sqrt(2) of that at i, between `low` and `high`; Hz."""
    due = a[i] / math.sqrt(2.0)
    below = np.flatnonzero(a[low:i] <= due)
    above = np.flatnonzero(a[i + 1 : high + 1] <= due)
    left = right = None
    if below.size:
        j = low + int(below[-1])
        left = float(np.interp(due, [a[j], a[j + 1]], [hz[j], hz[j + 1]]))
    if above.size:
        j = i + 1 + int(above[0])
        right = float(np.interp(due, [a[j], a[j - 1]], [hz[j], hz[j - 1]]))
    return left, right


# -- what a fit leaves ----------------------------------------------------------------------------


def left_over(curve: Curve, explained: Values, noise_part: float) -> list[Peak]:
    """Where the response is unlike what explains it, the most striking places first.

    explained:  part of curve.y.
    noise_part: the part of the response by which it scatters besides its even scatter.
    """
    left = curve.y - explained
    found = _striking(curve, left, noise_part)
    while curve.hz.size // 2 >= FEWEST:
        curve, left, noise_part = curve.thinned(2), block_means(left, 2), noise_part / 2**0.5
        found += _striking(curve, left, noise_part)
    found.sort(key=lambda entry: -entry[0])
    kept: list[Peak] = []
    for _, peak in found:
        if not any(_overlap(peak, other) for other in kept):
            kept.append(peak)
    return kept[:MOST_AT_ONCE]


def _overlap(one: Peak, other: Peak) -> bool:
    """Whether two places are one for the narrower of them: a wide one may lie over narrow ones."""
    return abs(one.hz - other.hz) < 1.4 * min(one.width_hz, other.width_hz)


def _striking(curve: Curve, left: Values, noise_part: float) -> list[tuple[float, Peak]]:
    """The striking places at one coarseness, each with how striking it is."""
    if left.size <= EVEN.size:
        return []
    slope = 1.0 if curve.has_phase else 2.0 * curve.size  # of a square along its magnitude
    deviation = slope * np.hypot(curve.scatter, noise_part * curve.size)
    contrast, by_noise = contrasts(left, deviation)
    usual = np.maximum(running_median(contrast, 50) / RAYLEIGH, 1.0)
    height = contrast * by_noise / slope
    striking = contrast / usual
    worth = np.maximum(LEAST_PART * curve.size, curve.step)
    at = _maxima(striking)
    at = at[(striking[at] >= LEAST_CONTRAST) & (height[at] >= worth[at])]
    steps = np.gradient(curve.hz)
    return [
        (float(striking[i]), Peak(float(curve.hz[i]), 2.5 * float(steps[i]), float(height[i])))
        for i in at
    ]


def _kernels() -> tuple[Values, Values]:
    """The weights of the eight neighbours on either side in a contrast, even and odd.

    What is expected is a course of third degree through the means of the third to the fifth and of
    the sixth to the eighth neighbour. Their distances are 4 and 7 on average, the squares of these
    50/3 and 149/3, the cubes 72 and 357; so a + c d^2 has the middle (149 near - 50 far)/99, and
    a d + c d^3 the slope a = (357 near - 72 far)/924 and c = (4 far - 7 near)/924.
    """
    away = np.arange(-8, 9)
    near, far = (np.abs(away) >= 3) & (np.abs(away) <= 5), np.abs(away) >= 6
    course = (149.0 * near - 50.0 * far) / 99.0 / 6.0
    side = np.sign(away) / 6.0
    slope, bend = (
        side * (357.0 * near - 72.0 * far) / 924.0,
        side * (4.0 * far - 7.0 * near) / 924.0,
    )
    step = np.sign(away) * ((np.abs(away) >= 1) & (np.abs(away) <= 2)) / 4.0
    return (away == 0) - course, step - 1.5 * slope - 4.5 * bend


EVEN, ODD = _kernels()
"""A resonance in a magnitude may be a peak, or a step up and down; so both are looked for."""


def contrasts(values: Values, deviation: Values) -> tuple[Values, Values]:
    """How much each value differs from what its surroundings let expect, over what noise would do.

    deviation: of each value, or of each part of a complex one, by noise.
    Returns the contrast, 0 where the surroundings are not whole, and the deviation of a difference
    by noise. Of noise, a contrast is distributed as the magnitude of a complex normal deviate.
    """
    edge = EVEN.size // 2

    def filtered(of: Values, kernel: Values) -> Values:
        return np.pad(np.convolve(of, kernel[::-1], mode="valid"), edge)

    by_noise = np.maximum(np.sqrt(filtered(deviation**2, EVEN**2)), np.finfo(float).tiny)
    even = np.abs(filtered(values, EVEN)) / by_noise
    if np.iscomplexobj(values):
        return even, by_noise
    odd_by_noise = np.maximum(np.sqrt(filtered(deviation**2, ODD**2)), np.finfo(float).tiny)
    return np.hypot(even, filtered(values, ODD) / odd_by_noise), by_noise


def _maxima(values: Values) -> Indices:
    padded = np.concatenate([[-1.0], values, [-1.0]])
    return np.flatnonzero((values >= padded[:-2]) & (values > padded[2:]))
