"""What `predict` shows on request: plate beside beam, shares of the bands, effects."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from saltline.modes import Modes
from saltline.nodes import BeamPattern, pattern_of
from saltline.show.table import Column, LengthUnit, Result, Table, fixed, significant
from saltline.specimen import PredictionError
from saltline.spread import Band
from saltline.strip import HOLDS_TO, Reach, StripMode, reach
from saltline.strip_form import is_rectangular, why_no_plate

if TYPE_CHECKING:
    from saltline.effects import ClampStep

_HZ = significant(5)


def reach_notes(modes: Modes, others: Mapping[str, float]) -> tuple[str, ...]:
    """Where beam theory ends, for a rectangular beam whose flatwise bending is listed.

    others: families that are not listed -> their lowest frequency, Hz.
    """
    listed = (mode.frequency_hz for mode in modes.modes if mode.family == "torsion")
    twist = next(listed, others.get("torsion"))
    flatwise = [mode for mode in modes.modes if mode.family == "flatwise"]
    if not flatwise or not is_rectangular(modes.specimen):
        return ()
    objection = why_no_plate(modes.specimen)
    if objection:
        return (no_reach_note(objection),)
    try:
        return (reach_note(reach(modes.specimen, flatwise), twist),)
    except PredictionError as error:
        return (no_reach_note(str(error)),)


def reach_note(found: Reach, twist_hz: float | None = None) -> str:
    """One sentence on where beam theory ends; twist_hz: the beam's own first torsion."""
    percent = f"{100.0 * HOLDS_TO:g} %"
    if found.looked_to_hz == 0.0:
        return no_reach_note("it is far wider than long, so describe it as a plate")
    if found.holds_to_hz == 0.0:
        first = f"in bending, beam theory is off by more than {percent} from the first mode on"
    else:
        first = f"in bending, beam theory holds to {percent} of plate theory {_reaching(found)}"
    beams = {} if twist_hz is None else {"torsion": f" (beam theory: {significant(4)(twist_hz)})"}
    lines = " and ".join(
        f"{ALONG[motion]} at {significant(3)(hz)} Hz{beams.get(motion, '')}"
        for motion, hz in found.first_lines.items()
    )
    return first + (
        f"; the first mode with a node line along it is, by thin-plate theory, {lines}; --as-plate "
        "shows both theories"
        if lines
        else ""
    )


def _reaching(found: Reach) -> str:
    if not math.isinf(found.holds_to_hz):
        return f"up to about {significant(2)(found.holds_to_hz)} Hz"
    if not math.isinf(found.looked_to_hz):
        return f"at least up to {significant(2)(found.looked_to_hz)} Hz"
    return "in this range"


def no_reach_note(objection: str) -> str:
    """That it is not said where beam theory ends, and why."""
    return f"where beam theory ends is not said, for the strip has no plate beside it: {objection}"


ALONG = {"torsion": "torsion", "chordwise": "bending across the width"}
"""Motion of a strip with a node line along it -> words for it."""


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
        Column("plate_hz", "as plate", "Hz", significant(4)),
        Column("beam_hz", "as beam", "Hz", significant(4)),
        Column("difference_percent", "difference", "%", fixed(1, signed=True)),
        Column("reason", "reason", words=True),
    )
    return Table(columns, data, "As a plate:"), data


def why_table(modes: Modes, found: Sequence[Band | None]) -> tuple[Table, list[dict[str, Any]]]:
    """Which quantity contributes how much to each band.

    found: the bands of these modes.
    """
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


def sensor_table(
    before: Modes, after: Modes, unit: LengthUnit
) -> tuple[Table, list[dict[str, Any]]]:
    """What a sensor does to each mode: frequency and nodes, in this unit."""
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

    columns = (
        Column("rank", "rank"),
        Column("family", "family", words=True),
        Column("order", "order"),
        Column("frequency_hz", "frequency", "Hz", _HZ),
        Column("with_sensor_hz", "with sensor", "Hz", _HZ),
        Column("shift_percent", "shift", "%", fixed(2, signed=True)),
        Column("nodes_m", "nodes without", unit.sign, unit.texts, words=True),
        Column("nodes_with_sensor_m", "nodes with", unit.sign, unit.texts, words=True),
    )
    return Table(columns, data, "With the sensor:"), data


def with_table(result: Result, key: str, made: tuple[Table, list[dict[str, Any]]]) -> Result:
    """The result with one more table, and its rows under a key of the JSON form."""
    table, data = made
    return Result({**result.data, key: data}, (*result.tables, table), result.lines, result.remarks)
