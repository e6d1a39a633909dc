"""The resonances of a curve, fitted in groups of close ones until each explains what it should.

Each group is fitted over a window about it, what all others contribute there taken off first. A
resonance stays where the readings would be explained much worse without it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from saltline.sweeps.curve import Curve
from saltline.sweeps.group_fit import Resonance, contributed, fit_group, height_of, started
from saltline.sweeps.peaks import Peak, first_peaks, left_over

REACH = 5.0
"""A window reaches so many half-power bandwidths beyond its resonances."""

CORE = 1.0
"""... and never nearer to another one than so many of that one's."""

TOGETHER = 2.0
"""Resonances are fitted together where they are nearer than so many mean bandwidths."""

MOST_TOGETHER = 6

PER_BAND = 28
"""A window is thinned as long as so many readings a bandwidth are left."""

LEAST_EVIDENCE = 18.0
"""Of so much is the logarithm of the likelihood greater with a resonance than without it. Noise
alone does as much once in e^18 places."""

LEAST_HEIGHT = 0.01
"""A resonance's own height is this part of the response there, at least."""

STEPS = 3.0
"""... and so many of the steps to which readings are rounded."""

WIDTH_ERROR = 0.5
"""The standard error of a resonance's width is no more than this part of it."""

MERGED, MERGED_WIDTH_ERROR = 0.6, 0.2
"""... of two that are nearer than this part of a mean bandwidth, no more than that."""

ONE = 0.3
"""Two that are nearer than this part of a mean bandwidth are not told from one."""

MOST_DAMPING = 0.3
PASSES = 2
SEARCHES = 6

MOST = 300
"""Where more are found, the search for further ones ends."""

SMEARED, SHARPEST = 3.0, 1.2
"""Two under a window are told apart from so many of its steps on; none is narrower than so many."""

MOST_READINGS = 250_000
"""More are taken together, as long as the narrowest peak keeps enough of them."""


def find_resonances(
    curve: Curve,
    peaks: Sequence[Peak] | None = None,
    *,
    barred: Sequence[tuple[float, float]] = (),
) -> list[Resonance]:
    """All resonances of the curve, by frequency.

    peaks:  its first ones, where they are known. barred: ranges, Hz, in which none is looked for.
    """

    def is_free(peak: Peak) -> bool:
        return not any(low < peak.hz < high for low, high in barred)

    peaks = list(filter(is_free, first_peaks(curve) if peaks is None else peaks))
    narrowest = min((peak.width_hz for peak in peaks), default=math.inf)
    curve = curve.thinned(_thinning(curve, narrowest, keep=MOST_READINGS))
    found = _settled(curve, [started(curve, peak) for peak in peaks], _is_placed)
    for _ in range(SEARCHES):
        parts = [resonance.noise_part for resonance in found]
        noise_part = float(np.median(parts)) if parts else 0.0
        known = len(found)
        more = left_over(curve, contributed(curve, found), noise_part)
        for peak in filter(is_free, more):
            found = _with_another(curve, found, started(curve, peak))
        if not known < len(found) < MOST:
            break
        found = _settled(curve, found, _is_placed)
    return _settled(curve, found, _is_sound)


# -- all groups in turn ---------------------------------------------------------------------------


Judge = Callable[[Resonance, Curve, Sequence[Resonance]], bool]
"""Whether a resonance stays, by its window and its group."""


def _settled(curve: Curve, resonances: Sequence[Resonance], judge: Judge) -> list[Resonance]:
    """The resonances fitted group by group, without those that the judge turns down."""
    current = list(resonances)
    for _ in range(PASSES):
        groups = _groups(current)
        groups.sort(key=lambda group: -max(abs(r.coefficient) for r in group))
        for group in groups:
            others = [r for r in current if r not in group]
            current = others + _fitted(curve, group, others, judge)
    return sorted(current, key=lambda r: r.frequency_hz)


def _with_another(curve: Curve, found: list[Resonance], another: Resonance) -> list[Resonance]:
    """The resonances with one more, where it and all near it are then sound; else as they were."""
    near = [r for r in found if _close(r, another)]
    near.sort(key=lambda r: abs(r.place_hz - another.place_hz))
    group = sorted([another, *near[: MOST_TOGETHER - 1]], key=lambda r: r.place_hz)
    others = [r for r in found if r not in group]
    window = window_of(curve, group, others)
    rest = replace(window, y=window.y - contributed(window, others))
    new = fit_group(rest, group)
    is_better = all(_is_placed(r, window, new) for r in new) and all(
        _is_sound(r, window, new)
        for r in new
        if not any(abs(r.place_hz - known.place_hz) < known.half_width_hz for known in near)
    )
    return others + new if is_better else found


