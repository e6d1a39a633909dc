"""A plan as a result: the run sheet, its table, and its JSON form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from saltline.facts import STANDARD_GRAVITY
from saltline.planning.balance import Balance
from saltline.planning.cautions import CAUTIONS
from saltline.planning.plan import Placing, Plan, PlannedMode
from saltline.planning.search import Sweep
from saltline.planning.strobe import Flash
from saltline.show.mode_sheet import mode_block, watch_text, why_not
from saltline.show.phrases import together
from saltline.show.predicted import (
    COUNT_COLUMNS,
    FAMILY,
    FREQUENCY,
    ORDER,
    RANK,
    mode_data,
    present,
    remarks_on,
    share_text,
)
from saltline.show.run_sheet import cautions, set_up, title
from saltline.show.sweep_sheet import sweeping
from saltline.show.table import Column, LengthUnit, Result, Table, significant

NOT_EXCITED = "not excited"
"""What limits a mode that the drive does not excite."""


def planned(plan: Plan, unit: LengthUnit) -> Result:
    """The result of `plan`; unit: of positions on the sheet."""
    rows = [_row(plan, mode) for mode in plan.modes]
    data = {
        "specimen": plan.specimen.name,
        "rig": None if plan.rig is None else plan.rig.name,
        "through": plan.through,
        "damping_ratio": plan.damping.ratio,
        "damping_assumed": plan.damping.is_assumed,
        "sweep_s": None if plan.sweep is None else plan.sweep.seconds,
        "sweep": None if plan.sweep is None else _sweep_data(plan.sweep, plan),
        "places": None if plan.placing is None else _places_data(plan.placing),
        "balance": None if plan.balance is None else _balance_data(plan.balance),
        "modes": rows,
        "cautions": [caution.text for caution in CAUTIONS],
    }
    shown = [row | ({"figure": _figure(row)} if "pattern" in row else {}) for row in rows]
    table = Table(_columns(plan, shown), shown, "EACH MODE")
    if not rows:
        return Result(data, (table,), (_nothing(plan),))
    head = [title(plan), "", *cautions(), "", *set_up(plan, unit), "", *sweeping(plan)]
    blocks = [mode_block(plan, mode, unit) for mode in plan.modes]
    lines = [line for block in blocks for line in (*block, "")][:-1]
    return Result(
        data,
        (table,),
        tuple(lines),
        remarks=(*remarks_on(plan.found), *_remarks(plan)),
        head=tuple(head),
    )


def _nothing(plan: Plan) -> str:
    """That the range has no mode, and where the nearest ones are."""
    near = [
        f"{mode.family} {mode.order} at {significant(5)(mode.frequency_hz)} Hz"
        for mode in plan.neighbours
    ]
    nearest = f"; the nearest: {together(near)}" if near else ""
    return f"no resonance lies in this range{nearest}"


def _remarks(plan: Plan) -> list[str]:
    remarks = []
    if plan.rig is None:
        remarks.append(
            "without a rig file there are no levels and no strobe settings; describe the exciter, "
            "the strobe and the sensor in one and give --rig FILE (see docs/planning.md)"
        )
    elif plan.rig.strobe is None:
        remarks.append("the rig file names no strobe, so no flash rates are given")
    return remarks


# -- the JSON form --------------------------------------------------------------------------------


def _row(plan: Plan, planned: PlannedMode) -> dict[str, Any]:
    """One mode, SI."""
    known, search, found = planned.pace, planned.search, planned.flashes
    row = mode_data(planned.mode, planned.pattern, planned.band)
    row |= {
        "excitation": planned.share,
        "with_sensor_hz": planned.with_sensor_hz,
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
    inside = [mode.mode.rank for mode in plan.modes if _is_inside(mode, known)]
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
                "rank": rank,
                "seconds": part.seconds,
            }
            for part, rank in zip(known.parts, inside, strict=True)
        ],
    }


def _balance_data(known: Balance) -> dict[str, Any]:
    return {
        "layout": known.layout,
        "overhangs": known.overhangs,
        "arm_m": known.arm,
        "moment_alone_n_m": known.alone,
        "moment_at_rest_n_m": known.at_rest,
        "too_much_at_rest": known.too_much_at_rest,
        "twins": [
            {"rank": twins.mode.rank, "mismatch": twins.mismatch, "moment_left": twins.left}
            for twins in known.twins
        ],
    }


def _is_inside(planned: PlannedMode, known: Sweep) -> bool:
    return known.low_hz <= planned.mode.frequency_hz <= known.high_hz


def _places_data(known: Placing) -> dict[str, Any]:
    return {
        "best": [{"at_m": list(s.at), "sees": list(s.seen)} for s in known.spots],
        "gentle": None if known.gentle is None else {"at_m": list(known.gentle.at)},
        "shifts": list(known.shifts),
        "blind": [
            {"name": t.name, "at_m": list(t.at), "ranks": list(t.ranks)} for t in known.traps
        ],
    }


# -- the table ------------------------------------------------------------------------------------


def _columns(plan: Plan, rows: Sequence[dict[str, Any]]) -> tuple[Column, ...]:
    g = STANDARD_GRAVITY

    def in_g(value: Any) -> str:
        return "" if value is None else significant(3)(value / g)

    several = len({row["family"] for row in rows}) > 1
    is_pushed = plan.through == "point"
    level = Column("base_acceleration_m_s2", "level", "g", in_g, shown=not is_pushed)
    columns = (
        RANK,
        FAMILY if several else Column("family", "family", shown=False),
        ORDER if several else Column("order", "order", shown=False),
        *(_FIGURE if plan.specimen.kind == "plate" else COUNT_COLUMNS),
        FREQUENCY,
        Column("low_hz", "from", "Hz", significant(4), shown=False),
        Column("high_hz", "to", "Hz", significant(4), shown=False),
        Column("excitation", "driven", "", share_text),
        Column("drive_n", "level", "N", significant(3)),
        level,
        Column("limited_by", "limited by", words=True),
        Column("peak_displacement_m", "moves", "mm p-p", _swing),
        Column("ways", "seen with", text=_ways, words=True),
        *(Column(key, key, shown=False) for key in _CSV_ALONE),
    )
    return present(columns, rows)


def _ways(value: Any) -> str:
    """How a mode is seen; a sensor, which always sees it, where nothing else does."""
    return " ".join([way for way in value or () if way != "sensor"] or value or ())


_CSV_ALONE = (
    "watch", "with_sensor_hz", "base_acceleration_most_m_s2", "base_acceleration_visible_m_s2",
    "base_acceleration_salt_moves_m_s2", "base_acceleration_salt_thrown_m_s2",
    "peak_relative_displacement_m", "peak_acceleration_m_s2", "peak_strain", "peak_stress_pa",
    "force_n", "moment_n_m", "sensor_acceleration_m_s2", "bandwidth_hz", "sweep_octave_per_min",
    "sweep_hz_per_s", "search_low_hz", "search_high_hz", "search_s", "step_hz", "dwell_s",
    "dwell_cycles", "endurance_s", "strobe_fault",
)  # fmt: skip
"""The keys of columns that the sheet has no room for: its blocks say them in words."""


_FIGURE = (
    Column("figure", "figure", words=True),
    *(Column(key, key, shown=False) for key in ("lines_x", "lines_y", "pattern")),
)
"""What is counted on a plate, in one column."""


def _figure(row: dict[str, Any]) -> str:
    """The lines of a plate's mode in a few words."""
    if row["pattern"] or row["lines_x"] is None:
        return str(row["pattern"])
    parts = [f"{row[key]} across {key[-1]}" for key in ("lines_x", "lines_y") if row[key]]
    return ", ".join(parts) or "no line"


def _swing(value: Any) -> str:
    """An amplitude in m as the peak-to-peak motion in mm."""
    return "" if value is None else significant(2)(2e3 * value)
