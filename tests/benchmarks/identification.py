"""How often `check` names a line rightly: random specimens, random lists, the truth known.

A list is made from the predicted modes of a specimen: the lowest N (at random) are moved by one
factor and each by noise, some are left out, some lines that are no mode are put in, counts are
given, left out or given wrong. All numbers are in `Law`. Then the list is named, and held against
what it was made from.

What counts as right. A true line is right when it is named as its own mode, however sure the naming
was; a line left unexplained is wrong. Some modes lie within the noise of each other (on plates and
discs, and exactly so flatwise and edgewise of a round bar), which no list without counts can tell
apart: a line is right, too, when it is named as a mode within `ALIKE` of its own, as long as the
count that was written beside it speaks for that mode no less than for its own. The share named as
the very mode, and the share with modes of one frequency taken as one, are printed beside it. A line
that is no mode is badly named when it is given a mode with a confidence of at least `CONFIDENT`.

Run by hand:  python tests/benchmarks/identification.py [LISTS [CACHE]]
CACHE is a file in which the solved specimens are kept for the next run: solving them takes minutes,
naming 500 lists of each kind takes seconds. The tests run a few lists of each kind.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import pickle
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from pads import KINDS, SEED, Kind, Law, Pad, Solved, make_list, solve

from saltline.files.measured import Measured
from saltline.files.specimen_file import read_specimen
from saltline.modes import Mode
from saltline.naming.counted import count_cost
from saltline.naming.identify import CONFIDENT, identify
from saltline.nodes import pattern_of
from saltline.solver import find_modes

ALIKE = 0.01
"""Modes closer than the noise (relative) may be taken for each other where no count forbids it."""

SAME = 1e-6
"""Modes closer than this (relative) have one frequency."""


HARDER: Mapping[str, Law] = {
    "no counts": Law(counted=0.0),
    "twice the noise, scale off by up to 25 %, counts wrong twice as often": Law(
        scale=0.25, noise=0.02, miscounted=0.3
    ),
    "six modes in ten missed": Law(missed=0.6),
    "three lines in eight no mode": Law(foreign=0.6),
}
"""Lists harder than those that the figures of the first four rows are for."""

REED = """
kind: beam
material: brass
geometry: {length: 300 mm, section: {shape: rectangle, width: 20 mm, thickness: 0.5 mm}}
boundary: {start: clamped, end: free}
"""

DISC = """
kind: disc
material: brass
geometry: {diameter: 300 mm, thickness: 1 mm}
boundary: {rim: free}
"""

# -- what came of it ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Tally:
    """What came of one kind's lists.

    lines, foreign: true lines, and lines that are no mode.
    right:     named rightly; exact: named as the very mode; same: as one of its frequency.
    wrong:     true lines named as another mode; sure: of these, with at least `CONFIDENT`.
    unexplained: true lines left without a mode.
    bad:       lines that are no mode, confidently named; named: with any confidence.
    seconds:   the naming of all lists.
    said:      (confidence, whether right) of each true line named.
    """

    lines: int
    foreign: int
    right: int
    exact: int
    same: int
    wrong: int
    sure: int
    unexplained: int
    bad: int
    named: int
    seconds: float
    said: tuple[tuple[float, bool], ...]


def run(kind: Kind, solved: Sequence[Solved], lists: int, law: Law) -> Tally:
    """Name so many lists of a kind."""
    number = KINDS.index(kind)
    totals: dict[str, Any] = dict.fromkeys(Tally.__annotations__, 0)
    said: list[tuple[float, bool]] = []
    for i in range(lists):
        rng = np.random.default_rng([SEED, number, i])
        item = solved[int(rng.integers(len(solved)))]
        pad = make_list(item, kind, law, rng)
        modes, counts = _within_reach(item, pad)
        start = time.perf_counter()
        outcome = identify(pad.rows, modes, counts=counts, tolerance=0.03)
        totals["seconds"] += time.perf_counter() - start
        for match, true in zip(outcome.matches, pad.truth, strict=True):
            got = None if match.mode is None else match.mode.rank - 1
            _count(totals, said, item, match.measured, got, true, match.confidence)
    return Tally(**{**totals, "said": tuple(said)})


def _count(
    totals: dict[str, Any],
    said: list[tuple[float, bool]],
    item: Solved,
    row: Measured,
    got: int | None,
    true: int | None,
    confidence: float,
) -> None:
    sure = confidence >= CONFIDENT
    if true is None:
        totals["foreign"] += 1
        totals["named"] += got is not None
        totals["bad"] += got is not None and sure
        return
    totals["lines"] += 1
    if got is None:
        totals["unexplained"] += 1
        return
    right = got == true or _alike(item, row, got, true)
    totals["exact"] += got == true
    totals["same"] += _apart(item, got, true) < SAME
    totals["right"] += right
    totals["wrong"] += not right
    totals["sure"] += not right and sure
    said.append((confidence, right))


def _alike(item: Solved, row: Measured, got: int, true: int) -> bool:
    """Whether nothing in the row tells the two modes apart."""
    if _apart(item, got, true) > ALIKE:
        return False
    return count_cost(row.counts, item.counts[got]) <= count_cost(row.counts, item.counts[true])


def _apart(item: Solved, one: int, other: int) -> float:
    """How far two modes are apart, in ln f."""
    return abs(float(np.log(item.modes[one].frequency_hz / item.modes[other].frequency_hz)))


def _within_reach(
    item: Solved, pad: Pad
) -> tuple[list[Mode], Callable[[Mode], Mapping[str, int | None]]]:
    """The modes that `check` would compare with, and their counts."""
    highest = 1.35 * max(row.frequency_hz for row in pad.rows)
    inside = sum(mode.frequency_hz <= highest for mode in item.modes)
    return list(item.modes[: inside + 3]), lambda mode: item.counts[mode.rank - 1]


# -- the report -----------------------------------------------------------------------------------


def percent(part: float, whole: float) -> str:
    """A share in percent."""
    return f"{100.0 * part / whole:5.1f} %" if whole else "    - "


def report(kind: Kind, tally: Tally, lists: int) -> str:
    """One kind's figures in words."""
    lines = [
        f"{kind.name}: {lists} lists, seed {SEED}, {tally.lines} true lines, "
        f"{tally.foreign} that are no mode",
        f"  {percent(tally.right, tally.lines)} named rightly "
        f"({percent(tally.exact, tally.lines)} as the very mode, "
        f"{percent(tally.same, tally.lines)} as one of its frequency), "
        f"{percent(tally.unexplained, tally.lines)} unexplained, "
        f"{percent(tally.wrong, tally.lines)} named wrongly, "
        f"{percent(tally.sure, tally.lines)} so with confidence",
        f"  {percent(tally.bad, tally.foreign)} of the lines that are no mode given a confident "
        f"name, {percent(tally.named, tally.foreign)} any name",
        f"  {1e3 * tally.seconds / lists:.1f} ms a list",
    ]
    for low, high in ((0.0, 0.6), (0.6, 0.9), (0.9, 0.99), (0.99, 1.01)):
        inside = [right for confidence, right in tally.said if low <= confidence < high]
        if inside:
            lines.append(
                f"  stated {100 * low:.0f} to {min(100 * high, 100):.0f} %: "
                f"{percent(sum(inside), len(inside))} right of {len(inside)}"
            )
    return "\n".join(lines)


