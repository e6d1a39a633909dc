"""Tables that a person reads at a bench: aligned, units in the heading, meant digits."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from typing import Any

from saltline.record import record

Row = Mapping[str, Any]


def without(row: Row, *keys: str) -> dict[str, Any]:
    """A row but for some of its cells."""
    return {key: value for key, value in row.items() if key not in keys}


def significant(digits: int) -> Callable[[Any], str]:
    """A format that shows so many significant digits and never an exponent up to a million."""

    def text(value: Any) -> str:
        if value is None or not math.isfinite(value):
            return ""
        if value == 0.0:
            return "0"
        # The exponent of the rounded value: 0.9996 to two digits is 1.0, not 1.00.
        decimals = digits - 1 - int(f"{value:.{digits - 1}e}".partition("e")[2])
        if not -3 <= decimals <= digits + 6:
            return f"{value:.{digits - 1}e}"
        return f"{round(value, decimals):.{max(decimals, 0)}f}"

    return text


def fixed(decimals: int, *, signed: bool = False) -> Callable[[Any], str]:
    """A format with so many decimals."""
    sign = "+" if signed else ""

    def text(value: Any) -> str:
        if value is None or not math.isfinite(value):
            return ""
        return f"{round(value, decimals) + 0.0:{sign}.{decimals}f}"  # + 0.0: no "-0.0"

    return text


@record
class LengthUnit:
    """The unit in which a person is shown lengths: its sign, how many make a metre, decimals."""

    sign: str
    per_metre: float
    decimals: int

    def text(self, metres: Any) -> str:
        """A length as a number of this unit; nothing for None."""
        return "" if metres is None else f"{metres * self.per_metre:.{self.decimals}f}"

    def texts(self, metres: Any) -> str:
        """Several lengths, with spaces between them."""
        return " ".join(map(self.text, metres or ()))

    def few(self, metres: Any, most: int, first: int) -> str:
        """The same; of more than `most` of them so many first ones and the last."""
        if metres is None or len(metres) <= most:
            return self.texts(metres)
        return f"{self.texts(metres[:first])} … {self.text(metres[-1])}"


MILLIMETRES = LengthUnit("mm", 1000.0, 1)
INCHES = LengthUnit("in", 1.0 / 0.0254, 3)


def plain(value: Any) -> str:
    """A word or a whole number; nothing for None."""
    return "" if value is None else str(value)


@record
class Column:
    """One column.

    key:     of the value in a row, and the heading in CSV (it ends in the unit there).
    heading: for a person; unit: shown under it.
    text:    value -> what is shown.
    words:   left-aligned, for words; numbers are aligned at the decimal point.
    shown:   False for a column that only CSV has.
    """

    key: str
    heading: str
    unit: str = ""
    text: Callable[[Any], str] = plain
    words: bool = False
    shown: bool = True


@record
class Table:
    """A titled table."""

    columns: tuple[Column, ...]
    rows: Sequence[Row]
    title: str = ""


@record
class Result:
    """What a command found, ready to be shown in any format.

    data:    the JSON form, SI units.
    tables:  for a person; the first is also the CSV form.
    lines:   sentences that are part of the result, below the tables.
    remarks: what the user should know besides; they go to standard error.
    head:    lines that are part of the result, above the tables.
    """

    data: Mapping[str, Any]
    tables: tuple[Table, ...]
    lines: tuple[str, ...] = ()
    remarks: tuple[str, ...] = field(default=())
    head: tuple[str, ...] = ()


def render(table: Table) -> str:
    """The table as text, lines without trailing spaces."""
    columns = [
        column
        for column in table.columns
        if column.shown and any(column.text(row.get(column.key)) for row in table.rows)
    ]
    blocks = [_column_lines(column, table.rows) for column in columns]
    lines = [table.title] if table.title else []
    lines += ["  ".join(cells).rstrip() for cells in zip(*blocks, strict=True)]
    return "\n".join(lines)


def _column_lines(column: Column, rows: Sequence[Row]) -> list[str]:
    """Heading, unit, rule and cells of one column, all of one width."""
    cells = [column.text(row.get(column.key)) for row in rows]
    if not column.words:
        cells = _at_the_point(cells)
    width = max(len(text) for text in (column.heading, column.unit, *cells))
    head = [column.heading, column.unit, "-" * width, *cells]
    return [text.ljust(width) if column.words else text.rjust(width) for text in head]


def _at_the_point(cells: list[str]) -> list[str]:
    """Cells padded on the right so that their decimal points stand under each other."""
    tails = [len(cell) - cell.find(".") if "." in cell else 0 for cell in cells]
    longest = max(tails, default=0)
    return [
        cell + " " * (longest - tail) if cell else cell
        for cell, tail in zip(cells, tails, strict=True)
    ]
