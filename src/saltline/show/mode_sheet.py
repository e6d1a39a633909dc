"""A run sheet's block for one mode, in the order in which its knobs are turned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from saltline.facts import STANDARD_GRAVITY
from saltline.planning.driving import Driving
from saltline.planning.each_mode import PlannedMode
from saltline.planning.envelope import ASKED
from saltline.planning.plan import Plan
from saltline.planning.search import FIRST_LOOK
from saltline.planning.strobe import FLICKER_HZ, SLOW_HZ, Flash
from saltline.show.phrases import (
    LIMIT_WORDS,
    Entry,
    count_text,
    cycles_text,
    drive_text,
    duration,
    entries,
    place_text,
    stated,
)
from saltline.show.table import LengthUnit, significant
from saltline.specimen import DiscGeometry
from saltline.words import listed, together

TWO, THREE, FOUR, FIVE = (significant(digits) for digits in (2, 3, 4, 5))

MOST_SETTINGS = 2
"""So many strobe settings of a kind are on the sheet; the JSON form has more."""

SMALL = 0.1
"""A motion of more than this part of the specimen's length is not small (our choice)."""


def mode_block(plan: Plan, planned: PlannedMode, unit: LengthUnit) -> list[str]:
    """What is done at one mode."""
    mode, band = planned.mode, planned.band
    title = f"MODE {mode.rank}, {mode.family} {mode.order}: {FIVE(mode.frequency_hz)} Hz"
    if band is not None:
        title += f" ({FOUR(band.low_hz)} to {FOUR(band.high_hz)} Hz)"
    if planned.bare_hz is not None:
        also = " and its twin" if mode.multiplicity > 1 else ""
        title += f", without the sensor{also} {FIVE(planned.bare_hz)} Hz"
    return entries(title, _rows(plan, planned, unit))


def _rows(plan: Plan, planned: PlannedMode, unit: LengthUnit) -> Iterator[Entry]:
    counted = count_text(planned.pattern, unit)
    resonance = planned.resonance
    if resonance is not None and resonance.drive <= 0.0:
        yield "level", why_not(planned)
        yield "to count", counted
        return
    yield from _rest(plan, planned, unit, counted)
    yield "found", BLANKS
    if planned.mode.multiplicity > 1 or _are_two(plan):
        yield "and its twin", BLANKS


BLANKS = "f ___________ Hz   counted ________   level ________   note ________________"
"""What is written down of a mode that is found."""


def _are_two(plan: Plan) -> bool:
    """Whether two specimens show the mode, each at a frequency of its own."""
    return plan.balance is not None and plan.balance.layout == "twin"


def _rest(plan: Plan, planned: PlannedMode, unit: LengthUnit, counted: str) -> Iterator[Entry]:
    """What is done, in its order; nothing more where the rig cannot drive it.

    counted: what is to be counted.
    """
    driving = planned.driving
    if planned.resonance is not None and driving is None:
        yield "level", why_not(planned)
        yield "to count", counted
        return
    if driving is not None:
        yield "level", f"{_how_much(plan, driving)}. {_motion(plan, driving, unit)}"
    yield "search", _search(planned)
    yield from _strobe(planned)
    if driving is not None:
        yield "see it", watch_text(plan, driving)
    yield "to count", counted
    yield "stay", _stay(plan, planned)


def _search(planned: PlannedMode) -> str:
    known, search = planned.pace, planned.search
    return (
        f"{FOUR(search.low_hz)} to {FOUR(search.high_hz)} Hz, at no more than "
        f"{TWO(known.sweep_hz_per_s)} Hz/s or {TWO(known.sweep_octave_per_min)} octave/min "
        f"({duration(search.seconds)}), or in {search.steps} steps of {TWO(known.step_hz)} Hz, "
        f"until each has built up ({duration(search.steps * known.dwell_s)})"
    )


# -- level ----------------------------------------------------------------------------------------


def why_not(planned: PlannedMode) -> str:
    """Why a mode cannot be driven."""
    assert planned.resonance is not None
    if not planned.resonance.is_excited:
        return (
            "the drive does not excite this mode; only a specimen that is not quite what the file "
            "says shows it, faintly"
        )
    return f"the mode lies beyond {LIMIT_WORDS['frequency']}"


def _how_much(plan: Plan, driving: Driving) -> str:
    drive = drive_text(driving.drive, plan.through)
    first = drive_text(FIRST_LOOK * driving.drive, plan.through)
    if driving.limited_by == ASKED:
        most = drive_text(driving.most, plan.through)
        return f"begin at {first}, up to {drive} as asked for ({most} would be the most)"
    text = f"begin at {first}, at most {drive}: {LIMIT_WORDS[driving.limited_by]} allows no more"
    if driving.exceeded:
        over = together(
            f"{LIMIT_WORDS[name]} {TWO(times)} times" for name, times in driving.exceeded.items()
        )
        text += f" (the level asked for exceeds {over})"
    if not plan.strain_is_limited:
        text += ", but WHAT IT CRACKS AT IS NOT KNOWN"
    return text


