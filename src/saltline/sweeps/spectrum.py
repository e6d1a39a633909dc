"""A record of drive and response over time as a frequency response.

Four kinds of drive are told apart, for each asks for another way. In all of them the response is
the averaged cross-spectrum over the averaged spectrum of the drive (H1), which noise of the
response does not bias.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from saltline.arrays import Indices, Values
from saltline.record import record

IMPACT = 20.0
"""A drive whose kurtosis is greater is a row of impacts (a sine has 1.5, noise 3)."""

SINE = 2.0
"""A drive whose usual kurtosis within a block is less is a sine, swept or stepped."""

BLOCKS = 200
"""In so many blocks a record is looked at to tell its kind."""

SEGMENTS = 8
"""A random drive is averaged over about twice as many segments, which overlap by half."""

GAP = 0.5
"""Between the steps of a stepped sine the power is below this part of its mean about there,"""

MOST_STRONG = 0.5
"""... and more than this part of the spectrum is such a gap."""

STRIKES = 0.3
"""A reading of an impact's drive above this part of the largest is a strike."""

DECAYED = 0.01
"""A response that ends above this part of its largest has not decayed, and gets a window."""

WEAKEST = 0.01
"""Where the drive's power is below this part of its largest (20 dB), nothing is known (common
practice, no source)."""

EDGE = 0.5
"""The ends of a spectrum are where its power is this part of what it is farther in."""


FEWEST_STEPS = 16


class SpectrumError(ValueError):
    """A record that no response can be had from, said in words for the user."""


@record
class Spectrum:
    """A frequency response.

    hz, response: shape (n,), complex; drive: the magnitude of the drive's spectrum there.
    smeared_hz:   over which a window spreads what is at one frequency; 0 for none.
    added_hz:     by how much the window widened every resonance, half-width.
    how:          the way in words, windows and averages among them.
    """

    hz: Values
    response: Values
    drive: Values
    how: str
    smeared_hz: float = 0.0
    added_hz: float = 0.0


