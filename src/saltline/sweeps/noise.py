"""How much a row of readings scatters: noise by differences, floors by running medians.

The noise of complex readings is stated of one part, real or imaginary; so it is what a magnitude
well above it scatters by, and complex readings and magnitudes are treated alike.
"""

from __future__ import annotations

import math

import numpy as np

from saltline.arrays import Values

NEIGHBOURS = 256
"""So many neighbouring readings are said to scatter alike."""

REPEATED = 0.05
"""From this part of equal neighbours on, readings are rounded ones."""

GAUSSIAN = 0.6745
"""The median magnitude of a normal deviate over its standard deviation."""

RAYLEIGH = math.sqrt(2.0 * math.log(2.0))
"""The median magnitude of a complex normal deviate over the deviation of one of its parts."""


def block_means(values: Values, size: int) -> Values:
    """The means of successive blocks of `size` readings; what is left over is dropped."""
    if size == 1:
        return values
    n = values.size // size * size
    if size == 2:  # by far the commonest, and slow as a mean along an axis
        return np.asarray((values[:n:2] + values[1:n:2]) / 2.0)
    return np.asarray(values[:n].reshape(-1, size).mean(axis=1))


def scatter(values: Values) -> Values:
    """The standard deviation about a smooth course, of each reading.

    By third differences, which a course does not reach that is smooth over four readings; their
    variance is 20 times that of one reading (binomial coefficients, 1 + 9 + 9 + 1). A median of
    each `NEIGHBOURS` keeps out what is not smooth. Where readings are rounded to steps that they do
    not scatter over, neighbours are wrong alike, and a step is stated.
    """
    if values.size < 8:
        return np.zeros(values.size)
    differences = np.abs(np.diff(values, n=3))
    usual = (RAYLEIGH if np.iscomplexobj(values) else GAUSSIAN) * math.sqrt(20.0)
    size = min(NEIGHBOURS, differences.size)
    blocks = differences[: differences.size // size * size].reshape(-1, size)
    middles = 1.5 + size * (np.arange(len(blocks)) + 0.5)
    found = np.interp(np.arange(values.size), middles, np.median(blocks, axis=1) / usual)
    return np.asarray(np.maximum(found, step_of(values)))


SMOOTHED_BY = (1, 2, 4, 8, 16)
"""Over so many readings an instrument may have smoothed."""

ASKED = 50_000
"""So many readings are enough to tell it."""

GROWS, LEVELS = 1.25, 1.2
"""Of readings that were smoothed the differences between farther ones grow by more than this, until
they are level within that."""


def smoothed_by(values: Values) -> int:
    """Over about how many readings an instrument has smoothed, 1 where their noise is their own.

    Third differences at growing distances: of noise of each reading's own they are alike, of
    smoothed noise they grow up to the length of the filter, and of a smooth course without noise
    they grow on, as the cube of the distance.
    """
    usual = []
    for lag in SMOOTHED_BY:
        if values.size < 64 * lag:
            break
        many = max(values.size // ASKED, 1)  # of a long recording a part tells as much
        a, b, c, d = (values[k * lag : values.size - (3 - k) * lag : many] for k in range(4))
        usual.append(float(np.median(np.abs(a - 3.0 * b + 3.0 * c - d))))
    if len(usual) < 3 or usual[0] <= 0.0 or usual[1] < GROWS * usual[0]:
        return 1
    for lag, here, farther in zip(SMOOTHED_BY, usual, usual[1:], strict=False):
        if farther < LEVELS * here:
            return lag
    return 1


def step_of(values: Values) -> Values:
    """The step to which readings are rounded, of each reading; 0 where they are not."""
    if np.iscomplexobj(values):
        return np.maximum(step_of(values.real), step_of(values.imag))
    steps = np.zeros(values.size)
    changes = np.abs(np.diff(values, append=values[-1:]))
    starts = np.arange(0, values.size, NEIGHBOURS)
    counts = np.add.reduceat((changes > 0.0).astype(int), starts)
    whole = np.diff(starts, append=values.size)
    for start in starts[counts < (1.0 - REPEATED) * whole]:
        block = changes[start : start + NEIGHBOURS]
        moved = block[block > 0.0]
        steps[start : start + NEIGHBOURS] = np.median(moved) if moved.size else np.nan
    known = steps[steps > 0.0]
    return np.where(np.isnan(steps), known.min() if known.size else 0.0, steps)


MOST_DIGITS = 4
"""Readings of so few significant digits are rounded ones."""

MOSTLY = 0.99
"""So many of them have no more."""


LARGEST_POWER = 300.0
"""Of ten, that a number can hold with some to spare."""


def last_digits(values: Values) -> Values:
    """What one more in the last digit is worth, of each reading; 0 where they have many digits."""
    if np.iscomplexobj(values):
        return np.maximum(last_digits(values.real), last_digits(values.imag))
    size = np.abs(values)
    some = size[:: max(size.size // ASKED, 1)]
    some = some[some > 0.0]
    powers = np.maximum(np.floor(np.log10(some)), -LARGEST_POWER)
    for digits in range(1, MOST_DIGITS + 1):
        scaled = some * 10.0 ** (digits - 1 - powers)
        if some.size and np.mean(np.abs(scaled - np.round(scaled)) < 1e-6 * scaled) >= MOSTLY:
            smallest = float(some.min())
            return np.asarray(10.0 ** (np.floor(np.log10(np.maximum(size, smallest))) - digits + 1))
    return np.zeros(values.size)


def running_median(values: Values, half: int) -> Values:
    """The median of the readings up to `half` places away, of each reading.

    It is taken at every quarter of a window and interpolated between; towards an end it stays.
    """
    width = min(2 * half + 1, values.size)
    stride = max(width // 4, 1)
    windows = np.lib.stride_tricks.sliding_window_view(values, width)[::stride]
    middles = (width - 1) / 2.0 + stride * np.arange(len(windows))
    return np.asarray(np.interp(np.arange(values.size), middles, np.median(windows, axis=1)))
