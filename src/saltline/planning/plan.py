"""The run sheet: how to set up, to sweep, and to look at each resonance of a specimen on a rig.

What it says is found in the rooms below; here it is put together. SI throughout.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from saltline.effects import sensor_effect
from saltline.facts import Facts, facts
from saltline.forced.drive import excitation
from saltline.forced.response import Damping, Driven, damping_of, driven, for_drive
from saltline.mixture import as_driven
from saltline.modes import Mode, Modes, PredictionError, find_modes
from saltline.nodes import Pattern, pattern_of
from saltline.planning.balance import Balance, balance
from saltline.planning.driving import Driving, driving
from saltline.planning.envelope import Level
from saltline.planning.limits import Resonance, at_resonances
from saltline.planning.pace import Pace, pace
from saltline.planning.places import Spot, Trap, best_spots, gentle_spot, motions, shifts, traps
from saltline.planning.rig import Rig
from saltline.planning.search import Search, Sweep, first_level, held, search, sweep
from saltline.planning.strobe import Flashes, complaint, flashes
from saltline.specimen import DiscGeometry, Drive, Specimen
from saltline.spread import Band, bands

HEAVIEST = 0.2
"""The largest damping ratio of a plan: what it says of sweeps holds for light damping, and with
more there is no peak to be seen."""


@dataclass(frozen=True, slots=True)
class PlannedMode:
    """Everything about one mode.

    share:          how strongly the drive excites it, 0 to 1; None where no drive is known.
    with_sensor_hz: its frequency with the rig's sensor on the specimen; None where there is none.
    flashes:        what the strobe can show; None without one. strobe_fault: why it does so badly.
    resonance:      what the rig allows; None without one.
    driving:        None without a rig, and where the rig cannot drive the mode.
    """

    mode: Mode
    pattern: Pattern
    band: Band | None
    share: float | None
    with_sensor_hz: float | None
    pace: Pace
    search: Search
    flashes: Flashes | None
    strobe_fault: str
    resonance: Resonance | None
    driving: Driving | None


@dataclass(frozen=True, slots=True)
class Placing:
    """Where to put a sensor, or to drive through a point.

    spots:  that see all modes best.
    gentle: where a sensor's mass shifts them least; None where no place sees them all.
    shifts: what the rig's sensor does there to each mode, relative; () without one.
    traps:  places that come to mind and are blind to some modes.
    """

    spots: tuple[Spot, ...]
    gentle: Spot | None
    shifts: tuple[float, ...]
    traps: tuple[Trap, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """A run sheet.

    found:      the modes in the range; modes: the same with all that is planned for each.
    neighbours: the modes next to the range, where it has none.
    asked:      the level that was asked for; None for as strongly as no limit forbids.
    sweep:      None where the exciter reaches no mode of the range.
    placing:    None where the range has no mode.
    balance:    None without a rig.
    """

    specimen: Specimen
    rig: Rig | None
    through: str
    facts: Facts
    damping: Damping
    found: Modes
    neighbours: tuple[Mode, ...]
    asked: Level | None
    modes: tuple[PlannedMode, ...]
    sweep: Sweep | None
    placing: Placing | None
    balance: Balance | None


def plan(
    specimen: Specimen,
    *,
    rig: Rig | None = None,
    count: int = 8,
    above_hz: float = 0.0,
    below_hz: float | None = None,
    level: Level | None = None,
    damping_ratio: float | None = None,
    theory: str | None = None,
    families: Sequence[str] | None = None,
) -> Plan:
    """The run sheet of a specimen.

    rig:      without one there are no levels and no strobe settings.
    count:    how many modes, the lowest; below_hz: all up to this frequency instead.
    above_hz: those below this frequency are left out.
    level:    how strongly to drive (`envelope.parse_level` reads one); by default as strongly as no
              limit forbids.
    damping_ratio: instead of the specimen's, as a number.

    Raises PredictionError and BeamError as `find_modes` does, and DriveError where the drive can
    move nothing.
    """
    every = as_driven(
        find_modes(
            for_drive(specimen),
            count=count,
            below_hz=below_hz,
            beyond=0 if below_hz is None else 1,
            theory=theory,
            families=families,
        )
    )
    found = _inside(every, above_hz, below_hz)
    damping = _damping(specimen, damping_ratio)
    known = driven(found, damping_ratio=damping.ratio) if rig and found.modes else None
    bench = _Bench(every, found, damping, rig, known, level)
    modes = _planned(bench) if found.modes else ()
    return Plan(
        specimen=specimen,
        rig=rig,
        through=(specimen.drive or Drive()).through,
        facts=facts(specimen),
        damping=damping,
        found=found,
        neighbours=() if found.modes else _neighbours(every, above_hz),
        asked=level,
        modes=modes,
        sweep=_sweep(bench, modes, above_hz, below_hz),
        placing=_placing(found, rig) if found.modes else None,
        balance=None
        if rig is None or known is None
        else balance(known, rig, bands=[planned.band for planned in modes]),
    )


@dataclass(frozen=True, slots=True)
class _Bench:
    """What all parts of a plan are made from; `found` are those of `every` mode in the range."""

    every: Modes
    found: Modes
    damping: Damping
    rig: Rig | None
    known: Driven | None
    asked: Level | None


def _damping(specimen: Specimen, given: float | None) -> Damping:
    damping = damping_of(specimen) if given is None else Damping(given, False)
    if damping.ratio > HEAVIEST:
        raise PredictionError(
            f"with a damping ratio of {100.0 * damping.ratio:.4g} % there is no resonance to look "
            f"for; a plan takes at most {100.0 * HEAVIEST:g} %"
        )
    return damping


def _inside(every: Modes, above_hz: float, below_hz: float | None) -> Modes:
    inside = tuple(
        mode
        for mode in every.modes
        if above_hz <= mode.frequency_hz and (below_hz is None or mode.frequency_hz <= below_hz)
    )
    return replace(every, modes=inside)


def _neighbours(every: Modes, above_hz: float) -> tuple[Mode, ...]:
    """The last mode below an empty range and the first one above it."""
    lower = [mode for mode in every.modes if mode.frequency_hz < above_hz]
    upper = [mode for mode in every.modes if mode.frequency_hz >= above_hz]
    return (*lower[-1:], *upper[:1])


# -- modes ----------------------------------------------------------------------------------------


def _planned(bench: _Bench) -> tuple[PlannedMode, ...]:
    rig, known, found = bench.rig, bench.known, bench.found
    levels = None if rig is None or known is None else at_resonances(known, rig)
    shares = [r.share for r in levels] if levels is not None else excitation(found)
    loaded = _with_sensor(bench.every, rig)
    planned = []
    for number, (mode, band) in enumerate(zip(found.modes, bands(found), strict=True)):
        resonance = None if levels is None else levels[number]
        seen, fault = _strobed(mode, rig)
        known_pace = pace(mode.frequency_hz, bench.damping.ratio)
        with_sensor_hz = loaded.get((mode.family, mode.order))
        planned.append(
            PlannedMode(
                mode=mode,
                pattern=pattern_of(mode.shape),
                band=band,
                share=None if shares is None else shares[number],
                with_sensor_hz=with_sensor_hz,
                pace=known_pace,
                search=_search(mode, band, with_sensor_hz, known_pace),
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


def _search(mode: Mode, band: Band | None, with_sensor_hz: float | None, known: Pace) -> Search:
    low = mode.frequency_hz if band is None else band.low_hz
    high = mode.frequency_hz if band is None else band.high_hz
    if with_sensor_hz is not None:
        low -= mode.frequency_hz - with_sensor_hz
    return search(low, high, known)


def _driving(
    resonance: Resonance | None, rig: Rig | None, seen: Flashes | None, asked: Level | None
) -> Driving | None:
    if resonance is None or rig is None:
        return None
    visible = rig.smallest_visible_motion.value
    return driving(resonance, asked, visible_m=visible, seen=seen)


def _with_sensor(every: Modes, rig: Rig | None) -> dict[tuple[str, int], float]:
    """(family, order) -> the frequency with the rig's sensor, where that is on the specimen."""
    sensor = None if rig is None else rig.sensor
    if sensor is None or not sensor.at or not every.modes:
        return {}
    at = [q.value for q in sensor.at]
    if isinstance(every.specimen.geometry, DiscGeometry):
        # Off the centre, where nothing can be attached to a disc: to first order.
        moved = shifts(every, sensor.mass.value, at)
        after = [(1.0 + s) * m.frequency_hz for s, m in zip(moved, every.modes, strict=True)]
        return {(m.family, m.order): hz for m, hz in zip(every.modes, after, strict=True)}
    families = tuple(dict.fromkeys(mode.family for mode in every.modes))
    loaded = sensor_effect(every, sensor.mass.value, at, families=families)
    return {(mode.family, mode.order): mode.frequency_hz for mode in loaded.modes}


