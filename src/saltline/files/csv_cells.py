"""CSV text as cells that know their places."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator

from saltline.files.document import Log, TextNode
from saltline.quantity import Place

MOST_COLUMNS = 100

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_BLANK_LINES = re.compile(r"(?:[^\S\n]*+(?:#[^\n]*+|[Ss][Ee][Pp]=[^\n]?)?+(?:\n|\Z))*+")
"""A line such as "sep=;", with which spreadsheets open a file, is as good as blank."""


def content_begins(text: str) -> int:
    """Where the first line stands that is neither blank nor a comment."""
    match = _BLANK_LINES.match(text)
    return match.end() if match else 0


def separator_of(text: str) -> str:
    """The commonest of the header; that of the rows where the header is a single name."""
    content = text[content_begins(text) :]
    header = re.sub('"[^"\n]*"', "", content.split("\n", 1)[0])
    for part in (header, content):
        found = max(";,\t", key=part.count)
        if found in part:
            return found
    return ","


def cell_lines(text: str, separator: str, log: Log) -> Iterator[list[TextNode]]:
    """The cells of each line that is neither blank nor a comment; raises InputError."""
    place = _places_in(text)
    control = _CONTROL.search(text)
    if control:
        fault = f"here is the control character {control[0]!r}"
        raise log.fail(place(control.start()), f"{fault}; is it a text file?")
    pattern = _cell_pattern(separator)
    cells: list[TextNode] = []
    position = content_begins(text)
    while position < len(text):
        match = pattern.match(text, position)
        assert match is not None  # it takes the empty cell, too
        cells.append(_cell(match, place, log))
        position = match.end() + 1
        if text[match.end() : position] == separator and position < len(text):
            if len(cells) >= MOST_COLUMNS:
                cure = "check what separates its columns"
                fault = f"the row has more than {MOST_COLUMNS} cells"
                raise log.fail(cells[0].place, f"{fault}; {cure}")
            continue
        if any(cell.text for cell in cells):
            yield cells
        cells = []
        blank = _BLANK_LINES.match(text, position)
        position = blank.end() if blank else position


def _places_in(text: str) -> Callable[[int], Place]:
    """Offset -> place in the text."""
    starts = [0, *(match.end() for match in re.finditer("\n", text))]

    def place(offset: int) -> Place:
        line = bisect_right(starts, offset)
        return Place(line, offset - starts[line - 1] + 1)

    return place


def _cell_pattern(separator: str) -> re.Pattern[str]:
    """One cell up to its separator: what stands between quotation marks, or else all of it."""
    mark = re.escape(separator)
    space = rf"[^\S\n{mark}]*+"
    return re.compile(rf'{space}(?:"((?:[^"]++|"")*+)"{space}(?={mark}|\n|\Z)|([^{mark}\n]*+))')


def _cell(match: re.Match[str], place: Callable[[int], Place], log: Log) -> TextNode:
    within, bare = match.groups()
    if within is not None:
        text, start = within.replace('""', '"'), match.start(1) - 1
    else:
        text, start = bare, match.start(2)
        if text.startswith('"'):
            raise log.fail(
                place(start),
                "a quotation mark opens this cell and none closes it at its end; close it, and "
                "double those within",
            )
    return TextNode(" ".join(text.split()), place(start), plain=False)