def _groups(resonances: Sequence[Resonance]) -> list[list[Resonance]]:
    groups: list[list[Resonance]] = []
    for r in sorted(resonances, key=lambda r: r.place_hz):
        if groups and len(groups[-1]) < MOST_TOGETHER and any(_close(r, o) for o in groups[-1]):
            groups[-1].append(r)
        else:
            groups.append([r])
    return groups


def _close(one: Resonance, other: Resonance) -> bool:
    apart = abs(one.place_hz - other.place_hz)
    return apart < TOGETHER * (one.half_width_hz + other.half_width_hz)


def _fitted(
    curve: Curve, group: Sequence[Resonance], others: Sequence[Resonance], judge: Judge
) -> list[Resonance]:
    """The group as it fits best, the weakest left out one by one until all may stay."""
    group = list(group)
    while group:
        window = window_of(curve, group, others)
        rest = replace(window, y=window.y - contributed(window, others))
        group = fit_group(rest, group)
        unsound = [r for r in group if not judge(r, window, group)]
        if not unsound:
            break
        group.remove(min(unsound, key=lambda r: r.evidence))
    return group


def window_of(curve: Curve, group: Sequence[Resonance], others: Sequence[Resonance]) -> Curve:
    """The readings that a group is fitted to."""
    first, last = group[0].place_hz, group[-1].place_hz
    low = min(r.place_hz - REACH * r.bandwidth_hz for r in group)
    high = max(r.place_hz + REACH * r.bandwidth_hz for r in group)
    for other in others:
        below, above = (other.place_hz + side * CORE * other.bandwidth_hz for side in (1.0, -1.0))
        low = max(low, below) if below < first and other.place_hz < first else low
        high = min(high, above) if above > last and other.place_hz > last else high
    i, j = (int(k) for k in np.searchsorted(curve.hz, [low, high]))
    need = (2 if curve.has_phase else 4) * len(group) + 8
    while j - i < need and (i > 0 or j < curve.hz.size):
        i, j = max(i - 1, 0), min(j + 1, curve.hz.size)
    return curve.part(i, j)


def _is_placed(r: Resonance, window: Curve, group: Sequence[Resonance]) -> bool:
    """Whether a fitted resonance lies within its window and is no background."""
    del group
    low, high = float(window.hz[0]), float(window.hz[-1])
    return (
        low <= r.place_hz <= high
        and 0.05 * (high - low) / window.hz.size < r.half_width_hz < 0.5 * (high - low)
        and r.damping_ratio < MOST_DAMPING
        and r.evidence * r.misfit**2 > LEAST_EVIDENCE
    )


def _is_sound(r: Resonance, window: Curve, group: Sequence[Resonance]) -> bool:
    """Whether a fitted resonance is one, and no accident of the fit of its group."""
    size = float(window.size[int(np.argmin(np.abs(window.hz - r.place_hz)))])
    apart = [
        abs(r.place_hz - o.place_hz) / (r.half_width_hz + o.half_width_hz)
        for o in group
        if o is not r
    ]
    nearest = min(apart, default=1.0)
    steps = [abs(r.place_hz - o.place_hz) for o in group if o is not r]
    surest = WIDTH_ERROR if nearest > MERGED else MERGED_WIDTH_ERROR
    return (
        _is_placed(r, window, group)
        and nearest > ONE
        and min(steps, default=math.inf) >= SMEARED * window.smeared_hz
        and r.bandwidth_hz >= SHARPEST * window.smeared_hz
        and r.evidence > LEAST_EVIDENCE
        and r.width_error < surest
        and height_of(r, window) > max(LEAST_HEIGHT * size, STEPS * float(window.step.max()))
    )


def _thinning(curve: Curve, width_hz: float, *, keep: int) -> int:
    """How many readings may be taken together: `keep` are left in all, `PER_BAND` in a width."""
    n = curve.hz.size
    step = float(curve.hz[-1] - curve.hz[0]) / max(n - 1, 1)
    return max(1, min(int(min(width_hz / step / PER_BAND, n)), n // keep))
