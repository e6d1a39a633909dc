"""A list and the modes as numbers: the probability of each pair by all that is known of both."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence

import numpy as np

from saltline.arrays import Values
from saltline.measured_list import Measured
from saltline.modes import Mode
from saltline.naming.alignment import posterior
from saltline.naming.counted import count_evidence
from saltline.naming.findings import Counts
from saltline.naming.pairing import Ladder, Lines
from saltline.naming.suspects import Suspicion

FOREIGN = 0.17
"""The part of a list that is no mode (common practice, no source), ..."""

MANY = 2.0
"""... or what the list itself shows, where that is more than so many times as much, ..."""

FEW = 2
"""... counted as if the list had so many lines more: short lists are to be doubted."""

NARROWEST = 1.0
"""A list is taken to reach over at least so much of ln f."""

UNEXCITED = 0.2
"""How often a mode is noticed that the drive cannot excite, relative to others: none is perfect."""

TWIN = 0.2
"""How often the second of a disc's two modes of one figure is noticed, relative to the first."""

OTHER_FAMILY = 0.02
"""Scatter of one family against another, relative: they hang on different constants."""

FARTHER = 1.15
"""Pairs are weighed so much beyond the largest common factor, for lines scatter."""


def chances_of(
    measured: Sequence[Measured],
    modes: Sequence[Mode],
    doubts: Sequence[Suspicion],
    counts: Counts,
    unexcited: Collection[int],
    largest_scale: float,
) -> Values:
    """The probability that each line is each mode, shape (lines, modes), in the order of the list.

    doubts, counts, unexcited, largest_scale: as for `saltline.naming.identify.identify`.
    """
    # Lines that differ by rounding alone stay in the order of the list, as modes do in theirs.
    order = sorted(range(len(measured)), key=lambda i: float(f"{measured[i].frequency_hz:.9g}"))
    rows, ranked = [measured[i] for i in order], [doubts[i] for i in order]
    owner = [j for j, mode in enumerate(modes) for _ in range(mode.multiplicity)]
    ladder = _ladder(modes, owner, unexcited)
    fits = _fits(rows, modes, counts, largest_scale)[:, owner]
    edge = math.log(largest_scale)
    found = posterior(_lines(rows, ranked, FOREIGN), ladder, fits, edge=edge)
    foreign = 1.0 - float(found.sum()) / len(rows)
    if foreign > MANY * FOREIGN:
        found = posterior(_lines(rows, ranked, foreign), ladder, fits, edge=edge)
    chances = np.zeros((len(rows), len(modes)))
    for column, j in enumerate(owner):
        chances[order, j] += found[:, column]
    return chances


def _lines(rows: Sequence[Measured], doubts: Sequence[Suspicion], foreign: float) -> Lines:
    """The lines, by frequency, for the sums; foreign: the part of them that is no mode."""
    hz = np.array([row.frequency_hz for row in rows])
    log_f = np.log(hz)
    reach = max(float(log_f[-1] - log_f[0]), NARROWEST) + 0.2
    density = foreign * (len(rows) + FEW) / reach * np.array([doubt.odds for doubt in doubts])
    own = np.array([row.uncertainty_hz for row in rows]) / 2.0 / hz
    return Lines(log_f, own, density)


def _ladder(modes: Sequence[Mode], owner: Sequence[int], unexcited: Collection[int]) -> Ladder:
    """The modes for the sums; one that has a twin stands twice."""
    families = sorted({mode.family for mode in modes}, key=lambda f: (f != "flatwise", f))
    family = np.array([families.index(modes[j].family) for j in owner])
    is_twin = np.array([k > 0 and owner[k - 1] == j for k, j in enumerate(owner)])
    is_dead = np.array([modes[j].rank in unexcited for j in owner])
    return Ladder(
        log_p=np.log([modes[j].frequency_hz for j in owner]),
        extra=np.where(family > 0, OTHER_FAMILY, 0.0),
        step=np.where(is_twin | is_dead, 0, 1),
        chance=np.where(is_twin, TWIN, 1.0) * np.where(is_dead, UNEXCITED, 1.0),
        family=family,
    )


def _fits(
    rows: Sequence[Measured], modes: Sequence[Mode], counts: Counts, largest: float
) -> Values:
    """What counts and stated families make of each pair, ln, shape (lines, modes)."""
    fits = np.zeros((len(rows), len(modes)))
    for i, row in enumerate(rows):
        for j, mode in enumerate(modes):
            ratio = row.frequency_hz / mode.frequency_hz
            if (
                row.family not in (None, mode.family)
                or not 1.0 / FARTHER < ratio * largest < FARTHER * largest**2
            ):
                fits[i, j] = -np.inf
            elif row.counts:
                fits[i, j] = count_evidence(row.counts, counts(mode))
    return fits
