"""A run sheet in words: cautions, set-up, sweep, and a block for each mode."""

from __future__ import annotations

from collections.abc import Iterator

from saltline.forced.drive import NOT_EXCITED
from saltline.planning.cautions import CAUTIONS
from saltline.planning.places import BLIND, SEEN, Trap
from saltline.planning.plan import Plan
from saltline.planning.rig import Rig
from saltline.show.phrases import (
    Entry,
    entries,
    mass_text,
    place_text,
    ranks_text,
    stated,
)
from saltline.show.table import LengthUnit, significant
from saltline.tracing.nodecircles import DiscPattern

NEVER = ("edgewise", "torsion", "axial")
"""Families that a drive across the wide face cannot move, wherever it pushes on the axis."""

TOO_HEAVY = 0.1
"""A sensor that shifts a mode by more than this changes the test; the first-order figure ends here
too (our choice)."""

TWO, THREE, FOUR = (significant(digits) for digits in (2, 3, 4))


def title(plan: Plan) -> str:
    """What the sheet is for."""
    on = "" if plan.rig is None else f" on {plan.rig.name}"
    return f"RUN SHEET: {plan.specimen.name}{on}"


def cautions() -> list[str]:
    """The standing cautions, before anything else."""
    rows = [(caution.topic, caution.text) for caution in CAUTIONS]
    return entries("BEFORE ANYTHING IS SWITCHED ON", rows)


# -- set-up ---------------------------------------------------------------------------------------


def set_up(plan: Plan, unit: LengthUnit) -> list[str]:
    """What is mounted, how it is driven, and where to look at it."""
    rows = [*_mounting(plan, unit), *_places(plan, unit), *_undriven(plan, unit)]
    return entries("SET UP", rows)


