"""Matching and estimating by turns: lines are named, quantities fitted to them, and named anew.

A match that is wrong in part can hold itself up, so where the first one leaves something to wish
for, others are tried that begin at other values of the quantities.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.fitting.adjustable import Adjustable, values_at
from saltline.fitting.advice import refusal
from saltline.fitting.estimate import ASSUMED, Task, assumed, estimate
from saltline.fitting.followed import Followed, follow, log_mass, mass_slopes
from saltline.fitting.separable import Direction, directions, without_effect
from saltline.fitting.uncertain import Estimate
from saltline.measured_list import Measured
from saltline.modes import Mode
from saltline.naming.check import check
from saltline.naming.identify import Identification, Match
from saltline.quantities_of import with_values
from saltline.quantity import Quantity
from saltline.record import record
from saltline.specimen import Specimen

FEW = 8
"""So many lines, the lowest, are matched and fitted first."""

MOST_ROUNDS = 8
"""So many times at most the list is matched anew."""

SETTLED = 1e-7
"""The estimate has settled when the modes found anew differ less from those followed."""

GOOD = 2.0 * ASSUMED
"""With every line explained to this, relative, no other match is looked for."""

ASIDE = 0.1
"""How far to either side another start lies, in x, for a quantity without a tolerance ..."""

FAR_ASIDE = 1.0
"""... and for one that may be wrong by powers of ten."""

ALIKE = 0.05
"""Slopes that differ less than this, relative, are those of a mere scale."""

LEFT_OUT = 5.5
"""What a line that is left out counts against a match, in halved squares of a residual ..."""

PASSED_OVER = 0.7
"""... and a mode that is passed over: about three in ten are not noticed (as in check)."""

WEIGHED = 1e-3
"""Relative standard uncertainty of a weighed mass that states none (our choice)."""


class FitError(ValueError):
    """A fit that cannot be made, in words for the user."""


@record
class Request:
    """What is to be fitted.

    chosen:  the quantities; weighed: the mass with all that is attached, kg, or None.
    options: for `saltline.naming.check.check`.
    before:  the list as it is named by the file's values, where that is known.
    """

    specimen: Specimen
    measured: Sequence[Measured]
    chosen: Sequence[Adjustable]
    weighed: Quantity | None
    options: Mapping[str, Any]
    before: Identification | None = None


@record
class Rest:
    """Where matching and estimating came to rest.

    used:      numbers of the lines that took part.
    undecided: directions that the lines leave open and the priors decide.
    settled:   whether it did come to rest.
    """

    named: Identification
    used: tuple[int, ...]
    followed: Followed
    found: Estimate
    undecided: tuple[Direction, ...]
    settled: bool


def best_rest(request: Request) -> Rest:
    """The best of the matches found; raises FitError.

    The lowest lines come first: they are the farthest apart, and so the surest.
    """
    _refuse_an_idle_mass(request)
    if len(request.measured) <= FEW:
        return _best_of_starts(request)
    try:
        few = _best_of_starts(_lowest(request, FEW))
    except FitError:  # what is to be fitted may show in higher lines only
        return _best_of_starts(request)
    rest = rest_from(request, few.found.x)
    if _is_good(rest):
        return rest
    x, size = few.found.x, 2 * FEW
    while size < len(request.measured):
        x, size = rest_from(_lowest(request, size), x).found.x, 2 * size
    return min(rest, rest_from(request, x), key=lambda rest: _cost(request, rest))


def _lowest(request: Request, count: int) -> Request:
    """The same with the lowest lines alone."""
    limit = sorted(line.frequency_hz for line in request.measured)[count - 1]
    lines = [line for line in request.measured if line.frequency_hz <= limit]
    return replace(request, measured=lines, before=None)


def _refuse_an_idle_mass(request: Request) -> None:
    if request.weighed is None:
        return
    start = np.zeros(len(request.chosen))
    slopes = mass_slopes(request.specimen, request.chosen, start)
    if len(without_effect(slopes[None, :])) == len(request.chosen):
        raise FitError(
            "the mass of the specimen depends on none of the fitted quantities; fit the density "
            "too (--quantity material.density), or leave --weighed out"
        )


def _best_of_starts(request: Request) -> Rest:
    first = rest_from(request, np.zeros(len(request.chosen)))
    if _is_good(first):
        return first
    rests = [first]
    for other in _other_starts(request, first.found.J):
        try:
            rests.append(rest_from(request, other))
        except FitError:
            continue
        if _is_good(rests[-1]):
            break
    return min(rests, key=lambda rest: _cost(request, rest))


def rest_from(request: Request, x: Values) -> Rest:
    """Match, estimate, and match again with the better specimen, until nothing changes."""
    specimen, chosen = request.specimen, request.chosen
    known: tuple[tuple[int, str, int], ...] = ()
    followed: Followed | None = None
    settled = False
    for _ in range(MOST_ROUNDS):
        if request.before is not None and not np.any(x):
            named = request.before
        else:
            present = with_values(specimen, values_at(specimen, chosen, [float(v) for v in x]))
            named = check(present, request.measured, **request.options)
        used, modes = _usable(named.matches)
        now = tuple((i, mode.family, mode.order) for i, mode in zip(used, modes, strict=True))
        settled = now == known and followed is not None and _has_settled(followed, x, modes)
        if settled:
            break
        known, followed = now, follow(specimen, chosen, modes)
        task = _task(request, followed, used)
        _refuse_the_hopeless(request, followed, task, x)
        found = estimate(task, x)
        x = found.x
    assert followed is not None
    undecided = _undecided(request, followed, task, x, found.sigma)
    return Rest(named, tuple(i for i, *_ in known), followed, found, undecided, settled)


def _other_starts(request: Request, J: Values) -> Iterator[Values]:
    """x to either side of the file's values, one quantity at a time.

    J: slopes of the lines. What moves all of them alike is left out: the match is free of scale.
    """
    for j, item in enumerate(request.chosen):
        slopes = J[:, j]
        if np.ptp(slopes) < ALIKE * np.max(np.abs(slopes)):
            continue
        step = item.prior or (FAR_ASIDE if item.is_vague else ASIDE)
        for sign in (-1.0, 1.0):
            x = np.zeros(len(request.chosen))
            x[j] = np.clip(sign * step, 0.9 * item.x(item.low), 0.9 * item.x(item.high))
            yield x


def _is_good(rest: Rest) -> bool:
    residuals = rest.found.residuals
    return rest.named.fits and bool(np.max(np.abs(residuals)) < GOOD)


def _cost(request: Request, rest: Rest) -> float:
    """What speaks against a rest: residuals, lines left out, modes not seen, priors strained."""
    misfits = np.minimum(rest.found.residuals**2 / (2.0 * ASSUMED**2), LEFT_OUT)
    priors = [item.prior for item in request.chosen]
    strained = sum((x / u) ** 2 / 2.0 for x, u in zip(rest.found.x, priors, strict=True) if u)
    left_out = len(request.measured) - len(rest.used)
    missed = PASSED_OVER * len(rest.named.unseen)
    return float(misfits.sum()) + LEFT_OUT * left_out + missed + float(strained)


def _usable(matches: Sequence[Match]) -> tuple[list[int], list[Mode]]:
    """The lines that a mode explains and no count contradicts, and their modes."""
    used, modes = [], []
    for i, match in enumerate(matches):
        if match.mode is not None and match.finding != "count differs":
            used.append(i)
            modes.append(match.mode)
    if not used:
        first = matches[0]
        others = '; "saltline check" names them all' if len(matches) > 1 else ""
        raise FitError(
            f"no line of the list can be used: {first.measured.frequency_hz:.7g} Hz, "
            f"{first.finding}: {first.why}{others}"
        )
    return used, modes


def _has_settled(followed: Followed, x: Values, modes: Sequence[Mode]) -> bool:
    fresh = np.log([mode.frequency_hz for mode in modes])
    return bool(np.max(np.abs(fresh - followed.log_f(x))) < SETTLED)


def _task(request: Request, followed: Followed, used: Sequence[int]) -> Task:
    """The lines as a task; a weighed mass is one more datum at the end."""
    specimen, chosen, weighed = request.specimen, request.chosen, request.weighed
    lines = [request.measured[i] for i in used]
    log_f = [math.log(line.frequency_hz) for line in lines]
    stated = [line.uncertainty_hz / 2.0 / line.frequency_hz for line in lines]
    model, slopes = followed.log_f, followed.slopes
    if weighed is not None:
        log_f.append(math.log(weighed.value))
        stated.append(weighed.standard_uncertainty / weighed.value or WEIGHED)

        def model(x: Values) -> Values:
            return np.append(followed.log_f(x), log_mass(specimen, chosen, x))

        def slopes(x: Values) -> Values:
            return np.vstack([followed.slopes(x), mass_slopes(specimen, chosen, x)])

    return Task(
        log_f=np.array(log_f),
        lines=len(lines),
        stated=np.array(stated),
        priors=np.array([item.prior for item in chosen]),
        low=np.array([item.x(item.low) for item in chosen]),
        high=np.array([item.x(item.high) for item in chosen]),
        model=model,
        slopes=slopes,
    )


def _undecided(
    request: Request, followed: Followed, task: Task, x: Values, sigma: Values
) -> tuple[Direction, ...]:
    """The directions that the lines leave open and priors decide; raises FitError for the rest."""
    found = directions(task.slopes(x), sigma, task.priors)
    for direction in found:
        if direction.refused:
            raise FitError(_refusal(request, followed, task, x, direction))
    return tuple(found)


def _refuse_the_hopeless(request: Request, followed: Followed, task: Task, x: Values) -> None:
    """Raise FitError for what no precision of the lines could tell."""
    J = task.slopes(x)
    for j in without_effect(J):
        path = request.chosen[j].path
        hint = "; begin nearer to what is likely" if request.chosen[j].is_vague else ""
        raise FitError(
            f"{path} cannot be fitted: no frequency that was matched depends on it{hint}"
        )
    for direction in directions(J, assumed(task), task.priors):
        if direction.hopeless:
            raise FitError(_refusal(request, followed, task, x, direction))


def _refusal(
    request: Request, followed: Followed, task: Task, x: Values, direction: Direction
) -> str:
    J, sigma = task.slopes(x), assumed(task)
    return refusal(followed.at(x), request.chosen, x, direction, J=J, sigma=sigma)
