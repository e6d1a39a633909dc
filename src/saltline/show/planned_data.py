"""A plan in the JSON form, SI units."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from saltline.planning.balance import Balance
from saltline.planning.cautions import CAUTIONS
from saltline.planning.each_mode import PlannedMode
from saltline.planning.plan import Placing, Plan
from saltline.planning.search import Sweep
from saltline.planning.strobe import Flash
from saltline.show.mode_sheet import watch_text, why_not
from saltline.show.predicted import mode_data

NOT_EXCITED = "not excited"
"""What limits a mode that the drive does not excite."""


def plan_data(plan: Plan) -> dict[str, Any]:
    """All of a plan."""
    material = plan.specimen.material
    return {
        "specimen": plan.specimen.name,
        "rig": None if plan.rig is None else plan.rig.name,
        "through": plan.through,
        "damping_ratio": plan.damping.ratio,
        "damping_assumed": plan.damping.is_assumed,
        "sweep_s": None if plan.sweep is None else plan.sweep.seconds,
        "sweep": None if plan.sweep is None else _sweep_data(plan.sweep, plan),
        "places": None if plan.placing is None else _places_data(plan.placing),
        "balance": None if plan.balance is None else _balance_data(plan.balance),
        "exciter_zones": [
            {"low_hz": zone.low_hz, "high_hz": zone.high_hz, "limited_by": zone.limited_by}
            for zone in plan.zones
        ],
        "modes": [_mode(plan, mode) for mode in plan.modes],
        "cautions": [*(one.text for one in CAUTIONS), *filter(None, [material.named_caution])],
    }


def _mode(plan: Plan, planned: PlannedMode) -> dict[str, Any]:
    """One mode, SI."""
    known, search, found = planned.pace, planned.search, planned.flashes
    row = mode_data(planned.mode, planned.pattern, planned.band)
    row |= {
        "excitation": planned.share,
        "with_sensor_hz": None if planned.bare_hz is None else planned.mode.frequency_hz,
        "without_sensor_hz": planned.bare_hz,
        **_driving_data(plan, planned),
        "strobe": _flash_data((*found.frozen, *found.slowed) if found else ()),
        "strobe_misleading": _flash_data(found.misleading if found else ()),
        "strobe_fault": planned.strobe_fault,
        "bandwidth_hz": known.bandwidth_hz,
        "sweep_octave_per_min": known.sweep_octave_per_min,
        "sweep_hz_per_s": known.sweep_hz_per_s,
        "search_low_hz": search.low_hz,
        "search_high_hz": search.high_hz,
        "search_s": search.seconds,
        "step_hz": known.step_hz,
        "dwell_s": known.dwell_s,
        "dwell_cycles": known.dwell_cycles,
        "endurance_s": known.endurance_s,
    }
    return row


def _driving_data(plan: Plan, planned: PlannedMode) -> dict[str, Any]:
    """The level and what it does; None where there is no such thing."""
    resonance, driving = planned.resonance, planned.driving
    if resonance is None:
        return {"limited_by": None, "watch": ""} | dict.fromkeys(_DRIVEN)
    if driving is None:
        limit = resonance.limited_by if resonance.is_excited else NOT_EXCITED
        return {"limited_by": limit, "watch": why_not(planned)} | dict.fromkeys(_DRIVEN)
    peak, watch = driving.peak, driving.watch
    per_drive = peak.base_acceleration / driving.drive

    def base(drive: float | None) -> float | None:
        return None if drive is None else per_drive * drive

    values = (
        list(watch.ways),
        dict(driving.exceeded),
        driving.drive if plan.through == "point" else None,
        peak.base_acceleration,
        base(driving.most),
        base(driving.visible),
        base(None if watch.salt_moves is None else driving.drive * watch.salt_moves),
        base(None if watch.salt_thrown is None else driving.drive * watch.salt_thrown),
        peak.displacement,
        peak.relative_displacement,
        peak.acceleration,
        list(peak.moves_most_at),
        peak.strain,
        peak.stress,
        None if peak.strained_most_at is None else list(peak.strained_most_at),
        peak.force,
        peak.moment,
        peak.sensor,
    )
    head = {"limited_by": driving.limited_by, "watch": watch_text(plan, driving)}
    return head | dict(zip(_DRIVEN, values, strict=True))


_DRIVEN = (
    "ways", "exceeded", "drive_n", "base_acceleration_m_s2", "base_acceleration_most_m_s2",
    "base_acceleration_visible_m_s2", "base_acceleration_salt_moves_m_s2",
    "base_acceleration_salt_thrown_m_s2", "peak_displacement_m", "peak_relative_displacement_m",
    "peak_acceleration_m_s2", "moves_most_at_m", "peak_strain", "peak_stress_pa",
    "strained_most_at_m", "force_n", "moment_n_m", "sensor_acceleration_m_s2",
)  # fmt: skip
"""The keys of a mode that is driven."""


def _flash_data(flashes: Sequence[Flash]) -> list[dict[str, Any]]:
    return [
        {
            "flash_hz": flash.flash_hz,
            "apparent_hz": flash.apparent_hz,
            "cycles": flash.cycles,
            "images": flash.images,
            "can_trigger_seizures": flash.is_flicker,
        }
        for flash in flashes
    ]


def _sweep_data(known: Sweep, plan: Plan) -> dict[str, Any]:
    return {
        "low_hz": known.low_hz,
        "high_hz": known.high_hz,
        "octave_per_min": known.octave_per_min,
        "cycles": known.cycles,
        "in_parts_s": sum(part.seconds for part in known.parts),
        "parts": [
            {
                "low_hz": part.low_hz,
                "high_hz": part.high_hz,
                "octave_per_min": part.octave_per_min,
                "rank": None if part.number is None else plan.modes[part.number].mode.rank,
                "seconds": part.seconds,
            }
            for part in known.parts
        ],
    }


def _balance_data(known: Balance) -> dict[str, Any]:
    return {
        "layout": known.layout,
        "overhangs": known.overhangs,
        "axis_m": None if known.axis is None else list(known.axis.at),
        "axis_assumed": known.axis is not None and known.axis.is_assumed,
        "arm_m": known.arm,
        "moment_alone_n_m": known.alone,
        "moment_at_rest_n_m": known.at_rest,
        "too_much_at_rest": known.too_much_at_rest,
        "twins": [
            {"rank": twins.mode.rank, "mismatch": twins.mismatch, "moment_left": twins.left}
            for twins in known.twins
        ],
    }


def _places_data(known: Placing) -> dict[str, Any]:
    return {
        "best": [{"at_m": list(s.at), "sees": list(s.seen)} for s in known.spots],
        "gentle": None if known.gentle is None else {"at_m": list(known.gentle.at)},
        "shifts": list(known.shifts),
        "blind": [
            {"name": t.name, "at_m": list(t.at), "ranks": list(t.ranks)} for t in known.traps
        ],
    }
