"""What speaks for each way to pair measured lines with modes, but for the sums over all of them.

Only numbers are known here: logarithms of frequencies, and what a count makes of each pair. A
pairing takes lines and modes both in order, each at most once; two neighbouring lines may stand in
the other order where their modes are of different families or closer than `EXCHANGED`. Its weight
is a probability, up to a factor that all pairings share:

    product over pairs   density of ln f - ln p - ln s  *  what the count makes of it
    product over the rest of the lines   the density of lines that are no mode
    product over the gaps between the modes paired   the probability of so many unnoticed modes
    prior of ln s, prior of the scatter

The numbers are choices, from what is common at the bench (common practice, no source).
"""

from __future__ import annotations

import math

import numpy as np

from saltline.arrays import Values
from saltline.record import record

SCATTERS = (0.004, 0.009, 0.018, 0.035)
"""Standard deviations of ln f about the scaled prediction that are weighed against each other,"""

SCATTER_PRIORS = (0.2, 0.4, 0.3, 0.1)
"""... and what is thought of each before the list is seen."""

STRAYS = 0.05
"""The part of lines that stray for a reason of their own, such as a sensor on an antinode,"""

STRAY_SCATTER = 0.04
"""... and how far, standard deviation of ln f."""

GATE = 0.12
"""No line belongs to a mode that is farther off than this, in ln f."""

SCALE_SCATTER = 0.10
"""Standard deviation of ln s: how roughly a specimen is known,"""

SCALE_UNKNOWN = 0.3
"""... and the probability that nothing is known of it within the range looked at."""

NOTICED = 0.7
"""Probability that a mode is noticed,"""

SKIPPED = 0.08
"""... that the search goes on beyond a range that is skipped,"""

SKIPPED_ON = 0.85
"""... and that such a range goes on for one more mode."""

BEGUN_LATE = 0.4
"""Probability that the search begins above the first modes,"""

BEGUN_ON = 0.9
"""... and that it begins above one more mode yet."""

EXCHANGED = 0.03
"""Modes of one family closer than this, in ln f, may come in the other order."""


@record
class Lines:
    """Measured lines, by frequency.

    log_f:   ln of the frequency, shape (n,).
    own:     relative standard uncertainty that the list states, 0 where it states none, shape (n,).
    foreign: density of lines that are no mode, a unit of ln f, shape (n,).
    """

    log_f: Values
    own: Values
    foreign: Values


@record
class Ladder:
    """Modes, by frequency; a mode that two lines may show stands twice.

    log_p:  ln of the predicted frequency, shape (m,).
    extra:  scatter beyond the common one (relative), shape (m,).
    step:   1 for a mode that is to be noticed, 0 for one that nobody misses, shape (m,).
    chance: probability of being noticed relative to a common mode's, shape (m,).
    family: a number for each family, shape (m,).
    """

    log_p: Values
    extra: Values
    step: Values
    chance: Values
    family: Values


@record
class Model:
    """What depends on neither scale nor scatter.

    log_weight: of each pair but for how far line and mode are apart, shape (n, m).
    T:          the probability that a mode is the next to be paired after another (row 0: after
                none), shape (m + 1, m).
    exchanged:  the same where the two may come in the other order, else 0, shape (m, m).
    place:      how many modes there are to be noticed up to each state, shape (m + 1,).
    silence:    the probability that k modes pass and none is noticed.
    """

    lines: Lines
    ladder: Ladder
    log_weight: Values
    T: Values
    exchanged: Values
    place: Values
    silence: Values


def model_of(lines: Lines, ladder: Ladder, fits: Values) -> Model:
    """The model of a list.

    fits: ln of what the count and the stated family make of each pair, against a line that is no
          mode; -inf where a pair cannot be; shape (n, m).
    """
    place = np.cumsum(ladder.step).astype(int)
    missed = np.maximum(place[None, :] - place[:, None] - 1, 0)
    gap, first = _gaps(place.size + 1)
    after = np.triu(gap[missed], 1)
    near = np.abs(ladder.log_p[None, :] - ladder.log_p[:, None]) < EXCHANGED
    other = ladder.family[None, :] != ladder.family[:, None]
    return Model(
        lines=lines,
        ladder=ladder,
        log_weight=fits - np.log(lines.foreign)[:, None] + np.log(ladder.chance),
        T=np.vstack([first[np.maximum(place - 1, 0)], after]),
        exchanged=np.where(near | other, after, 0.0),
        place=np.concatenate([[0], place]),
        silence=gap[::-1].cumsum()[::-1],
    )


def _gaps(size: int) -> tuple[Values, Values]:
    """The probability that k modes pass before one is noticed: after another, and at first."""
    k = np.arange(size)
    common = NOTICED * (1.0 - NOTICED) ** k
    after = (1.0 - SKIPPED) * common + SKIPPED * (1.0 - SKIPPED_ON) * SKIPPED_ON**k
    first = (1.0 - BEGUN_LATE) * common + BEGUN_LATE * (1.0 - BEGUN_ON) * BEGUN_ON**k
    return after, first


def log_prior(log_scales: Values, edge: float) -> Values:
    """ln of the density of ln s."""
    known = _normal(log_scales, SCALE_SCATTER)
    return np.asarray(np.log((1.0 - SCALE_UNKNOWN) * known + SCALE_UNKNOWN / (2.0 * edge)))


def _normal(r: Values, spread: Values | float) -> Values:
    return np.asarray(np.exp(-((r / spread) ** 2) / 2.0) / (spread * math.sqrt(2.0 * math.pi)))


@record
class Grid:
    """Points at which the sums are made: ln s and scatter, each of shape (S,)."""

    log_scales: Values
    scatters: Values


@record
class Weights:
    """The modes within reach of a line.

    near, states: which modes they are, and which rows of a state; a state's row 0 is "none".
    pair:         the weight of each pair at each point of the grid, shape (modes, S).
    """

    near: slice
    states: slice
    pair: Values


def all_weights(model: Model, grid: Grid) -> list[Weights]:
    """The weights of each line's pairs, line by line."""
    return [_weights(model, i, grid) for i in range(model.lines.log_f.size)]


def _weights(model: Model, i: int, grid: Grid) -> Weights:
    lines, ladder, s = model.lines, model.ladder, grid.log_scales
    low = int(np.searchsorted(ladder.log_p, lines.log_f[i] - s.max() - GATE))
    high = int(np.searchsorted(ladder.log_p, lines.log_f[i] - s.min() + GATE))
    near = slice(low, high)
    r = lines.log_f[i] - ladder.log_p[near, None] - s
    spread = np.sqrt(grid.scatters**2 + lines.own[i] ** 2 + ladder.extra[near, None] ** 2)
    density = (1.0 - STRAYS) * _normal(r, spread) + STRAYS * _normal(r, STRAY_SCATTER)
    pair = np.exp(model.log_weight[i, near])[:, None] * np.where(np.abs(r) <= GATE, density, 0.0)
    return Weights(near, slice(low + 1, high + 1), np.asarray(pair))
