"""A run sheet in words: what it is for, the cautions, and the set-up."""

from __future__ import annotations

from collections.abc import Iterator

from saltline.planning.cautions import CAUTIONS
from saltline.planning.loaded import sensor_on
from saltline.planning.plan import Plan
from saltline.planning.rig import Rig
from saltline.show.phrases import (
    Entry,
    entries,
    mass_text,
    place_text,
    stated,
)
from saltline.show.place_sheet import places, undriven
from saltline.show.table import LengthUnit, significant

TWO, THREE = (significant(digits) for digits in (2, 3))

LEAST = 1e-5
"""An overhang of less than this, in N m per kg, is rounding: a micrometre's."""

FOUND = (
    "every rate is set from f, the frequency FOUND at the exciter, not from the predicted one: a "
    "flash every n cycles, at f/n, shows the motion at rest, (f - d)/n lets it creep forward at d. "
    "Several rates show it at rest; the highest that shows a SINGLE image is f"
)
"""What is said once of all flash rates."""


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
    rows = [*_mounting(plan, unit), *places(plan, unit), *undriven(plan, unit)]
    return entries("SET UP", rows)


def _mounting(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
    specimen, rig = plan.specimen, plan.rig
    holds = [f"{name} {hold.word}" for name, hold in specimen.boundary.items()]
    number = len(specimen.supports)
    holds += [f"{number} support{'s' if number > 1 else ''}"] if number else []
    mass = mass_text(plan.facts.mass_kg)
    yield ("specimen", f"{specimen.name}, {specimen.material.name}, {mass}; {', '.join(holds)}")
    if specimen.material.named_caution:
        yield ("material", specimen.material.named_caution)
    yield from _tested(plan, unit)
    yield ("driven", _drive(plan, unit))
    if rig is not None:
        yield ("exciter", _exciter(rig, unit))
        yield from _crossovers(plan)
        yield from _axis(plan, unit)
        yield from _moment(plan)
        yield from _twins(plan, rig)
        yield from _strength(plan)
        yield ("levels", _levels(plan))
        if any(p.flashes is not None and not p.strobe_fault for p in plan.modes):
            yield ("strobe", FOUND)


def _tested(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
    """What is on the specimen while it is tested."""
    sensor = sensor_on(plan.rig)
    if sensor is None:
        return
    at = place_text(plan.specimen, [q.value for q in sensor.at], unit)
    together = mass_text(plan.facts.mass_kg + sensor.mass.value)
    yield (
        "tested",
        f"with the {mass_text(sensor.mass.value)} sensor at {at}, {together} together: every "
        "figure of this sheet is of the specimen with it on",
    )


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
                "sensor between rod and specimen. Without one set the level, at each peak, by the "
                "acceleration of the driving point, which each mode states beside it; between the "
                "peaks it says nothing of the force, and the exciter's own moving parts shift the "
                "peaks of motion that are then seen"
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


def _crossovers(plan: Plan) -> Iterator[Entry]:
    """Where the exciter's limits of displacement, velocity and acceleration meet."""
    if not plan.zones:
        return
    *lower, last = plan.zones
    parts = [f"{zone.limited_by} up to {THREE(zone.high_hz)} Hz" for zone in lower]
    parts.append(f"{last.limited_by} {'from there on' if lower else 'throughout'}")
    yield ("crossovers", f"apart from resonances the exciter's limit is {', '.join(parts)}")


def _axis(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
    """Where the drive axis is taken to be, about which every moment of the sheet is."""
    known = plan.balance
    if known is None or known.axis is None or known.axis.known == "centre":
        return
    place = place_text(plan.specimen, known.axis.at, unit)
    how = {
        "stated": "as the rig file says",
        "clamp": "by the clamp_distance of the rig file",
        "face": (
            "ASSUMED at the face of the clamp, for the rig file states no clamp_distance: every "
            "mm that it is behind that adds to the moments below"
        ),
        "holds": (
            "ASSUMED at the middle of what holds the specimen; if it is elsewhere, write the "
            "drive_axis into the rig file, for every moment is about it"
        ),
    }[known.axis.known]
    if known.layout == "twin" and known.axis.known == "holds":
        how += (
            ". Of TWINS that is hardly true, for the axis lies between the two: the moment of one "
            "alone is larger than this sheet has it"
        )
    yield ("drive axis", f"{place}, {how}")


def _moment(plan: Plan) -> Iterator[Entry]:
    """The moment of an overhang on the exciter at rest."""
    known, rig = plan.balance, plan.rig
    if known is None or rig is None or known.alone <= LEAST * known.mass:
        return
    limit = rig.exciter.static_moment
    what = "the overhang's weight" if known.overhangs else "the weight off the axis"
    text = f"at rest {what} turns the table with {THREE(known.alone)} N m"
    if known.layout == "twin":
        text = f"two overhangs of {THREE(known.alone)} N m cancel, as far as they are alike"
    elif limit is not None:
        text += f"; the exciter bears {stated(limit.value)} N m"
    else:
        text += "; what the exciter bears (static_moment) is not in the rig file"
    if known.too_much_at_rest:
        text += (
            ": TOO MUCH. Do not mount it like this; carry its weight, shorten the overhang, or put "
            "an equal specimen opposite (layout: twin)"
        )
    yield ("moment", text)


def _twins(plan: Plan, rig: Rig) -> Iterator[Entry]:
    """How far twins cancel each other's moment, by their tolerances."""
    known = plan.balance
    if known is None or known.layout != "twin":
        return
    find = "Find each one's resonance alone first, and trim the higher with a small mass until both"
    if not known.twins:
        yield (
            "twins",
            "the file states no tolerances, so how far apart the two may resonate is not known; "
            f"{_alone(plan, rig)}. {find} agree",
        )
        return
    worst = max(known.twins, key=lambda twins: twins.mismatch)
    apart = f"by their tolerances the two may resonate up to {TWO(100.0 * worst.mismatch)} % apart"
    width = f"a resonance is {TWO(100.0 * worst.bandwidth)} % wide"
    if worst.may_part:
        yield (
            "twins",
            f"{apart}, yet {width} (half-power): then they answer one after the other, and "
            f"{_alone(plan, rig)}. {find} agree",
        )
        return
    left = max(twins.left for twins in known.twins)
    yield (
        "twins",
        f"{apart}, and {width}: at resonance they leave up to {TWO(100.0 * left)} % of the "
        "moment of one alone",
    )


def _alone(plan: Plan, rig: Rig) -> str:
    """That the moment of one of the twins is reckoned with, and how much it is."""
    limit = rig.exciter.dynamic_moment
    text = "the moment of one alone is on the table"
    most = max((p.driving.peak.moment for p in plan.modes if p.driving is not None), default=0.0)
    if most > 0.0:
        text += f", up to {TWO(most)} N m at the levels below"
    if limit is None:
        return f"{text}; what the exciter bears (dynamic_moment) is not in the rig file"
    return f"{text}, which are held to the {stated(limit.value)} N m that the exciter bears"


def _levels(plan: Plan) -> str:
    """What is said once of all levels."""
    of = (
        "of acceleration are amplitudes (peak values) of the base in g, 9.81 m/s²"
        if plan.through == "boundary"
        else "of force are amplitudes (peak values)"
    )
    text = f"{of}: what is set in rms is 0.71 times as much"
    if plan.asked is not None:
        return text
    return f"{text}. The table below has the MOST that no limit forbids"


def _strength(plan: Plan) -> Iterator[Entry]:
    """What the strain limit is worth, or that there is none."""
    material = plan.specimen.material
    if all(p.driving is None for p in plan.modes):
        return
    if material.endurance_strain is None:
        why = "no endurance strain of the material is known"
        cure = "state endurance_strain in the material, or stay far below"
    elif not plan.strain_is_limited:
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