# -- the whole range ------------------------------------------------------------------------------


def _sweep(
    bench: _Bench, modes: Sequence[PlannedMode], above_hz: float, below_hz: float | None
) -> Sweep | None:
    frequencies = [planned.mode.frequency_hz for planned in modes]
    ratio, rig, known = bench.damping.ratio, bench.rig, bench.known
    if rig is None or known is None:
        return sweep(frequencies, ratio, above_hz=above_hz, below_hz=below_hz)
    within = (rig.exciter.lowest_frequency.value, rig.exciter.highest_frequency.value)
    made = sweep(frequencies, ratio, above_hz=above_hz, below_hz=below_hz, within=within)
    drives = [planned.driving.most for planned in modes if planned.driving]
    level = bench.asked or first_level(drives, known.through)
    if made is None or level is None:
        return made
    moved = rig.carried_kg + known.copies * known.mass_kg
    return replace(made, level=level, reach=held(level, rig, moved))


def _placing(found: Modes, rig: Rig | None) -> Placing:
    known = motions(found)
    gentle = gentle_spot(known)
    sensor = None if rig is None else rig.sensor
    moved: tuple[float, ...] = ()
    if sensor is not None and gentle is not None:
        moved = tuple(shifts(found, sensor.mass.value, gentle.at))
    return Placing(tuple(best_spots(known)), gentle, moved, tuple(traps(known)))
