"""Least squares with priors: against closed forms, scipy's own estimator and Student's table."""

import math
from dataclasses import replace

import numpy as np
import pytest
import scipy.optimize
import scipy.stats

from outside import record
from saltline.fitting.estimate import ASSUMED, Task, estimate
from saltline.fitting.separable import directions, separates, without_effect
from saltline.fitting.uncertain import RARE, Spread, covariance_of, coverage_factor, unusual


def linear(A, y, *, stated, priors=None, bound=50.0, lines=None):
    """A task whose model is A x."""
    A, y = np.asarray(A, dtype=float), np.asarray(y, dtype=float)
    n, p = A.shape
    return Task(
        log_f=y,
        lines=n if lines is None else lines,
        stated=np.broadcast_to(np.asarray(stated, dtype=float), (n,)),
        priors=np.zeros(p) if priors is None else np.asarray(priors, dtype=float),
        low=np.full(p, -bound),
        high=np.full(p, bound),
        model=lambda x: A @ x,
        slopes=lambda x: A,
    )


def test_one_quantity_is_the_weighted_mean():
    """sum w y / sum w and 1 / sqrt(sum w) (any text on measurement)."""
    y, u = np.array([0.011, 0.014, 0.012]), np.array([0.001, 0.003, 0.002])
    w = u**-2
    found = estimate(linear(np.ones((3, 1)), y, stated=u), np.zeros(1))
    assert found.x[0] == pytest.approx((w @ y) / w.sum(), rel=1e-9)
    assert found.covariance[0, 0] == pytest.approx(1.0 / w.sum(), rel=1e-9)
    assert found.spread == Spread("stated", pytest.approx(math.nan, nan_ok=True), 1.0, 0.0, 2.0)


def test_a_prior_is_one_more_measurement():
    """Precisions add, the estimate is their mean, each has its share (conjugate normal)."""
    found = estimate(linear([[2.0]], [0.04], stated=0.01, priors=[0.01]), np.zeros(1))
    data, prior = (2.0 / 0.01) ** 2, (1.0 / 0.01) ** 2
    assert found.x[0] == pytest.approx(0.02 * data / (data + prior), rel=1e-8)
    assert found.covariance[0, 0] == pytest.approx(1.0 / (data + prior), rel=1e-9)
    assert found.prior_share[0] == pytest.approx(prior / (data + prior), rel=1e-9)
    assert found.spread.freedom == pytest.approx(prior / (data + prior), rel=1e-9)
    # Of its variance the lines make w^2 / data, w being their weight (JCGM 100:2008, 5.1.2).
    weight = data / (data + prior)
    assert found.from_lines[0] == pytest.approx(weight / math.sqrt(data), rel=1e-9)


@pytest.mark.parametrize("stated", [True, False])
def test_a_curve_is_what_scipy_finds(stated):
    """scipy.optimize.curve_fit with and without absolute uncertainties, by another algorithm."""
    random = np.random.default_rng(5)
    t = np.linspace(0.5, 3.0, 9)

    def curve(t, a, b):
        return a * np.exp(-b * t)

    y = curve(t, 1.2, 0.7) + 0.01 * random.standard_normal(t.size)
    best, covariance = scipy.optimize.curve_fit(
        curve, t, y, p0=(1.0, 0.5), sigma=np.full(t.size, 0.01), absolute_sigma=stated,
        method="lm", ftol=1e-12, xtol=1e-12,
    )  # fmt: skip
    task = Task(
        log_f=y,
        lines=t.size,
        stated=np.full(t.size, 0.01 if stated else 0.0),
        priors=np.zeros(2),
        low=np.full(2, -10.0),
        high=np.full(2, 10.0),
        model=lambda x: curve(t, *x),
        slopes=lambda x: np.column_stack([np.exp(-x[1] * t), -x[0] * t * np.exp(-x[1] * t)]),
    )
    found = estimate(task, np.array([1.0, 0.5]))
    worst = max(
        np.max(np.abs(found.x / best - 1.0)), np.max(np.abs(found.covariance / covariance - 1.0))
    )
    record("least squares, estimate and covariance", "scipy.optimize.curve_fit", worst, 1e-5)
    assert found.spread.basis == ("stated" if stated else "scatter")


def test_the_scatter_is_the_standard_deviation_of_the_residuals():
    y = np.array([0.01, 0.012, 0.009, 0.013, 0.011])
    found = estimate(linear(np.ones((5, 1)), y, stated=0.0), np.zeros(1))
    assert found.spread.basis == "scatter"
    assert found.spread.relative == pytest.approx(np.std(y, ddof=1), rel=1e-6)
    assert math.sqrt(found.covariance[0, 0]) == pytest.approx(np.std(y, ddof=1) / 5**0.5, rel=1e-6)


