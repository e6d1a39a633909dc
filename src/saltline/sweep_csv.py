"""A recording in CSV as columns of numbers, whatever separates them, or where it is none.

A clean file of a million rows goes to numpy as a whole. Where that does not take it (gaps and
quotation marks among them) each line is looked at.
"""

from __future__ import annotations

import csv
import io
import os
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from saltline.arrays import Values
from saltline.complaints import Log
from saltline.quantity import Place
from saltline.sweep_columns import (
    Heading,
    headings_of,
    is_number,
    is_whole,
    missing,
    numbered,
)
from saltline.words import quoted

LARGEST = 2_000_000_000
"""Bytes."""

PREAMBLE = 200
"""The header row is one of so many first lines."""

MOST_COMPLAINTS = 20
COMMENTS = ("#", "%", "//")
GAPS = frozenset(("", "nan", "-", "--", "n/a", "na", "null", "none", "overload", "ovl"))
"""What stands, in any case, in a cell that holds no reading."""

_MISSING = GAPS - {""}

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


@dataclass(frozen=True, slots=True)
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
    layout = _layout(content, chosen, log)
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


# -- the layout -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Layout:
    """How the rows are to be read.

    width: how many cells the header has; start: where in the content the rows begin, line: the
    line of the first of them.
    """

    separator: str
    headings: tuple[Heading, ...]
    width: int
    start: int
    line: int


def _layout(content: bytes, chosen: Mapping[str, str], log: Log) -> _Layout:
    """The header row found, and the row of units below it; raises InputError."""
    seen: list[tuple[int, int, str]] = []  # line, offset, text
    for line, offset, text in _first_lines(content):
        if _is_idle(text):
            continue
        seen.append((line, offset, text))
        separator = _separator(text)
        cells, places = _split(text, separator, line)
        if chosen and all(word.isdecimal() for word in chosen.values()) and is_number(cells[0]):
            headings = numbered(chosen, len(cells), log)
            return _Layout(separator, tuple(headings), len(cells), offset, line)
        tried = Log(log.path)
        headings = headings_of(cells, places, chosen, tried)
        if is_whole([heading.role for heading in headings]):
            log.complaints.extend(tried.complaints)
            used = tuple(_not_idle(headings))
            after = offset + len(text.encode()) + 1
            return _with_units(content, _Layout(separator, used, len(cells), after, line + 1))
    raise _no_header(seen, chosen, log)


def _first_lines(content: bytes) -> Iterator[tuple[int, int, str]]:
    offset = 0
    for line in range(1, PREAMBLE + 1):
        if offset >= len(content):
            return
        end = content.find(b"\n", offset)
        end = len(content) if end < 0 else end
        yield line, offset, content[offset:end].decode(errors="replace")
        offset = end + 1


def _is_idle(text: str) -> bool:
    """Whether a line is blank or a comment."""
    return not text.strip(" ,;\t") or text.lstrip().startswith(COMMENTS)


def _separator(text: str) -> str:
    return max(";\t,", key=text.count)


def _split(text: str, separator: str, line: int) -> tuple[list[str], list[Place]]:
    """The cells of a line and their places."""
    cells = next(csv.reader([text], delimiter=separator)) if '"' in text else text.split(separator)
    places, column = [], 1
    for cell in cells:
        places.append(Place(line, column))
        column += len(cell) + 1
    return [cell.strip() for cell in cells], places


def _not_idle(headings: list[Heading]) -> list[Heading]:
    """The columns that are needed: of several ways to give a response one is enough."""
    roles = {heading.role for heading in headings}
    idle: set[str] = set()
    if {"time_s", "drive", "response"} <= roles and "frequency_hz" not in roles:
        idle = roles - {"time_s", "drive", "response"}
    elif {"real", "imaginary"} <= roles:
        idle = {"amplitude", "phase_deg", "response"}
    else:
        idle = {"real", "imaginary", "response"}
    return [heading for heading in headings if heading.role not in idle]


