"""Matched modes followed while quantities change: frequencies and slopes on functions that stay.

A mode is known by its problem (its family, its symmetry, its number of diameters) and its place
among that problem's modes, so that two that cross stay what they are.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np

from saltline.arrays import Values
from saltline.eigen import BuckledError
from saltline.facts import facts
from saltline.fitting.adjustable import Adjustable, values_at
from saltline.modes import Mode, Modes
from saltline.problem import Problem, solve
from saltline.quantities_of import quantities, with_values
from saltline.record import record
from saltline.specimen import PredictionError, Specimen
from saltline.spread import STEP, WITHOUT_EFFECT, log_slopes, moved


@record
class Followed:
    """What a set of matched modes does when quantities change.

    at:     x -> the modes there, one for each matched line, in their order.
    log_f:  x -> ln of their frequencies in Hz; infinite where x makes no specimen.
    slopes: x -> d ln f / d x, shape (lines, quantities).
    """

    at: Callable[[Values], Modes]
    log_f: Callable[[Values], Values]
    slopes: Callable[[Values], Values]


def follow(specimen: Specimen, chosen: Sequence[Adjustable], modes: Sequence[Mode]) -> Followed:
    """Follow the modes that were found at some x.

    specimen: as in the file, x = 0.
    modes: of `find_modes`, one for each matched line; a mode may stand there twice.
    """
    columns = _columns(modes)

    @lru_cache(maxsize=8)
    def solved(x: tuple[float, ...]) -> Modes:
        changed = with_values(specimen, values_at(specimen, chosen, x))
        return Modes(changed, "", tuple(_solved(changed, modes, columns)), 0)

    def at(x: Values) -> Modes:
        return solved(tuple(float(v) for v in x))

    def log_f(x: Values) -> Values:
        try:
            return np.log([mode.frequency_hz for mode in at(x).modes])
        except (BuckledError, PredictionError, np.linalg.LinAlgError):
            return np.full(len(modes), np.inf)

    @lru_cache(maxsize=8)
    def found(x: tuple[float, ...]) -> Values:
        return slopes_of(solved(x), chosen, np.array(x))

    def slopes(x: Values) -> Values:
        return found(tuple(float(v) for v in x))

    return Followed(at, log_f, slopes)


def slopes_of(modes: Modes, chosen: Sequence[Adjustable], x: Values) -> Values:
    """d ln f / d x of the modes of the specimen at x, shape (modes, quantities)."""
    return np.column_stack(
        [_slope(modes, item, float(v)) for item, v in zip(chosen, x, strict=True)]
    )


def _slope(modes: Modes, item: Adjustable, x: float) -> Values:
    """d ln f / d x of every mode, those of the paths that move along added."""
    value = item.value(x)
    step = STEP * (abs(item.scale) or abs(value))
    total = sum(log_slopes(modes, path, value, step) for path in item.paths)
    return np.asarray(total * item.slope(x))


def mass_slopes(specimen: Specimen, chosen: Sequence[Adjustable], x: Values) -> Values:
    """d ln (mass of the specimen) / d x at x, shape (quantities,)."""
    slopes = []
    for j in range(len(chosen)):
        step = np.where(np.arange(len(chosen)) == j, STEP, 0.0)
        low, high = (log_mass(specimen, chosen, x + sign * step) for sign in (-1.0, 1.0))
        slopes.append((high - low) / (2.0 * STEP))
    return np.array(slopes)


def log_mass(specimen: Specimen, chosen: Sequence[Adjustable], x: Values) -> float:
    """ln of the mass in kg of all that is described."""
    changed = with_values(specimen, values_at(specimen, chosen, [float(v) for v in x]))
    return float(np.log(facts(changed).mass_kg))


def held_slopes(modes: Modes, but_for: Sequence[Adjustable]) -> dict[str, Values]:
    """Of each other quantity with a tolerance: d ln f times its standard uncertainty.

    Of every mode, and last d ln (mass of the specimen), shape (modes + 1,). Quantities that share
    one text of the file go by the name of the first.
    """
    moving = {path for item in but_for for path in item.paths} | set(WITHOUT_EFFECT)
    found: dict[str, Values] = {}
    shared: dict[object, str] = {}
    for path, q in quantities(modes.specimen).items():
        if path in moving or not 0.0 < q.tolerance < np.inf or not np.isfinite(q.value):
            continue
        step = min(q.tolerance, STEP * abs(q.value) or q.tolerance)
        slopes = [*log_slopes(modes, path, q.value, step), _mass_slope(modes.specimen, path, step)]
        effect = np.array(slopes) * q.standard_uncertainty
        name = shared.setdefault(q.place or path, path)
        found[name] = found[name] + effect if name in found else effect
    return found


def _mass_slope(specimen: Specimen, path: str, step: float) -> float:
    """d ln (mass of the specimen) / d quantity."""
    value = quantities(specimen)[path].value
    low, high = (
        np.log(facts(with_values(specimen, moved(specimen, path, value + d))).mass_kg)
        for d in (-step, step)
    )
    return float(high - low) / (2.0 * step)


def _solved(specimen: Specimen, modes: Sequence[Mode], columns: Sequence[int]) -> list[Mode]:
    """The modes of a changed specimen, every problem built and solved once."""
    known: dict[int, tuple[Problem, Values, Values]] = {}
    most: dict[int, int] = {}
    for mode, column in zip(modes, columns, strict=True):
        most[id(mode.problem)] = max(most.get(id(mode.problem), 0), column + 1)
    found = []
    for mode, column in zip(modes, columns, strict=True):
        assert mode.problem is not None
        if id(mode.problem) not in known:
            rebuilt = mode.problem.rebuild(specimen)
            solution = solve(rebuilt, most[id(mode.problem)])
            known[id(mode.problem)] = (rebuilt, solution.omega2, solution.q)
        problem, omega2, q = known[id(mode.problem)]
        hz = float(np.sqrt(omega2[column])) / (2.0 * np.pi)
        found.append(replace(mode, problem=problem, q=q[:, column], frequency_hz=hz))
    return found


def _columns(modes: Sequence[Mode]) -> list[int]:
    """The place of each mode among all of its problem."""
    known: dict[int, Values] = {}
    taken: dict[tuple[int, int], int] = {}
    columns = []
    for mode in modes:
        problem = mode.problem
        assert problem is not None
        if id(problem) not in known:
            most = max(m.rank for m in modes if m.problem is problem)
            known[id(problem)] = solve(problem, most).omega2
        apart = np.abs(np.log(known[id(problem)] / (2.0 * np.pi * mode.frequency_hz) ** 2))
        # Modes of one frequency are told apart by their ranks.
        for (other, rank), column in taken.items():
            if other == id(problem) and rank != mode.rank:
                apart[column] = np.inf
        column = int(np.argmin(apart))
        taken[id(problem), mode.rank] = column
        columns.append(column)
    return columns
