"""Which mode each measured line is, how sure that is, and what does not fit.

The match is free of scale: modulus, density and thickness move all frequencies by one factor, so
that factor is found along with the match, and only the pattern of the ratios counts. Every way to
pair the list with the modes is weighed as a probability (`alignment`); a line's name is the mode
that holds most of it over all pairings and scales, and a line for which no mode holds half of it is
left unexplained.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from saltline.arrays import Values
from saltline.measured_list import Measured
from saltline.modes import Mode, Modes
from saltline.naming.chances import chances_of
from saltline.naming.findings import CONFIDENT, Counts, Naming, Setting, finding_of, residual
from saltline.naming.suspects import Suspicion, suspicions
from saltline.record import record

LARGEST_SCALE = 1.35
"""The common factor is looked for between 1/this and this,"""

WIDE_SCALE = 2.5
"""... and between 1/this and this where most lines are left over though nodes were counted: a wrong
size in the file moves everything far."""

NAMED = 0.5
"""A line gets a name where a mode, with those that nothing tells apart from it, is at least so
likely."""

ALIKE = 0.01
"""Modes closer than this, in ln f, cannot be told apart by frequency;"""

LEAST = 0.1
"""... yet no line is given a mode that is less likely than this."""

MAIN = 3
"""The scale is that of the family with most lines where it has at least so many, else of all."""

DUE = 0.006
"""Two modes are due at a ratio where they are so near to it, relative."""

RUNNER_UP = 0.1
"""The next likely mode is told where it is at least so likely."""


@record
class Match:
    """What one measured line is.

    mode:       the mode that the frequency and the rest of the list support, or None.
    residual:   f / (scale p) - 1; NaN where unexplained.
    finding:    "agrees", "off", "count differs" or "unexplained".
    why:        the finding in a sentence; "" where there is nothing to say.
    confidence: probability that the line is this mode; where unexplained, that it is none.
    runner_up:  the next likely mode and its probability, where that is at least `RUNNER_UP`.
    due:        what is to be counted on the mode.
    """

    measured: Measured
    mode: Mode | None
    residual: float
    finding: str
    why: str
    confidence: float = 1.0
    runner_up: tuple[Mode, float] | None = None
    due: Mapping[str, int | None] = field(default_factory=dict)

    @property
    def is_sure(self) -> bool:
        """Whether the name can be relied on."""
        return self.mode is not None and self.confidence >= CONFIDENT


@record
class Unseen:
    """A predicted mode that is not in the list, and why it may be missing."""

    mode: Mode
    why: str


@record
class Identification:
    """The whole list named.

    scale:   measured over predicted, the common factor.
    matches: in the order of the list.
    tolerance: relative difference from the scaled prediction that agrees.
    unseen:  the modes that no line was named; filled in by `check`,
    modes:   and so are those that the list was compared with.
    """

    scale: float
    matches: tuple[Match, ...]
    tolerance: float
    unseen: tuple[Unseen, ...] = ()
    modes: Modes | None = None

    @property
    def measured(self) -> tuple[Measured, ...]:
        """The list."""
        return tuple(match.measured for match in self.matches)

    @property
    def fits(self) -> bool:
        """Whether every line agrees with a mode."""
        return all(match.finding == "agrees" for match in self.matches)


def identify(
    measured: Sequence[Measured],
    modes: Sequence[Mode],
    *,
    counts: Counts,
    tolerance: float,
    unexcited: Collection[int] = (),
    largest_scale: float = LARGEST_SCALE,
) -> Identification:
    """Name every measured line, or leave it honestly unexplained.

    measured:  at least one line.
    modes:     the predicted modes, by frequency, reaching well beyond the list.
    counts:    mode -> what an observer would count; asked for only where a count matters.
    tolerance: relative difference from the scaled prediction that still agrees.
    unexcited: ranks of the modes that the drive cannot excite.
    largest_scale: how far the common factor may lie from 1.
    """
    doubts = [
        _unless_seen(i, doubt, measured, modes) for i, doubt in enumerate(suspicions(measured))
    ]
    chances = chances_of(measured, modes, doubts, counts, unexcited, largest_scale)
    names = _supported(_names(chances, modes), measured)
    named = [
        (modes[j].family, math.log(row.frequency_hz / modes[j].frequency_hz))
        for row, j in zip(measured, names, strict=True)
        if j is not None
    ]
    scale = math.exp(_common(_of_the_main_family(named), tolerance)) if named else 1.0
    setting = Setting(modes, counts, scale, tolerance, len(measured), len(named))
    matches = tuple(
        _match(
            _naming(
                i, measured[i], names, chances[i], modes, _left_to_doubt(i, doubts, names, modes)
            ),
            setting,
        )
        for i in range(len(measured))
    )
    return Identification(scale, matches, tolerance)


def _match(naming: Naming, setting: Setting) -> Match:
    finding, why = finding_of(naming, setting)
    mode = naming.mode
    off = math.nan if mode is None else residual(naming.row, mode, setting)
    due = {} if mode is None else setting.counts(mode)
    return Match(naming.row, mode, off, finding, why, naming.confidence, naming.runner_up, due)


def _of_the_main_family(named: Sequence[tuple[str, float]]) -> list[float]:
    """The offsets of the family with most lines: others hang on other constants."""
    ((family, many),) = Counter(family for family, _ in named).most_common(1)
    if many < MAIN:
        return [offset for _, offset in named]
    return [offset for other, offset in named if other == family]


def _common(offsets: Sequence[float], tolerance: float) -> float:
    """The centre of ln f - ln p: the mean, with what lies beyond the tolerance drawn in to it.

    Huber (1964), Ann. Math. Statist. 35, 73, from memory: one stray line moves the factor little.
    """
    r = np.array(offsets)
    centre = float(np.median(r))
    for _ in range(100):
        before = centre
        centre += float(np.clip(r - centre, -tolerance, tolerance).mean())
        if abs(centre - before) < 1e-12:
            break
    return centre


# -- the names ------------------------------------------------------------------------------------


def _names(chances: Values, modes: Sequence[Mode]) -> list[int | None]:
    """The mode of each line, the likeliest pair first, no mode more often than it is there."""
    log_p = np.log([mode.frequency_hz for mode in modes])
    together = chances @ (np.abs(log_p[:, None] - log_p) < ALIKE)
    left = [mode.multiplicity for mode in modes]
    names: list[int | None] = [None] * chances.shape[0]
    # Rounded, so that of two that are alike the same is taken on every machine.
    likely = np.round(chances, 6)
    for i, j in sorted(np.argwhere(together >= NAMED).tolist(), key=lambda p: (-likely[*p], *p)):
        if names[i] is None and left[j] > 0 and likely[i, j] >= LEAST:
            names[i] = j
            left[j] -= 1
    return names


def _supported(names: Sequence[int | None], measured: Sequence[Measured]) -> Sequence[int | None]:
    """The names, none where a single line without a count would have one.

    With a factor that is free its frequency alone could be that of any mode.
    """
    named = [i for i, j in enumerate(names) if j is not None]
    if len(named) == 1 and not measured[named[0]].counts:
        return [None] * len(names)
    return names


def _unless_seen(
    i: int, doubt: Suspicion, measured: Sequence[Measured], modes: Sequence[Mode]
) -> Suspicion:
    """What line i may be: no harmonic of a line of its own family, as both were seen to move, where
    two modes of that family are due at their ratio.
    """
    family = measured[i].family
    if not doubt.harmonic or family is None or measured[doubt.other].family != family:
        return doubt
    hz = np.array([mode.frequency_hz for mode in modes if mode.family == family])
    is_due = np.abs(hz[:, None] / hz / doubt.ratio - 1.0) <= DUE
    return replace(doubt, harmonic="") if is_due.any() else doubt


def _left_to_doubt(
    i: int, doubts: Sequence[Suspicion], names: Sequence[int | None], modes: Sequence[Mode]
) -> Suspicion:
    """What line i may be besides its name: no harmonic where its mode is due at that ratio.

    So are the modes of torsion of a bar, at 1 : 2 : 3.
    """
    doubt = doubts[i]
    here, there = names[i], names[doubt.other]
    if not doubt.harmonic or here is None or there is None:
        return doubt
    due = modes[here].frequency_hz / modes[there].frequency_hz
    is_due = abs(due / doubt.ratio - 1.0) <= DUE
    return replace(doubt, harmonic="") if is_due else doubt


def _naming(
    i: int,
    row: Measured,
    names: Sequence[int | None],
    chance: Values,
    modes: Sequence[Mode],
    doubt: Suspicion,
) -> Naming:
    """Line i with its name, how sure that is, and the next likely mode."""
    j = names[i]
    others = np.where(np.arange(len(modes)) == j, 0.0, chance)
    next_best = int(np.argmax(others))
    likely = float(others[next_best])
    return Naming(
        row,
        None if j is None else modes[j],
        float(max(0.0, 1.0 - chance.sum()) if j is None else chance[j]),
        (modes[next_best], likely) if likely >= RUNNER_UP else None,
        doubt,
        0 if j is None or j not in names[:i] else names.index(j) + 1,
    )
