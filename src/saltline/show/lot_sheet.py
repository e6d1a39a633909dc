"""A lot as a result: its lists one by one, its modes over all lists, and what is not alike."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from saltline.many.lot import FALSE_ALARMS, FEWEST, Listed, Lot, LotMode
from saltline.show.table import Column, Result, Table, fixed, significant, without
from saltline.show.together import Failure

RULE = (
    "outliers by Rosner's test on ln f, drift by Mann and Kendall's over the order of the lists; "
    f"either is told of a lot without any in {100.0 * FALSE_ALARMS:g} of 100 lots"
)

_P = significant(1)


def lot_result(name: str, lot: Lot, failures: Sequence[Failure], form: str) -> Result:
    """The result of a lot; its first table is in CSV a row for each list and mode."""
    lists = [_list_row(one, lot) for one in lot.lists]
    modes = [_mode_row(mode) for mode in lot.modes]
    data: dict[str, Any] = {
        "specimen": name,
        "verdict": _verdict(lot),
        "lists": [without(row, "stands_out_words") for row in lists],
        "modes": [
            without(row, "outlier_words")
            | {
                "values": [
                    {"list": number, "frequency_hz": hz}
                    for number, hz in zip(mode.numbers, mode.hz, strict=True)
                ]
            }
            for row, mode in zip(modes, lot.modes, strict=True)
        ],
        "rule": RULE,
    }
    if failures:
        data["failed"] = [{"file": one.file, "why": one.message} for one in failures]
    tables = (_list_table(lists), Table(_MODE_COLUMNS, modes, "Each mode over the lists:"))
    return Result(
        data,
        (_long(lot),) if form == "csv" else tables,
        (*sentences(lot), RULE, _fit_words(lot), _verdict(lot)),
    )


# -- tables ---------------------------------------------------------------------------------------


def _list_row(one: Listed, lot: Lot) -> dict[str, Any]:
    ranks = [mode.rank for mode in lot.modes if one.number in mode.outliers]
    return {
        "list": one.number,
        "file": one.label,
        "lines": one.lines,
        "explained": one.explained,
        "scale": one.scale,
        "verdict": "fits" if one.fits else "does not fit",
        "stands_out": ranks,
        "stands_out_words": ("mode " + ", ".join(map(str, ranks))) if ranks else "",
    }


def _list_table(rows: Sequence[dict[str, Any]]) -> Table:
    columns = (
        Column("list", "list"),
        Column("file", "file", words=True),
        Column("lines", "lines"),
        Column("explained", "explained", "lines"),
        Column("scale", "scale", text=fixed(4)),
        Column("verdict", "verdict", words=True),
        Column("stands_out_words", "stands out in", words=True),
    )
    return Table(columns, rows)


def _mode_row(mode: LotMode) -> dict[str, Any]:
    drift = mode.drift
    return {
        "rank": mode.rank,
        "family": mode.family,
        "order": mode.order,
        "predicted_hz": mode.predicted_hz,
        "seen": len(mode.hz),
        "mean_hz": mode.mean_hz,
        "median_hz": mode.median_hz,
        "standard_deviation_hz": mode.deviation_hz,
        "standard_deviation_percent": 100.0 * mode.deviation_hz / mode.mean_hz,
        "min_hz": min(mode.hz),
        "max_hz": max(mode.hz),
        "min_percent": 100.0 * (min(mode.hz) / mode.mean_hz - 1.0),
        "max_percent": 100.0 * (max(mode.hz) / mode.mean_hz - 1.0),
        "drift_percent_per_list": None if drift is None else 100.0 * drift.relative,
        "drift_p": None if drift is None else drift.p,
        "drifts": None if drift is None else drift.is_told,
        "outliers": list(mode.outliers),
        "outlier_words": " ".join(map(str, mode.outliers)),
    }


def _told(value: Any) -> str:
    return {None: "", True: "yes", False: "no"}[value]


_MODE_COLUMNS = (
    Column("rank", "rank"),
    Column("family", "family", words=True),
    Column("order", "order"),
    Column("predicted_hz", "predicted", "Hz", significant(5)),
    Column("seen", "seen", "lists"),
    Column("mean_hz", "mean", "Hz", significant(5)),
    Column("standard_deviation_hz", "scatter s", "Hz", significant(2)),
    Column("standard_deviation_percent", "s", "%", significant(2)),
    Column("min_hz", "least", "Hz", significant(5)),
    Column("min_percent", "", "%", fixed(2, signed=True)),
    Column("max_hz", "most", "Hz", significant(5)),
    Column("max_percent", "", "%", fixed(2, signed=True)),
    Column("drift_percent_per_list", "drift", "% a list", fixed(3, signed=True)),
    Column("drifts", "drifts", text=_told, words=True),
    Column("outlier_words", "outliers", "list", words=True),
)


def _long(lot: Lot) -> Table:
    """A row for each list and mode."""
    lists = {one.number: one for one in lot.lists}
    rows = [
        {
            "list": number,
            "file": lists[number].label,
            "verdict": "fits" if lists[number].fits else "does not fit",
            "scale": lists[number].scale,
            "rank": mode.rank,
            "family": mode.family,
            "order": mode.order,
            "predicted_hz": mode.predicted_hz,
            "frequency_hz": hz,
            "from_median_percent": 100.0 * (hz / mode.median_hz - 1.0),
            "outlier": "yes" if number in mode.outliers else "no",
        }
        for mode in lot.modes
        for number, hz in zip(mode.numbers, mode.hz, strict=True)
    ]
    keys = (
        "list", "file", "verdict", "scale", "rank", "family", "order", "predicted_hz",
        "frequency_hz", "from_median_percent", "outlier",
    )  # fmt: skip
    rows.sort(key=lambda row: (row["list"], row["rank"]))
    return Table(tuple(Column(key, key) for key in keys), rows)


# -- sentences ------------------------------------------------------------------------------------


def mode_name(mode: LotMode) -> str:
    """ "mode 2 (flatwise 2)"; of a plate or a disc the rank says all."""
    if mode.family in ("plate", "disc"):
        return f"mode {mode.rank}"
    return f"mode {mode.rank} ({mode.family} {mode.order})"


def sentences(lot: Lot) -> list[str]:
    """What is not alike, one sentence each."""
    found = [
        f"{mode_name(mode)} drifts by {100.0 * mode.drift.relative:+.3g} % a list, "
        f"{100.0 * math.expm1(_whole(mode)):+.2g} % over all; by chance a trend as strong has a "
        f"probability of {_P(mode.drift.p)}"
        for mode in lot.modes
        if mode.drift is not None and mode.drift.is_told
    ]
    for one in lot.lists:
        parts = [
            f"{mode_name(mode)} {_from_median(one, mode):+.2f} %"
            for mode in lot.modes
            if one.number in mode.outliers
        ]
        if parts:
            what = f"{', '.join(parts)} from the median"
            found.append(f"list {one.number} ({one.label}) stands out: {what}")
    return found


def _from_median(one: Listed, mode: LotMode) -> float:
    """Percent."""
    return 100.0 * (one.found[mode.family, mode.order] / mode.median_hz - 1.0)


def _whole(mode: LotMode) -> float:
    """The drift from the first list to the last, in ln f."""
    assert mode.drift is not None
    return math.log1p(mode.drift.relative) * (mode.numbers[-1] - mode.numbers[0])


def _fit_words(lot: Lot) -> str:
    fitting = sum(one.fits for one in lot.lists)
    return f"{fitting} of {len(lot.lists)} lists fit the specimen"


def _verdict(lot: Lot) -> str:
    if not lot.is_judged:
        return f"too few lists to tell outliers or drift; {FEWEST} at least"
    return "the lot is alike" if lot.is_alike else "the lot is not alike"