def _with_units(content: bytes, layout: _Layout) -> _Layout:
    """The layout with the units that a row below the header states, if there is one."""
    offset, line = layout.start, layout.line
    while offset < len(content):
        end = content.find(b"\n", offset)
        end = len(content) if end < 0 else end
        text = content[offset:end].decode(errors="replace")
        if not _is_idle(text):
            break
        offset, line = end + 1, line + 1
    else:
        return layout
    cells, _ = _split(text, layout.separator, line)
    own = [cells[h.number].strip("[]() ") if h.number < len(cells) else "" for h in layout.headings]
    if not any(own) or any(cell[:1].isdigit() or cell.casefold() in _MISSING for cell in own):
        return replace(layout, start=offset, line=line)
    headings = tuple(
        replace(heading, unit=unit or heading.unit)
        for heading, unit in zip(layout.headings, own, strict=True)
    )
    return replace(layout, headings=headings, start=end + 1, line=line + 1)


def _no_header(seen: list[tuple[int, int, str]], chosen: Mapping[str, str], log: Log) -> Exception:
    if not seen:
        cure = 'begin with a header row, for example "frequency_hz,amplitude"'
        return log.fail(None, f"the file is empty; {cure}")
    for line, _, text in seen:
        separator = _separator(text)
        cells, places = _split(text, separator, line)
        headings = headings_of(cells, places, chosen, Log(log.path))
        if headings:
            return log.fail(Place(line, 1), missing(headings, cells))
    line, _, text = seen[0]
    cells, _ = _split(text, _separator(text), line)
    if all(is_number(cell) for cell in cells if cell):
        return log.fail(
            Place(line, 1),
            "the first row holds numbers; add a header row, for example frequency_hz,amplitude, or "
            "number the columns: --column frequency_hz=1 --column amplitude=2",
        )
    return log.fail(Place(line, 1), missing([], cells))


# -- the rows -------------------------------------------------------------------------------------


def _at_once(content: bytes, layout: _Layout, path: str) -> Columns | None:
    """All rows by numpy, None where it does not take them."""
    body = content[layout.start :]
    if not _is_plain(body, layout):
        return None
    if layout.separator != "," and b"," in body[:100_000]:
        body = body.replace(b",", b".")
    try:
        table = np.loadtxt(
            io.BytesIO(body),
            delimiter=layout.separator,
            usecols=[heading.number for heading in layout.headings],
            comments=None,
            ndmin=2,
            encoding="utf-8",
        )
    except (ValueError, IndexError):
        return None
    if not table.size or not np.all(np.isfinite(table)):
        return None
    values = tuple(np.ascontiguousarray(column) for column in table.T)
    return Columns(path, layout.headings, values, layout.line)


def _is_plain(body: bytes, layout: _Layout) -> bool:
    """Whether the first and the last row have no more cells than the header."""
    rows = (body[: body.find(b"\n") % (len(body) + 1)], body.rstrip(b"\n").rpartition(b"\n")[2])
    mark = layout.separator.encode()
    return all(row.strip() and row.count(mark) < layout.width for row in rows)


def _line_by_line(content: bytes, layout: _Layout, log: Log) -> Columns:
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
            if _is_idle(text) or (i == last and len(cells) <= max(used)):
                continue  # the last line may have been cut off
            read = _read_row(text, layout, line, log)
            if len(log.complaints) >= MOST_COMPLAINTS:
                log.add(Place(line + 1, 1), "... and perhaps more: reading ended here")
                break
            if read is None:
                continue
            row = read
        if not all(map(np.isfinite, row)):
            skipped += 1
            continue
        kept.append(row)
        lines.append(line)
    values = tuple(np.array(kept, dtype=float).reshape(-1, len(used)).T.copy())
    return Columns(log.path, layout.headings, values, layout.line, np.array(lines), skipped)


def _read_row(text: str, layout: _Layout, line: int, log: Log) -> list[float] | None:
    """A row that is not plain numbers; NaN for a gap, None after a complaint."""
    cells, places = _split(text, layout.separator, line)
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