def test_few_lines_keep_the_assumed_uncertainty():
    found = estimate(linear(np.ones((3, 1)), [0.01, 0.012, 0.011], stated=0.0), np.zeros(1))
    assert (found.spread.basis, found.spread.relative) == ("assumed", ASSUMED)
    assert found.covariance[0, 0] == pytest.approx(ASSUMED**2 / 3, rel=1e-9)


@pytest.mark.parametrize("stated", [0.001, 0.0])
def test_residuals_that_are_too_large_enlarge_the_uncertainties(stated):
    """Birge's ratio, sqrt(chi^2 / degrees of freedom)."""
    y = np.array([0.0, 0.04, -0.03])
    found = estimate(linear(np.ones((3, 1)), y, stated=stated), np.zeros(1))
    chi2 = np.sum(((y - y.mean()) / (stated or ASSUMED)) ** 2)
    assert found.spread.basis == "enlarged"
    assert found.spread.factor == pytest.approx(math.sqrt(chi2 / 2.0), rel=1e-3)
    assert math.sqrt(found.covariance[0, 0]) == pytest.approx(np.std(y, ddof=1) / 3**0.5, rel=1e-3)


def test_one_sharp_line_does_not_outweigh_a_model_that_is_off():
    """Beside their own all have what makes chi^2 its degrees of freedom (Mandel and Paule):
    the best value is the mean with those weights, by another algorithm."""
    y = np.array([0.0, 0.02, -0.01, 0.025, 0.012])
    u = np.array([1e-5, 0.004, 0.002, 0.003, 0.001])
    found = estimate(linear(np.ones((5, 1)), y, stated=u), np.zeros(1))

    def mean(s):
        return np.sum(y / (u**2 + s**2)) / np.sum(1 / (u**2 + s**2))

    s = scipy.optimize.newton(
        lambda s: np.sum((y - mean(s)) ** 2 / (u**2 + s**2)) - 4.0, 0.01, tol=1e-12
    )
    assert found.spread.basis == "enlarged"
    assert found.spread.added == pytest.approx(s, rel=1e-5)
    assert found.x[0] == pytest.approx(mean(s), rel=1e-5)
    assert found.sigma == pytest.approx(np.hypot(u, s), rel=1e-5)


def test_what_scatters_more_gives_way_to_the_prior():
    """The scatter is the lines' own: what pulls them all one way is the prior's affair."""
    y = 0.02 + np.array([0.01, -0.012, 0.009, -0.013, 0.006, 0.0])
    found = estimate(linear(np.ones((6, 1)), y, stated=0.0, priors=[0.005]), np.zeros(1))
    s = found.spread.relative
    data, prior = 6 / s**2, 1 / 0.005**2
    assert found.x[0] == pytest.approx(y.mean() * data / (data + prior), rel=2e-2)
    assert s == pytest.approx(float(np.std(y, ddof=1)), rel=1e-6)


def test_a_firm_datum_is_not_enlarged_with_the_lines():
    y = np.array([0.0, 0.04, -0.03, 0.02, 0.5])
    A = np.array([[1.0, 0.0]] * 4 + [[0.0, 1.0]])
    found = estimate(linear(A, y, stated=[0, 0, 0, 0, 0.001], lines=4), np.zeros(2))
    assert found.sigma[-1] == 0.001
    assert math.sqrt(found.covariance[1, 1]) == pytest.approx(0.001, rel=1e-9)


def test_a_bound_is_kept_and_said():
    found = estimate(linear([[1.0, 0.0], [0.0, 1.0]], [0.304, 0.1], stated=0.01, bound=0.3),
                     np.zeros(2))  # fmt: skip
    assert found.x == pytest.approx([0.3, 0.1], abs=1e-5)
    assert list(found.at_bound) == [1, 0]
    assert found.covariance[0, 0] == 0.0
    assert found.covariance[1, 1] == pytest.approx(1e-4, rel=1e-6)


def test_a_line_that_lies_apart_is_seen_by_the_scatter_of_the_others():
    """t = r / (s_without sqrt(1 - h)): here of five values, with s_without of the other four."""
    y = np.array([0.010, 0.011, 0.009, 0.0105, 0.040])
    found = estimate(linear(np.ones((5, 1)), y, stated=0.0), np.zeros(1))
    others = y[:4]
    t = (y[4] - others.mean()) / (np.std(others, ddof=1) * math.sqrt(1 + 1 / 4))
    assert t > scipy.stats.t.ppf(1 - RARE / 2 / 5, 3)
    assert list(unusual(found)) == [False] * 4 + [True]
    closer = estimate(linear(np.ones((5, 1)), [*y[:4], 0.014], stated=0.0), np.zeros(1))
    assert not np.any(unusual(closer))
    stated = estimate(linear(np.ones((3, 1)), [0.0, 0.0, 0.0052], stated=0.0015), np.zeros(1))
    assert stated.spread.basis == "stated"
    assert list(unusual(stated)) == [False] * 3
    assert list(unusual(replace(stated, residuals=1.2 * stated.residuals)))[2]
    few = estimate(linear(np.ones((2, 1)), [0.0, 0.1], stated=0.001), np.zeros(1))
    assert not np.any(unusual(few))