def _mounting(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
    specimen, rig = plan.specimen, plan.rig
    holds = [f"{name} {hold.word}" for name, hold in specimen.boundary.items()]
    number = len(specimen.supports)
    holds += [f"{number} support{'s' if number > 1 else ''}"] if number else []
    mass = mass_text(plan.facts.mass_kg)
    yield ("specimen", f"{specimen.name}, {specimen.material.name}, {mass}; {', '.join(holds)}")
    yield ("driven", _drive(plan, unit))
    if rig is not None:
        yield ("exciter", _exciter(rig, unit))
        yield from _moment(plan)
        yield from _twins(plan, rig)
        yield from _strength(plan)


def _drive(plan: Plan, unit: LengthUnit) -> str:
    drive = plan.specimen.drive
    if drive is None and plan.rig is None:
        return "the file states no drive"
    if drive is None:
        return "through the supports, all moving together (assumed: the file states no drive)"
    if drive.through == "point":
        at = f"at {place_text(plan.specimen, [q.value for q in drive.at], unit)}"
        if plan.rig is not None:
            at += (
                ", through a thin rod. Levels are those of the force there, read from a force "
                "sensor: the exciter's own moving parts take the rest, and they shift the peaks of "
                "motion that are seen without one"
            )
        alone = '. Planned as ONE specimen: "layout: twin" means nothing where a point is pushed'
        return at + (alone if drive.layout == "twin" else "")
    twin = "; two equal specimens opposite each other" if drive.layout == "twin" else ""
    return f"through the supports, all moving together{twin}"


def _exciter(rig: Rig, unit: LengthUnit) -> str:
    known = rig.exciter
    stroke = f"{unit.per_metre * known.stroke.value:.4g} {unit.sign}"
    band = f"{stated(known.lowest_frequency.value)} to {stated(known.highest_frequency.value)} Hz"
    return (
        f"{rig.name}: {stated(known.force.value)} N, {stroke} peak-to-peak, {band}; it moves "
        f"{mass_text(rig.carried_kg)} besides the specimen"
    )


def _moment(plan: Plan) -> Iterator[Entry]:
    """The moment of an overhang on the exciter at rest."""
    known, rig = plan.balance, plan.rig
    if known is None or rig is None or known.alone == 0.0:
        return
    limit = rig.exciter.static_moment
    text = f"at rest the overhang's weight turns the table with {THREE(known.alone)} N m"
    if known.layout == "twin":
        text = f"two overhangs of {THREE(known.alone)} N m cancel, as far as they are alike"
    elif limit is not None:
        text += f"; the exciter bears {stated(limit.value)} N m"
    if known.too_much_at_rest:
        text += (
            ": TOO MUCH. Do not mount it like this; carry its weight, shorten the overhang, or put "
            "an equal specimen opposite (layout: twin)"
        )
    yield ("moment", text)


def _twins(plan: Plan, rig: Rig) -> Iterator[Entry]:
    """How far twins cancel each other's moment, by their tolerances."""
    known = plan.balance
    if known is None or not known.twins:
        return
    worst = max(known.twins, key=lambda twins: twins.mismatch)
    apart = f"by their tolerances the two may resonate up to {TWO(100.0 * worst.mismatch)} % apart"
    width = f"a resonance is {TWO(100.0 * worst.bandwidth)} % wide"
    if not worst.may_part:
        left = max(twins.left for twins in known.twins)
        yield (
            "twins",
            f"{apart}, and {width}: at resonance they leave up to {TWO(100.0 * left)} % of the "
            "moment of one alone",
        )
        return
    text = (
        f"{apart}, yet {width} (half-power): then they answer one after the other, and the moment "
        "of one alone is on the table"
    )
    alone = _moment_alone(plan)
    if alone > 0.0:
        text += f", up to {TWO(alone)} N m at the levels below"
    limit = rig.exciter.dynamic_moment
    if limit is not None and alone > limit.value:
        part = TWO(100.0 * limit.value / alone)
        text += (
            f", MORE than the {stated(limit.value)} N m that the exciter bears in motion: use no "
            f"more than {part} % of them until the two agree"
        )
    yield (
        "twins",
        f"{text}. Find each one's resonance alone first, and trim the higher with a small mass "
        "until both agree",
    )


def _moment_alone(plan: Plan) -> float:
    """The largest moment of one of two twins at the levels of the sheet, N m."""
    assert plan.balance is not None
    drives = {p.mode.rank: p.driving.drive for p in plan.modes if p.driving is not None}
    made = [t.moment * drives.get(t.mode.rank, 0.0) for t in plan.balance.turnings]
    return max(made, default=0.0)


def _strength(plan: Plan) -> Iterator[Entry]:
    """What the strain limit is worth, or that there is none."""
    material = plan.specimen.material
    strained = [p.driving.peak.strain for p in plan.modes if p.driving is not None]
    if not strained:
        return
    if material.endurance_strain is None:
        why = "no endurance strain of the material is known"
        cure = "state endurance_strain in the material, or stay far below"
    elif None in strained:
        why = "the section states no thickness, so its strain is not known"
        cure = "state it, or stay far below"
    else:
        yield (
            "strain",
            f"no level below strains the surface by more than "
            f"{stated(round(1e6 * material.endurance_strain.value, 3))} µm/m, the bare endurance "
            "strain of the material. It is a ROUGH GUIDE, with NO SAFETY FACTOR: a scratch, a hole "
            "or the edge of a clamp fails well below it. Begin low, and stay as low as you can see",
        )
        return
    yield ("strain", f"NO LIMIT: {why}, and no level below keeps it from cracking; {cure}")


def _places(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
    placing = plan.placing
    if placing is None:
        return
    best, *others = placing.spots
    where = place_text(plan.specimen, best.at, unit)
    if best.weakest >= SEEN:
        part = f"{TWO(100.0 * best.weakest)} %"
        text = f"{where}: every mode moves there by at least {part} of its largest motion"
    else:
        more = "".join(f", then {place_text(plan.specimen, spot.at, unit)}" for spot in others)
        together = min(map(max, zip(*(spot.seen for spot in placing.spots), strict=True)))
        text = (
            f"no one place moves well in every mode; use {where}{more}: at one of them every mode "
            f"moves by at least {TWO(100.0 * together)} % of its largest motion"
        )
    if any(planned.mode.family == "torsion" for planned in plan.modes):
        text += "; torsion shows along the long edges, not on the middle line"
    if any(isinstance(p.pattern, DiscPattern) and p.pattern.diameters for p in plan.modes):
        text += ". A nodal diameter may run through any place: look at two or three angles"
    yield ("watch at", text)
    sensor = None if plan.rig is None else plan.rig.sensor
    if sensor is not None:
        yield ("sensor", _sensor(plan, unit))
    if placing.traps:
        yield ("not at", "; ".join(map(_trap, placing.traps)))


def _trap(trap: Trap) -> str:
    return f"{trap.name} (hardly moves in {ranks_text(trap.ranks)})"


def _sensor(plan: Plan, unit: LengthUnit) -> str:
    assert plan.rig is not None
    assert plan.rig.sensor is not None
    assert plan.placing is not None
    sensor, placing = plan.rig.sensor, plan.placing
    mass = mass_text(sensor.mass.value)
    if sensor.at:
        moved = [
            100.0 * (p.with_sensor_hz / p.mode.frequency_hz - 1.0)
            for p in plan.modes
            if p.with_sensor_hz is not None
        ]
        place = place_text(plan.specimen, [q.value for q in sensor.at], unit)
        text = f"{mass} at {place}, as the rig file says, where it {_shift_range(moved)}"
    else:
        text = f"{mass} on the base, where it shifts no mode"
    if placing.gentle is None:
        return text
    gentle = place_text(plan.specimen, placing.gentle.at, unit)
    if min(placing.shifts) < -TOO_HEAVY:
        return (
            f"{text}. It is too heavy for this specimen: even at {gentle}, where it disturbs "
            f"least, it would shift modes by more than {100.0 * TOO_HEAVY:g} %"
        )
    shift = _shift_range([100.0 * s for s in placing.shifts])
    return (
        f"{text}. On the specimen it sees every mode and disturbs least at {gentle}, where it "
        f"{shift}, or so"
    )


def _shift_range(percents: list[float]) -> str:
    if not percents:
        return "shifts no mode"
    low, high = (TWO(shift) for shift in sorted((min(percents), max(percents)), key=abs))
    return f"shifts the modes by {low if low == high else f'{low} to {high}'} %"


def _undriven(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
    """Modes that the drive does not excite, and from where one would."""
    still = [p.mode for p in plan.modes if p.share is not None and p.share < NOT_EXCITED]
    across = [mode.rank for mode in still if mode.family not in NEVER]
    others = [mode.rank for mode in still if mode.family in NEVER]
    if others:
        yield (
            "not driven",
            f"{ranks_text(others)}, for the drive moves the specimen out of its wide face alone",
        )
    if across:
        text = f"{ranks_text(across)}: by symmetry, or because the drive stands on a node"
        best = plan.placing.spots[0] if plan.placing is not None else None
        if best is not None and best.weakest >= BLIND:
            text += (
                f". A force at {place_text(plan.specimen, best.at, unit)} would drive every mode"
            )
        yield ("not driven", text)
