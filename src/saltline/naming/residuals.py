"""Patterns among the residuals of one family: a trend, a line alone, what a mass at a place does.

A residual is r = ln f - ln p, measured over predicted. Patterns are looked for by least squares: a
constant alone; a constant and one line that is off by itself; a constant and a term p^(-1/4),
largest for the low modes, as a clamp that gives makes it; a constant and a term 1/p, that falls off
faster, as a preload along a beam makes it; a constant and a term p, largest for the high modes, as
shear makes it; a constant and a term phi(x)^2, as a mass at x makes it. One is found where
Student's test puts it beyond `CHANCE` and its effect is larger than `LEAST`; of several the one
that leaves the smallest residuals. The rules of what does which are common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.forced.shapes import deflections_of
from saltline.modes import Mode
from saltline.naming.pairing import SCATTER_PRIORS, SCATTERS
from saltline.record import record

CHANCE = 0.01
"""A pattern that chance makes more often than this is not spoken of."""

LEAST = 0.01
"""... nor one whose effect is smaller than this, relative."""

ENOUGH = 5
"""So many lines of one family at least show that one is off, or what a mass does;"""

FEWEST = 3
"""... and so many at least show a trend, as a hint. They tell little of how they scatter, so that
is weighed as it is for the names."""

READING = 0.002
"""Residuals are not taken to scatter less than this, relative: frequencies are read no better."""

TRENDS = 3
"""So many trends are tried, each of which chance might make."""

SITES = 1
"""A mass is tried at so many places for each line that do not act alike; chance in random residuals
bears it out."""

LOOKED_AT = 201
"""Places along a beam at which a mass is tried."""

AS_GOOD = 1.3
"""A place is named too where it leaves no more than so many times what the best one leaves."""

MOST_SITES = 3
"""So many places are named."""

PLAINER = 0.6
"""A mass at a place is found where it leaves less than this part of what plainer patterns do."""


@record
class Named:
    """The lines of one family that have a name, by predicted frequency.

    log_p: ln of the prediction, r: ln of measured over predicted, each of shape (n,).
    """

    modes: tuple[Mode, ...]
    log_p: Values
    r: Values


@record
class Pattern:
    """A pattern found.

    kind:    "one", "low" (a term p^(-1/4)), "first" (1/p), "high" (p) or "mass".
    effect:  of the line that is off; or between the line that is moved most and the least.
    scatter: what is left, standard deviation.
    line:    the number of the line that is off, for "one".
    sites:   for "mass", where it may be (m from the start) and how large it is there (kg): the best
             place first, then what explains the list about as well.
    is_hint: whether it rests on fewer than `ENOUGH` lines.
    """

    kind: str
    effect: float
    scatter: float
    line: int = 0
    sites: tuple[tuple[float, float], ...] = ()
    is_hint: bool = False


def named_lines(lines: Sequence[tuple[Mode, float, float]], family: str) -> Named:
    """The lines of a family.

    lines: of each the mode, its predicted frequency and the measured one, Hz.
    """
    own = sorted((line for line in lines if line[0].family == family), key=lambda line: line[1])
    log_p = np.log([predicted_hz for _, predicted_hz, _ in own])
    r = np.log([measured_hz for _, _, measured_hz in own]) - log_p
    return Named(tuple(mode for mode, _, _ in own), log_p, r)


def pattern_of_lines(named: Named) -> Pattern | None:
    """The pattern that explains the residuals best, None where chance does as well."""
    if named.r.size < FEWEST:
        return None
    if named.r.size < ENOUGH:
        hint = _best(_trends(named))
        return None if hint is None else replace(hint, is_hint=True)
    plain = _best([_one(named.r), *_trends(named)])
    mass = _mass(named)
    limit = float(np.std(named.r, ddof=1)) if plain is None else PLAINER * plain.scatter
    return mass if mass is not None and mass.scatter < limit else plain


def without_the_one(pattern: Pattern | None, named: Named) -> Named:
    """The lines but for the one that is off, where one is."""
    if pattern is None or pattern.kind != "one":
        return named
    kept = [i for i in range(named.r.size) if i != pattern.line]
    return Named(tuple(named.modes[i] for i in kept), named.log_p[kept], named.r[kept])


def _best(tried: Sequence[Pattern | None]) -> Pattern | None:
    found = [pattern for pattern in tried if pattern is not None]
    return min(found, key=lambda pattern: pattern.scatter, default=None)


def _one(r: Values) -> Pattern | None:
    """The line that lies farthest from the others, where it lies too far."""
    n = r.size
    far = []
    for i in range(n):
        others = np.delete(r, i)
        scatter = max(float(np.std(others, ddof=1)), READING)
        off = float(r[i] - others.mean())
        far.append((abs(off) / scatter, off, scatter, i))
    t, off, scatter, i = max(far)
    chance = n * _two_sided(t / math.sqrt(1.0 + 1.0 / (n - 1)), n - 2)
    if chance > CHANCE or abs(off) < LEAST:
        return None
    return Pattern("one", off, scatter, i)


def _trends(named: Named) -> list[Pattern | None]:
    p = np.exp(named.log_p - named.log_p[0])
    return [
        _trend("low", p**-0.25, named.r),
        _trend("first", 1.0 / p, named.r),
        _trend("high", p / p[-1], named.r),
    ]


def _trend(kind: str, g: Values, r: Values) -> Pattern | None:
    """A constant and a term a g, where a is not nothing."""
    n = r.size
    centred = g - g.mean()
    size = math.sqrt(float(centred @ centred))
    if size == 0.0:  # all of one frequency
        return None
    a = float(centred @ r) / size**2
    left = r - r.mean() - a * centred
    scatter = max(math.sqrt(float(left @ left) / (n - 2)), READING)
    effect = a * float(g.max() - g.min())
    if n < ENOUGH:
        chance = _chance_of_few(abs(a) * size, float(left @ left), n - 2)
    else:
        chance = _two_sided(abs(a) * size / scatter, n - 2)
    if TRENDS * chance > CHANCE or abs(effect) < LEAST:
        return None
    return Pattern(kind, effect, scatter)


def _chance_of_few(size: float, squares: float, freedom: int) -> float:
    """The chance of so large an effect, the scatters weighed by what is thought of each before.

    squares: of what is left, a sum with so many degrees of freedom.
    """
    from scipy.special import ndtr

    sigma = np.array(SCATTERS)
    weight = np.array(SCATTER_PRIORS) * sigma**-freedom * np.exp(-squares / (2.0 * sigma**2))
    if not weight.sum() > 0.0:
        return 1.0
    return float(2.0 * ndtr(-size / sigma) @ weight / weight.sum())


def _mass(named: Named) -> Pattern | None:
    """A constant and a term -(m/2) phi(x)^2, of the mass m > 0 at the place x that fits best.

    phi is the shape of unit modal mass: Rayleigh's quotient with m in its denominator, to the first
    order.
    """
    places = _places(named.modes[0])
    if places.size == 0:
        return None
    phi2 = deflections_of([mode.shape for mode in named.modes], places[:, None]) ** 2
    n, r = named.r.size, named.r - named.r.mean()
    centred = phi2 - phi2.mean(axis=0)
    squares = np.maximum((centred**2).sum(axis=0), 1e-300)
    a = np.minimum(r @ centred, 0.0) / squares
    gain = a**2 * squares
    left = np.sqrt(np.maximum(float(r @ r) - gain, 0.0) / (n - 3))
    scatter = np.maximum(left, READING)
    j = int(np.argmax(gain))
    effect = float(a[j] * np.ptp(phi2[:, j]))
    chance = SITES * n * _two_sided(math.sqrt(float(gain[j])) / float(scatter[j]), n - 3)
    if chance > CHANCE or abs(effect) < LEAST:
        return None
    if _is_monotone(a[j] * phi2[:, j]):
        return None
    sites = tuple((float(places[k]), float(-2.0 * a[k])) for k in _as_good(left, scatter, j))
    return Pattern("mass", effect, float(scatter[j]), sites=sites)


def _is_monotone(effects: Values) -> bool:
    """Whether the lines, by frequency, are moved more and more, or less and less.

    So they are by a mass near a free end; a clamp that gives does much the same, and trends are
    spoken of as such.
    """
    steps = np.diff(effects)
    return bool(np.all(steps >= 0.0) or np.all(steps <= 0.0))


def _as_good(left: Values, scatter: Values, best: int) -> list[int]:
    """The places that explain the list about as well as the best one, which comes first."""
    padded = np.concatenate([[math.inf], left, [math.inf]])
    valleys = np.flatnonzero((padded[1:-1] <= padded[:-2]) & (padded[1:-1] < padded[2:]))
    good = [int(k) for k in valleys if scatter[k] <= AS_GOOD * scatter[best] and k != best]
    return [best, *sorted(good, key=lambda k: float(left[k]))][:MOST_SITES]


def _places(mode: Mode) -> Values:
    """Where along a beam a mass is tried, m; none for what does not bend out of its wide face."""
    shape = mode.shape
    if mode.family != "flatwise" or not isinstance(shape, BeamShape):
        return np.zeros(0)
    return np.linspace(shape.line.breaks[0], shape.line.breaks[-1], LOOKED_AT)


def _two_sided(t: float, freedom: int) -> float:
    """The chance that Student's t is so far from zero."""
    from scipy.special import stdtr

    return 2.0 * float(stdtr(freedom, -abs(t)))
