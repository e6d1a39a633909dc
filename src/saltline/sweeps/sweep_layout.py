"""How the rows of a recording in CSV are to be read: its header row, its units, its columns."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from saltline.files.complaints import InputError, Log
from saltline.quantity import Place
from saltline.record import record
from saltline.sweeps.sweep_columns import (
    Heading,
    headings_of,
    is_number,
    is_whole,
    missing,
    numbered,
)

PREAMBLE = 200
"""The header row is one of so many first lines."""

COMMENTS = ("#", "%", "//")
GAPS = frozenset(
    (
        "",
        "nan",
        "-",
        "--",
        "n/a",
        "na",
        "null",
        "none",
        "overload",
        "ovl",
        "#n/a",
        "#na",
        "#nv",
        "#div/0!",
        "1.#ind",
        "-1.#ind",
        "1.#qnan",
        "+inf",
        "inf",
        "-inf",
    )
)
"""What stands, in any case, in a cell that holds no reading."""

_MISSING = GAPS - {""}


@record
class Layout:
    """How the rows are to be read.

    width: how many cells the header has; start: where in the content the rows begin, line: the
    line of the first of them.
    """

    separator: str
    headings: tuple[Heading, ...]
    width: int
    start: int
    line: int


def layout_of(content: bytes, chosen: Mapping[str, str], log: Log) -> Layout:
    """The header row found, and the row of units below it; raises InputError."""
    seen: list[tuple[int, int, str]] = []  # line, offset, text
    for line, offset, text in _first_lines(content):
        if is_idle(text):
            continue
        seen.append((line, offset, text))
        separator = _separator(text)
        cells, places = cells_of(text, separator, line)
        if chosen and all(word.isdecimal() for word in chosen.values()) and is_number(cells[0]):
            headings = numbered(chosen, len(cells), log)
            if not (log.complaints or is_whole([heading.role for heading in headings])):
                raise log.fail(Place(line, 1), missing(headings, cells))
            return Layout(separator, tuple(headings), len(cells), offset, line)
        tried = Log(log.path)
        headings = headings_of(cells, places, chosen, tried)
        if is_whole([heading.role for heading in headings]):
            log.complaints.extend(tried.complaints)
            used = tuple(_not_idle(headings, chosen))
            after = offset + len(text.encode()) + 1
            layout = _with_units(content, Layout(separator, used, len(cells), after, line + 1))
            return _without_clock(content, layout)
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


def is_idle(text: str) -> bool:
    """Whether a line is blank or a comment."""
    return not text.strip(" ,;\t") or text.lstrip().startswith(COMMENTS)


def _separator(text: str) -> str:
    return max(";\t,", key=text.count)


def cells_of(text: str, separator: str, line: int) -> tuple[list[str], list[Place]]:
    """The cells of a line and their places."""
    cells = next(csv.reader([text], delimiter=separator)) if '"' in text else text.split(separator)
    places, column = [], 1
    for cell in cells:
        places.append(Place(line, column))
        column += len(cell) + 1
    return [cell.strip() for cell in cells], places


def _without_clock(content: bytes, layout: Layout) -> Layout:
    """The layout without a column of clock times, where frequencies stand beside it."""
    end = content.find(b"\n", layout.start)
    row = content[layout.start : end if end >= 0 else len(content)].decode(errors="replace")
    cells, _ = cells_of(row, layout.separator, layout.line)
    roles = {heading.role for heading in layout.headings}

    def is_clock(heading: Heading) -> bool:
        cell = cells[heading.number] if heading.number < len(cells) else ""
        return heading.role == "time_s" and ":" in cell

    if "frequency_hz" not in roles:
        return layout
    kept = tuple(heading for heading in layout.headings if not is_clock(heading))
    return replace(layout, headings=kept)


def _not_idle(headings: Sequence[Heading], chosen: Mapping[str, str]) -> list[Heading]:
    """The columns that are needed: of several ways to give a response one is enough.

    Where the user names the frequencies, a time or a drive that he does not name is not meant.
    """
    roles = {heading.role for heading in headings}
    idle: set[str] = set()
    if {"time_s", "drive", "response"} <= roles and "frequency_hz" not in roles:
        idle = roles - {"time_s", "drive", "response"}
    elif {"real", "imaginary"} <= roles:
        idle = {"amplitude", "phase_deg", "response"}
    else:
        idle = {"real", "imaginary", "response"}
    if "frequency_hz" in chosen:
        idle |= {"time_s", "drive"} - set(chosen)
    return [heading for heading in headings if heading.role not in idle]


def _with_units(content: bytes, layout: Layout) -> Layout:
    """The layout with the units that a row below the header states, if there is one."""
    offset, line = layout.start, layout.line
    while offset < len(content):
        end = content.find(b"\n", offset)
        end = len(content) if end < 0 else end
        text = content[offset:end].decode(errors="replace")
        if not is_idle(text):
            break
        offset, line = end + 1, line + 1
    else:
        return layout
    cells, _ = cells_of(text, layout.separator, line)
    own = [cells[h.number].strip("[]() ") if h.number < len(cells) else "" for h in layout.headings]
    if not any(own) or any(cell[:1].isdigit() or cell.casefold() in _MISSING for cell in own):
        return replace(layout, start=offset, line=line)
    headings = tuple(
        replace(heading, unit=unit or heading.unit)
        for heading, unit in zip(layout.headings, own, strict=True)
    )
    return replace(layout, headings=headings, start=end + 1, line=line + 1)


def _no_header(seen: list[tuple[int, int, str]], chosen: Mapping[str, str], log: Log) -> InputError:
    if not seen:
        cure = 'begin with a header row, for example "frequency_hz,amplitude"'
        return log.fail(None, f"the file is empty; {cure}")
    for line, _, text in seen:
        separator = _separator(text)
        cells, places = cells_of(text, separator, line)
        headings = headings_of(cells, places, chosen, Log(log.path))
        if headings:
            return log.fail(Place(line, 1), missing(headings, cells))
    line, _, text = seen[0]
    cells, _ = cells_of(text, _separator(text), line)
    if all(is_number(cell) for cell in cells if cell):
        return log.fail(
            Place(line, 1),
            "the first row holds numbers; add a header row, for example frequency_hz,amplitude, or "
            "number the columns: --column frequency_hz=1 --column amplitude=2",
        )
    return log.fail(Place(line, 1), missing([], cells))
