"""The sums over all pairings, against the same sums written out pairing by pairing."""

import itertools
import math

import numpy as np
import pytest

from outside import record
from saltline.naming.alignment import _backward, _forward, _marginals, posterior
from saltline.naming.pairing import (
    GATE,
    STRAY_SCATTER,
    STRAYS,
    Grid,
    Ladder,
    Lines,
    all_weights,
    model_of,
)


def density(r, spread):
    return math.exp(-0.5 * (r / spread) ** 2) / (spread * math.sqrt(2.0 * math.pi))


def pair_weights(model, scale, scatter):
    """The weight of each pair at one scale and scatter, by the formula of identification.md."""
    lines, ladder = model.lines, model.ladder
    n, m = model.log_weight.shape
    weights = np.zeros((n, m))
    for i, j in itertools.product(range(n), range(m)):
        r = lines.log_f[i] - ladder.log_p[j] - scale
        spread = math.sqrt(scatter**2 + lines.own[i] ** 2 + ladder.extra[j] ** 2)
        if abs(r) <= GATE:
            mixed = (1 - STRAYS) * density(r, spread) + STRAYS * density(r, STRAY_SCATTER)
            weights[i, j] = math.exp(model.log_weight[i, j]) * mixed
    return weights


def in_order(model, chosen):
    """The modes of a pairing as they are passed, None where it is not allowed.

    chosen: the mode of each line, -1 for none.
    """
    passed, i = [], 0
    while i < len(chosen):
        here = chosen[i]
        following = chosen[i + 1] if i + 1 < len(chosen) else -1
        if 0 <= following < here:
            if model.exchanged[following, here] <= 0.0:
                return None
            passed += [following, here]
            i += 2
        else:
            passed += [here] if here >= 0 else []
            i += 1
    return passed if all(a < b for a, b in itertools.pairwise(passed)) else None


def written_out(model, scale, scatter):
    """The probability of each pair and the whole weight, pairing by pairing."""
    n, m = model.log_weight.shape
    weights = pair_weights(model, scale, scatter)
    top = int(np.searchsorted(model.ladder.log_p, model.lines.log_f[-1] - scale))
    pairs, whole = np.zeros((n, m)), 0.0
    for chosen in itertools.product(range(-1, m), repeat=n):
        passed = in_order(model, chosen)
        if passed is None:
            continue
        weight, state = 1.0, 0
        for j in passed:
            weight *= model.T[state, j]
            state = j + 1
        weight *= model.silence[max(model.place[top] - model.place[state], 0)]
        for i, j in enumerate(chosen):
            weight *= weights[i, j] if j >= 0 else 1.0
        whole += weight
        for i, j in enumerate(chosen):
            if j >= 0:
                pairs[i, j] += weight
    return pairs / whole, whole


def random_model(rng, lines=4, modes=6):
    measured = Lines(
        np.sort(rng.uniform(0, 0.25, lines)),
        rng.uniform(0, 0.01, lines),
        rng.uniform(0.2, 2, lines),
    )
    ladder = Ladder(
        np.sort(rng.uniform(0, 0.25, modes)),
        rng.uniform(0, 0.01, modes),
        rng.integers(0, 2, modes),
        rng.uniform(0.1, 1, modes),
        rng.integers(0, 2, modes),
    )
    fits = rng.normal(0, 1, (lines, modes))
    fits[rng.random((lines, modes)) < 0.1] = -np.inf
    return measured, ladder, fits


def test_forward_and_backward_sums_are_those_written_out():
    rng = np.random.default_rng(1)
    worst = worst_total = 0.0
    for _ in range(8):
        model = model_of(*random_model(rng))
        scale = float(rng.uniform(-0.05, 0.05))
        pairs, whole = written_out(model, scale, 0.01)
        grid = Grid(np.array([scale, scale + 0.01]), np.array([0.01, 0.02]))
        weights = all_weights(model, grid)
        found = _marginals(model, grid, np.array([0.0, -1e9]))
        totals = [sums(model, grid, weights).log_total[0] for sums in (_forward, _backward)]
        worst = max(worst, float(np.abs(found - pairs).max()))
        worst_total = max(worst_total, *(abs(total - math.log(whole)) for total in totals))
    record("identification: probabilities of pairs", "sum over every pairing", worst, 1e-12)
    record("identification: weight of all pairings", "sum over every pairing", worst_total, 1e-12)


def test_points_of_the_grid_are_weighed_by_their_own_totals():
    rng = np.random.default_rng(2)
    model = model_of(*random_model(rng, lines=3, modes=5))
    points = [(-0.01, 0.01), (0.02, 0.03)]
    known = [written_out(model, *point) for point in points]
    totals = np.array([whole for _, whole in known]) * [0.3, 0.7]
    mixed = sum(t * pairs for t, (pairs, _) in zip(totals / totals.sum(), known, strict=True))
    grid = Grid(*np.array(points).T)
    found = _marginals(model, grid, np.log([0.3, 0.7]))
    assert found == pytest.approx(mixed, abs=1e-12)


@pytest.mark.parametrize("scale", [-0.2, 0.0, 0.2])
def test_a_clean_list_is_named_at_every_scale(scale):
    log_p = np.log([1.0, 6.27, 17.55, 34.39, 56.84, 84.91])
    lines = Lines(log_p[[0, 1, 3, 4]] + scale, np.zeros(4), np.full(4, 0.2))
    ladder = Ladder(log_p, np.zeros(6), np.ones(6), np.ones(6), np.zeros(6))
    found = posterior(lines, ladder, np.zeros((4, 6)), edge=0.3)
    assert np.argmax(found, axis=1).tolist() == [0, 1, 3, 4]
    assert found.max(axis=1).min() > 0.95


def test_a_long_list_of_nonsense_stays_finite():
    rng = np.random.default_rng(3)
    n, m = 300, 20
    lines = Lines(np.sort(rng.uniform(0, 5, n)), np.zeros(n), np.full(n, 60.0))
    ladder = Ladder(np.linspace(0, 5, m), np.zeros(m), np.ones(m), np.ones(m), np.zeros(m))
    found = posterior(lines, ladder, np.full((n, m), 3.0), edge=0.3)
    assert np.all(np.isfinite(found))
    assert np.all(found >= 0.0)
    assert found.sum(axis=1).max() <= 1.0 + 1e-9
