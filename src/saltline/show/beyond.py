"""What `predict` shows on request: plate beside beam, shares of the bands, effects."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from saltline.effects import ClampStep
from saltline.modes import Modes
from saltline.nodes import BeamPattern, pattern_of
from saltline.show.table import Column, Result, Table, fixed, significant
from saltline.spread import bands
from saltline.strip import HOLDS_TO, Reach, StripMode

_HZ = significant(5)


def reach_note(found: Reach) -> str:
    """One sentence on where beam theory ends."""
    percent = f"{100.0 * HOLDS_TO:g} %"
    if math.isinf(found.holds_to_hz):
        first = f"in bending, beam theory holds to {percent} of plate theory in this range"
    else:
        first = (
            f"in bending, beam theory holds to {percent} of plate theory up to "
            f"{significant(3)(found.holds_to_hz)} Hz"
        )
    lines = ", ".join(
        f"{name} from {significant(3)(hz)} Hz" for name, hz in found.first_lines.items()
    )
    return first + (
        f"; node lines along the strip: {lines}; --as-plate shows both" if lines else ""
    )


def plate_table(rows: Sequence[StripMode]) -> tuple[Table, list[dict[str, Any]]]:
    """The strip as a plate beside the beam."""
    data = [
        {
            "rank": number,
            "motion": row.motion,
            "order": row.order,
            "plate_hz": row.frequency_hz,
            "beam_hz": None if row.beam is None else row.beam.frequency_hz,
            "difference_percent": None if row.beam is None else 100.0 * row.difference,
            "reason": row.reason,
        }
        for number, row in enumerate(rows, start=1)
    ]
    columns = (
        Column("rank", "rank"),
        Column("motion", "motion", words=True),
        Column("order", "order"),
        Column("plate_hz", "as plate", "Hz", _HZ),
        Column("beam_hz", "as beam", "Hz", _HZ),
        Column("difference_percent", "difference", "%", fixed(1, signed=True)),
        Column("reason", "reason", words=True),
    )
    return Table(columns, data, "As a plate:"), data


def why_table(modes: Modes) -> tuple[Table, list[dict[str, Any]]]:
    """Which quantity contributes how much to each band."""
    found = bands(modes)
    paths = sorted(
        {path for band in found if band for path, share in band.shares.items() if abs(share) > 1e-6}
    )
    data = []
    for mode, band in zip(modes.modes, found, strict=True):
        shares = {} if band is None else band.shares
        whole = math.sqrt(sum(share**2 for share in shares.values()))
        row: dict[str, Any] = {
            "rank": mode.rank,
            "frequency_hz": mode.frequency_hz,
            "half_width_percent": 100.0 * whole,
        }
        data.append(row | {path: 100.0 * shares[path] for path in paths if path in shares})
    columns = (
        Column("rank", "rank"),
        Column("frequency_hz", "frequency", "Hz", _HZ),
        Column("half_width_percent", "band", "± %", fixed(2)),
        *(
            Column(path, path.split(".", 1)[0], path.split(".", 1)[1], fixed(2, signed=True))
            for path in paths
        ),
    )
    return Table(columns, data, "What each tolerance does to the frequency, %:"), data


def clamp_table(steps: Sequence[ClampStep]) -> tuple[Table, list[dict[str, Any]]]:
    """How the first frequencies and their ratios fall as the clamp gives."""
    rigid = steps[0].frequencies_hz
    data = []
    for step in steps:
        f = step.frequencies_hz
        data.append(
            {
                "rotation_n_m_per_rad": None if math.isinf(step.stiffness) else step.stiffness,
                "ratio": None if math.isinf(step.ratio) else step.ratio,
                "f1_hz": f[0],
                "f1_percent": 100.0 * (f[0] / rigid[0] - 1.0),
                "f2_over_f1": f[1] / f[0],
                "f3_over_f1": f[2] / f[0],
            }
        )

    def stiffness(value: Any) -> str:
        return "rigid" if value is None else significant(3)(value)

    columns = (
        Column("rotation_n_m_per_rad", "stiffness", "N m/rad", stiffness),
        Column("ratio", "in EI/L", "", lambda v: "" if v is None else f"{v:g}"),
        Column("f1_hz", "f1", "Hz", _HZ),
        Column("f1_percent", "change", "%", fixed(1, signed=True)),
        Column("f2_over_f1", "f2/f1", "", fixed(3)),
        Column("f3_over_f1", "f3/f1", "", fixed(3)),
    )
    return Table(columns, data, "A clamp that gives against rotation:"), data


def sensor_table(before: Modes, after: Modes) -> tuple[Table, list[dict[str, Any]]]:
    """What a sensor does to each mode: frequency and nodes."""
    later = {(mode.family, mode.order): mode for mode in after.modes}
    data = []
    for mode in before.modes:
        twin = later.get((mode.family, mode.order))
        if twin is None:
            continue
        row: dict[str, Any] = {
            "rank": mode.rank,
            "family": mode.family,
            "order": mode.order,
            "frequency_hz": mode.frequency_hz,
            "with_sensor_hz": twin.frequency_hz,
            "shift_percent": 100.0 * (twin.frequency_hz / mode.frequency_hz - 1.0),
        }
        patterns = (pattern_of(mode.shape), pattern_of(twin.shape))
        if all(isinstance(pattern, BeamPattern) for pattern in patterns):
            row["nodes_m"], row["nodes_with_sensor_m"] = (list(p.nodes) for p in patterns)  # type: ignore[union-attr]
        data.append(row)

    def places(value: Any) -> str:
        return " ".join(f"{1000.0 * x:.1f}" for x in value or ())

    columns = (
        Column("rank", "rank"),
        Column("family", "family", words=True),
        Column("order", "order"),
        Column("frequency_hz", "frequency", "Hz", _HZ),
        Column("with_sensor_hz", "with sensor", "Hz", _HZ),
        Column("shift_percent", "shift", "%", fixed(2, signed=True)),
        Column("nodes_m", "nodes without", "mm", places, words=True),
        Column("nodes_with_sensor_m", "nodes with", "mm", places, words=True),
    )
    return Table(columns, data, "With the sensor:"), data


def with_table(result: Result, key: str, made: tuple[Table, list[dict[str, Any]]]) -> Result:
    """The result with one more table, and its rows under a key of the JSON form."""
    table, data = made
    return Result({**result.data, key: data}, (*result.tables, table), result.lines, result.remarks)