def response_of(rate_hz: float, drive: Values, response: Values) -> Spectrum:
    """The response over frequency of a record with `rate_hz` readings a second.

    Raises SpectrumError.
    """
    drive, response = drive - drive.mean(), response - response.mean()
    if not np.any(drive):
        raise SpectrumError("the drive is constant; record what drives the specimen")
    if _kurtosis(drive) > IMPACT:
        return _of_impacts(rate_hz, drive, response)
    size = max(drive.size // BLOCKS, 64)
    blocks = drive[: drive.size // size * size].reshape(-1, size)
    if float(np.median([_kurtosis(block) for block in blocks])) >= SINE:
        return _of_noise(rate_hz, drive, response)
    return _of_sweep(rate_hz, drive, response)


def _kurtosis(values: Values) -> float:
    power = float(np.mean(values**2))
    return float(np.mean(values**4)) / power**2 if power > 0.0 else 0.0


# -- swept sine and noise -------------------------------------------------------------------------


def _of_sweep(rate_hz: float, drive: Values, response: Values) -> Spectrum:
    """One spectrum of the whole record: what the sweep's rate does to both channels falls out.

    The ends are tapered over a hundredth of the record, so that one that ends while it still sounds
    spoils little more than its end.
    """
    from scipy.signal import csd, welch
    from scipy.signal.windows import tukey

    n = drive.size
    settings: dict[str, Any] = {
        "fs": rate_hz,
        "window": tukey(n, 0.02),
        "nperseg": n,
        "detrend": False,
    }
    hz, cross = csd(drive, response, **settings)
    _, power = welch(drive, **settings)
    lines = _lines(power)
    if len(lines) >= FEWEST_STEPS:
        return _of_steps(hz, cross, power, lines, n / rate_hz)
    how = (
        f"frequency response of the whole record of {n / rate_hz:.4g} s, a swept sine: one "
        f"spectrum, {rate_hz / n:.3g} Hz apart, no average, a window that tapers the first and the "
        "last hundredth"
    )
    return _spectrum(hz, cross, power, how)


def _of_noise(rate_hz: float, drive: Values, response: Values) -> Spectrum:
    """Averaged spectra of segments under a Hann window, half overlapping."""
    from scipy.signal import csd, welch

    size = drive.size // SEGMENTS
    settings: dict[str, Any] = {
        "fs": rate_hz,
        "window": "hann",
        "nperseg": size,
        "noverlap": size // 2,
    }
    hz, cross = csd(drive, response, **settings)
    _, power = welch(drive, **settings)
    count = (drive.size - size) // (size - size // 2) + 1
    how = (
        f"frequency response of a random drive: {count} segments of {size / rate_hz:.4g} s, half "
        f"overlapping, Hann window, spectra {rate_hz / size:.3g} Hz apart averaged (H1)"
    )
    return replace(_spectrum(hz, cross, power, how), smeared_hz=rate_hz / size)


def _spectrum(
    hz: Values,
    cross: Values,
    power: Values,
    how: str,
    *,
    added_hz: float = 0.0,
) -> Spectrum:
    """H1 over the range in which the drive has power."""
    first, last = _driven(_smooth(power))
    cut = slice(first, last)
    known = power[cut] > 0.0
    low, high = float(hz[cut][0]), float(hz[cut][-1])
    how += f"; from {low:.4g} to {high:.4g} Hz, the range in which the drive has power"
    return Spectrum(
        hz=hz[cut][known],
        response=(cross[cut] / np.where(known, power[cut], 1.0))[known],
        drive=np.sqrt(power[cut])[known],
        how=how,
        added_hz=added_hz,
    )


def _smooth(power: Values, half: int = 0) -> Values:
    """The power averaged over the bins up to `half` away."""
    half = half or max(power.size // 1000, 1)
    return np.convolve(power, np.full(2 * half + 1, 1.0 / (2 * half + 1)), mode="same")


def _driven(power: Values) -> tuple[int, int]:
    """The range in which a smoothed spectrum has power, without the slopes at its ends."""
    # That of a logarithmic sweep falls as 1/f, that of a linear one is even.
    rising = power * np.arange(power.size)
    driven = (power > WEAKEST * power[1:].max()) | (rising > WEAKEST * rising.max())
    top = int(np.argmax(power[1:])) + 1
    weak = np.flatnonzero(~driven)
    first = max(int(weak[weak < top].max(initial=0)) + 1, 1)
    last = int(weak[weak > top].min(initial=power.size))
    inside = max((last - first) // 5, 1)
    while first < last - 1 and power[first] < EDGE * np.median(power[first : first + inside]):
        first += 1
    while last > first + 1 and power[last - 1] < EDGE * np.median(power[last - inside : last]):
        last -= 1
    return first, last


# -- impacts --------------------------------------------------------------------------------------


def _of_impacts(rate_hz: float, drive: Values, response: Values) -> Spectrum:
    """The averaged spectra of equally long stretches, each from just before a strike."""
    starts = _strikes(np.abs(drive))
    lead = max(int(0.002 * drive.size / len(starts)), 1)
    ends = [*starts[1:], drive.size]
    size = min(end - start for start, end in zip(starts, ends, strict=True)) - lead
    starts = starts[starts >= lead]
    if size < 64 or not starts.size:
        raise SpectrumError("the impacts follow each other too fast; let each one ring out")
    strikes = np.array([drive[i - lead : i - lead + size] for i in starts])
    rings = np.array([response[i - lead : i - lead + size] for i in starts])
    window, added_hz, words = _window(rings, rate_hz, lead)
    X = np.fft.rfft(strikes * window, axis=1)
    Y = np.fft.rfft(rings * window, axis=1)
    count = len(starts)
    how = (
        f"frequency response of {count} impact{'s' if count > 1 else ''}: stretches of "
        f"{size / rate_hz:.4g} s, spectra {rate_hz / size:.3g} Hz apart averaged (H1), {words}"
    )
    hz = np.fft.rfftfreq(size, 1.0 / rate_hz)
    cross, power = np.mean(np.conj(X) * Y, axis=0), np.mean(np.abs(X) ** 2, axis=0)
    return _spectrum(hz, cross, power, how, added_hz=added_hz)


def _strikes(size: Values) -> Indices:
    """Where each strike begins: the first reading above the threshold after a quiet time."""
    above = np.flatnonzero(size > STRIKES * size.max())
    quiet = max(size.size // 100, 16)
    return above[np.diff(above, prepend=-quiet - 1) > quiet]


def _window(rings: Values, rate_hz: float, lead: int) -> tuple[Values, float, str]:
    """The window on each stretch, the half-width that it adds, and what it is in words."""
    size = rings.shape[1]
    tail = np.sqrt(np.mean(rings[:, -size // 20 :] ** 2))
    if tail <= DECAYED * np.abs(rings).max():
        return np.ones(size), 0.0, "no window: each one has rung out"
    t = np.maximum(np.arange(size) - lead, 0) / rate_hz
    decay = math.log(1.0 / DECAYED) / float(t[-1])
    words = (
        f"exponential window that falls to {100 * DECAYED:g} %, whose damping is taken off again"
    )
    return np.exp(-decay * t), decay / (2.0 * math.pi), words


# -- stepped sine ---------------------------------------------------------------------------------


def _lines(power: Values) -> list[tuple[int, int]]:
    """The lines of a stepped sine in its spectrum, each from its first bin up to behind its last.

    Empty where there are no gaps, as with a sweep, or with steps so short that their lines overlap.
    """
    first, last = _driven(_smooth(power))
    cut = power[first:last]
    level = _smooth(cut, max(cut.size // 30, 50))
    strong = cut > GAP * level
    if np.count_nonzero(strong) > MOST_STRONG * cut.size:
        return []
    edges = np.flatnonzero(np.diff(strong.astype(int), prepend=0, append=0))
    pairs = edges.reshape(-1, 2) + first
    return [(int(a), int(b)) for a, b in pairs]


def _of_steps(
    hz: Values, cross: Values, power: Values, lines: list[tuple[int, int]], seconds: float
) -> Spectrum:
    """Each line by itself: what its bins share is the response at its frequency."""
    whole = np.array([power[a:b].sum() for a, b in lines])
    clear = whole > WEAKEST * whole.max()
    at = np.array([np.average(hz[a:b], weights=power[a:b]) for a, b in lines])
    response = np.array([cross[a:b].sum() for a, b in lines]) / whole
    how = (
        f"frequency response of the whole record of {seconds:.4g} s, a sine in "
        f"{np.count_nonzero(clear)} steps: one spectrum under a window that tapers the first and "
        "the last hundredth, averaged over each step's line (H1)"
    )
    return Spectrum(at[clear], response[clear], np.sqrt(whole[clear]), how)
