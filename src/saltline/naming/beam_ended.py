"""Whether a list reaches to where a strip is no longer a beam, and from where on."""

from __future__ import annotations

import math
from collections.abc import Callable

from saltline.modes import Modes
from saltline.motions import BeamError
from saltline.naming.findings import hz_text
from saltline.naming.identify import Identification, Match
from saltline.specimen import BeamGeometry
from saltline.strip import HOLDS_TO, Reach, reach
from saltline.strip_form import why_no_plate

SHORT = 1.5
"""Half a wave that is shorter than so many widths is short for a beam."""


def beam_ended(outcome: Identification) -> list[str]:
    """A remark where lines lie above what beam theory holds for, with the rows and frequencies."""
    modes = outcome.modes
    if modes is None or why_no_plate(modes.specimen):
        return []
    flatwise = [mode for mode in modes.modes if mode.family == "flatwise"]
    if not flatwise:
        return []
    try:
        found = reach(modes.specimen, flatwise)
    except BeamError:
        return []
    ends = _ends_hz(found, modes)
    torsion = found.first_lines.get("torsion", math.inf)
    above = _rows(outcome, lambda match: match.measured.frequency_hz > outcome.scale * ends)
    if above:
        whence = f"from {hz_text(outcome.scale * ends)} on" if ends > 0.0 else "throughout"
        lines = "".join(
            f"; a line along the strip is due from {hz_text(outcome.scale * hz)} ({motion})"
            for motion, hz in sorted(found.first_lines.items(), key=lambda item: item[1])
        )
        return [
            f"{whence} the strip acts as a plate, where beam theory "
            f"is off by more than {100.0 * HOLDS_TO:.0f} % ({above}){lines}; "
            '"saltline predict --as-plate" compares the two'
        ]
    doubtful = _rows(outcome, lambda match: _may_twist(match, outcome, torsion))
    if doubtful:
        return [
            f"from {hz_text(outcome.scale * torsion)} on the strip acts as a plate too: it twists, "
            f"with a line along it, and {doubtful} may be such a motion; --all compares with "
            "torsion"
        ]
    return []


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
    rows = [
        f"{number} ({match.measured.frequency_hz:.7g} Hz)"
        for number, match in enumerate(outcome.matches, start=1)
        if is_meant(match)
    ]
    if not rows:
        return ""
    return f"row{'s' if len(rows) > 1 else ''} {', '.join(rows)}"
