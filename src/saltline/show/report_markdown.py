"""A report as Markdown, for a laboratory notebook: tables as tables, pictures as sketches."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import singledispatch
from itertools import chain

from saltline.show.report_parts import (
    Entries,
    FileText,
    Grid,
    Listing,
    Part,
    Picture,
    Points,
    Prose,
    Report,
)
from saltline.show.report_table import shown_columns
from saltline.show.table import Column

_SPECIAL = re.compile(r"[\\`*<\[\]|]|(?<!\w)_|_(?!\w)")
"""What Markdown would read as more than a character."""

_LEADING = re.compile(r"^([#>+-]|\d+[.)])(?=\s)")
"""What it would at the beginning of a line."""


def markdown(report: Report) -> str:
    """The whole report, ending in a line break."""
    blocks = [f"# {escaped(report.title)}", *map(escaped, report.lines), escaped(report.date)]
    for section in report.sections:
        blocks.append(f"## {escaped(' '.join(section.title.split()))}")
        blocks += chain.from_iterable(map(_blocks, section.parts))
    return "\n\n".join((*blocks, escaped(report.trace))) + "\n"


def escaped(text: str) -> str:
    """A text that Markdown shows as it is, in one line.

    >>> escaped("damping_ratio * 2")
    'damping_ratio \\\\* 2'
    """
    text = _SPECIAL.sub(lambda found: f"\\{found[0]}", " ".join(text.split()))
    return _LEADING.sub(_safe, text)


def _safe(found: re.Match[str]) -> str:
    return f"{found[1][:-1]}\\{found[1][-1]}"


@singledispatch
def _blocks(part: Part) -> Iterator[str]:
    """A part as blocks with an empty line between them."""
    raise TypeError(f"no Markdown is known for {type(part).__name__}")


@_blocks.register
def _(part: Prose) -> Iterator[str]:
    yield from map(escaped, part.texts)


@_blocks.register
def _(part: Points) -> Iterator[str]:
    yield "\n".join(f"- {escaped(text)}" for text in part.texts)


@_blocks.register
def _(part: Entries) -> Iterator[str]:
    yield "\n".join(f"- **{escaped(label)}**: {escaped(text)}" for label, text in part.rows)


@_blocks.register
def _(part: Grid) -> Iterator[str]:
    table, columns = part.table, shown_columns(part.table)
    if not table.rows:
        return
    if table.title:
        yield f"**{escaped(table.title)}**"
    cells = [
        [escaped(column.text(row.get(column.key))) for row in table.rows] for column in columns
    ]
    yield "\n".join(_rows(columns, cells))


def _rows(columns: Sequence[Column], cells: Sequence[Sequence[str]]) -> Iterator[str]:
    """The lines of a table, aligned in the text too."""
    heads = [escaped(", ".join(filter(None, (c.heading, c.unit)))) for c in columns]
    wide = [max(3, len(head), *map(len, own)) for head, own in zip(heads, cells, strict=True)]
    rules = [
        ":" + "-" * (width - 1) if column.words else "-" * (width - 1) + ":"
        for column, width in zip(columns, wide, strict=True)
    ]
    for row in (heads, rules, *zip(*cells, strict=True)):
        padded = [
            text.ljust(width) if column.words else text.rjust(width)
            for text, column, width in zip(row, columns, wide, strict=True)
        ]
        yield f"| {' | '.join(padded)} |"


@_blocks.register
def _(part: Listing) -> Iterator[str]:
    yield fenced("\n".join((part.title, *part.lines)))


@_blocks.register
def _(part: FileText) -> Iterator[str]:
    yield f"**{escaped(part.name)}**"
    yield fenced("\n".join(part.lines))


@_blocks.register
def _(part: Picture) -> Iterator[str]:
    if part.sketch is not None:
        yield fenced(part.sketch())


def fenced(text: str) -> str:
    """Text as it stands, between fences that are not in it."""
    longest = max((len(run) for run in re.findall("`+", text)), default=0)
    fence = "`" * max(3, longest + 1)
    return f"{fence}\n{text}\n{fence}"