def _motion(plan: Plan, driving: Driving, unit: LengthUnit) -> str:
    """What happens at the level."""
    peak = driving.peak
    swing = unit.per_metre * 2.0 * peak.displacement
    place = place_text(plan.specimen, peak.moves_most_at, unit)
    in_g = peak.acceleration / STANDARD_GRAVITY
    text = f"Then {TWO(swing)} {unit.sign} peak-to-peak and {TWO(in_g)} g at {place}"
    if plan.through == "point":
        text += f", {TWO(peak.base_acceleration / STANDARD_GRAVITY)} g where it is pushed"
    if peak.strain is not None and peak.strained_most_at is not None:
        where = place_text(plan.specimen, peak.strained_most_at, unit)
        text += f", {TWO(1e6 * peak.strain)} µm/m of strain at {where}"
    text += f", {TWO(peak.force)} N of the exciter at its worst near the peak"
    if driving.limited_by == "moment":
        text += f", {TWO(peak.moment)} N m about the drive axis"
    geometry = plan.specimen.geometry
    size = geometry.diameter.value if isinstance(geometry, DiscGeometry) else max(geometry.size)
    if peak.relative_displacement > SMALL * size:
        text += ". That is beyond the small motion of the theory: it will be less, at another f"
    return text


# -- to be seen -----------------------------------------------------------------------------------


def _strobe(planned: PlannedMode) -> Iterator[Entry]:
    found = planned.flashes
    if found is None:
        return
    if planned.strobe_fault:
        yield "strobe", planned.strobe_fault
        return
    parts = [f"by the f FOUND, here as predicted: stands still at {_settings(found.frozen)}"]
    if _steady(found.slowed):
        parts.append(f"creeps forward at d = {SLOW_HZ:g} Hz at {_settings(found.slowed)}")
    if _steady(found.misleading):
        parts.append(f"shows several images at {_settings(found.misleading)}")
    flicker = [flash for flash in found.frozen if flash.is_flicker]
    if flicker:
        low, high = FLICKER_HZ
        band = f"in or near the {low:g} to {high:g} Hz that can trigger seizures"
        parts.append(f"not {_setting(flicker[0])}, {band}")
    yield "strobe", "; ".join(parts)


def _steady(flashes: Sequence[Flash]) -> list[Flash]:
    """The settings outside of the band of flicker."""
    return [flash for flash in flashes if not flash.is_flicker]


def _settings(flashes: Sequence[Flash]) -> str:
    return ", ".join(map(_setting, _steady(flashes)[:MOST_SETTINGS]))


def _setting(flash: Flash) -> str:
    """ "f/2 = 81.54 Hz", "(f-d)/2 = 81.04 Hz", "2f = 326.2 Hz (2)" with the number of images."""
    name = "f" if flash.images == 1 else f"{flash.images}f"
    if flash.apparent_hz:
        name = "f-d" if flash.cycles == 1 else "(f-d)"
    if flash.cycles > 1:
        name += f"/{flash.cycles}"
    images = f" ({flash.images})" if flash.images > 1 else ""
    rate = max(FOUR(flash.flash_hz), f"{flash.flash_hz:.{flash.decimals}f}", key=len)
    return f"{name} = {rate} Hz{images}"


def watch_text(plan: Plan, driving: Driving) -> str:
    """How a mode is seen, and from which level on."""
    known, rig = driving.watch, plan.rig
    on_base = rig is not None and rig.sensor is not None and not rig.sensor.at
    names = [_sensor(plan, driving) if way == "sensor" and on_base else way for way in known.ways]
    text = listed(names) if names else "nothing of the rig shows it at this level"
    text += f"; {_visible(plan, driving)}"
    if known.salt_moves is None or known.salt_thrown is None:
        return text
    moves = drive_text(driving.drive * known.salt_moves, plan.through)
    thrown = drive_text(driving.drive * known.salt_thrown, plan.through)
    if known.salt_moves > 1.0:
        return f"{text}; salt would move from {moves}"
    text += f"; salt moves from {moves}"
    if known.salt_thrown > 1.0:
        return text
    already = ", which is less than the level to begin with" * (known.salt_thrown < FIRST_LOOK)
    return f"{text} and is thrown off from {thrown}{already}"


def _sensor(plan: Plan, driving: Driving) -> str:
    """What is named where the rig has its sensor on the base, which moves alike in every mode."""
    assert plan.rig is not None
    assert plan.rig.sensor is not None
    borne, most = plan.rig.sensor.range, driving.peak.acceleration
    if borne is None or most <= borne.value:
        return "a sensor put on the specimen"
    until = drive_text(driving.drive * borne.value / most, plan.through)
    return (
        f"a sensor put on the specimen, once planned with it on (at the place that moves most its "
        f"range of {stated(borne.value / STANDARD_GRAVITY)} g ends at {until})"
    )


def _visible(plan: Plan, driving: Driving) -> str:
    """From which level on the motion is seen, by strobe and by eye."""
    known = driving.watch
    by_eye, by_strobe = (
        None if times is None else drive_text(driving.drive * times, plan.through)
        for times in (known.by_eye, known.by_strobe)
    )
    if driving.visible > driving.drive:
        how = "by eye" if by_strobe is None else "by strobe"
        return f"too little to be visible, which would take {by_strobe or by_eye} {how}"
    if by_strobe is None:
        return f"the motion is visible by eye from {by_eye}"
    return f"the motion is visible by strobe from {by_strobe}, by eye from {by_eye}"


def _stay(plan: Plan, planned: PlannedMode) -> str:
    known = planned.pace
    text = (
        f"{duration(known.dwell_s)} ({cycles_text(known.dwell_cycles)} cycles) until it has built "
        "up to 95 %, then no longer than the count takes"
    )
    if not plan.strain_is_limited:
        return text
    return (
        f"{text}; the 10 million cycles for which an endurance strain is stated pass in "
        f"{duration(known.endurance_s)}"
    )
