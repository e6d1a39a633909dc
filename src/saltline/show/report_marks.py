"""Where to mark, as a report prints it: of a plate one row a node line, its points side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from saltline.show.table import Column, LengthUnit, Row, Table

LINE_KEYS = ("rank", "mark", "number")
"""Rows of `mark` that are alike in these are points of one node line."""


LINE_COLUMNS = ("rank", "number", "course")
"""The columns that are kept beside the points; the frequency stands in the table of resonances."""


def marks_table(table: Table, unit: LengthUnit) -> Table:
    """The table of `mark`, with the points of a node line in one row where it has such."""
    points = list(dict.fromkeys(row["point"] for row in table.rows if "point" in row))
    if not points:
        return table
    lines: dict[tuple[Any, ...], dict[str, Any]] = {}
    for row in table.rows:
        line = lines.setdefault(tuple(row.get(key) for key in LINE_KEYS), dict(row))
        if "point" in row:
            line[row["point"]] = (row["x_m"], row["y_m"])
        else:
            line["course"] = row["mark"]
    kept = [
        replace(column, heading="line" if column.key == "number" else column.heading)
        for column in table.columns
        if column.key in LINE_COLUMNS
    ]
    placed = [
        Column(point, point, f"x, y in {unit.sign}", partial(_place, unit), words=True)
        for point in points
    ]
    rows: Sequence[Row] = list(lines.values())
    return Table((*kept, *placed), rows, table.title)


def _place(unit: LengthUnit, at: tuple[float, float] | None) -> str:
    return "" if at is None else f"{unit.text(at[0])}, {unit.text(at[1])}"
