"""The run sheet: how to set up, to sweep, and to look at each resonance of a specimen on a rig.

What it says is found in the rooms below; here it is put together. SI throughout.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from saltline.facts import Facts, facts
from saltline.forced.drive import NOT_EXCITED
from saltline.forced.response import Damping, Driven, damping_of, driven
from saltline.modes import Mode, Modes
from saltline.planning.balance import Balance, balance
from saltline.planning.each_mode import Bench, PlannedMode, planned_modes
from saltline.planning.envelope import Level, Zone, zones
from saltline.planning.loaded import Asked, loaded, loose_sensor
from saltline.planning.places import Spot, Trap, best_spots, gentle_spot, motions, shifts, traps
from saltline.planning.rig import Rig
from saltline.planning.search import Sweep, first_level, held, sweep
from saltline.record import record
from saltline.specimen import Drive, PredictionError, Specimen

MOST_IN_RANGE = 60
"""So many modes of a range are planned, the lowest: a sheet of more is none to work from."""

HEAVIEST = 0.2
"""The largest damping ratio of a plan: what it says of sweeps holds for light damping, and with
more there is no peak to be seen."""


@record
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


@record
class Plan:
    """A run sheet.

    found:      the modes in the range; modes: the same with all that is planned for each.
    neighbours: the modes next to the range, where it has none.
    asked:      the level that was asked for; None for as strongly as no limit forbids.
    sweep:      None where the exciter reaches no mode of the range.
    placing:    None where the range has no mode.
    balance:    None without a rig.
    zones:      from where to where which of the exciter's limits is the nearest, all that moves as
                if rigid; () where its base is not driven.
    left_out:   how many modes of the range are not planned, at least, since it has so many.
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
    zones: tuple[Zone, ...]
    left_out: int

    @property
    def strain_is_limited(self) -> bool:
        """Whether a strain is known that the levels stay below."""
        strained = [p.driving.peak.strain for p in self.modes if p.driving is not None]
        return self.specimen.material.endurance_strain is not None and None not in strained


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

    Raises PredictionError as `find_modes` does, and DriveError where the drive can
    move nothing.
    """
    tested = loaded(specimen, rig, Asked(count, below_hz, theory, families))
    every = tested.modes
    inside = _inside(every, above_hz, below_hz)
    found = inside if below_hz is None else replace(inside, modes=inside.modes[:MOST_IN_RANGE])
    damping = _damping(specimen, damping_ratio)
    known = driven(found, damping_ratio=damping.ratio) if rig and found.modes else None
    bench = Bench(tested, found, damping, rig, known, level)
    modes = planned_modes(bench) if found.modes else ()
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
        placing=_placing(bench) if found.modes else None,
        balance=None
        if rig is None or known is None
        else balance(known, rig, bands=[planned.band for planned in modes]),
        zones=_zones(bench),
        left_out=len(inside.modes) - len(found.modes),
    )


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


# -- the whole range ------------------------------------------------------------------------------


def _sweep(
    bench: Bench, modes: Sequence[PlannedMode], above_hz: float, below_hz: float | None
) -> Sweep | None:
    frequencies = [planned.mode.frequency_hz for planned in modes]
    ratio, rig, known = bench.damping.ratio, bench.rig, bench.known
    within = (0.0, math.inf)
    if rig is not None and known is not None:
        within = (rig.exciter.lowest_frequency.value, rig.exciter.highest_frequency.value)
    made = sweep(
        frequencies,
        ratio,
        above_hz=above_hz,
        below_hz=below_hz,
        within=within,
        excited=[p.share is None or p.share >= NOT_EXCITED for p in modes],
    )
    if rig is None or known is None:
        return made
    drives = [planned.driving.most for planned in modes if planned.driving]
    level = bench.asked or first_level(drives, known.through)
    if made is None or level is None:
        return made
    return replace(made, level=level, reach=held(level, rig, _moved_kg(known, rig)))


def _moved_kg(known: Driven, rig: Rig) -> float:
    """All that the exciter moves, the specimen as if rigid."""
    loose = loose_sensor(known.modes.specimen, rig)
    one = known.mass_kg + (0.0 if loose is None else loose.mass)
    return rig.carried_kg + known.copies * one


def _zones(bench: Bench) -> tuple[Zone, ...]:
    if bench.rig is None or bench.known is None or bench.known.through == "point":
        return ()
    return tuple(zones(bench.rig, _moved_kg(bench.known, bench.rig)))


def _placing(bench: Bench) -> Placing:
    """Where to look at the modes as they are tested, and where a sensor disturbs the bare ones."""
    known, rig = motions(bench.found), bench.rig
    bare = _bare(bench)
    gentle = gentle_spot(known if bare is bench.found else motions(bare))
    sensor = None if rig is None else rig.sensor
    moved: tuple[float, ...] = ()
    if sensor is not None and gentle is not None:
        moved = tuple(shifts(bare, sensor.mass.value, gentle.at))
    return Placing(tuple(best_spots(known)), gentle, moved, tuple(traps(known)))


def _bare(bench: Bench) -> Modes:
    """The modes in the range without a sensor on the specimen."""
    if not bench.tested.is_loaded:
        return bench.found
    wanted = {(mode.family, mode.order) for mode in bench.found.modes}
    every = bench.tested.bare
    inside = tuple(mode for mode in every.modes if (mode.family, mode.order) in wanted)
    return replace(every, modes=inside) if inside else bench.found
