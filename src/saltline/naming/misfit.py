"""What the pattern of the residuals says: which lines miss, by how much, and what does that.

A residual is r = ln f - ln p, measured over predicted. Patterns are looked for by least squares
among the lines of one family that have a name: a constant alone; a constant and one line that is
off by itself; a constant and a term p^(-1/4), largest for the low modes, as a clamp that gives
makes it; a constant and a term 1/p, that falls off faster, as tension makes it; a constant and a
term p, largest for the high modes, as shear makes it. One is spoken of
where Student's test finds it beyond `CHANCE` and its effect is larger than `LEAST`; of several the
one that leaves the smallest residuals. The rules of what does which are common practice, no source.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from saltline.arrays import Values
from saltline.modes import Mode, Modes
from saltline.naming.findings import name_of
from saltline.naming.identify import Identification, Match
from saltline.nodes import BeamPattern, pattern_of
from saltline.specimen import Specimen

CHANCE = 0.01
"""A pattern that chance makes more often than this is not spoken of."""

LEAST = 0.01
"""... nor one whose effect is smaller than this, relative."""

ENOUGH = 5
"""So many lines of one family at least show that one is off, or that there is a trend."""

READING = 0.002
"""Residuals are not taken to scatter less than this, relative: frequencies are read no better."""

SIMILAR = 3
"""So many counts at least, all wrong by the same, are no accident."""


@dataclass(frozen=True, slots=True)
class _Named:
    """The lines of one family that have a name, by frequency.

    log_p: ln of the prediction, r: ln of measured over predicted, each of shape (n,).
    """

    modes: tuple[Mode, ...]
    log_p: Values
    r: Values


@dataclass(frozen=True, slots=True)
class _Pattern:
    """A pattern found.

    kind:    "one", "low" or "high".
    effect:  of the line that is off; or between the line that is moved most and the least.
    scatter: what is left, standard deviation.
    place:   the line that is off, for "one".
    """

    kind: str
    effect: float
    scatter: float
    place: int = 0


def misfit(outcome: Identification) -> list[str]:
    """Remarks on the residuals of a list, the weightiest first; none where the data carry none."""
    modes = outcome.modes
    if modes is None:
        return []
    families = Counter(match.mode.family for match in outcome.matches if match.mode is not None)
    if not families:
        return []
    main = _named(outcome.matches, families.most_common(1)[0][0])
    pattern = _pattern(main)
    found = [] if pattern is None else [_in_words(pattern, main, modes)]
    rest = main if pattern is None else _without(pattern, main)
    for family in families:
        if family != main.modes[0].family:
            found += _other_family(_named(outcome.matches, family), rest)
    return found + _counts_shifted(outcome.matches)


def residual_pattern(modes: Modes, lines: Sequence[tuple[Mode, float, float]]) -> list[str]:
    """The pattern that a fit has left, in words; none where chance makes it.

    lines: of each the mode, its frequency by the fit and the measured one, Hz.
    """
    families = Counter(mode.family for mode, _, _ in lines)
    if not families:
        return []
    main = families.most_common(1)[0][0]
    own = sorted((line for line in lines if line[0].family == main), key=lambda line: line[1])
    log_p = np.log([fitted_hz for _, fitted_hz, _ in own])
    r = np.log([measured_hz for _, _, measured_hz in own]) - log_p
    named = _Named(tuple(mode for mode, _, _ in own), log_p, r)
    pattern = _pattern(named)
    return [] if pattern is None else [_in_words(pattern, named, modes)]


def _named(matches: Sequence[Match], family: str) -> _Named:
    pairs = sorted(
        (
            (match.mode, match.measured.frequency_hz)
            for match in matches
            if match.mode is not None and match.mode.family == family
        ),
        key=lambda pair: pair[0].frequency_hz,
    )
    log_p = np.log([mode.frequency_hz for mode, _ in pairs])
    return _Named(tuple(mode for mode, _ in pairs), log_p, np.log([hz for _, hz in pairs]) - log_p)


# -- patterns -------------------------------------------------------------------------------------


def _pattern(named: _Named) -> _Pattern | None:
    """The pattern that explains the residuals best, None where chance does as well."""
    if named.r.size < ENOUGH:
        return None
    p = np.exp(named.log_p - named.log_p[0])
    tried = [
        _one(named.r),
        _trend("low", p**-0.25, named.r),
        _trend("low", 1.0 / p, named.r),
        _trend("high", p / p[-1], named.r),
    ]
    found = [pattern for pattern in tried if pattern is not None]
    return min(found, key=lambda pattern: pattern.scatter, default=None)


def _one(r: Values) -> _Pattern | None:
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
    return _Pattern("one", off, scatter, i)


def _trend(kind: str, g: Values, r: Values) -> _Pattern | None:
    """A constant and a term a g, where a is not nothing."""
    n = r.size
    centred = g - g.mean()
    a = float(centred @ r / (centred @ centred))
    left = r - r.mean() - a * centred
    scatter = max(math.sqrt(float(left @ left) / (n - 2)), READING)
    effect = a * float(g.max() - g.min())
    chance = 3 * _two_sided(abs(a) * math.sqrt(float(centred @ centred)) / scatter, n - 2)
    if chance > CHANCE or abs(effect) < LEAST:
        return None
    return _Pattern(kind, effect, scatter)


def _two_sided(t: float, freedom: int) -> float:
    """The chance that Student's t is so far from zero."""
    from scipy.special import stdtr

    return 2.0 * float(stdtr(freedom, -abs(t)))


