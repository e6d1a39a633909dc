"""The modes of a specimen: frequencies, shapes, families and orders, and whether they have settled.

This room alone knows all the solvers. Each kind of specimen says which problems its motions are;
all the rest, from merging and ranking to watching the convergence, is the same for every kind.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape, beam_problems, critical_frequency
from saltline.disc_shape import DiscShape
from saltline.eigen import BuckledError
from saltline.mixed_shape import MixedShape
from saltline.motions import FAMILIES, BeamError
from saltline.plates.plate_shape import PlateShape
from saltline.problem import Problem, Solution, attach, solve
from saltline.quantities_of import quantities, with_values
from saltline.record import record
from saltline.settling import largest_changes
from saltline.specimen import Specimen

Shape = BeamShape | PlateShape | MixedShape | DiscShape

SETTLED = 1e-6
"""A mode has settled when a higher degree moves it by less than this (relative)."""

LENGTHS = ("geometry.length", "geometry.segments.0.length", "geometry.diameter")
"""The quantity, whichever the specimen has, that is thought to be a little larger where modes of
one problem share a frequency."""

EQUAL = 1e-9
"""Relative difference of omega^2 below which two modes have one frequency."""

REFINEMENTS = 4
"""How many times the degree is raised before a mode is called unsettled."""

LARGEST = 1400
"""The degree is not raised again (after the first time) where a matrix would be larger."""

MOST_MODES = 400
"""No request is answered with more modes than this."""

MOST_BELOW = 200
"""... and one for all modes below a frequency with no more than this: more is a slip of the limit,
and costs minutes where the shapes are traced too."""

THEORIES = ("timoshenko", "euler")


class PredictionError(ValueError):
    """A specimen that cannot be predicted, said in words for the user."""


@record
class Mode:
    """One mode.

    rank:         over all modes, by frequency; order: within its family.
    frequency_hz: natural frequency.
    shape:        the motion, mass-normalised.
    change:       how much the last rise of the degree moved the frequency (relative), at most.
    euler_hz:     of the same order by Euler and Bernoulli, for a Timoshenko beam's bending mode
                  below the critical frequency.
    multiplicity: 2 where symmetry makes two modes of one frequency.
    labels:       what the problem says of all its modes ("diameters" of a disc).
    problem, q:   what the mode is a solution of, and its coefficients there.
    """

    rank: int
    family: str
    order: int
    frequency_hz: float
    shape: Shape
    change: float
    euler_hz: float | None = None
    multiplicity: int = 1
    labels: Mapping[str, int] = field(default_factory=dict)
    problem: Problem | None = field(default=None, repr=False, compare=False)
    q: Values | None = field(default=None, repr=False, compare=False)


@record
class Modes:
    """The modes of a specimen, by frequency.

    theory: "timoshenko" or "euler" for a beam, "kirchhoff" for flat specimens.
    rigid:  number of rigid-body modes left out.
    """

    specimen: Specimen
    theory: str
    modes: tuple[Mode, ...]
    rigid: int

    @property
    def unsettled(self) -> tuple[Mode, ...]:
        """The modes that the highest degree still moved by more than `SETTLED`."""
        return tuple(mode for mode in self.modes if mode.change > SETTLED)


@record
class _Kind:
    """How one kind of specimen becomes problems.

    problems: (specimen, count, theory, families, refinement) -> problems.
    families: what can be asked for, the default first.
    theories: what can be asked for, the default first.
    """

    problems: Callable[[Specimen, int, str, Sequence[str], int], list[Problem]]
    families: tuple[str, ...]
    theories: tuple[str, ...]


def _beam_problems(
    specimen: Specimen, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    return beam_problems(
        specimen, count=count, theory=theory, families=families, refinement=refinement
    )


def _plate_problems(
    specimen: Specimen, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    from saltline.plate import plate_problems  # a beam need not wait for it

    return plate_problems(specimen, count=count, refinement=refinement)


def _disc_problems(
    specimen: Specimen, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    from saltline.disc import disc_problems  # likewise

    return disc_problems(specimen, count=count, refinement=refinement)


KINDS: Mapping[str, _Kind] = {
    "beam": _Kind(
        _beam_problems,
        FAMILIES,
        THEORIES,
    ),
    "plate": _Kind(
        _plate_problems,
        ("plate",),
        ("kirchhoff",),
    ),
    "disc": _Kind(
        _disc_problems,
        ("disc",),
        ("kirchhoff",),
    ),
}


def of_ranks(modes: Modes, ranks: Collection[int]) -> Modes:
    """Those of the modes that have one of these ranks, which they keep."""
    return replace(modes, modes=tuple(mode for mode in modes.modes if mode.rank in ranks))


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

    Raises PredictionError where the specimen cannot be predicted (buckled by its preload, a theory
    that is none), and BeamError where a section does not state what the theory needs.
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
    first = _solve_all(specimen, count, theory, problems)
    bounded = _with_largest_change(first)
    if bounded is not None and not bounded.unsettled:
        return bounded
    problems = _problems(specimen, count, theory, families, 0)
    coarse = _solve_all(specimen, count, theory, problems)
    fine = _with_change(coarse, first)
    for refinement in range(2, REFINEMENTS + 1):
        if not fine.unsettled:
            break
        problems = _problems(specimen, count, theory, families, refinement)
        if max(p.K.shape[0] for p in problems) > LARGEST:
            break
        coarse = fine
        fine = _with_change(coarse, _solve_all(specimen, count, theory, problems))
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


def by_problem(modes: Sequence[Mode]) -> list[tuple[Problem, list[int]]]:
    """The distinct problems, each with the places of its modes in the list."""
    groups: dict[int, tuple[Problem, list[int]]] = {}
    for place, mode in enumerate(modes):
        assert mode.problem is not None
        groups.setdefault(id(mode.problem), (mode.problem, []))[1].append(place)
    return list(groups.values())


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


def _solve_all(specimen: Specimen, count: int, theory: str, problems: Sequence[Problem]) -> Modes:
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
            lowest = _solve_all(specimen, 1, kind.theories[0], problems).modes
        except (BeamError, PredictionError):
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
    simpler = _solve_all(specimen, count, "euler", _problems(specimen, count, "euler", families, 1))
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
