"""Why a predicted mode may not be in the list: the range, the drive, the sensor, a neighbour."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.forced.drive import NOT_EXCITED, excitation
from saltline.forced.shapes import deflections, largest
from saltline.modes import Mode, Modes
from saltline.naming.findings import name_of
from saltline.naming.identify import Identification, Match, Unseen
from saltline.planning.rig import Rig
from saltline.record import record
from saltline.specimen import Attachment

EDGE = 0.015
"""A mode within this of the lowest or highest line (relative) is in the range measured."""

WEAK = 0.05
"""A mode is driven, or seen, weakly where that comes to less than this part of the most."""

HIDDEN = 0.02
"""A mode may hide behind another that was found where it is closer than this (relative)."""

STRAY = 0.08
"""A line without a name that is closer than this (relative) is pointed at."""

UNEXPLAINED = "nothing explains its absence"


@record
class _Search:
    """What was looked for, and how.

    low_hz, high_hz: the lowest and the highest line.
    shares:          how strongly each mode is driven, by rank; empty where no drive is stated.
    """

    modes: Modes
    outcome: Identification
    rig: Rig | None
    low_hz: float
    high_hz: float
    shares: dict[int, float]


def unseen(modes: Modes, outcome: Identification, *, rig: Rig | None = None) -> tuple[Unseen, ...]:
    """The modes up to the highest line that no line was named, and the next one above it.

    rig: where a sensor sits, and the range of the exciter; None where that is not known.
    """
    measured = [match.measured.frequency_hz for match in outcome.matches]
    shares = excitation(modes) or []
    search = _Search(
        modes,
        outcome,
        rig,
        min(measured),
        max(measured),
        {m.rank: share for m, share in zip(modes.modes, shares, strict=False)},
    )
    named = {match.mode.rank for match in outcome.matches if match.mode is not None}
    found = []
    for mode in modes.modes:
        if mode.rank not in named:
            found.append(Unseen(mode, "; ".join(_reasons(mode, search)) or UNEXPLAINED))
        if outcome.scale * mode.frequency_hz > (1.0 + EDGE) * search.high_hz:
            break
    return tuple(found)


def _reasons(mode: Mode, search: _Search) -> list[str]:
    return [
        reason
        for reason in (
            _out_of_range(mode, search),
            _not_driven(mode, search),
            _not_sensed(mode, search),
            _hidden(mode, search),
            _stray(mode, search),
        )
        if reason
    ]


def _out_of_range(mode: Mode, search: _Search) -> str:
    hz = search.outcome.scale * mode.frequency_hz
    if hz < (1.0 - EDGE) * search.low_hz:
        if search.rig is not None and hz < search.rig.exciter.lowest_frequency.value:
            return "below the exciter's range"
        return "below the lowest frequency measured"
    if hz > (1.0 + EDGE) * search.high_hz:
        if search.rig is not None and hz > search.rig.exciter.highest_frequency.value:
            return "above the exciter's range"
        return "above the highest frequency measured"
    return ""


def _not_driven(mode: Mode, search: _Search) -> str:
    drive = search.modes.specimen.drive
    share = search.shares.get(mode.rank)
    if drive is None or share is None or share >= WEAK:
        return ""
    at_point = drive.through == "point"
    if share < NOT_EXCITED:
        if search.modes.specimen.kind == "beam" and mode.family != "flatwise":
            what = "force" if at_point else "motion of the supports"
            return f"a {what} out of the wide face excites no {mode.family} mode"
        if at_point:
            return "the drive point is on its node"
        return "the supports, moving together, cannot excite it"
    percent = f"{100.0 * share:.1g} %"
    if at_point:
        return f"the drive point is near its node, where it moves {percent} of its most"
    return f"the supports excite it weakly ({percent})"


def _not_sensed(mode: Mode, search: _Search) -> str:
    """Where a sensor sits, by the rig; else whatever is attached may be one."""
    rig, specimen = search.rig, search.modes.specimen
    if mode.family not in ("flatwise", "plate", "disc"):
        return ""
    if rig is not None and rig.sensor is not None:
        at = [place.value for place in rig.sensor.at]
        if at and _moves(mode, at) < WEAK:
            return "the sensor sits on its node"
        return ""
    on_node = [thing for thing in specimen.attached if _moves(mode, _place(thing)) < WEAK]
    if on_node and len(on_node) == len(specimen.attached):
        return "what is attached sits on its node: if that is the sensor, it sees nothing"
    return ""


def _place(thing: Attachment) -> list[float]:
    return [place.value for place in thing.at] or [0.0]


def _moves(mode: Mode, at: Sequence[float]) -> float:
    """The deflection at a place in parts of the largest."""
    here = float(deflections(mode.shape, np.array([at]))[0])
    return abs(here) / (largest(mode.shape) or 1.0)


def _hidden(mode: Mode, search: _Search) -> str:
    near = [
        match.mode
        for match in search.outcome.matches
        if match.mode is not None and _apart(mode, match.mode) < HIDDEN
    ]
    if not near:
        return ""
    closest = min(near, key=lambda other: _apart(mode, other))
    apart = 100.0 * _apart(mode, closest)
    where = f"only {apart:.1f} % from" if apart >= 0.05 else "at the frequency of"
    return f"{where} {name_of(closest)}, which was found: one peak may hold both"


def _apart(mode: Mode, other: Mode) -> float:
    return abs(mode.frequency_hz / other.frequency_hz - 1.0)


def _stray(mode: Mode, search: _Search) -> str:
    """A line without a name that may yet be this mode."""
    hz = search.outcome.scale * mode.frequency_hz

    def distance(match: Match) -> float:
        return match.measured.frequency_hz / hz - 1.0

    strays = [
        (number, match)
        for number, match in enumerate(search.outcome.matches, start=1)
        if match.mode is None and abs(distance(match)) < STRAY
    ]
    if not strays:
        return ""
    number, match = min(strays, key=lambda item: abs(distance(item[1])))
    return f"row {number}, which has no name, is {100.0 * distance(match):+.1f} % from it"
