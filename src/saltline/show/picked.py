"""The resonances of recorded sweeps as a result, and as a measured list."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any

from saltline.show.table import Column, Result, Table, fixed, significant
from saltline.sweeps.line_up import Shared, reversed_sensors
from saltline.sweeps.picks import Picked
from saltline.sweeps.strange import Strange
from saltline.words import visible

NO_RESONANCE = "no resonance stands clear of the noise; look at the recording with --picture FILE"

LIST_KEYS = (
    "frequency_hz",
    "nodes",
    "damping_ratio",
    "quality_factor",
    "amplitude",
    "standard_error_hz",
    "note",
)
"""The columns of a measured list, all of which `check` reads."""


def picked(found: Sequence[Picked], rows: Sequence[Shared]) -> Result:
    """The result of `pick`: of several recordings side by side, or of one."""
    data = {
        "measured": [_row_data(row) for row in rows],
        "suspects": [_strange_data(one, strange, rows) for one in found for strange in one.strange],
        "recordings": [_recording_data(one) for one in found],
    }
    shown = [_shown(number, row) for number, row in enumerate(rows, start=1)]
    table = Table(_columns(found, rows), shown)
    lines = _warned(rows)
    lines += [_strange_line(one, strange, found, rows) for one in found for strange in one.strange]
    lines += [
        f"the sensor at {1e3 * at:.4g} mm moves against both its neighbours in every resonance: is "
        "it, or its cable, turned round? No count of nodes is taken from the signs; put a minus "
        "before its amplitudes, or its phases half a turn on, and pick again"
        for at in reversed_sensors(rows)
    ]
    if not rows:
        lines.insert(0, NO_RESONANCE)
    return Result(data, (table,), tuple(lines), remarks=tuple(_remarks(found)))


# -- the JSON form --------------------------------------------------------------------------------


def _row_data(row: Shared) -> dict[str, Any]:
    pick, swept = row.pick, row.pick.swept
    return {
        "frequency_hz": pick.frequency_hz,
        "damping_ratio": pick.damping_ratio,
        "quality_factor": pick.quality_factor,
        "amplitude": pick.amplitude,
        "standard_error_hz": pick.frequency_error_hz,
        "damping_standard_error": pick.damping_error,
        "bandwidth_hz": pick.bandwidth_hz,
        "half_power_damping_ratio": pick.half_power,
        "phase_deg": _phase(pick.residue),
        "readings_in_band": pick.in_band,
        "sweep_limit_part": None if swept is None else swept.rate_part,
        "sweep_height_part": None if swept is None else swept.height,
        "sweep_shift_hz": None if swept is None else swept.shift_hz,
        "slow_bandwidth_hz": None if swept is None else swept.slow_hz,
        "nodes": row.nodes,
        "sign_changes": row.changes,
        "sensors": [
            {"at_m": one.at_m, "amplitude": one.amplitude, "sign": one.sign} for one in row.seen
        ],
        "warnings": list(pick.warnings),
    }


def _phase(residue: complex | None) -> float | None:
    return None if residue is None else math.degrees(math.atan2(residue.imag, residue.real))


def _strange_data(one: Picked, strange: Strange, rows: Sequence[Shared]) -> dict[str, Any]:
    return {
        "kind": strange.kind,
        "frequency_hz": strange.frequency_hz,
        "row": _row_of(strange, rows),
        "path": one.recording.path,
        "why": strange.why,
    }


def _row_of(strange: Strange, rows: Sequence[Shared]) -> int | None:
    """The row of the list, from 1, that a suspicion is about."""
    if strange.row is None or not rows:
        return None
    near = [abs(row.pick.frequency_hz - strange.frequency_hz) for row in rows]
    return 1 + near.index(min(near))


def _recording_data(one: Picked) -> dict[str, Any]:
    recording = one.recording
    return {
        "path": recording.path,
        "readings": recording.hz.size,
        "low_hz": float(recording.hz[0]),
        "high_hz": float(recording.hz[-1]),
        "has_phase": recording.has_phase,
        "unit": recording.unit,
        "how": recording.how,
        "delay_s": one.delay_s,
        "phase_turned": one.is_turned,
        "gaps_hz": [list(gap) for gap in one.gaps],
    }


# -- the table ------------------------------------------------------------------------------------


def _columns(found: Sequence[Picked], rows: Sequence[Shared]) -> tuple[Column, ...]:
    unit = found[0].recording.unit if found else ""
    return (
        Column("row", "row"),
        Column("frequency", "frequency", "Hz"),
        Column("error", "±", "Hz"),
        Column("damping", "damping", "%", significant(3)),
        Column("damping_error", "±", "%", significant(2)),
        Column("quality_factor", "Q", "", significant(3)),
        Column("half_power", "half-power", "%", significant(3)),
        Column("amplitude", "amplitude", visible(unit), significant(3)),
        Column("in_band", "readings", "in band"),
        Column("limit", "sweep", "of limit", significant(2)),
        Column("changes", "changes", "of sign"),
        Column("nodes", "nodes"),
    )


def _shown(number: int, row: Shared) -> dict[str, Any]:
    pick = row.pick
    decimals = _decimals(pick.frequency_error_hz)
    return {
        "row": number,
        "frequency": fixed(decimals)(pick.frequency_hz),
        "error": _error_text(pick.frequency_error_hz, decimals),
        "damping": 100.0 * pick.damping_ratio,
        "damping_error": 100.0 * pick.damping_error,
        "quality_factor": pick.quality_factor,
        "half_power": None if pick.half_power is None else 100.0 * pick.half_power,
        "amplitude": pick.amplitude,
        "in_band": pick.in_band,
        "limit": None if pick.swept is None else pick.swept.rate_part,
        "changes": row.changes,
        "nodes": row.nodes,
    }


def _error_text(error: float, decimals: int) -> str:
    """An error with as many decimals as its frequency; one that these do not show is less."""
    text = fixed(decimals)(error)
    return f"<{10.0**-decimals:.{decimals}f}" if text and float(text) == 0.0 else text


def _decimals(error: float) -> int:
    """So many decimals that a standard error has two digits, up to four."""
    if not (math.isfinite(error) and error > 0.0):
        return 4
    return min(max(1 - math.floor(math.log10(error)), 0), 4)


def _warned(rows: Sequence[Shared]) -> list[str]:
    """The warnings, each once, with the rows that it is about."""
    about: dict[str, list[int]] = {}
    for number, row in enumerate(rows, start=1):
        for warning in row.pick.warnings:
            about.setdefault(warning, []).append(number)
    return [
        f"row{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}: {warning}"
        for warning, numbers in about.items()
    ]


def _strange_line(
    one: Picked, strange: Strange, found: Sequence[Picked], rows: Sequence[Shared]
) -> str:
    row = _row_of(strange, rows)
    where = f"row {row}" if row else f"{significant(5)(strange.frequency_hz)} Hz"
    source = f" in {visible(one.recording.path)}" if len(found) > 1 else ""
    return f"{where}{source}, {strange.kind}? {strange.why}"


def _remarks(found: Sequence[Picked]) -> list[str]:
    remarks: list[str] = []
    for one in found:
        recording = one.recording
        name = visible(recording.path)
        remarks += [visible(remark) for remark in recording.remarks]
        if recording.how:
            remarks.append(f"{name}: {recording.how}")
        if one.is_turned:
            remarks.append(f"{name}: its phase counts a lag as positive, and is read so")
        if one.delay_s:
            remarks.append(
                f"{name}: the response comes {1e3 * one.delay_s:.3g} ms late throughout; that is "
                "taken off"
            )
        remarks += [
            f"{name}: nothing was recorded from {low:.5g} to {high:.5g} Hz"
            for low, high in one.gaps
        ]
        if recording.hz_per_s is None and not recording.how.startswith("frequency response"):
            remarks.append(
                f"{name}: if it was swept and not stepped, give --rate or a time_s column, to have "
                "the pace judged"
            )
    return list(dict.fromkeys(remarks))


# -- the measured list ----------------------------------------------------------------------------


def list_rows(found: Sequence[Picked], rows: Sequence[Shared]) -> list[dict[str, Any]]:
    """The resonances as rows of a measured list, with as many digits as are known."""
    suspects: dict[int, list[str]] = {}
    for one in found:
        for strange in one.strange:
            row = _row_of(strange, rows)
            if row is not None:
                suspects.setdefault(row, []).append(f"perhaps {strange.kind}")
    return [_list_row(row, suspects.get(number, [])) for number, row in enumerate(rows, start=1)]


def _list_row(row: Shared, suspects: Sequence[str]) -> dict[str, Any]:
    pick = row.pick
    notes = list(dict.fromkeys(suspects))
    if pick.warnings:
        notes.append("see the warnings of pick")
    return {
        "frequency_hz": round(pick.frequency_hz, _decimals(pick.frequency_error_hz) + 1),
        "nodes": row.nodes,
        "damping_ratio": _digits(pick.damping_ratio, 4),
        "quality_factor": _digits(pick.quality_factor, 4),
        "amplitude": _digits(pick.amplitude, 5),
        "standard_error_hz": _digits(pick.frequency_error_hz, 2),
        "note": "; ".join(notes),
    }


def _digits(value: float, count: int) -> float:
    return float(f"{value:.{count}g}")


def as_list(rows: Sequence[dict[str, Any]], remarks: Sequence[str] = ()) -> Result:
    """The rows as the result that CSV is written from."""
    columns = tuple(Column(key, key) for key in LIST_KEYS)
    return Result({"measured": rows}, (Table(columns, rows),), remarks=tuple(remarks))


def list_yaml(rows: Sequence[dict[str, Any]], names: Sequence[str]) -> str:
    """The rows as a measured list in YAML; names: of the recordings."""
    source = " and ".join(visible(name) for name in names)
    lines = [f"# Picked out of {source} by saltline.", "measured:"]
    for row in rows:
        given = {key: row[key] for key in LIST_KEYS if row[key] not in (None, "")}
        cells = ", ".join(
            f"{key}: {json.dumps(value, ensure_ascii=False)}" for key, value in given.items()
        )
        lines.append(f"  - {{{cells}}}")
    return "\n".join(lines) + "\n"
