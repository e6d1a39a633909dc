"""Which mode each measured frequency is, what does not fit, and what was not seen.

The match is free of scale: modulus, density and thickness move all frequencies by one factor, so
that factor is found along with the match, and only the pattern of the ratios counts. Every way to
pair the list with the modes in order is weighed, best over the whole list at once:

    cost = sum over pairs    (ln f - ln p - ln s)^2 / (2 SPREAD^2) + the cost of a wrong count
         + UNEXPLAINED       for each measured line that is left over
         + MISSED            for each mode passed over inside the measured range
                             (MOST_MISSED at most between two lines)
         + (ln s)^2 / (2 SCALE_SPREAD^2)

which is the negative logarithm of a probability, up to a constant. The numbers are choices, stated
below; they come from what is common at the bench (common practice, no source).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from saltline.arrays import Values
from saltline.measured import Measured
from saltline.modes import Mode

SPREAD = 0.015
"""Standard deviation of a measured frequency about the scaled prediction (relative)."""

SCALE_SPREAD = 0.12
"""Standard deviation of the common factor: how roughly a specimen is known."""

LARGEST_SCALE = 1.35
"""The common factor is looked for between 1/this and this."""

WIDE_SCALE = 2.5
"""... and between 1/this and this where most lines are left over though nodes were counted: a wrong
size in the file moves everything far."""

MOST_SCALE_COST = 6.0
"""The most that an unlikely factor costs."""

UNEXPLAINED = 5.5
"""Cost of leaving a measured line without a mode."""

MISSED = 0.7
"""Cost of a mode that was passed over: about three in ten modes are not noticed."""

UNSEEN_BELOW = 0.1
"""Cost of each mode below the first one found."""

MOST_MISSED = 2.5
"""The most that passing over a row of modes costs: whole ranges are skipped at once."""

COUNT_OFF = (0.0, 2.0, 4.5)
"""Cost of a count that is right, a little off, far off: one count in seven is wrong."""

LITTLE_OFF = 0.2
"""A count is a little off by one, or by this part of what is due: long rows are hard to count."""

GRID_STEP = 0.00375
"""Step of the logarithm of the factors tried, a quarter of SPREAD."""


@dataclass(frozen=True, slots=True)
class Match:
    """What one measured line is.

    mode:     the mode that the frequency and the rest of the list support, or None.
    residual: f / (scale p) - 1; NaN where unexplained.
    finding:  "agrees", "off", "count differs" or "unexplained".
    why:      the finding in a sentence; "" where it agrees.
    """

    measured: Measured
    mode: Mode | None
    residual: float
    finding: str
    why: str


@dataclass(frozen=True, slots=True)
class Unseen:
    """A predicted mode that is not in the list, and why it may be missing."""

    mode: Mode
    why: str


@dataclass(frozen=True, slots=True)
class Identification:
    """The whole list named.

    scale:   measured over predicted, the common factor.
    matches: in the order of the list.
    """

    scale: float
    matches: tuple[Match, ...]
    unseen: tuple[Unseen, ...]

    @property
    def fits(self) -> bool:
        """Whether every line agrees with a mode."""
        return all(match.finding == "agrees" for match in self.matches)


Counts = Callable[[Mode], Mapping[str, int | None]]


def identify(
    measured: Sequence[Measured],
    modes: Sequence[Mode],
    *,
    counts: Counts,
    tolerance: float,
    unexcited: Collection[int] = (),
    largest_scale: float = LARGEST_SCALE,
) -> Identification:
    """Name every measured line, or leave it honestly unexplained.

    measured:  at least one line.
    modes:     the predicted modes, by frequency, reaching well beyond the list.
    counts:    mode -> what an observer would count; asked for only where a count matters.
    tolerance: relative difference from the scaled prediction that still agrees.
    unexcited: ranks of the modes that the drive cannot excite.
    largest_scale: how far the common factor may lie from 1.
    """
    lines = sorted(range(len(measured)), key=lambda i: measured[i].frequency_hz)
    costs = _count_costs([measured[i] for i in lines], modes, counts, largest_scale)
    log_f = np.log([measured[i].frequency_hz for i in lines])
    log_p = np.log([mode.frequency_hz for mode in modes])
    log_scale, pairs = _best(log_f, log_p, costs, math.log(largest_scale))
    found = {lines[i]: j for i, j in pairs}
    scale = math.exp(log_scale)
    support = len(found)
    matches = tuple(
        _match(
            row, modes[found[i]] if i in found else None, scale, counts, modes, tolerance, support
        )
        for i, row in enumerate(measured)
    )
    matches = _with_twins(matches, modes, scale, counts, tolerance)
    unseen = _unseen(modes, set(found.values()), log_f, log_scale, unexcited)
    return Identification(scale, matches, unseen)


# -- the best pairing -----------------------------------------------------------------------------


def _count_costs(
    lines: Sequence[Measured], modes: Sequence[Mode], counts: Counts, largest: float
) -> Values:
    """The cost of a wrong count or family for each line and mode, shape (lines, modes)."""
    costs = np.zeros((len(lines), len(modes)))
    for i, line in enumerate(lines):
        for j, mode in enumerate(modes):
            if line.family is not None and line.family != mode.family:
                costs[i, j] = np.inf
            ratio = line.frequency_hz / mode.frequency_hz
            near = 1 / largest / 1.1 < ratio < largest * 1.1
            if not near:
                costs[i, j] = np.inf
            elif line.counts and math.isfinite(costs[i, j]):
                costs[i, j] += count_cost(line.counts, counts(mode))
    return costs


def count_cost(seen: Mapping[str, int], due: Mapping[str, int | None]) -> float:
    """The cost of what was counted against what is due; nothing where nothing can be compared."""
    cost = 0.0
    for key, count in seen.items():
        expected = due.get(key, count)
        if expected is None:  # lines were counted on a pattern that has no such count
            return COUNT_OFF[1]
        off = abs(count - expected)
        little = max(1.0, LITTLE_OFF * expected)
        cost += COUNT_OFF[0 if off == 0 else 1 if off <= little else 2]
    return cost


def _best(
    log_f: Values, log_p: Values, costs: Values, edge: float
) -> tuple[float, list[tuple[int, int]]]:
    """The best factor (its logarithm, at most `edge`) and the pairs (line, mode) under it."""
    grid = np.linspace(-edge, edge, 1 + 2 * math.ceil(edge / GRID_STEP))
    unlikely = np.minimum(grid**2 / (2.0 * SCALE_SPREAD**2), MOST_SCALE_COST)
    total = _align(log_f, log_p, costs, grid)[-1] + unlikely
    log_scale = float(grid[np.argmin(total)])
    for _ in range(4):
        pairs = _trace_back(log_f, log_p, costs, log_scale)
        if not pairs:
            return 0.0, []
        refined = float(np.median([log_f[i] - log_p[j] for i, j in pairs]))
        if abs(refined - log_scale) < 1e-9:
            break
        log_scale = refined
    return log_scale, pairs


def _align(log_f: Values, log_p: Values, costs: Values, log_scales: Values) -> list[Values]:
    """The least cost of pairing the first lines with modes in order, for many factors at once.

    Dynamic programming: best[j] is the least cost so far where the last pair took mode j - 1, and
    best[0] where there is no pair yet. Returns best after each line, shape (modes + 1, factors),
    and last the least cost of all, shape (factors,).
    """
    n, m = costs.shape
    best = np.full((m + 1, log_scales.size), np.inf)
    best[0] = 0.0
    stages: list[Values] = [best]
    for i in range(n):
        paired = _pair_cost(log_f[i], log_p, costs[i], log_scales)
        with_pair = np.vstack([np.full((1, log_scales.size), np.inf), _passing(best) + paired])
        best = np.minimum(best + UNEXPLAINED, with_pair)
        stages.append(best)
    return [*stages, best.min(axis=0)]


def _passing(best: Values) -> Values:
    """The least cost before a pair with each mode, every mode passed over since the last pair paid.

    Modes below the first pair cost less: many lists begin where the exciter begins.
    """
    passed = np.empty_like(best[:-1])
    first = best[0] + UNSEEN_BELOW * np.arange(best.shape[0] - 1)[:, None]
    since = np.full(best.shape[1], np.inf)
    long_since = np.full(best.shape[1], np.inf)
    for j in range(passed.shape[0]):
        passed[j] = np.minimum(first[j], np.minimum(since, long_since + MOST_MISSED))
        since = np.minimum(since + MISSED, best[j + 1])
        long_since = np.minimum(long_since, best[j + 1])
    return passed


def _pair_cost(log_f: float, log_p: Values, costs: Values, log_scales: Values) -> Values:
    residual = (log_f - log_p[:, None] - log_scales[None, :]) / SPREAD
    return np.asarray(residual**2 / 2.0 + costs[:, None])


def _trace_back(
    log_f: Values, log_p: Values, costs: Values, log_scale: float
) -> list[tuple[int, int]]:
    """The pairs (line, mode) of the best alignment under one factor."""
    scales = np.array([log_scale])
    stages = [stage[:, 0] for stage in _align(log_f, log_p, costs, scales)[:-1]]
    pairs: list[tuple[int, int]] = []
    j = int(np.argmin(stages[-1]))
    for i in range(len(log_f) - 1, -1, -1):
        if j == 0 or stages[i][j] + UNEXPLAINED <= stages[i + 1][j] + 1e-9:
            continue
        pairs.append((i, j - 1))
        j = _before(stages[i], j - 1)
    return pairs[::-1]


def _before(stage: Values, mode: int) -> int:
    """The state from which a pair with this mode was cheapest."""
    states = np.arange(mode + 1)
    missed = np.minimum(MISSED * (mode - states), MOST_MISSED)
    passing = np.where(states == 0, UNSEEN_BELOW * mode, missed)
    return int(np.argmin(stage[: mode + 1] + passing))


# -- the findings in words ------------------------------------------------------------------------


def _match(
    row: Measured,
    mode: Mode | None,
    scale: float,
    counts: Counts,
    modes: Sequence[Mode],
    tolerance: float,
    support: int,
) -> Match:
    if mode is None:
        return Match(
            row, None, math.nan, "unexplained", _nearest_in_words(row, scale, counts, modes)
        )
    residual = row.frequency_hz / (scale * mode.frequency_hz) - 1.0
    if row.counts and count_cost(row.counts, counts(mode)) > 0.0:
        why = _count_in_words(row, mode, scale, counts, modes, support)
        return Match(row, mode, residual, "count differs", why)
    if abs(residual) > tolerance:
        why = f"{100 * residual:+.1f} % from the scaled prediction, beyond {100 * tolerance:.3g} %"
        return Match(row, mode, residual, "off", why)
    return Match(row, mode, residual, "agrees", "")


def _with_twins(
    matches: tuple[Match, ...],
    modes: Sequence[Mode],
    scale: float,
    counts: Counts,
    tolerance: float,
) -> tuple[Match, ...]:
    """The second of two lines that symmetry makes of one mode is that mode too.

    On a real disc the twins lie a little apart.
    """
    taken = {m.mode.rank: i for i, m in enumerate(matches, start=1) if m.mode is not None}
    named = []
    for match in matches:
        row = match.measured
        twins = [m for m in modes if m.multiplicity > 1 and m.rank in taken]
        for mode in twins if match.mode is None else ():
            residual = row.frequency_hz / (scale * mode.frequency_hz) - 1.0
            if abs(residual) <= tolerance and count_cost(row.counts, counts(mode)) == 0.0:
                why = f"the twin of row {taken.pop(mode.rank)}: two modes of one figure, turned"
                named.append(Match(row, mode, residual, "agrees", why))
                break
        else:
            named.append(match)
    return tuple(named)


def _nearest_in_words(row: Measured, scale: float, counts: Counts, modes: Sequence[Mode]) -> str:
    """What lies nearest to a line that no mode was found for, and what speaks against it."""
    nearest = min(modes, key=lambda m: abs(math.log(row.frequency_hz / (scale * m.frequency_hz))))
    hz = scale * nearest.frequency_hz
    distance = row.frequency_hz / hz - 1.0
    if abs(distance) > 2.0 * SPREAD:
        return (
            f"no mode fits; the nearest is {name_of(nearest)} at {hz:.4g} Hz (scaled), "
            f"{100.0 * abs(distance):.1f} % {'below' if distance > 0 else 'above'} it"
        )
    near = f"its frequency is near that of {name_of(nearest)} ({hz:.4g} Hz scaled)"
    if row.family is not None and row.family != nearest.family:
        return f"{near}, but the family stated is {row.family}"
    if row.counts and count_cost(row.counts, counts(nearest)) > 0.0:
        return f"{near}, but that has {counts_in_words(counts(nearest))}"
    return f"{near}, which another line fits better"


def name_of(mode: Mode) -> str:
    """A mode by family and order, as the tables write it."""
    return f"{mode.family} {mode.order}"


def counts_in_words(counts: Mapping[str, int | None]) -> str:
    """ "3 nodes", "1 line across x and 2 across y", "2 diameters and 0 circles"."""
    if counts.get("nodes") is not None:
        return f"{counts['nodes']} node" + ("" if counts["nodes"] == 1 else "s")
    words = {
        "lines_x": "across x",
        "lines_y": "across y",
        "diameters": "nodal diameters",
        "circles": "nodal circles",
    }
    parts = [f"{counts[key]} {word}" for key, word in words.items() if counts.get(key) is not None]
    return " and ".join(parts) if parts else "no such lines"


def _count_in_words(
    row: Measured, mode: Mode, scale: float, counts: Counts, modes: Sequence[Mode], support: int
) -> str:
    """Both the mode that the frequency says and the one that the count says, with frequencies."""
    due = counts_in_words(counts(mode))
    here = f"by frequency {name_of(mode)} ({scale * mode.frequency_hz:.4g} Hz scaled), with {due}"
    same = [m for m in modes if m.family == mode.family]
    counted = [m for m in same if count_cost(row.counts, counts(m)) == 0.0]
    if not counted:
        return f"{here}; no mode in the range has {counts_in_words(row.counts)}"
    nearest = min(counted, key=lambda m: abs(math.log(row.frequency_hz / m.frequency_hz)))
    verdict = (
        "the rest of the list supports the frequency"
        if support >= 3
        else "too few other lines to tell which is right"
    )
    return (
        f"{here}; by the count {name_of(nearest)}, which lies at "
        f"{scale * nearest.frequency_hz:.4g} Hz; {verdict}"
    )


def _unseen(
    modes: Sequence[Mode],
    found: set[int],
    log_f: Values,
    log_scale: float,
    unexcited: Collection[int],
) -> tuple[Unseen, ...]:
    """The modes up to the highest line that nothing was matched with."""
    unseen = []
    for j, mode in enumerate(modes):
        log_p = math.log(mode.frequency_hz) + log_scale
        if j in found or log_p > log_f.max() + SPREAD:
            continue
        why = "nothing explains its absence"
        if mode.rank in unexcited:
            why = "the drive does not excite it"
        elif log_p < log_f.min() - SPREAD:
            why = "below the lowest frequency measured"
        unseen.append(Unseen(mode, why))
    return tuple(unseen)