def _without(pattern: _Pattern, named: _Named) -> _Named:
    """The lines but for the one that is off."""
    if pattern.kind != "one":
        return named
    kept = [i for i in range(named.r.size) if i != pattern.place]
    return _Named(tuple(named.modes[i] for i in kept), named.log_p[kept], named.r[kept])


# -- in words -------------------------------------------------------------------------------------


def _in_words(pattern: _Pattern, named: _Named, modes: Modes) -> str:
    scatter = f"{100.0 * pattern.scatter:.1f} %"
    low, high = name_of(named.modes[0]), name_of(named.modes[-1])
    percent = f"{100.0 * abs(math.expm1(pattern.effect)):.1f} %"
    side = "below" if pattern.effect < 0.0 else "above"
    falls = pattern.effect < 0.0
    if pattern.kind == "one":
        mode = named.modes[pattern.place]
        why = _local_mass(mode) if falls else _ONE_HIGH
        return (
            f"{name_of(mode)} alone lies {percent} {side} the others, which scatter by {scatter}: "
            f"{why}"
        )
    if pattern.kind == "low":
        what = "fall short" if falls else "lie high"
        why = _low_short(modes.specimen) if falls else _LOW_HIGH
        return (
            f"the low modes {what} most: {low} lies {percent} {side} where {high} puts it, and "
            f"about this trend the lines scatter by {scatter}; {why}"
        )
    what = "fall short" if falls else "lie high"
    why = _high_short(modes) if falls else _HIGH_HIGH
    return (
        f"the high modes {what} most: {high} lies {percent} {side} where {low} puts it, and "
        f"about this trend the lines scatter by {scatter}; {why}"
    )


def _local_mass(mode: Mode) -> str:
    """What lowers a single mode, and where it would have to be."""
    pattern = pattern_of(mode.shape) if mode.shape is not None else None
    where = ""
    if isinstance(pattern, BeamPattern) and pattern.antinodes:
        places = ", ".join(f"{1000.0 * x:.0f}" for x in pattern.antinodes)
        where = f" (at {places} mm)"
    return (
        f"a sensor, a cable or another small mass where this mode moves most{where} does that, or "
        "the line is another mode"
    )


def _low_short(specimen: Specimen) -> str:
    if any(hold.word != "free" for hold in specimen.boundary.values()):
        return (
            "a clamp that gives does that, as if the free length were longer, or a mass at a free "
            'end; "saltline predict --clamp" shows how much, "saltline fit" finds the stiffness'
        )
    return "a mass at an end, or a section that is not even, does that"


_ONE_HIGH = "something stiffens it where it bends most, or the line is another mode"
_LOW_HIGH = "tension, or hangers and supports that are stiffer than described, do that"
_HIGH_HIGH = "a wide strip that acts as a plate does that, or a mass in the file that is not there"


def _high_short(modes: Modes) -> str:
    if modes.theory == "euler":
        return "shear does that, which Euler and Bernoulli's theory leaves out; or added mass"
    return (
        "shear (a lower shear modulus, a thicker section) or added mass, as of a sensor, does that"
    )


def _other_family(other: _Named, main: _Named) -> list[str]:
    """Whether another family lies apart from the main one as a whole."""
    if main.r.size < 3:
        return []
    scatter = max(float(np.std(main.r, ddof=1)), READING)
    off = float(other.r.mean() - main.r.mean())
    if abs(off) < max(LEAST, 3.0 * scatter * math.sqrt(1.0 / other.r.size + 1.0 / main.r.size)):
        return []
    family, of = other.modes[0].family, main.modes[0].family
    side = "below" if off < 0.0 else "above"
    hangs = {
        "torsion": "it hangs on the shear modulus, and on how the ends hold the section",
        "edgewise": "it hangs on the width, and on how the ends hold in that plane",
        "flatwise": "it hangs on the thickness, and on how the ends hold in that plane",
        "axial": "it hangs on the length and the modulus alone",
    }
    why = hangs.get(family, "")
    return [f"{family} lies {100.0 * abs(math.expm1(off)):.1f} % {side} {of}: {why}"]


def _counts_shifted(matches: Sequence[Match]) -> list[str]:
    """Whether all counts are wrong by the same."""
    off = [
        match.measured.counts["nodes"] - due
        for match in matches
        if match.mode is not None
        and "nodes" in match.measured.counts
        and (due := match.due.get("nodes")) is not None
    ]
    if len(off) < SIMILAR or len(set(off)) > 1 or abs(off[0]) != 1:
        return []
    if off[0] > 0:
        return [
            "every count is one more than is due: a place where the specimen is held is no node"
        ]
    return ["every count is one less than is due: a node close to a free end is easily missed"]
