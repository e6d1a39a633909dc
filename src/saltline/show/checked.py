"""An identification as a result: what `check` shows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from saltline.measured_list import COUNTS
from saltline.naming.beam_ended import beam_ended
from saltline.naming.elsewhere import other_families, other_unit, read_twice
from saltline.naming.identify import Identification, Match, Unseen
from saltline.naming.misfit import misfit
from saltline.naming.softer import SoftClamp, soft_clamp, soft_clamp_words
from saltline.naming.unseen import UNEXPLAINED
from saltline.show.scale_words import scale_words
from saltline.show.table import Column, Result, Table, fixed, significant
from saltline.specimen import Specimen
from saltline.spread import Band, bands

MOST_TOLD = 10
"""Of so many rows of one finding it is said why; of more, how many they are."""

COUNT_HEADINGS = {
    "nodes": "nodes",
    "lines_x": "across x",
    "lines_y": "across y",
    "diameters": "diameters",
    "circles": "circles",
}
"""What is counted -> its heading."""


def checked(specimen: Specimen, outcome: Identification) -> Result:
    """The result of `check`."""
    spread = _spread(outcome)
    rows = [
        _row(number, match, outcome, spread)
        for number, match in enumerate(outcome.matches, start=1)
    ]
    softer = soft_clamp(outcome)
    unseen = [
        {
            "rank": item.mode.rank,
            "family": item.mode.family,
            "order": item.mode.order,
            "predicted_hz": item.mode.frequency_hz,
            "scaled_hz": outcome.scale * item.mode.frequency_hz,
            "why": _why_unseen(item, softer),
        }
        for item in outcome.unseen
    ]
    verdict = "fits" if outcome.fits else "does not fit"
    elsewhere = other_families(outcome)
    remarks = [*other_unit(outcome), *read_twice(outcome), *misfit(outcome)]
    if softer is not None:
        remarks.append(soft_clamp_words(softer, len(rows)))
    remarks += [*elsewhere, *beam_ended(outcome, is_told=bool(elsewhere))]
    remarks += _band_remark(rows, outcome, remarked=bool(remarks))
    about_scale = scale_words(specimen, outcome)
    data = {
        "specimen": specimen.name,
        "scale": outcome.scale,
        "verdict": verdict,
        "measured": [{key: row[key] for key in row if key not in ("row", *_FLAT)} for row in rows],
        "unseen": unseen,
        "remarks": [*remarks, about_scale],
    }
    return Result(
        data,
        (Table(_columns(rows), rows), Table(_unseen_columns(), unseen, "Not in the list:")),
        (*_sentences(rows), *remarks, f"scale {outcome.scale:.4f}: {about_scale}", verdict),
    )


def _why_unseen(item: Unseen, softer: SoftClamp | None) -> str:
    """Why a mode was not seen; a clamp that gives may make it one of the rows."""
    if item.why != UNEXPLAINED or softer is None or item.mode.rank not in softer.ranks:
        return item.why
    row = softer.ranks.index(item.mode.rank) + 1
    return f"row {row} is it where the clamp gives: see below"


def _spread(outcome: Identification) -> dict[int, Band]:
    """Rank -> the band of a mode's frequency, where the specimen states tolerances."""
    if outcome.modes is None:
        return {}
    found = zip(outcome.modes.modes, bands(outcome.modes), strict=True)
    return {mode.rank: band for mode, band in found if band is not None}


_FLAT = tuple(f"due_{key}" for key in COUNTS)
"""What is due, key by key, as tables and CSV have it."""


def _row(
    number: int, match: Match, outcome: Identification, spread: dict[int, Band]
) -> dict[str, Any]:
    mode, line = match.mode, match.measured
    predicted = None if mode is None else mode.frequency_hz
    band = None if mode is None else spread.get(mode.rank)
    return {
        "row": number,
        "frequency_hz": line.frequency_hz,
        "nodes": line.counts.get("nodes"),
        **{key: line.counts[key] for key in COUNTS[1:] if key in line.counts},
        "rank": None if mode is None else mode.rank,
        "family": None if mode is None else mode.family,
        "order": None if mode is None else mode.order,
        "predicted_hz": predicted,
        "predicted_counts": dict(match.due) or None,
        **{f"due_{key}": value for key, value in match.due.items()},
        "low_hz": None if band is None else band.low_hz,
        "high_hz": None if band is None else band.high_hz,
        "scaled_hz": None if predicted is None else outcome.scale * predicted,
        "difference_percent": (
            None if predicted is None else 100.0 * (line.frequency_hz / predicted - 1.0)
        ),
        "residual_percent": None if math.isnan(match.residual) else 100.0 * match.residual,
        "finding": match.finding,
        "confidence": None if mode is None else match.confidence,
        "runner_up": _runner_up(match),
        "note": line.note,
        "why": match.why,
    }


