"""A recorded response made ready for the search and the fit: flat, without delay, thinned, with
what it scatters by.

The poles of a response stay where they are when it is multiplied by what is smooth: a power of
the frequency, which turns a displacement into an acceleration and lays the curve level, and a phase
that turns evenly with frequency, which a delay between two channels makes.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.record import record
from saltline.sweeps.noise import block_means, last_digits, scatter, step_of

SMOOTHED = 5
"""A magnitude is smoothed over so many readings where its size is asked for."""

STEEPEST = 4.0
"""The highest power of the frequency by which a curve is laid level."""

GRADE = 14.0
"""A mean near a resonance reaches over this part of its half-width, farther away over this part of
the distance."""

FEWEST_MEANS = 60
"""So many means are left, where there are as many readings."""

HANN = math.sqrt(10.0)
"""Under a Hann window neighbours share two thirds of their noise and the next ones a sixth, so that
third differences show a tenth of its variance: (10 - 15 * 2/3 + 6 * 1/6)/10."""

EVEN = 4096
"""At so many evenly spaced frequencies the slope of the phase is looked at."""


@record
class Curve:
    """Readings in order of frequency, shape (n,) each.

    hz:      ascending.
    y:       complex response, or the square of its magnitude where the phase is not known.
    size:    the magnitude, never below the scatter.
    scatter: standard deviation of the magnitude, and of each part of a complex reading.
    step:    to which readings are rounded, 0 where they are not.
    power:   of the frequency over `pivot` with which the recorded response was multiplied.
    smeared_hz: over which a window spreads what is at one frequency; 0 for none.
    """

    hz: Values
    y: Values
    size: Values
    scatter: Values
    step: Values
    power: float
    pivot: float
    smeared_hz: float = 0.0

    @property
    def has_phase(self) -> bool:
        """Whether the readings are complex."""
        return bool(np.iscomplexobj(self.y))

    def part(self, first: int, last: int) -> Curve:
        """The readings from `first` up to, but not with, `last`."""
        cut = slice(first, last)
        return replace(
            self,
            hz=self.hz[cut],
            y=self.y[cut],
            size=self.size[cut],
            scatter=self.scatter[cut],
            step=self.step[cut],
        )

    def thinned(self, size: int) -> Curve:
        """Blocks of `size` readings as one each."""
        if size == 1:
            return self
        return replace(
            self,
            hz=block_means(self.hz, size),
            y=block_means(self.y, size),
            size=block_means(self.size, size),
            scatter=block_means(self.scatter, size) / math.sqrt(size),
            step=block_means(self.step, size),
        )

    def graded(self, places_hz: Values, fine_hz: Values) -> Curve:
        """Readings taken together as means: few about each place, more the farther away.

        fine_hz: about each place means reach over so much; at a distance d over that much times
        sqrt(1 + (d/fine_hz/GRADE)^2).
        """
        away = (self.hz[:, None] - places_hz) / (fine_hz * GRADE)
        density = np.max(1.0 / (fine_hz * np.sqrt(1.0 + away**2)), axis=1)
        reached = np.cumsum(density * np.gradient(self.hz))
        reached *= max(1.0, FEWEST_MEANS / float(reached[-1]))
        starts = np.flatnonzero(np.diff(np.floor(reached), prepend=-1.0))
        if starts.size == self.hz.size:
            return self
        counts = np.diff(starts, append=self.hz.size)

        def mean(values: Values) -> Values:
            return np.asarray(np.add.reduceat(values, starts) / counts)

        return replace(
            self,
            hz=mean(self.hz),
            y=mean(self.y),
            size=mean(self.size),
            scatter=mean(self.scatter) / np.sqrt(counts),
            step=mean(self.step),
        )

    def recorded(self, magnitude: float, hz: float) -> float:
        """A magnitude of this curve as one of the recorded response."""
        return float(magnitude / (hz / self.pivot) ** self.power)


def curve_of(hz: Values, response: Values, *, smeared_hz: float = 0.0) -> Curve:
    """The curve of a response (complex, or magnitudes) at ascending frequencies, laid level."""
    pivot = math.sqrt(float(hz[0]) * float(hz[-1]))
    power = _levelling(hz, np.abs(response))
    level = response * (hz / pivot) ** power
    deviation = scatter(level) * (HANN if smeared_hz else 1.0)
    step = np.maximum(step_of(response), last_digits(response)) * (hz / pivot) ** power
    deviation = np.maximum(deviation, step)
    square = np.abs(level) ** 2
    padded = np.pad(square, SMOOTHED // 2, mode="edge")
    smooth = np.convolve(padded, np.full(SMOOTHED, 1.0 / SMOOTHED), mode="valid")
    least = np.maximum(deviation, 1e-9 * math.sqrt(float(square.max())))
    return Curve(
        hz=hz,
        y=level if np.iscomplexobj(response) else square,
        size=np.maximum(np.sqrt(smooth), least),
        scatter=np.maximum(deviation, 1e-3 * least),
        step=step,
        power=power,
        pivot=pivot,
        smeared_hz=smeared_hz,
    )


def _levelling(hz: Values, magnitude: Values) -> float:
    """The whole power of the frequency that makes the magnitude as level as may be."""
    there = magnitude > 0.0
    if np.count_nonzero(there) < 8 or hz[-1] < 2.0 * hz[0]:
        return 0.0
    x = np.log(hz[there])
    even = np.linspace(x[0], x[-1], 512)
    slope = np.polyfit(even, np.interp(even, x, np.log(magnitude[there])), 1)[0]
    return float(round(min(max(-float(slope), -STEEPEST), STEEPEST)))


def delay_of(hz: Values, response: Values) -> float:
    """The delay that a phase shows which turns evenly, s; negative where the response leads.

    The median of the phase's slope: at resonances it turns fast, but between them not at all.
    """
    even = np.linspace(hz[0], hz[-1], min(EVEN, hz.size))
    at = np.interp(even, hz, response)
    lag = max(even.size // 512, 1)
    turns = np.angle(at[lag:] * np.conj(at[:-lag]))
    return -float(np.median(turns)) / (2.0 * math.pi * float(even[lag] - even[0]))


def without_delay(hz: Values, response: Values, delay_s: float) -> Values:
    """The response as it would be without a delay."""
    return np.asarray(response * np.exp(2j * math.pi * hz * delay_s))
