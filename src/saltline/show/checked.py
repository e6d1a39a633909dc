"""An identification as a result: what `check` shows."""

from __future__ import annotations

import math
from typing import Any

from saltline.identify import Identification, Match
from saltline.show.table import Column, Result, Table, fixed, significant
from saltline.specimen import BeamGeometry, Specimen

COUNT_KEYS = ("nodes", "lines_x", "lines_y", "diameters", "circles")


def checked(specimen: Specimen, outcome: Identification) -> Result:
    """The result of `check`."""
    rows = [_row(number, match, outcome) for number, match in enumerate(outcome.matches, start=1)]
    unseen = [
        {
            "rank": item.mode.rank,
            "family": item.mode.family,
            "order": item.mode.order,
            "predicted_hz": item.mode.frequency_hz,
            "scaled_hz": outcome.scale * item.mode.frequency_hz,
            "why": item.why,
        }
        for item in outcome.unseen
    ]
    verdict = "fits" if outcome.fits else "does not fit"
    data = {
        "specimen": specimen.name,
        "scale": outcome.scale,
        "verdict": verdict,
        "measured": [{key: value for key, value in row.items() if key != "row"} for row in rows],
        "unseen": unseen,
    }
    return Result(
        data,
        (Table(_columns(rows), rows), Table(_unseen_columns(), unseen, "Not in the list:")),
        (
            *_sentences(rows),
            f"scale {outcome.scale:.4f}: {_scale_words(specimen, outcome)}",
            verdict,
        ),
    )


def _row(number: int, match: Match, outcome: Identification) -> dict[str, Any]:
    mode, line = match.mode, match.measured
    predicted = None if mode is None else mode.frequency_hz
    return {
        "row": number,
        "frequency_hz": line.frequency_hz,
        "nodes": line.counts.get("nodes"),
        **{key: line.counts[key] for key in COUNT_KEYS[1:] if key in line.counts},
        "rank": None if mode is None else mode.rank,
        "family": None if mode is None else mode.family,
        "order": None if mode is None else mode.order,
        "predicted_hz": predicted,
        "scaled_hz": None if predicted is None else outcome.scale * predicted,
        "difference_percent": (
            None if predicted is None else 100.0 * (line.frequency_hz / predicted - 1.0)
        ),
        "residual_percent": (None if math.isnan(match.residual) else 100.0 * match.residual),
        "finding": match.finding,
        "note": line.note,
        "why": match.why,
    }


def _as_written(value: Any) -> str:
    """A measured frequency with no more digits than were written."""
    return f"{value:.7g}"


def _columns(rows: list[dict[str, Any]]) -> tuple[Column, ...]:
    counted = [
        Column("nodes", "nodes", "counted"),
        Column("lines_x", "across x", "counted"),
        Column("lines_y", "across y", "counted"),
        Column("diameters", "diameters", "counted"),
        Column("circles", "circles", "counted"),
    ]
    return (
        Column("row", "row"),
        Column("frequency_hz", "measured", "Hz", _as_written),
        *(column for column in counted if any(row.get(column.key) is not None for row in rows)),
        Column("rank", "rank"),
        Column("family", "family", words=True),
        Column("order", "order"),
        Column("predicted_hz", "predicted", "Hz", significant(5)),
        Column("difference_percent", "difference", "%", fixed(1, signed=True)),
        Column("scaled_hz", "scaled", "Hz", significant(5)),
        Column("residual_percent", "from scaled", "%", fixed(1, signed=True)),
        Column("finding", "finding", words=True),
        Column("note", "note", words=True),
        Column("why", "why", words=True, shown=False),
    )


def _unseen_columns() -> tuple[Column, ...]:
    return (
        Column("rank", "rank"),
        Column("family", "family", words=True),
        Column("order", "order"),
        Column("predicted_hz", "predicted", "Hz", significant(5)),
        Column("scaled_hz", "scaled", "Hz", significant(5)),
        Column("why", "why", words=True),
    )


def _sentences(rows: list[dict[str, Any]]) -> list[str]:
    return [
        f"row {row['row']} ({_as_written(row['frequency_hz'])} Hz), {row['finding']}: {row['why']}"
        for row in rows
        if row["why"]
    ]


SIZE_WORDS = {
    "rectangle": "the thickness",
    "rod": "the diameter",
    "tube": "the whole section",
    "box": "the whole section",
    "custom": "the depth of the section",
}
"""Section shape -> the size to which a bending frequency is proportional."""

FAR = 0.15
"""A common factor this far from 1 is hardly the material."""


def _size_word(specimen: Specimen) -> str:
    geometry = specimen.geometry
    if not isinstance(geometry, BeamGeometry):
        return "the thickness"
    return SIZE_WORDS[geometry.segments[0].section_start.shape]


def _scale_words(specimen: Specimen, outcome: Identification) -> str:
    """What the common factor says."""
    percent = 100.0 * (outcome.scale - 1.0)
    matched = sum(match.mode is not None for match in outcome.matches)
    if matched == 0:
        return "no row could be matched"
    if abs(percent) < 0.5 and 2 * matched > len(outcome.matches):
        return "the prediction needs no correction"
    side = "above" if percent > 0 else "below"
    modulus = 100.0 * (outcome.scale**2 - 1.0)
    who = "all lie" if matched == len(outcome.matches) else f"the {matched} rows matched lie"
    words = (
        f"{who} about {abs(percent):.1f} % {side} the prediction, as if the modulus were "
        f"{modulus:+.1f} %, or {_size_word(specimen)} {percent:+.1f} % (for bending)"
    )
    if specimen.attached or any(h.word == "elastic" for h in specimen.boundary.values()):
        words += "; with springs or masses in the file only roughly so"
    if matched < 3:
        words += "; so few rows fit many factors, so look at the differences"
    elif abs(percent) > 100.0 * FAR:
        words += "; so far from 1, look first at the sizes and units in the file"
    return words
