"""A result written out: as tables, as JSON or as CSV."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from saltline.show.table import Result, Table, render


def written(result: Result, form: str) -> str:
    """The result as "table", "json" or "csv", ending in a line break."""
    if form == "json":
        return as_json(result.data)
    if form == "csv":
        return as_csv(result.tables[0])
    parts = ["\n".join(result.head)] if result.head else []
    parts += [render(table) for table in result.tables if table.rows]
    if result.lines:
        parts.append("\n".join(result.lines))
    return "\n\n".join(parts) + "\n" if parts else ""


def as_json(data: Mapping[str, Any]) -> str:
    """The JSON form as text."""
    import json  # a table need not wait for it

    return json.dumps(plain_data(data), indent=2, allow_nan=False, ensure_ascii=False) + "\n"


def as_csv(table: Table) -> str:
    """The table with a header row of keys; an empty cell where there is no value."""
    import csv  # likewise

    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows(cells(table))
    return out.getvalue()


def cells(table: Table) -> list[list[Any]]:
    """The header row of keys and the rows under it, as CSV has them."""
    keys = [column.key for column in table.columns]
    return [keys, *([_cell(row.get(key)) for key in keys] for row in table.rows)]


def _cell(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return ";".join(str(_cell(item)) for item in value)
    if isinstance(value, float):
        return "" if not math.isfinite(value) else repr(float(value))
    return "" if value is None else value


def plain_data(value: Any) -> Any:
    """Only what JSON knows: arrays become lists, and what is not finite becomes null."""
    if isinstance(value, Mapping):
        return {key: plain_data(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain_data(item) for item in value]
    if isinstance(value, np.ndarray):
        return plain_data(value.tolist())
    if isinstance(value, np.generic):
        return plain_data(value.item())
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value
