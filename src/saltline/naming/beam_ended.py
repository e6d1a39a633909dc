"""Whether a list reaches to where a strip is no longer a beam, and from where on."""

from __future__ import annotations

import math
from collections.abc import Callable

from saltline.modes import Modes
from saltline.motions import FAMILIES
from saltline.naming.findings import hz_text
from saltline.naming.identify import Identification, Match
from saltline.solver import first_frequencies
from saltline.specimen import BeamGeometry, PredictionError
from saltline.strip import HOLDS_TO, Reach, reach
from saltline.strip_form import why_no_plate

MOST_TOLD = 10
"""So many rows are named; of more, how many they are."""

SHORT = 1.5
"""Half a wave that is shorter than so many widths is short for a beam."""


def beam_ended(outcome: Identification, *, is_told: bool = False) -> list[str]:
    """A remark where lines lie above what beam theory holds for, with the rows and frequencies.

    is_told: whether it is said already which lines may be torsion.
    """
    modes = outcome.modes
    if modes is None or why_no_plate(modes.specimen):
        return []
    flatwise = [mode for mode in modes.modes if mode.family == "flatwise"]
    if not flatwise:
        return []
    try:
        found = reach(modes.specimen, flatwise)
    except PredictionError:
        return []
    ends = _ends_hz(found, modes)
    twist = _twist_hz(modes)
    above = _rows(outcome, lambda match: match.measured.frequency_hz > outcome.scale * ends)
    if above:
        whence = f"from {hz_text(outcome.scale * ends)} on" if ends > 0.0 else "throughout"
        return [
            f"{whence} the strip acts as a plate, where beam theory "
            f"is off by more than {100.0 * HOLDS_TO:.0f} % ({above})"
            f'{_lines_along(found, twist, outcome.scale)}; "saltline predict --as-plate" compares '
            "the two"
        ]
    if any(mode.family == "torsion" for mode in modes.modes) or is_told:
        return []
    first = min(twist, found.first_lines.get("torsion", math.inf))
    doubtful = _rows(outcome, lambda match: _may_twist(match, outcome, first))
    if not doubtful:
        return []
    return [
        f"the strip acts as a plate too, and {doubtful} may be its twist"
        f"{_lines_along(found, twist, outcome.scale)}; --all compares with torsion"
    ]


def _twist_hz(modes: Modes) -> float:
    """The first torsion by beam theory, Hz; infinite where the section does not say it."""
    listed = [mode.frequency_hz for mode in modes.modes if mode.family == "torsion"]
    if listed:
        return listed[0]
    others = [family for family in FAMILIES if family != "torsion"]
    return first_frequencies(modes.specimen, besides=others).get("torsion", math.inf)


def _lines_along(found: Reach, twist_hz: float, scale: float) -> str:
    """From where on a node line runs along the strip, by both theories, as `predict` has them."""
    plate = {motion: hz_text(scale * hz) for motion, hz in found.first_lines.items()}
    words = []
    if math.isfinite(twist_hz) and "torsion" in plate:
        words.append(
            f"{hz_text(scale * twist_hz)} (torsion; by thin-plate theory {plate.pop('torsion')})"
        )
    words += [f"{hz} ({motion}, by thin-plate theory)" for motion, hz in plate.items()]
    if not words:
        return ""
    return f"; a node line along the strip is due from {' and from '.join(words)}, scaled"


def _ends_hz(found: Reach, modes: Modes) -> float:
    """Where beam theory ends, predicted; infinite where it holds throughout.

    Above where the plate was looked at, half a wave that is shorter than the width is a sign.
    """
    geometry = modes.specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    width = geometry.segments[0].section_start.dimensions["width"].value
    short = [
        mode.frequency_hz
        for mode in modes.modes
        if mode.family == "flatwise"
        and mode.frequency_hz > found.looked_to_hz
        and geometry.length / mode.order < width
    ]
    chordwise = found.first_lines.get("chordwise", math.inf)
    return min(found.holds_to_hz, chordwise, *short[:1])


def _may_twist(match: Match, outcome: Identification, torsion_hz: float) -> bool:
    """Whether a line may be no bending: it has no name, or a count that differs at a short wave."""
    assert outcome.modes is not None
    geometry = outcome.modes.specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    highest = outcome.modes.modes[-1].frequency_hz
    if not torsion_hz <= match.measured.frequency_hz / outcome.scale <= highest:
        return False
    if match.mode is None:
        return True
    width = geometry.segments[0].section_start.dimensions["width"].value
    return match.finding == "count differs" and geometry.length / match.mode.order < SHORT * width


def _rows(outcome: Identification, is_meant: Callable[[Match], bool]) -> str:
    """Some rows in words, "" where there is none."""
    found = [
        f"{number} ({match.measured.frequency_hz:.7g} Hz)"
        for number, match in enumerate(outcome.matches, start=1)
        if is_meant(match)
    ]
    if not found:
        return ""
    more = f" and {len(found) - MOST_TOLD} more" if len(found) > MOST_TOLD else ""
    return f"row{'s' if len(found) > 1 else ''} {', '.join(found[:MOST_TOLD])}{more}"