def _runner_up(match: Match) -> dict[str, Any] | None:
    if match.runner_up is None:
        return None
    mode, chance = match.runner_up
    return {
        "rank": mode.rank,
        "family": mode.family,
        "order": mode.order,
        "confidence": chance,
    }


# -- tables ---------------------------------------------------------------------------------------


def _as_written(value: Any) -> str:
    """A measured frequency with no more digits than were written."""
    return f"{value:.7g}"


def _sure(value: Any) -> str:
    """A probability in percent, never quite certain."""
    return "" if value is None else f"{min(max(round(100.0 * value), 1), 99)}"


def _other(value: Any) -> str:
    """A runner-up in a cell."""
    if value is None:
        return ""
    return f"{value['family']} {value['order']} ({_sure(value['confidence'])} %)"


def _columns(rows: Sequence[dict[str, Any]]) -> tuple[Column, ...]:
    counted = [
        column
        for key, heading in COUNT_HEADINGS.items()
        if any(row.get(key) is not None for row in rows)
        for column in (Column(key, heading, "counted"), Column(f"due_{key}", "", "due"))
    ]
    return (
        Column("row", "row"),
        Column("frequency_hz", "measured", "Hz", _as_written),
        *counted,
        Column("rank", "rank"),
        Column("family", "family", words=True),
        Column("order", "order"),
        Column("predicted_hz", "predicted", "Hz", significant(5)),
        Column("low_hz", "from", "Hz", shown=False),
        Column("high_hz", "to", "Hz", shown=False),
        Column("difference_percent", "difference", "%", fixed(1, signed=True)),
        Column("scaled_hz", "scaled", "Hz", significant(5)),
        Column("residual_percent", "from scaled", "%", fixed(1, signed=True)),
        Column("finding", "finding", words=True),
        Column("confidence", "sure", "%", _sure),
        Column("runner_up", "or else", "", _other, words=True),
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


# -- sentences ------------------------------------------------------------------------------------


def _sentences(rows: Sequence[dict[str, Any]]) -> list[str]:
    """What is to be said of each row; of many of one finding the first ones, and how many."""
    said: dict[str, int] = {}
    sentences = []
    for row in rows:
        if not row["why"]:
            continue
        said[row["finding"]] = said.get(row["finding"], 0) + 1
        if said[row["finding"]] <= MOST_TOLD:
            sentences.append(
                f"row {row['row']} ({_as_written(row['frequency_hz'])} Hz), {row['finding']}: "
                f"{row['why']}{_own_band(row)}"
            )
    return sentences + [
        f"... and {count - MOST_TOLD} more rows of the finding {finding}; --format json has what "
        "is to be said of each"
        for finding, count in said.items()
        if count > MOST_TOLD
    ]


def _own_band(row: dict[str, Any]) -> str:
    """The band of a line that is off, where the prediction has one."""
    if row["finding"] != "off" or row["low_hz"] is None:
        return ""
    return f"; predicted, unscaled, {row['low_hz']:.4g} to {row['high_hz']:.4g} Hz (95 %)"


def _band_remark(
    rows: Sequence[dict[str, Any]], outcome: Identification, *, remarked: bool
) -> list[str]:
    """Which lines lie outside the 95 % band of their prediction as it stands.

    remarked: whether something else was said of the misfit before.
    """
    stated = [row for row in rows if row["low_hz"] is not None]
    outside = [row for row in stated if not row["low_hz"] <= row["frequency_hz"] <= row["high_hz"]]
    if not outside:
        return []
    numbers = ", ".join(str(row["row"]) for row in outside[:MOST_TOLD])
    if len(outside) > MOST_TOLD:
        numbers += f" and {len(outside) - MOST_TOLD} more"
    if len(outside) == len(stated) > 1:
        who = f"all {len(outside)} rows that have a name"
    else:
        who = f"row{'s' if len(outside) > 1 else ''} {numbers}"
    lie = "lie" if len(outside) > 1 else "lies"
    due = ""
    if abs(outcome.scale - 1.0) > 0.005:
        due = "; the common factor is to be explained (see the scale)"
    elif remarked:
        due = "; what is remarked above is to be explained"
    return [
        f"{who} {lie} outside the 95 % band that the tolerances of the specimen give the "
        f"prediction{due}"
    ]
