"""How strongly one resonance is driven on a rig, and how it is then seen."""

from __future__ import annotations

import math
from collections.abc import Mapping

from saltline.planning.envelope import ASKED, Level
from saltline.planning.limits import Peak, Resonance
from saltline.planning.strobe import Flashes
from saltline.planning.watch import Watch, watch
from saltline.record import record


@record
class Driving:
    """One resonance driven; a drive is an amplitude of the base, m/s2, or on a point a force, N.

    drive:      that is planned; most: the largest that no limit forbids.
    limited_by: what keeps the drive from being larger: one of `limits.LIMITS`, or `ASKED`.
    exceeded:   the limits beyond which the level that was asked for goes, and how many times.
    peak:       what happens at `drive`.
    visible:    the drive from which the motion is seen, by a strobe where one may be used, else by
                eye; it may be more than `most`.
    watch:      how the motion is seen at `drive`.
    """

    drive: float
    most: float
    limited_by: str
    exceeded: Mapping[str, float]
    peak: Peak
    visible: float
    watch: Watch


def driving(
    resonance: Resonance,
    asked: Level | None,
    *,
    visible_m: float,
    seen: Flashes | None,
    can_sense: bool,
) -> Driving | None:
    """A resonance driven as strongly as is asked for and allowed; None where it cannot be driven.

    asked:     None for as strongly as no limit forbids.
    visible_m: the smallest motion that is seen, peak-to-peak.
    seen:      what the strobe can show; None without one.
    can_sense: whether the rig has a sensor that can see the mode.
    """
    most = resonance.drive
    if not resonance.is_excited or most <= 0.0:
        return None
    mode = resonance.mode
    wanted = most if asked is None else asked.drive(mode.frequency_hz)
    drive = min(wanted, most)
    peak = resonance.per_unit.times(drive)
    can_flash = seen is not None and any(not flash.is_flicker for flash in seen.frozen)
    watched = watch(
        mode.frequency_hz,
        peak.displacement,
        family=mode.family,
        can_flash=can_flash,
        can_sense=can_sense,
        visible_m=visible_m,
    )
    return Driving(
        drive=drive,
        most=most,
        limited_by=ASKED if wanted < most else resonance.limited_by,
        exceeded={} if asked is None else resonance.exceeded(asked),
        peak=peak,
        visible=math.inf if watched.visible is None else drive * watched.visible,
        watch=watched,
    )
