"""Weighted least squares with priors: the estimate, how sure it is, and who decided it.

All of it in the logarithm of frequency, where a relative uncertainty is an absolute one, and in the
coordinates x of the quantities, which are 0 at the values of the file.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.fitting.uncertain import Estimate, Spread, covariance_of, information_of
from saltline.record import record

ASSUMED = 0.005
"""Relative standard uncertainty of a frequency that states none: what a reading, a mount and a
model leave together (common practice, no source)."""

LEAST_FREEDOM = 3
"""With so many more lines than quantities their scatter says how uncertain a frequency is."""

SMALLEST = 1e-6
"""No frequency is taken to be better known than this, relative."""

TOO_FAR = 0.01
"""A scatter that stated uncertainties would let happen more rarely than this enlarges them."""

MOST_TURNS = 20
CLOSE = 0.003
"""The uncertainties have settled when their factor changes by less than this, relative."""

OPEN = 3.4
"""A quantity whose standard uncertainty in x is more than this, a factor of 30, is open: where its
bound explains the lines as well, it is taken to be there."""

AT_BOUND = 1e-6
"""An estimate this near to its bound, in x, is at it."""

Model = Callable[[Values], Values]


@record
class Task:
    """What is to be estimated.

    log_f:  ln of the measured frequencies and, last, of what else was measured, shape (n,).
    lines:  how many of them are frequencies; the rest keep their uncertainty.
    stated: relative standard uncertainties, 0 where the list states none, shape (n,).
    priors: standard uncertainties of x, 0 where there is no prior, shape (p,).
    low, high: bounds of x, shape (p,).
    model:  x -> ln f, shape (n,); infinite where x makes no specimen.
    slopes: x -> d ln f / d x, shape (n, p).
    """

    log_f: Values
    lines: int
    stated: Values
    priors: Values
    low: Values
    high: Values
    model: Model
    slopes: Model


def estimate(task: Task, x: Values) -> Estimate:
    """The best x, sought from a first guess.

    The uncertainty of a line decides between the lines and the priors, and may itself have to come
    from the residuals: the two are settled by turns.
    """
    base = assumed(task)
    found = _at(task, _solved(task, x, base), base, _Rest("", 1.0, 0.0))
    for _ in range(MOST_TURNS):
        rest = _settled_rest(task, found, base)
        sigma = _enlarged(task, base, rest)
        # Without priors the uncertainties' common factor moves nothing.
        is_common = not np.any(task.priors) and rest.added == 0.0
        moves = not is_common and _change(sigma, found.sigma) > CLOSE
        again = _solved(task, found.x, sigma) if moves else found.x
        found = _at(task, again, sigma, rest)
        if not moves:
            break
    return _closed(task, found, rest)


def _closed(task: Task, found: Estimate, rest: _Rest) -> Estimate:
    """The estimate with what is open at the bound that explains the lines as well."""

    def squares(x: Values) -> float:
        pull = x**2 * information_of(task.priors)
        return float(np.sum(((task.log_f - task.model(x)) / found.sigma) ** 2) + pull.sum())

    x, most = found.x.copy(), squares(found.x) + 1.0
    for j in np.flatnonzero(np.diag(found.covariance) > OPEN**2):
        for bound in (task.high[j] - AT_BOUND, task.low[j] + AT_BOUND):
            there = x.copy()
            there[j] = bound
            if math.isfinite(bound) and squares(there) <= most:
                x = there
                break
    return found if np.array_equal(x, found.x) else _at(task, x, found.sigma, rest)


@record
class _Rest:
    """On what the uncertainties rest, as in `Spread`."""

    basis: str
    factor: float
    added: float


def _settled_rest(task: Task, found: Estimate, base: Values) -> _Rest:
    """On what the uncertainties rest, on slopes that stay as they are."""
    trial = found
    for _ in range(MOST_TURNS):
        rest = _judged(task, trial, base)
        sigma = _enlarged(task, base, rest)
        if _change(sigma, trial.sigma) < CLOSE:
            break
        trial = _linear(task, found, sigma)
    return rest


def _change(sigma: Values, before: Values) -> float:
    """The largest change of an uncertainty, relative."""
    return float(np.max(np.abs(np.log(sigma / before))))


def _linear(task: Task, found: Estimate, sigma: Values) -> Estimate:
    """The estimate with other uncertainties, as the slopes at the one found say."""
    free = found.at_bound == 0
    information = np.where(free, information_of(task.priors), 0.0)
    W = np.where(free, found.J, 0.0) / sigma[:, None]
    covariance = covariance_of(W, information) * np.outer(free, free)
    shift = covariance @ (W.T @ (found.residuals / sigma) - information * found.x)
    prior_share = np.diag(covariance) * information
    freedom = found.spread.freedom + float(prior_share.sum() - found.prior_share.sum())
    return replace(
        found,
        residuals=found.residuals - found.J @ shift,
        prior_share=prior_share,
        sigma=sigma,
        spread=replace(found.spread, freedom=freedom),
    )


def assumed(task: Task) -> Values:
    """The relative standard uncertainties before any residual is seen."""
    return np.asarray(np.where(task.stated > 0.0, task.stated, ASSUMED))


def _enlarged(task: Task, base: Values, rest: _Rest) -> Values:
    is_line = np.arange(base.size) < task.lines
    wide = rest.factor * base if rest.basis == "scatter" else np.hypot(base, rest.added)
    return np.asarray(np.where(is_line, np.maximum(wide, SMALLEST), base))


def _judged(task: Task, found: Estimate, base: Values) -> _Rest:
    """On what the uncertainties rest, and what they need.

    The lines' scatter is what they leave when they alone decide: a prior that pulls away from them
    is no scatter of theirs.
    """
    from scipy.special import chdtri

    J = found.J[:, found.at_bound == 0]
    squares, freedom = _squares_alone(J, found.residuals, base)
    stated = task.stated[: task.lines]
    if not np.any(stated) and freedom >= LEAST_FREEDOM:
        return _Rest("scatter", max(math.sqrt(squares / freedom), SMALLEST / ASSUMED), 0.0)
    if freedom > 0.5 and squares > float(chdtri(freedom, TOO_FAR)):
        added = _added(task, J, found.residuals, base, freedom)
        return _Rest("enlarged", math.sqrt(squares / freedom), added)
    return _Rest("stated" if np.all(stated) else "assumed", 1.0, 0.0)


def _squares_alone(J: Values, residuals: Values, sigma: Values) -> tuple[float, float]:
    """Chi squared of what the lines leave when they alone decide, and its degrees of freedom."""
    W, r = J / sigma[:, None], residuals / sigma
    alone, _, rank, _ = np.linalg.lstsq(W, r, rcond=1e-6)
    return float(np.sum((r - W @ alone) ** 2)), float(r.size - rank)


def _added(task: Task, J: Values, residuals: Values, base: Values, freedom: float) -> float:
    """The uncertainty beside their own that makes the lines as far off as they are.

    Chi squared then is its number of degrees of freedom (Mandel and Paule 1970, Anal. Chem. 42,
    1194, from memory).
    """
    from scipy.optimize import brentq

    def excess(added: float) -> float:
        sigma = _enlarged(task, base, _Rest("enlarged", 1.0, added))
        return _squares_alone(J, residuals, sigma)[0] - freedom

    # Beside so much more than all of the residuals nothing is left to be explained.
    most = 2.0 * float(np.linalg.norm(residuals)) + float(base.max())
    if excess(most) >= 0.0:  # what is no line is off, and is not enlarged
        return most
    return float(brentq(excess, 0.0, most, xtol=1e-9, rtol=1e-6))


def _solved(task: Task, x: Values, sigma: Values) -> Values:
    """Least squares by Levenberg and Marquardt's idea within bounds."""
    from scipy.optimize import least_squares

    has_prior = task.priors > 0.0
    pull = np.diag(1.0 / np.where(has_prior, task.priors, 1.0))[has_prior]

    def misfit(x: Values) -> Values:
        return np.concatenate([(task.model(x) - task.log_f) / sigma, pull @ x])

    def slopes(x: Values) -> Values:
        return np.vstack([task.slopes(x) / sigma[:, None], pull])

    inside = np.clip(x, task.low + 2 * AT_BOUND, task.high - 2 * AT_BOUND)
    found = least_squares(
        misfit, inside, slopes, bounds=(task.low, task.high), method="trf",
        ftol=1e-10, xtol=1e-9, gtol=1e-9, max_nfev=100,
    )  # fmt: skip
    return np.asarray(found.x)


