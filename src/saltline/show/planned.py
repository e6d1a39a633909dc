"""A plan as a result: the run sheet, its table and its CSV form."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from saltline.facts import STANDARD_GRAVITY
from saltline.planning.plan import Plan
from saltline.show.mode_sheet import mode_block
from saltline.show.phrases import ranks_text
from saltline.show.planned_data import plan_data
from saltline.show.predicted import (
    COUNT_COLUMNS,
    FAMILY,
    FREQUENCY,
    ORDER,
    RANK,
    present,
    remarks_on,
    share_text,
)
from saltline.show.run_sheet import cautions, set_up, title
from saltline.show.sweep_sheet import beyond_the_level, level_text, sweeping
from saltline.show.table import Column, LengthUnit, Result, Table, significant
from saltline.words import together


def planned(plan: Plan, unit: LengthUnit) -> Result:
    """The result of `plan`; unit: of positions on the sheet."""
    data = plan_data(plan)
    rows = data["modes"]
    shown = [row | _flat(row) for row in rows]
    table = Table(_columns(plan, shown, unit), shown, "EACH MODE")
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
    over = beyond_the_level(plan)
    if over:
        remarks.append(
            f"the level asked for, {level_text(plan)}, is TOO MUCH for {ranks_text(list(over))}: "
            "their rows have the most that is allowed, and what it exceeds"
        )
    if plan.left_out:
        remarks.append(
            f"the range has at least {plan.left_out} modes more; planned are the "
            f"{len(plan.modes)} lowest, so plan the rest with --above"
        )
    ratio = plan.damping.ratio
    if ratio > HEAVY:
        remarks.append(
            f"a damping ratio of {100.0 * ratio:.3g} % is heavy: above {100.0 * HEAVY:g} % peaks "
            "are broad and lie off the natural frequency, and rates, widths and times are rough; "
            "is the percentage right?"
        )
    if ratio < LIGHT:
        remarks.append(
            f"a damping ratio of {100.0 * ratio:.3g} % is less than any specimen on a bench has, "
            "which air and clamp alone damp more: the true peaks are lower and wider, and the "
            "levels below needlessly low; is the percentage right?"
        )
    return remarks


HEAVY = 0.05
"""Figures of light damping are off by more than some percent above this (our choice)."""

LIGHT = 1e-5
"""No specimen in air damps less (common practice, no source)."""


# -- the table ------------------------------------------------------------------------------------


def _columns(plan: Plan, rows: Sequence[dict[str, Any]], unit: LengthUnit) -> tuple[Column, ...]:
    g = STANDARD_GRAVITY

    def in_g(value: Any) -> str:
        return "" if value is None else significant(3)(value / g)

    def swing(value: Any) -> str:
        """An amplitude in m as the peak-to-peak motion."""
        return "" if value is None else significant(2)(2.0 * unit.per_metre * value)

    several = len({row["family"] for row in rows}) > 1
    is_pushed = plan.through == "point"
    level = Column("base_acceleration_m_s2", "at most", "g", in_g, shown=not is_pushed)
    columns = (
        RANK,
        FAMILY if several else Column("family", "family", shown=False),
        ORDER if several else Column("order", "order", shown=False),
        *(_FIGURE if plan.specimen.kind == "plate" else COUNT_COLUMNS),
        FREQUENCY,
        Column("low_hz", "from", "Hz", significant(4), shown=False),
        Column("high_hz", "to", "Hz", significant(4), shown=False),
        Column("excitation", "driven", "", share_text),
        Column("drive_n", "at most", "N", significant(3)),
        level,
        Column("limited_by", "limited by", words=True),
        Column("peak_displacement_m", "moves", f"{unit.sign} p-p", swing),
        Column("ways", "seen with", text=_ways, words=True),
    )
    known = {column.key for column in columns}
    keys = dict.fromkeys(key for row in rows for key in row)
    alone = [key for key in keys if key not in known and key not in NESTED]
    return present((*columns, *(Column(key, key, shown=False) for key in alone)), rows)


def _ways(value: Any) -> str:
    """How a mode is seen; a sensor where nothing else shows it."""
    return " ".join([way for way in value or () if way != "sensor"] or value or ())


def _flat(row: Mapping[str, Any]) -> dict[str, Any]:
    """What a table has of a mode in place of what is nested in its JSON form."""
    steady = [flash for flash in row["strobe"] if not flash["can_trigger_seizures"]]
    found = {
        "exceeded": [f"{name} {times:.4g}" for name, times in (row["exceeded"] or {}).items()],
        "strobe_still_hz": [f["flash_hz"] for f in steady if not f["apparent_hz"]],
        "strobe_creep_hz": [f["flash_hz"] for f in steady if f["apparent_hz"]],
    }
    return found | ({"figure": _figure(row)} if "pattern" in row else {})


NESTED = ("strobe", "strobe_misleading", "node_lines_m")
"""What the JSON form alone has of a mode."""


_FIGURE = (
    Column("figure", "figure", words=True),
    *(Column(key, key, shown=False) for key in ("lines_x", "lines_y", "pattern")),
)
"""What is counted on a plate, in one column."""


def _figure(row: Mapping[str, Any]) -> str:
    """The lines of a plate's mode in a few words."""
    if row["pattern"] or row["lines_x"] is None:
        return str(row["pattern"])
    parts = [f"{row[key]} across {key[-1]}" for key in ("lines_x", "lines_y") if row[key]]
    return ", ".join(parts) or "no line"
