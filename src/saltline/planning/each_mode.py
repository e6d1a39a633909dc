"""One mode planned: how strongly it is driven, where it is looked for, and how it is seen.

SI throughout.
"""

from __future__ import annotations

import numpy as np

from saltline.forced.drive import excitation
from saltline.forced.response import Damping, Driven
from saltline.forced.shapes import deflections_of, largest
from saltline.modes import Mode, Modes
from saltline.nodes import Pattern, pattern_of
from saltline.planning.driving import Driving, driving
from saltline.planning.envelope import Level
from saltline.planning.limits import Resonance, at_resonances
from saltline.planning.loaded import Loaded
from saltline.planning.pace import Pace, pace
from saltline.planning.places import BLIND
from saltline.planning.rig import Rig
from saltline.planning.search import Search, search
from saltline.planning.strobe import Flashes, complaint, flashes
from saltline.record import record
from saltline.spread import Band, bands


@record
class PlannedMode:
    """Everything about one mode.

    share:          how strongly the drive excites it, 0 to 1; None where no drive is known.
    bare_hz:        its frequency without the rig's sensor; None where none is on the specimen.
    flashes:        what the strobe can show; None without one. strobe_fault: why it does so badly.
    resonance:      what the rig allows; None without one.
    driving:        None without a rig, and where the rig cannot drive the mode.
    """

    mode: Mode
    pattern: Pattern
    band: Band | None
    share: float | None
    bare_hz: float | None
    pace: Pace
    search: Search
    flashes: Flashes | None
    strobe_fault: str
    resonance: Resonance | None
    driving: Driving | None


@record
class Bench:
    """What all parts of a plan are made from; `found` are the modes `tested` that are in range."""

    tested: Loaded
    found: Modes
    damping: Damping
    rig: Rig | None
    known: Driven | None
    asked: Level | None


def planned_modes(bench: Bench) -> tuple[PlannedMode, ...]:
    """Every mode of a bench, planned."""
    rig, known, found = bench.rig, bench.known, bench.found
    spread = bands(found)
    levels = None if rig is None or known is None else at_resonances(known, rig, bands=spread)
    shares = [r.share for r in levels] if levels is not None else excitation(found)
    planned = []
    for number, (mode, band) in enumerate(zip(found.modes, spread, strict=True)):
        resonance = None if levels is None else levels[number]
        seen, fault = _strobed(mode, rig)
        known_pace = pace(mode.frequency_hz, bench.damping.ratio)
        bare_hz = bench.tested.bare_hz(mode.family, mode.order)
        planned.append(
            PlannedMode(
                mode=mode,
                pattern=pattern_of(mode.shape),
                band=band,
                share=None if shares is None else shares[number],
                bare_hz=bare_hz,
                pace=known_pace,
                search=_search(mode, band, bare_hz, known_pace),
                flashes=seen,
                strobe_fault=fault,
                resonance=resonance,
                driving=_driving(resonance, rig, seen, bench.asked),
            )
        )
    return tuple(planned)


def _strobed(mode: Mode, rig: Rig | None) -> tuple[Flashes | None, str]:
    if rig is None or rig.strobe is None:
        return None, ""
    low, high = rig.strobe.lowest_rate.value, rig.strobe.highest_rate.value
    seen = flashes(mode.frequency_hz, low_hz=low, high_hz=high)
    return seen, complaint(seen, low_hz=low, high_hz=high)


def _search(mode: Mode, band: Band | None, bare_hz: float | None, known: Pace) -> Search:
    """Where to look; of a disc's twins one rests where the sensor is and stays as it was."""
    low = mode.frequency_hz if band is None else band.low_hz
    high = mode.frequency_hz if band is None else band.high_hz
    if bare_hz is not None and mode.multiplicity > 1:
        high += bare_hz - mode.frequency_hz
    return search(low, high, known)


def _driving(
    resonance: Resonance | None, rig: Rig | None, seen: Flashes | None, asked: Level | None
) -> Driving | None:
    if resonance is None or rig is None:
        return None
    return driving(
        resonance,
        asked,
        visible_m=rig.smallest_visible_motion.value,
        seen=seen,
        can_sense=_can_sense(resonance.mode, rig),
    )


def _can_sense(mode: Mode, rig: Rig) -> bool:
    """Whether the rig's sensor sees a mode: not from a place that hardly moves in it.

    One on the base can be put on the specimen.
    """
    if rig.sensor is None or not rig.sensor.at:
        return rig.sensor is not None
    here = deflections_of([mode.shape], np.array([[q.value for q in rig.sensor.at]]))[0, 0]
    return abs(float(here)) >= BLIND * largest(mode.shape)
