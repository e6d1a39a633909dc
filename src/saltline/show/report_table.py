"""A table set in type: columns as wide as they need, words wrapped, too wide a table in parts."""

from __future__ import annotations

from collections.abc import Sequence

from saltline.record import record
from saltline.show.report_type import CELL, wrap
from saltline.show.table import Column, Table

COLUMN_GAP_MM = 2.6
"""Room between columns."""

NARROWEST_MM = 18.0
"""A column of words is not wrapped to less than this, if it has a longer cell."""


@record
class SetColumn:
    """A column as it is printed.

    head:  its heading and its unit; width: mm.
    cells: for each row its lines; each with the distance of its left edge from that of the column.
    indents: of heading and unit.
    """

    head: tuple[str, ...]
    indents: tuple[float, ...]
    cells: tuple[tuple[tuple[float, str], ...], ...]
    width: float


SetTable = tuple[SetColumn, ...]


def shown_columns(table: Table) -> tuple[Column, ...]:
    """The columns that a person is shown: those with something in them."""
    return tuple(
        column
        for column in table.columns
        if column.shown and any(column.text(row.get(column.key)) for row in table.rows)
    )


def width_of(columns: SetTable) -> float:
    """Of columns side by side."""
    return sum(column.width for column in columns) + COLUMN_GAP_MM * (len(columns) - 1)


def set_table(table: Table, width: float) -> list[SetTable]:
    """The table within a width: whole if it can be, else in parts that each have its first column.

    Columns of words give way before the table is parted. A part after the first has the rows alone
    that say something there.
    """
    columns = [
        (column, [column.text(row.get(column.key)) for row in table.rows])
        for column in shown_columns(table)
    ]
    first, *others = _parts(columns, width)
    return [_fitted(part, width) for part in (first, *map(_filled, others))]


def _filled(part: Sequence[Texts]) -> list[Texts]:
    """The columns without rows that are empty but for the first column."""
    rows = [k for k in range(len(part[0][1])) if any(cells[k] for _, cells in part[1:])]
    return [(column, [cells[k] for k in rows]) for column, cells in part]


Texts = tuple[Column, list[str]]
"""A column and its cells."""


def _parts(columns: Sequence[Texts], width: float) -> list[list[Texts]]:
    """The columns in parts that can be as narrow as the width, each beginning with the first."""
    parts: list[list[Texts]] = [[]]
    for column in columns:
        tried = [*parts[-1], column]
        least = sum(map(_least, tried)) + COLUMN_GAP_MM * (len(tried) - 1)
        if len(parts[-1]) > 1 and least > width:
            parts.append([columns[0]])
        parts[-1].append(column)
    return [part for part in parts if part]


def _fitted(columns: Sequence[Texts], width: float) -> SetTable:
    """Columns within a width that can be as narrow; of those of words the widest give way."""
    room = [width] * len(columns)
    least = [_least(column) for column in columns]
    while True:
        found = tuple(
            _words(column, cells, own) if column.words else _numbers(column, cells)
            for (column, cells), own in zip(columns, room, strict=True)
        )
        excess = width_of(found) - width
        loose = [k for k, part in enumerate(found) if part.width > least[k] + 0.1]
        if excess <= 0.0 or not loose:
            return found
        widest = max(loose, key=lambda k: found[k].width)
        less = min(max(excess / len(loose), 1.0), excess)
        room[widest] = max(found[widest].width - less, least[widest])


def _least(texts: Texts) -> float:
    """The least width of a column: of words that of its longest word, or what reads well."""
    column, cells = texts
    if not column.words:
        return _numbers(column, cells).width
    words = [word for text in cells for word in text.split()]
    longest = max(map(CELL.width, (*words, *_head(column))))
    natural = max(map(CELL.width, (*cells, *_head(column))))
    return min(max(min(longest, 2.0 * NARROWEST_MM), NARROWEST_MM), natural)


def _words(column: Column, cells: Sequence[str], width: float) -> SetColumn:
    """A column of words, wrapped; it is as wide as its widest line."""
    head = _head(column)
    lines = [tuple((0.0, line) for line in wrap(text, CELL, width)) for text in cells]
    widest = max(CELL.width(line) for row in (*lines, [(0.0, h) for h in head]) for _, line in row)
    return SetColumn(head, (0.0,) * len(head), tuple(lines), min(widest, width))


def _numbers(column: Column, cells: Sequence[str]) -> SetColumn:
    """A column of numbers, their decimal points under each other, their block at the right."""
    head = _head(column)
    before = [CELL.width(text.partition(".")[0]) for text in cells]
    after = [CELL.width(text) - width for text, width in zip(cells, before, strict=True)]
    left = max(before, default=0.0)
    block = left + max(after, default=0.0)
    width = max(block, *map(CELL.width, head))
    places = [width - block + left - own for own in before]
    return SetColumn(
        head,
        tuple(width - CELL.width(text) for text in head),
        tuple(((place, text),) for place, text in zip(places, cells, strict=True)),
        width,
    )


def _head(column: Column) -> tuple[str, ...]:
    return (column.heading, column.unit)
