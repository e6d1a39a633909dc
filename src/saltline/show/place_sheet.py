"""A run sheet's words on places: where to look, where the sensor is, what is not driven and why."""

from __future__ import annotations

from collections.abc import Iterator

from saltline.forced.drive import NOT_EXCITED
from saltline.planning.places import BLIND, SEEN, Trap
from saltline.planning.plan import Plan
from saltline.show.phrases import Entry, mass_text, place_text, ranks_text
from saltline.show.table import LengthUnit, significant
from saltline.specimen import DiscGeometry
from saltline.tracing.nodecircles import DiscPattern

NEVER = ("edgewise", "torsion", "axial")
"""Families that a drive across the wide face cannot move, wherever it pushes on the axis."""

TOO_HEAVY = 0.1
"""A sensor that shifts a mode by more than this changes the test; the first-order figure ends here
too (our choice)."""

HARDLY = 0.005
"""A shift of less than this, in percent, is none (our choice)."""

TWO = significant(2)

EVERYWHERE = 0.995
"""What moves by this part of the largest motion moves as much as anywhere."""


def places(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
    """Where to look, where the sensor sees every mode, and where not to look."""
    placing = plan.placing
    if placing is None:
        return
    best, *others = placing.spots
    where = place_text(plan.specimen, best.at, unit)
    if best.weakest >= SEEN:
        part = f"by at least {TWO(100.0 * best.weakest)} % of its largest motion"
        if best.weakest > EVERYWHERE:
            part = "as much as it does anywhere"
        text = f"{where}: every mode moves there {part}"
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
            100.0 * (p.mode.frequency_hz / p.bare_hz - 1.0)
            for p in plan.modes
            if p.bare_hz is not None
        ]
        place = place_text(plan.specimen, [q.value for q in sensor.at], unit)
        text = f"{mass} at {place}, as the rig file says, where it {_shift_range(moved)}"
        if plan.balance is not None and plan.balance.layout == "twin":
            text += (
                ". Its twin is taken to carry as much at the same place: fix an equal mass there, "
                "else the two part"
            )
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
    shown = [shift if abs(shift) >= HARDLY else 0.0 for shift in percents]
    if not any(shown):
        return "shifts no mode"
    low, high = (TWO(shift) for shift in sorted((min(shown), max(shown)), key=abs))
    return f"shifts the modes by {low if low == high else f'{low} to {high}'} %"


def undriven(plan: Plan, unit: LengthUnit) -> Iterator[Entry]:
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
        yield ("not driven", f"{text}{_instead(plan, unit)}")


def _instead(plan: Plan, unit: LengthUnit) -> str:
    """From where the modes that are not driven would be."""
    best = plan.placing.spots[0] if plan.placing is not None else None
    if isinstance(plan.specimen.geometry, DiscGeometry):
        return (
            ". A file can state no drive off a disc's centre, so there are no levels for them. "
            "With the exciter's rod moved off the centre they show at the frequencies and with the "
            "counts below: begin at the least level, and raise it slowly"
        )
    if best is None or best.weakest < BLIND:
        return ""
    return f". A force at {place_text(plan.specimen, best.at, unit)} would drive every mode"
