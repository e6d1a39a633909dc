"""A recording in CSV as columns of numbers, whatever separates them, or where it is none.

A clean file of a million rows goes to numpy as a whole. Where that does not take it (gaps and
quotation marks among them) each line is looked at.
"""

from __future__ import annotations

import io
import math
import os
import re
import sys
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from saltline.arrays import Values
from saltline.files.complaints import Log
from saltline.quantity import Place
from saltline.record import record
from saltline.sweeps.sweep_columns import Heading, is_number
from saltline.sweeps.sweep_layout import GAPS, Layout, cells_of, is_idle, layout_of
from saltline.words import quoted

LARGEST = 2_000_000_000
"""Bytes."""

MOST_COMPLAINTS = 20
"""After so many mistakes reading ends."""

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


@record
class Columns:
    """What a file holds.

    headings: of the columns that are used; values: of each, shape (rows,).
    lines:    the line of each row, where it is known; None where they follow each other.
    first:    the line of the first row.
    skipped:  how many rows had a gap in a column that is used.
    """

    path: str
    headings: tuple[Heading, ...]
    values: tuple[Values, ...]
    first: int
    lines: Values | None = None
    skipped: int = 0

    def line(self, row: int) -> int:
        """The line of a row, counted from 1."""
        return self.first + row if self.lines is None else int(self.lines[row])


def read_columns(path: str | os.PathLike[str], chosen: Mapping[str, str]) -> Columns:
    """Read a file; "-" is the standard input.

    chosen: role -> heading or number of its column, as the user says.
    Raises InputError with everything that is wrong with it.
    """
    log = Log("standard input" if os.fspath(path) == "-" else os.fspath(path))
    content = _plain(_content(path, log))
    layout = layout_of(content, chosen, log)
    log.raise_if_any()
    found = _at_once(content, layout, log.path) or _line_by_line(content, layout, log)
    log.raise_if_any()
    return found


# -- the bytes ------------------------------------------------------------------------------------


def _content(path: str | os.PathLike[str], log: Log) -> bytes:
    try:
        if os.fspath(path) == "-":
            content: bytes = sys.stdin.buffer.read(LARGEST + 1)
        elif Path(path).is_dir():
            raise log.fail(None, "this is a directory; name a file in it")
        else:
            with Path(path).open("rb") as stream:
                content = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise log.fail(None, "there is no such file; check its name and directory") from None
    except (OSError, ValueError, AttributeError) as fault:
        why = getattr(fault, "strerror", None) or str(fault)
        raise log.fail(None, f"the file cannot be read: {why}") from None
    if len(content) > LARGEST:
        raise log.fail(None, f"the file is larger than {LARGEST:,} bytes; thin it out")
    if b"\0" in content[:1000] and not content.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise log.fail(None, "this is no text file; export the recording as CSV, with a header row")
    return content


def _plain(content: bytes) -> bytes:
    """The content in UTF-8 without a mark, lines ended by line feeds alone."""
    for mark, encoding in _MARKS:
        if content.startswith(mark):
            content = content.decode(encoding, errors="replace").encode()
            break
    else:
        head = content[:65536]
        try:
            head.decode()
        except UnicodeDecodeError as fault:
            if fault.start < len(head) - 4:  # degree signs of older programs
                content = content.decode("cp1252", errors="replace").encode()
    if b"\r" in content:
        content = content.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    return content


# -- the rows -------------------------------------------------------------------------------------


def _at_once(content: bytes, layout: Layout, path: str) -> Columns | None:
    """All rows by numpy, None where it does not take them."""
    body = content[layout.start :]
    if not _is_plain(body, layout):
        return None
    if layout.separator != "," and b"," in body[:100_000]:
        body = body.replace(b",", b".")
    table = _table(body, layout)
    if table is None:
        mark = layout.separator.encode()
        empty = re.compile(b"(?m)(?<=%b)[ ]*(?=%b|$)" % (mark, mark))
        table = _table(empty.sub(b"nan", body), layout)
    if table is None or len(table) != body.rstrip(b"\n").count(b"\n") + 1:
        return None  # with blank lines the lines would be counted wrongly
    whole = np.all(np.isfinite(table), axis=1)
    lines = layout.line + np.flatnonzero(whole)
    values = tuple(np.ascontiguousarray(column) for column in table[whole].T)
    skipped = len(table) - lines.size
    return Columns(path, layout.headings, values, layout.line, lines if skipped else None, skipped)


def _table(body: bytes, layout: Layout) -> Values | None:
    try:
        return np.loadtxt(
            io.BytesIO(body),
            delimiter=layout.separator,
            usecols=[heading.number for heading in layout.headings],
            comments=None,
            ndmin=2,
            encoding="utf-8",
        )
    except (ValueError, IndexError):
        return None


def _is_plain(body: bytes, layout: Layout) -> bool:
    """Whether the first and the last row have no more cells than the header."""
    rows = (body[: body.find(b"\n") % (len(body) + 1)], body.rstrip(b"\n").rpartition(b"\n")[2])
    mark = layout.separator.encode()
    return all(row.strip() and row.count(mark) < layout.width for row in rows)


def _line_by_line(content: bytes, layout: Layout, log: Log) -> Columns:
    """All rows, each looked at; complains of cells that are no readings."""
    kept: list[list[float]] = []
    lines: list[int] = []
    skipped = 0
    used = [heading.number for heading in layout.headings]
    texts = content[layout.start :].decode(errors="replace").split("\n")
    last = max((i for i, text in enumerate(texts) if text.strip()), default=0)
    for i, text in enumerate(texts):
        line = layout.line + i
        cells = text.split(layout.separator)
        try:
            row = [float(cells[number]) for number in used]
            is_read = len(cells) <= layout.width
        except (ValueError, IndexError):
            is_read = False
        if not is_read:
            if is_idle(text) or (i == last and len(cells) <= max(used)):
                continue  # the last line may have been cut off
            read = _read_row(text, layout, line, log)
            if len(log.complaints) >= MOST_COMPLAINTS:
                log.add(Place(line + 1, 1), "... and perhaps more: reading ended here")
                break
            if read is None:
                continue
            row = read
        if not all(map(math.isfinite, row)):
            skipped += 1
            continue
        kept.append(row)
        lines.append(line)
    values = tuple(np.array(kept, dtype=float).reshape(-1, len(used)).T.copy())
    return Columns(log.path, layout.headings, values, layout.line, np.array(lines), skipped)


def _read_row(text: str, layout: Layout, line: int, log: Log) -> list[float] | None:
    """A row that is not plain numbers; NaN for a gap, None after a complaint."""
    cells, places = cells_of(text, layout.separator, line)
    row: list[float] = []
    if layout.separator == "," and any(cells[layout.width :]):
        log.add(
            places[layout.width],
            f"the row has {len(cells)} cells and the header {layout.width}; if the numbers have "
            'decimal commas, separate the cells by ";"',
        )
        return None
    for heading in layout.headings:
        cell = cells[heading.number] if heading.number < len(cells) else ""
        word = cell.replace("−", "-")
        if layout.separator != "," and is_number(word):
            word = word.replace(",", ".")
        if word.casefold() in GAPS:
            row.append(float("nan"))
        elif is_number(word) and "," not in word:
            row.append(float(word))
        else:
            place = places[heading.number]
            log.add(
                place,
                f"{heading.role} {quoted(cell)} is not a number; write one with a decimal point, "
                "or leave the cell empty where nothing was read",
            )
            return None
    return row
