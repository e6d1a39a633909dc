"""A result written out: as tables, as JSON or as CSV."""

from __future__ import annotations

import csv
import io
import json
import math
from typing import Any

import numpy as np

from saltline.show.table import Result, Table, render


def written(result: Result, form: str) -> str:
    """The result as "table", "json" or "csv", ending in a line break."""
    if form == "json":
        return json.dumps(_plain(result.data), indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    if form == "csv":
        return as_csv(result.tables[0])
    parts = ["\n".join(result.head)] if result.head else []
    parts += [render(table) for table in result.tables if table.rows]
    if result.lines:
        parts.append("\n".join(result.lines))
    return "\n\n".join(parts) + "\n" if parts else ""


def as_csv(table: Table) -> str:
    """The table with a header row of keys; an empty cell where there is no value."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([column.key for column in table.columns])
    for row in table.rows:
        writer.writerow([_cell(row.get(column.key)) for column in table.columns])
    return out.getvalue()


def _cell(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return ";".join(str(_cell(item)) for item in value)
    if isinstance(value, float):
        return "" if not math.isfinite(value) else repr(float(value))
    return "" if value is None else value


def _plain(value: Any) -> Any:
    """Only what JSON knows: arrays become lists, and what is not finite becomes null."""
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(item) for item in value]
    if isinstance(value, np.ndarray):
        return _plain(value.tolist())
    if isinstance(value, np.generic):
        return _plain(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