def _at(task: Task, x: Values, sigma: Values, rest: _Rest) -> Estimate:
    """The estimate that x is, with these uncertainties."""
    J = task.slopes(x)
    at_bound = 1 * (task.high - x < 3 * AT_BOUND) - 1 * (x - task.low < 3 * AT_BOUND)
    free = at_bound == 0
    priors = np.where(free, task.priors, 0.0)
    information = information_of(priors)
    covariance = np.zeros((x.size, x.size))
    covariance[np.ix_(free, free)] = covariance_of(J[:, free] / sigma[:, None], information[free])
    prior_share = np.diag(covariance) * information
    by_priors = covariance @ (information[:, None] * covariance)
    freedom = task.log_f.size - (int(np.count_nonzero(free)) - float(prior_share.sum()))
    unstated = sigma[task.stated == 0.0]
    relative = float(unstated[0]) if unstated.size else math.nan
    return Estimate(
        x=x,
        residuals=task.log_f - task.model(x),
        J=J,
        sigma=sigma,
        covariance=covariance,
        from_lines=np.sqrt(np.maximum(np.diag(covariance - by_priors), 0.0)),
        prior_share=prior_share,
        at_bound=at_bound,
        spread=Spread(rest.basis, relative, rest.factor, rest.added, freedom),
    )
