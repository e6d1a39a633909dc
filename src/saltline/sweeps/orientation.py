"""How the phase of a recording is to be read: which way it turns, and how late it is.

Some instruments count a response that lags as a positive phase; and two channels may be sampled
one after the other, or come through different filters, so that one is late. Both are told by the
highest peaks: only as it was meant does the response fit a pole.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from saltline.record import record
from saltline.sweeps.curve import Curve, delay_of, without_delay
from saltline.sweeps.group_fit import started, unexplained
from saltline.sweeps.peaks import Peak
from saltline.sweeps.resonance_fit import window_of

WITNESSES = 5
"""So many of the highest peaks are asked."""

CLEARLY = 3.0
"""What is turned, or a delay that is taken off, leaves so many times less unexplained in all."""


@record
class Orientation:
    """is_turned: whether a positive phase is a lag; delay_s: of the response."""

    is_turned: bool = False
    delay_s: float = 0.0


def oriented(curve: Curve, peaks: Sequence[Peak]) -> tuple[Curve, Orientation]:
    """A complex curve as it was meant, and what was turned for that; peaks: its first ones."""
    highest = sorted(peaks, key=lambda peak: -peak.height)[:WITNESSES]
    if not highest:
        return curve, Orientation()
    starts = [started(curve, peak) for peak in highest]
    windows = [window_of(curve, [start], []) for start in starts]

    def cost(how: Orientation) -> float:
        return sum(
            math.log(max(unexplained(read_as(window, how), [start]), 1e-6))
            for window, start in zip(windows, starts, strict=True)
        )

    trials = [Orientation(), Orientation(is_turned=True)]
    costs = [cost(how) for how in trials]
    still = 0 if costs[0] < costs[1] + math.log(CLEARLY) else 1
    for how in trials[:2]:
        turned = read_as(curve, how)
        trials.append(Orientation(how.is_turned, delay_of(turned.hz, turned.y)))
        costs.append(cost(trials[-1]))
    late = 2 + int(np.argmin(costs[2:]))
    if costs[late] > costs[still] - math.log(CLEARLY):
        return read_as(curve, trials[still]), trials[still]
    is_turned = trials[late].is_turned
    delay = _lowest(
        lambda delay: cost(Orientation(is_turned, delay)),
        trials[late].delay_s,
        1.0 / (40.0 * math.pi * min(peak.width_hz for peak in highest)),
    )
    found = Orientation(is_turned, delay)
    return read_as(curve, found), found


def read_as(curve: Curve, how: Orientation) -> Curve:
    """The curve under one way of reading its phase."""
    if how == Orientation():
        return curve
    y = np.conj(curve.y) if how.is_turned else curve.y
    return replace(curve, y=without_delay(curve.hz, y, how.delay_s))


def _lowest(cost: Callable[[float], float], middle: float, reach: float) -> float:
    """Where the cost is lowest within `reach` of the middle (golden section)."""
    ratio = (math.sqrt(5.0) - 1.0) / 2.0
    low, high = middle - reach, middle + reach
    one, other = high - ratio * (high - low), low + ratio * (high - low)
    at_one, at_other = cost(one), cost(other)
    for _ in range(12):
        if at_one < at_other:
            high, other, at_other = other, one, at_one
            one = high - ratio * (high - low)
            at_one = cost(one)
        else:
            low, one, at_one = one, other, at_other
            other = low + ratio * (high - low)
            at_other = cost(other)
    return (low + high) / 2.0
