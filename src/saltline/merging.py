"""All problems of a specimen solved, and their modes in one order."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.eigen import BuckledError
from saltline.modes import Mode, Modes
from saltline.problem import Problem, Solution, attach, solve
from saltline.quantities_of import quantities, with_values
from saltline.specimen import PredictionError, Specimen

LENGTHS = ("geometry.length", "geometry.segments.0.length", "geometry.diameter")
"""The quantity, whichever the specimen has, that is thought to be a little larger where modes of
one problem share a frequency."""

EQUAL = 1e-9
"""Relative difference of omega^2 below which two modes have one frequency."""


def solve_all(specimen: Specimen, count: int, theory: str, problems: Sequence[Problem]) -> Modes:
    """Solve every problem of the specimen and put their modes in one order."""
    try:
        solutions = _enough(problems, count)
    except BuckledError as error:
        raise PredictionError(
            "the compression is at or beyond buckling, so there is no vibration about the "
            "straight form; lower it, or hold the specimen more firmly"
        ) from error
    solutions = [
        _canonical(specimen, problem, solution)
        for problem, solution in zip(problems, solutions, strict=True)
    ]
    entries = _in_order(solutions)
    orders: dict[str, int] = {}
    modes: list[Mode] = []
    for rank, (omega2, number, column) in enumerate(entries[:count], start=1):
        problem = problems[number]
        orders[problem.family] = orders.get(problem.family, 0) + 1
        modes.append(
            Mode(
                rank=rank,
                family=problem.family,
                order=orders[problem.family],
                frequency_hz=math.sqrt(omega2) / (2.0 * math.pi),
                shape=problem.shape_of(solutions[number].q[:, column]),
                problem=problem,
                q=solutions[number].q[:, column],
                change=math.inf,
                multiplicity=problem.multiplicity,
                labels=problem.labels,
            )
        )
    return Modes(specimen, theory, tuple(modes), _count_rigid(problems, solutions))


def _canonical(specimen: Specimen, problem: Problem, solution: Solution) -> Solution:
    """The solution with the modes of one frequency as a slightly longer specimen would show them.

    Any mixture of such modes is a mode; without a rule rounding would choose.
    """
    omega2, q = solution.omega2, solution.q.copy()
    close = np.diff(omega2) <= EQUAL * omega2[1:]
    if not np.any(close):
        return solution
    known = quantities(specimen)
    path = next(name for name in LENGTHS if name in known)
    longer = problem.rebuild(with_values(specimen, {path: (1.0 + 1e-4) * known[path].value}))
    K, M = attach(longer)
    first = 0
    for last in [*np.flatnonzero(~close), omega2.size - 1]:
        group = slice(first, int(last) + 1)
        if last > first:
            Q = q[:, group]
            work = Q.T @ (K - float(omega2[first]) * M) @ Q
            q[:, group] = Q @ np.linalg.eigh(work + work.T)[1]
        first = int(last) + 1
    return Solution(omega2, q, solution.rigid)


def _count_rigid(problems: Sequence[Problem], solutions: Sequence[Solution]) -> int:
    """Rigid-body modes of all problems, each with its twins."""
    return sum(s.rigid * p.multiplicity for s, p in zip(solutions, problems, strict=True))


def _in_order(solutions: Sequence[Solution]) -> list[tuple[float, int, int]]:
    """(omega^2, number of the problem, column) of every mode, by frequency.

    Two modes of equal frequency (a square plate's pairs) differ by rounding alone; they come in the
    order of their problems, so that the same specimen gives the same list on every machine.
    """
    entries = sorted(
        (float(omega2), number, column)
        for number, solution in enumerate(solutions)
        for column, omega2 in enumerate(solution.omega2)
    )
    for i in range(len(entries) - 1, 0, -1):
        before, after = entries[i - 1], entries[i]
        if after[0] - before[0] <= EQUAL * after[0] and before[1:] > after[1:]:
            entries[i - 1], entries[i] = after, before
    return entries


def _enough(problems: Sequence[Problem], count: int) -> list[Solution]:
    """Solve each problem for as many modes as the lowest `count` of all of them need.

    A problem among several is first asked for its share and some more; where its last mode is
    still below the count-th of all, it is asked again.
    """
    share = count if len(problems) == 1 else min(count, math.ceil(1.3 * count / len(problems)) + 4)
    asked = [share] * len(problems)
    solutions = [solve(problem, share) for problem in problems]
    while True:
        lowest = np.sort(np.concatenate([s.omega2 for s in solutions]))
        limit = lowest[min(count, lowest.size) - 1]
        short = [
            number
            for number, solution in enumerate(solutions)
            if solution.omega2.size == asked[number] < count and solution.omega2[-1] <= limit
        ]
        if not short:
            return solutions
        for number in short:
            asked[number] = min(count, 2 * asked[number])
            solutions[number] = solve(problems[number], asked[number])
