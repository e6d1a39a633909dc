"""What lines without a name may be: another way in which the beam moves, the same mode read twice,
or frequencies in another unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from saltline.kinds import KINDS
from saltline.modes import Mode
from saltline.naming.check import named
from saltline.naming.findings import hz_text, name_of
from saltline.naming.identify import LARGEST_SCALE, Identification, Match
from saltline.solver import find_modes
from saltline.specimen import PredictionError, Specimen

NEAR = 0.03
"""A line lies near a mode of another family within this, relative: the families hang on different
constants."""

TOLD = 5
"""So many lines are spoken of."""

TWICE = 0.004
"""Two lines nearer than this, relative, may be one mode that was read twice."""

FAR = 30.0
"""All lines lie so many times above the first mode, or below it, where a unit is asked after ..."""

FEWEST, MOSTLY = 3, 0.75
"""... and it is named where so many lines at least, and this part of all, then have a name."""


def other_families(outcome: Identification) -> list[str]:
    """Which lines without a name lie near modes of families that the list was not compared with."""
    modes = outcome.modes
    nameless = [
        (number, match.measured.frequency_hz)
        for number, match in enumerate(outcome.matches, start=1)
        if match.mode is None and match.measured.family is None
    ]
    if modes is None or not nameless or not any(match.mode for match in outcome.matches):
        return []
    highest = max(hz for _, hz in nameless)
    others = [
        mode
        for family in KINDS[modes.specimen.kind].families
        if family not in {mode.family for mode in modes.modes}
        for mode in _modes_of(modes.specimen, family, 1.1 * highest / outcome.scale)
    ]
    told = []
    for number, hz in nameless:
        off = [(abs(hz / (outcome.scale * mode.frequency_hz) - 1.0), mode) for mode in others]
        away, mode = min(off, key=lambda pair: pair[0], default=(1.0, None))
        if mode is not None and away < NEAR:
            due = hz_text(outcome.scale * mode.frequency_hz)
            told.append(f"row {number} ({hz:.7g} Hz) may be {name_of(mode)} ({due} scaled)")
    if not told:
        return []
    more = f"; and {len(told) - TOLD} more" if len(told) > TOLD else ""
    return [
        f"the beam moves in other ways too: {'; '.join(told[:TOLD])}{more}. --all compares with "
        "all of them"
    ]


def _modes_of(specimen: Specimen, family: str, below_hz: float) -> Sequence[Mode]:
    try:
        return find_modes(specimen, below_hz=below_hz, families=(family,)).modes
    except PredictionError:  # the file does not say what that takes
        return ()


def read_twice(outcome: Identification) -> list[str]:
    """Lines that are one mode read twice, by all that is known of them."""
    return [
        f"rows {i} and {j} ({one.measured.frequency_hz:.7g} and {other.measured.frequency_hz:.7g} "
        "Hz) look like one resonance that was read twice: remove one of them"
        for (i, one), (j, other) in combinations(enumerate(outcome.matches, start=1), 2)
        if _are_one(one, other, outcome)
    ][:TOLD]


def _are_one(one: Match, other: Match, outcome: Identification) -> bool:
    a, b = one.measured, other.measured
    if abs(a.frequency_hz / b.frequency_hz - 1.0) > TWICE or a.family != b.family:
        return False
    if any(a.counts[key] != b.counts[key] for key in a.counts.keys() & b.counts.keys()):
        return False
    modes = () if outcome.modes is None else outcome.modes.modes
    near = [
        mode
        for mode in modes
        if abs(outcome.scale * mode.frequency_hz / a.frequency_hz - 1.0) < NEAR
    ]
    return sum(mode.multiplicity for mode in near) == 1


def other_unit(outcome: Identification) -> list[str]:
    """That all frequencies look a thousand times too large or too small, where they then fit."""
    modes = outcome.modes
    hz = [line.frequency_hz for line in outcome.measured]
    if modes is None or not modes.modes or len(hz) < FEWEST:
        return []
    first = modes.modes[0].frequency_hz
    for factor, far, said in (
        (1e-3, min(hz) > FAR * first, "large: are they in hertz, and read as kilohertz"),
        (1e3, max(hz) < first / FAR, "small: are they in kilohertz, and read as hertz"),
    ):
        if far and _explained_with(outcome, factor) >= max(FEWEST, MOSTLY * len(hz)):
            return [f"every frequency looks 1000 times too {said}?"]
    return []


def _explained_with(outcome: Identification, factor: float) -> int:
    """How many lines have a name once all frequencies are multiplied."""
    assert outcome.modes is not None
    lines = [replace(line, frequency_hz=factor * line.frequency_hz) for line in outcome.measured]
    other = named(
        outcome.modes.specimen,
        lines,
        LARGEST_SCALE,
        tolerance=outcome.tolerance,
        theory=None,
        count=None,
        families=None,
    )
    return sum(match.finding == "agrees" for match in other.matches)