def test_the_covariance_of_quantities_of_very_different_size():
    W = np.array([[1e9, 1.0], [1e9, -1.0], [1e9, 0.5]])
    found = covariance_of(W, np.zeros(2))
    assert found @ (W.T @ W) == pytest.approx(np.eye(2), abs=1e-6)


def test_the_coverage_factor_is_students():
    """JCGM 100:2008, table G.2, p = 95.45 % (from memory)."""
    printed = {1: 13.97, 2: 4.53, 3: 3.31, 4: 2.87, 5: 2.65, 6: 2.52, 8: 2.37, 10: 2.28, 20: 2.13}
    worst = max(
        abs(coverage_factor(Spread("scatter", 0.01, 1.0, 0.0, freedom), 1.0, 1.0) / k - 1.0)
        for freedom, k in printed.items()
    )
    record("coverage factor", "JCGM 100:2008, table G.2 (from memory)", worst, 3e-3)
    assert coverage_factor(Spread("stated", 0.01, 1.0, 0.0, 1.0), 1.0, 1.0) == 2.0
    # Welch and Satterthwaite: where other things are as uncertain, 3 degrees count as 12.
    assert coverage_factor(Spread("scatter", 0.01, 1.0, 0.0, 3.0), 1.0, 2**0.5) == pytest.approx(
        coverage_factor(Spread("scatter", 0.01, 1.0, 0.0, 12.0), 1.0, 1.0)
    )


# -- what can be told apart -----------------------------------------------------------------------

SIGMA = np.full(4, 0.001)
BENDING = np.array([0.5, -0.5, 1.0])
"""d ln f of Euler's beam by ln E, ln rho, ln t (textbook)."""


def test_two_quantities_of_one_effect_are_refused_with_their_product():
    (found,) = directions(np.tile(BENDING[[0, 2]], (4, 1)), SIGMA, np.zeros(2))
    assert found.refused
    assert found.members == (0, 1)
    assert found.changes == pytest.approx((1.0, -0.5))
    assert found.powers == pytest.approx((1.0, 2.0))  # E t^2


def test_three_quantities_of_one_effect_leave_two_directions():
    found = directions(np.tile(BENDING, (4, 1)), SIGMA, np.zeros(3))
    assert len(found) == 2
    assert all(direction.refused for direction in found)
    assert any(set(direction.members) == {0, 1, 2} for direction in found)


def test_a_prior_on_one_of_them_decides():
    J = np.tile(BENDING[[0, 2]], (4, 1))
    for priors in ([0.03, 0.0], [0.0, 0.01], [0.03, 0.01]):
        (found,) = directions(J, SIGMA, np.array(priors))
        assert found.by_prior
        assert not found.refused


def test_fewer_lines_than_quantities_are_refused():
    (found,) = directions(np.array([[0.5, 1.0]]), SIGMA[:1], np.zeros(2))
    assert found.refused
    assert math.isinf(found.inflation)


def test_what_is_told_apart_is_let_pass():
    J = np.array([[0.5, 1.0], [0.5, 1.0], [0.5, 0.0], [0.5, 0.0]])
    assert directions(J, SIGMA, np.zeros(2)) == []
    assert directions(J[:, :1], SIGMA, np.zeros(1)) == []


def test_hardly_separable_ones_are_refused_only_where_they_would_be_vague():
    J = np.array([[0.5, 1.00], [0.5, 0.98], [0.5, 0.96], [0.5, 0.94]])
    (found,) = directions(J, SIGMA, np.zeros(2))
    assert 10.0 < found.inflation < 100.0
    assert not found.refused
    (found,) = directions(J, 20.0 * SIGMA, np.zeros(2))
    assert found.refused


def test_a_bystander_is_not_named():
    J = np.column_stack([np.tile(BENDING[[0, 2]], (4, 1)), [0.3, -0.2, 0.1, 0.4]])
    (found,) = directions(J, SIGMA, np.zeros(3))
    assert found.members == (0, 1)


def test_what_would_separate_them():
    J = np.tile(BENDING[[0, 2]], (4, 1))
    edgewise, twist_of_a_strip, weight = [[0.5, 0.0]], [[0.5, 1.0]], [[0.0, 1.0]]
    assert separates(J, SIGMA, np.array(edgewise), (0, 1))
    assert separates(J, SIGMA, np.array(weight), (0, 1))
    assert not separates(J, SIGMA, np.array(twist_of_a_strip), (0, 1))
    assert not separates(J[:1], SIGMA[:1], np.array(twist_of_a_strip), (0, 1))


def test_a_quantity_without_effect_is_found():
    assert without_effect(np.array([[0.5, 0.0], [0.5, 1e-9]])) == [1]
    assert without_effect(np.array([[0.5, 1e-3]])) == []
