"""How likely each measured line is each mode, summed over all pairings, all scales, all scatters.

What a pairing weighs is in `pairing`. The sums run line by line, forward and backward (Rabiner
1989, Proc. IEEE 77, 257, from memory), at once for all points of a grid of scales and scatters:
first a coarse grid of scales, then a fine one about those that are worth it.
"""

from __future__ import annotations

import math

import numpy as np

from saltline.arrays import Values
from saltline.naming.pairing import (
    SCATTER_PRIORS,
    SCATTERS,
    Grid,
    Ladder,
    Lines,
    Model,
    Weights,
    all_weights,
    log_prior,
    model_of,
)
from saltline.record import record

GRID_STEP = 0.006
"""Step of ln s in the first search."""

ROUGH_SCATTER = 0.012
"""The scatter that is supposed in that search."""

FINE_STEP = 0.005
"""Step of ln s in the second search, for a single line; for n of them smaller by the root of n."""

WORTH = 9.0
"""Scales so much less likely than the likeliest, in natural logarithms, are given up."""

TINY = 1e-300
"""Keeps a weight that is nothing to rounding from being divided by, or taken the logarithm of."""

MOST_SCALES = 80
"""So many scales at most are weighed in the second search."""


def posterior(lines: Lines, ladder: Ladder, fits: Values, *, edge: float) -> Values:
    """The probability that each line is each mode, shape (n, m); what is left of 1 is "no mode".

    fits: ln of what the count and the stated family make of each pair, against a line that is no
          mode; -inf where a pair cannot be; shape (n, m).
    edge: ln s is looked for between -edge and edge.
    """
    model = model_of(lines, ladder, fits)
    coarse = np.linspace(-edge, edge, 1 + 2 * math.ceil(edge / GRID_STEP))
    rough = Grid(coarse, np.full(coarse.size, ROUGH_SCATTER))
    evidence = _forward(model, rough, all_weights(model, rough)).log_total
    fine = _worth_weighing(coarse, evidence + log_prior(coarse, edge), lines.log_f.size)
    scales, scatters = (v.ravel() for v in np.meshgrid(fine, SCATTERS, indexing="ij"))
    prior = log_prior(fine, edge)[:, None] + np.log(SCATTER_PRIORS)
    return _marginals(model, Grid(scales, scatters), prior.ravel())


def _worth_weighing(coarse: Values, evidence: Values, count: int) -> Values:
    """The likely scales among the coarse ones, each split as finely as so many lines ask for."""
    spacing = float(coarse[1] - coarse[0])
    split = math.ceil(spacing * math.sqrt(count) / FINE_STEP)
    order = np.argsort(-evidence, kind="stable")[: max(1, MOST_SCALES // split)]
    worth = np.sort(coarse[order[evidence[order] > evidence[order[0]] - WORTH]])
    offsets = ((np.arange(split) + 0.5) / split - 0.5) * spacing
    return np.asarray((worth[:, None] + offsets).ravel())


# -- the sums -------------------------------------------------------------------------------------


@record
class _Sums:
    """The weight of all pairings of the lines before (or from) each, by the last mode paired.

    stages:    for each number of lines, shape (m + 1, S); row 0 is "none yet". Each is scaled so
               that its largest is 1 in every column,
    log_sizes: and ln of what was taken out, each of shape (S,).
    log_total: ln of the weight of all pairings, shape (S,).
    """

    stages: list[Values]
    log_sizes: list[Values]
    log_total: Values


def _tail(model: Model, grid: Grid) -> Values:
    """The probability that no mode above the last pair is noticed, shape (m + 1, S)."""
    top = np.searchsorted(model.ladder.log_p, model.lines.log_f[-1] - grid.log_scales)
    missed = np.maximum(model.place[top][None, :] - model.place[:, None], 0)
    return np.asarray(model.silence[missed])


def _forward(model: Model, grid: Grid, weights: list[Weights]) -> _Sums:
    state = np.zeros((model.place.size, grid.log_scales.size))
    state[0] = 1.0
    stages, log_sizes = [state], [np.zeros(grid.log_scales.size)]
    for i, here in enumerate(weights):
        new = state.copy()
        new[here.states] += here.pair * (model.T[:, here.near].T @ state)
        if i > 0:
            # This line takes the lower mode of two, the line before it the higher.
            last, shrunk = weights[i - 1], np.exp(log_sizes[i - 1] - log_sizes[i])
            lower = here.pair * (model.T[:, here.near].T @ stages[i - 1])
            upper = last.pair * (model.exchanged[here.near, last.near].T @ lower)
            new[last.states] += upper * shrunk
        size = new.max(axis=0)
        state = new / size
        stages.append(state)
        log_sizes.append(log_sizes[-1] + np.log(size))
    total = (state * _tail(model, grid)).sum(axis=0)
    return _Sums(stages, log_sizes, log_sizes[-1] + np.log(np.maximum(total, TINY)))


def _backward(model: Model, grid: Grid, weights: list[Weights]) -> _Sums:
    state = _tail(model, grid)
    stages, log_sizes = [state], [np.zeros(grid.log_scales.size)]
    for i in reversed(range(len(weights))):
        here = weights[i]
        new = state + model.T[:, here.near] @ (here.pair * state[here.states])
        if i + 1 < len(weights):
            following, shrunk = weights[i + 1], np.exp(log_sizes[-2] - log_sizes[-1])
            upper = here.pair * stages[-2][here.states] * shrunk
            lower = following.pair * (model.exchanged[following.near, here.near] @ upper)
            new += model.T[:, following.near] @ lower
        size = new.max(axis=0)
        state = new / size
        stages.append(state)
        log_sizes.append(log_sizes[-1] + np.log(size))
    return _Sums(stages[::-1], log_sizes[::-1], log_sizes[-1] + np.log(state[0]))


def _marginals(model: Model, grid: Grid, log_prior: Values) -> Values:
    """The probability of each pair, all points of the grid taken together."""
    weights = all_weights(model, grid)
    before, after = _forward(model, grid, weights), _backward(model, grid, weights)
    log_share = before.log_total + log_prior
    share = np.exp(log_share - log_share.max())
    share /= share.sum()
    # Line by line: "no mode", a mode in order, and as first or second of two that are exchanged.
    paired = [
        here.pair * (model.T[:, here.near].T @ stage) * following[here.states]
        for here, stage, following in zip(weights, before.stages, after.stages[1:], strict=False)
    ]
    foreign = [
        (stage * following).sum(axis=0)
        for stage, following in zip(before.stages, after.stages[1:], strict=False)
    ]
    for i in range(len(weights) - 1):
        first, second = _exchanged(model, before, after, weights, i)
        paired[i] += first * np.exp(after.log_sizes[i + 2] - after.log_sizes[i + 1])
        paired[i + 1] += second * np.exp(before.log_sizes[i] - before.log_sizes[i + 1])
    pairs = np.zeros(model.log_weight.shape)
    for i, here in enumerate(weights):
        whole = np.maximum(paired[i].sum(axis=0) + foreign[i], TINY)
        pairs[i, here.near] = (paired[i] / whole) @ share
    return pairs


def _exchanged(
    model: Model, before: _Sums, after: _Sums, weights: list[Weights], i: int
) -> tuple[Values, Values]:
    """The weight of line i with the higher of two modes and of line i + 1 with the lower one."""
    first, second = weights[i], weights[i + 1]
    lower = second.pair * (model.T[:, second.near].T @ before.stages[i])
    upper = first.pair * after.stages[i + 2][first.states]
    allowed = model.exchanged[second.near, first.near]
    return upper * (allowed.T @ lower), lower * (allowed @ upper)
