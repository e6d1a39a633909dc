"""How modes are found: every motion's problem is solved, and finer until no frequency moves.

Each kind of specimen says which problems its motions are; all the rest, from merging and ranking to
watching the convergence, is the same for every kind.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from saltline.beam import critical_frequency
from saltline.kinds import KINDS, THEORIES
from saltline.merging import EQUAL, solve_all
from saltline.modes import Mode, Modes, by_problem
from saltline.problem import Problem
from saltline.settling import largest_changes
from saltline.specimen import PredictionError, Specimen

REFINEMENTS = 4
"""How many times the degree is raised before a mode is called unsettled."""

LARGEST = 1400
"""The degree is not raised again (after the first time) where a matrix would be larger."""

MOST_MODES = 400
"""No request is answered with more modes than this."""

MOST_BELOW = 200
"""... and one for all modes below a frequency with no more than this: more is a slip of the limit,
and costs minutes where the shapes are traced too."""


def find_modes(
    specimen: Specimen,
    *,
    count: int = 8,
    below_hz: float | None = None,
    beyond: int = 0,
    theory: str | None = None,
    families: Sequence[str] | None = None,
) -> Modes:
    """The lowest modes of a specimen.

    count:    how many, over all the families asked for.
    below_hz: every mode up to this frequency instead (at most `MOST_BELOW`),
    beyond:   and so many above it.
    theory:   "timoshenko" (default) or "euler", for beams.
    families: of a beam; default flatwise bending.

    Raises PredictionError where the specimen cannot be predicted: buckled by its preload, a theory
    that is none, or a section that does not state what the theory needs.
    """
    kind = KINDS.get(specimen.kind)
    if kind is None:
        raise PredictionError(f"a {specimen.kind} cannot be predicted yet")
    families = tuple(families or kind.families[:1])
    if theory is not None and theory not in (*THEORIES, *kind.theories):
        raise PredictionError(f"{theory!r} is no theory; choose {' or '.join(THEORIES)}")
    theory = theory if theory in kind.theories else kind.theories[0]
    if below_hz is not None:
        found = _modes_below(specimen, below_hz, beyond, theory, families)
    else:
        found = _settled_modes(specimen, count, theory, families)
    return _with_euler(found, families) if theory == "timoshenko" and found.modes else found


def _modes_below(
    specimen: Specimen, below_hz: float, beyond: int, theory: str, families: Sequence[str]
) -> Modes:
    count = 12
    while True:
        found = _settled_modes(specimen, count, theory, families)
        inside = sum(mode.frequency_hz <= below_hz for mode in found.modes)
        if inside + beyond < len(found.modes) or count >= MOST_BELOW:
            return replace(found, modes=found.modes[: inside + beyond])
        count = max(2 * count, _reaching(found.modes, below_hz) + beyond)
        count = min(count, MOST_BELOW)


def _reaching(modes: Sequence[Mode], below_hz: float) -> int:
    """About how many modes lie below a frequency, judged by how the upper half of these rise.

    Each number of modes that is tried is a whole solution: a jump costs less than many doublings.
    """
    if len(modes) < 4 or modes[len(modes) // 2].frequency_hz <= 0.0:
        return 0
    half, whole = modes[len(modes) // 2], modes[-1]
    rise = math.log(whole.frequency_hz / half.frequency_hz) / math.log(whole.rank / half.rank)
    further = math.log(below_hz / whole.frequency_hz) / max(rise, 0.5)
    return math.ceil(1.1 * whole.rank * math.exp(min(further, 50.0)))


def _settled_modes(specimen: Specimen, count: int, theory: str, families: Sequence[str]) -> Modes:
    """Raise the degree until no mode moves by more than `SETTLED`.

    Where the change from degree to degree is known to be less than that, the lower one is never
    solved: a third of the time of a beam's modes.
    """
    problems = _problems(specimen, count, theory, families, 1)
    first = solve_all(specimen, count, theory, problems)
    bounded = _with_largest_change(first)
    if bounded is not None and not bounded.unsettled:
        return bounded
    problems = _problems(specimen, count, theory, families, 0)
    coarse = solve_all(specimen, count, theory, problems)
    fine = _with_change(coarse, first)
    for refinement in range(2, REFINEMENTS + 1):
        if not fine.unsettled:
            break
        problems = _problems(specimen, count, theory, families, refinement)
        if max(p.K.shape[0] for p in problems) > LARGEST:
            break
        coarse = fine
        fine = _with_change(coarse, solve_all(specimen, count, theory, problems))
    return fine


def _with_largest_change(fine: Modes) -> Modes | None:
    """The modes, each with the most that it can lie from the degree before; None if unknown."""
    modes = list(fine.modes)
    for problem, members in by_problem(modes):
        Q = np.column_stack([np.asarray(modes[i].q) for i in members])
        omega2 = (2.0 * math.pi * np.array([modes[i].frequency_hz for i in members])) ** 2
        changes = largest_changes(problem, Q, omega2, fine.rigid)
        if changes is None:
            return None
        for i, change in zip(members, changes, strict=True):
            modes[i] = replace(modes[i], change=float(change))
    return replace(fine, modes=tuple(modes))


def _with_change(coarse: Modes, fine: Modes) -> Modes:
    """The finer modes, each with its distance from the coarser one of the same family and order."""
    before = {(mode.family, mode.order): mode.frequency_hz for mode in coarse.modes}
    return replace(
        fine,
        modes=tuple(
            replace(
                mode,
                change=_change(before.get((mode.family, mode.order), math.inf), mode.frequency_hz),
            )
            for mode in fine.modes
        ),
    )


def _change(before: float, after: float) -> float:
    """The relative change; a motion so nearly rigid that rounding leaves it no frequency is 0."""
    if after == 0.0:
        return 0.0 if before == 0.0 else math.inf
    return abs(before / after - 1.0)


def _problems(
    specimen: Specimen, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    return KINDS[specimen.kind].problems(specimen, count, theory, families, refinement)


def first_frequencies(specimen: Specimen, *, besides: Sequence[str]) -> dict[str, float]:
    """The lowest frequency, Hz, of each family that is not among those named.

    A family whose section properties the specimen does not state is left out.
    """
    kind = KINDS[specimen.kind]
    found: dict[str, float] = {}
    for family in kind.families:
        if family in besides:
            continue
        try:
            problems = _problems(specimen, 1, kind.theories[0], (family,), 0)
            lowest = solve_all(specimen, 1, kind.theories[0], problems).modes
        except PredictionError:
            continue
        if lowest:
            found[family] = lowest[0].frequency_hz
    return found


def _with_euler(found: Modes, families: Sequence[str]) -> Modes:
    """The same modes with Euler and Bernoulli's frequency beside each bending mode.

    Above the critical frequency Timoshenko's beam has a second spectrum and orders no longer
    match, so there it is left out.
    """
    specimen = found.specimen
    count = len(found.modes)
    simpler = solve_all(specimen, count, "euler", _problems(specimen, count, "euler", families, 1))
    euler = {(mode.family, mode.order): mode.frequency_hz for mode in simpler.modes}
    critical = {family: critical_frequency(specimen, family) for family in families}
    return replace(
        found,
        modes=tuple(
            replace(mode, euler_hz=euler.get((mode.family, mode.order)))
            if mode.frequency_hz < (1.0 - EQUAL) * critical[mode.family] < math.inf
            else mode
            for mode in found.modes
        ),
    )