def cost(repeats: int, *, lines: int = 30, count: int = 100) -> list[tuple[str, float, float]]:
    """(what, seconds, ratio to the solve) of naming a list whose counts are at hand."""
    return [
        _cost(name, text, repeats, lines, count) for name, text in (("beam", REED), ("disc", DISC))
    ]


def _cost(name: str, text: str, repeats: int, lines: int, count: int) -> tuple[str, float, float]:
    specimen = read_specimen(text)
    modes = find_modes(specimen, count=count).modes
    counts = {mode.rank: pattern_of(mode.shape).counts for mode in modes}
    rng = np.random.default_rng(SEED)
    pad = [
        Measured(
            1.1 * modes[j].frequency_hz * (1.0 + 0.01 * rng.standard_normal()),
            {key: value for key, value in counts[j + 1].items() if value is not None},
        )
        for j in rng.choice(int(0.7 * count), size=lines, replace=False)
    ]
    base = best_of(lambda: find_modes(specimen, count=count), repeats)
    spent = best_of(
        lambda: identify(pad, modes, counts=lambda mode: counts[mode.rank], tolerance=0.03), repeats
    )
    what = f"naming {lines} lines against {count} modes of a {name}, over solving these"
    return what, spent, spent / base


def best_of(action: Callable[[], object], repeats: int) -> float:
    """The shortest of several times, s."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def main(lists: int = 500, cache: Path | None = None) -> None:
    """Print the figures of every kind, then of harder lists, then what naming costs."""
    known: dict[str, list[Solved]] = {}
    if cache is not None and cache.exists():
        known = pickle.loads(cache.read_bytes())
    for kind in KINDS:
        if kind.name not in known:
            known[kind.name] = solve(kind)
            if cache is not None:
                cache.write_bytes(pickle.dumps(known))
        print(report(kind, run(kind, known[kind.name], lists, Law()), lists), flush=True)
    for what, law in HARDER.items():
        for kind in KINDS:
            tally = run(kind, known[kind.name], max(1, lists // 4), law)
            print(f"{what}: {report(kind, tally, max(1, lists // 4))}", flush=True)
    for name, seconds, ratio in cost(3):
        print(f"{seconds * 1e3:9.1f} ms  {ratio:6.2f}  {name}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]), *map(Path, sys.argv[2:3]))
