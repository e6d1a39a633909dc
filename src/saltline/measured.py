"""What was measured: a list of resonances in YAML or CSV, or all of its mistakes with their places.

A row of either form becomes the same mapping of nodes, so that one reader serves both.
"""

from __future__ import annotations

import os
import re
import sys
from bisect import bisect_right
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from saltline.document import BrokenNode, Log, MappingNode, Node, TextNode, compose, read_text
from saltline.fields import Fields, Value
from saltline.quantity import Place
from saltline.words import listed, nearest, quoted

COUNTS = ("nodes", "lines_x", "lines_y", "diameters", "circles")
"""What an observer may count."""

FAMILIES = ("flatwise", "edgewise", "torsion", "axial", "plate", "disc")

MOST_ROWS = 2_000
MOST_COLUMNS = 100
MOST_COUNT = 200
LOWEST_HZ, HIGHEST_HZ = 0.001, 1e6

LARGEST_LIST = 5_000_000
"""Bytes; a recording given for a list is read so far that the refusal can say what it is."""

EXCHANGED_ABOVE = 60
"""Whole numbers up to here where frequencies are due, and larger ones where counts are due, mean
that the two columns stand in each other's place."""

_COLUMNS = ("frequency_hz", "uncertainty_hz", *COUNTS, "family", "note")
_STANDARD_ERROR = "standard_error_hz"
_EXTRA = ("damping_ratio", "quality_factor", "amplitude", _STANDARD_ERROR)
"""Columns that the tools write beside the frequency."""

_KNOWN = (*_COLUMNS, *_EXTRA)

_YAML_ROW = '"- {frequency: 26.1 Hz, nodes: 0}"'
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[+-]?\.?(?:nan|inf|infinity)", re.IGNORECASE)
_NULLS = ("", "~", "null", "Null", "NULL")


@dataclass(frozen=True, slots=True)
class Measured:
    """One resonance as it was measured.

    frequency_hz:   Hz.
    counts:         what was counted, by names in COUNTS; only those that were given.
    family:         one of FAMILIES, None where it was not given.
    note:           the observer's remark.
    uncertainty_hz: half-width of the 95 % interval (k = 2), Hz; 0 where it was not given.
    place:          where in the file the row begins; None where it comes from no file.
    """

    frequency_hz: float
    counts: Mapping[str, int] = field(default_factory=dict, hash=False)
    family: str | None = None
    note: str = ""
    uncertainty_hz: float = 0.0
    place: Place | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class MeasuredList:
    """The resonances of one file, in its order; path: the file as messages name it."""

    path: str
    rows: tuple[Measured, ...]


def load_measured(path: str | os.PathLike[str]) -> MeasuredList:
    """Read a measured list.

    path: a file; "-" is the standard input. A name in .yaml, .yml or .json is YAML; any other is
    YAML where the text looks like it, and CSV otherwise.
    Raises InputError with everything that is wrong with it.
    """
    if os.fspath(path) == "-":
        log = Log("standard input")
        return read_measured(_standard_input(log), log.path)
    return read_measured(read_text(path, largest=LARGEST_LIST), path)


def read_measured(text: str, path: str | os.PathLike[str] = "measured") -> MeasuredList:
    """Read the text of a measured list.

    path: names the file in messages; its ending says YAML as for `load_measured`.
    Raises InputError with everything that is wrong with it.
    """
    log = Log(os.fspath(path))
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    by_name = Path(path).suffix.lower() in (".yaml", ".yml", ".json")
    mappings = _yaml_rows if by_name or _looks_like_yaml(text) else _csv_rows
    rows = [row for row in map(_read_row, mappings(text, log)) if row is not None]
    _refuse_repeats(rows, log)
    log.raise_if_any()
    return MeasuredList(log.path, tuple(rows))


def _standard_input(log: Log) -> str:
    stream = getattr(sys.stdin, "buffer", None)
    if stream is None:
        raise log.fail(None, "there is nothing to read from; name a file")
    try:
        content: bytes = stream.read(LARGEST_LIST + 1)
    except (OSError, ValueError) as fault:
        raise log.fail(None, f"it cannot be read: {fault}; name a file") from None
    if len(content) > LARGEST_LIST:
        raise log.fail(
            None, f"there are more than {LARGEST_LIST:,} bytes; is it the list you meant?"
        )
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise log.fail(
            None, f"this is not UTF-8 text (byte {fault.start + 1}); send plain text in UTF-8"
        ) from None


# -- one row, whatever the form -------------------------------------------------------------------


def _read_row(fields: Fields) -> Measured | None:
    """A row; None where its frequency is wrong, or where it is not known for a mistake."""
    frequency, tolerance = _frequency(fields)
    uncertainty = _uncertainty(fields, frequency, tolerance)
    counts = {key: _count(value) for key in COUNTS if (value := _given(fields, key))}
    family = _given(fields, "family")
    note = _given(fields, "note")
    row = Measured(
        frequency_hz=frequency or 0.0,
        counts={key: count for key, count in counts.items() if count is not None},
        family=family.choice(FAMILIES) if family else None,
        note=(note.text() if note else None) or "",
        uncertainty_hz=uncertainty,
        place=fields.place,
    )
    fields.allow(*(key for key in _EXTRA if key in fields.keys))
    fields.finish()
    return row if frequency else None


def _given(fields: Fields, key: str) -> Value | None:
    """The value of an optional key; a null, as other programs write it, is none."""
    value = fields.find(key)
    return None if value is None or value.word in _NULLS else value


def _frequency(fields: Fields) -> tuple[float | None, float]:
    """The frequency and its tolerance, Hz, from a quantity or from a number of hertz."""
    if "frequency_hz" not in fields.keys:
        quantity = fields.quantity("frequency", "frequency", low=LOWEST_HZ, high=HIGHEST_HZ)
        return (quantity.value, quantity.tolerance) if quantity else (None, 0.0)
    fields.refuse("frequency", 'frequency and frequency_hz are both given; remove "frequency_hz"')
    value = fields.find("frequency_hz")
    frequency = _hertz(value) if value else None
    if value is None or frequency is None:
        return None, 0.0
    if frequency <= 0.0:
        fault = "must be more than zero"
    elif not LOWEST_HZ <= frequency <= HIGHEST_HZ:
        fault = f"must be between {LOWEST_HZ:g} and {HIGHEST_HZ:,.0f} Hz"
    else:
        return frequency, 0.0
    value.complain(f"frequency_hz {quoted(value.word or '')} {fault}; write it in hertz")
    return None, 0.0


def _uncertainty(fields: Fields, frequency: float | None, tolerance: float) -> float:
    """Half-width of the 95 % interval, Hz: as stated, else twice a standard error."""
    value = _given(fields, "uncertainty_hz")
    if value is None:
        # A tool wrote the standard error: one that says nothing is no mistake of the user's.
        error = fields.find(_STANDARD_ERROR) if _STANDARD_ERROR in fields.keys else None
        stated = 2.0 * (_number((error.word if error else None) or "") or 0.0)
        return tolerance or (stated if frequency and 0.0 < stated < frequency else 0.0)
    number = _hertz(value)
    if tolerance:
        fault = "stands beside a frequency that has its own tolerance; remove one of the two"
    elif number is None:
        return 0.0
    elif number < 0.0:
        fault = "must not be negative; write how far the frequency may lie to either side"
    elif frequency and number >= frequency:
        fault = "must be less than the frequency; write it in hertz"
    else:
        return number
    value.complain(f"uncertainty_hz {quoted(value.word or '')} {fault}")
    return 0.0


def _hertz(value: Value) -> float | None:
    text = value.text("a number of hertz, for example 26.1")
    if text is None:
        return None
    number = _number(text)
    if number is None:
        name = f"{value.name} {quoted(text)}"
        if re.search("[0-9],[0-9]", text):
            cure = "write a decimal point, and nothing between thousands"
            value.complain(f"{name} has a comma in its number; {cure}")
        else:
            cure = "write it in hertz without the unit, for example 26.1"
            what = "a finite number" if _NOT_FINITE.fullmatch(text) else "a number"
            value.complain(f"{name} is not {what}; {cure}")
    return number


def _count(value: Value) -> int | None:
    allowed = f"a whole number from 0 to {MOST_COUNT}"
    text = value.text(allowed)
    if text is None:
        return None
    number = _number(text)
    if number is not None and 0.0 <= number <= MOST_COUNT and number.is_integer():
        return int(number)
    cure = "write how many were counted, or leave it out"
    value.complain(f"{value.name} {quoted(text)} must be {allowed}; {cure}")
    return None


def _number(text: str) -> float | None:
    """A decimal number (infinite where it is too large), None where the text is none."""
    text = text.replace("−", "-")
    return float(text) if _NUMBER.fullmatch(text) else None


def _refuse_repeats(rows: Sequence[Measured], log: Log) -> None:
    """Complain of a frequency that stands twice, unless what was seen tells the two apart."""
    seen: dict[float, list[Measured]] = {}
    for row in rows:
        earlier = seen.setdefault(row.frequency_hz, [])
        first = next((other for other in earlier if not _told_apart(row, other)), None)
        earlier.append(row)
        if first is None or first.place is None or row.place is None:
            continue
        lines = f"lines {first.place.line} and {row.place.line}"
        if first.place.line == row.place.line:
            lines = f"line {row.place.line} twice"
        log.add(
            row.place,
            f"the frequency {row.frequency_hz:.12g} Hz stands in {lines}; a list holds each "
            "resonance once: remove one, or tell them apart by family or by count of node lines",
        )


def _told_apart(row: Measured, other: Measured) -> bool:
    """Whether two resonances of one frequency are said to be different ones.

    They may well be: those of a square bar, or of a square plate. The nodes of a beam are no such
    difference, for within a family its frequencies are distinct.
    """
    if row.family and other.family and row.family != other.family:
        return True
    keys = (row.counts.keys() & other.counts.keys()) - {"nodes"}
    return any(row.counts[key] != other.counts[key] for key in keys)


# -- YAML -----------------------------------------------------------------------------------------

_YAML_START = re.compile(
    r"""\s*(?:---|%YAML|[{\[]|-(?:\s|\Z)|["']?[A-Za-z_]+["']?[ ]*:(?:\s|\Z))"""
)
_BLANK_LINES = re.compile(r"(?:[^\S\n]*+(?:#[^\n]*+)?+(?:\n|\Z))*+")


def _content_begins(text: str) -> int:
    """Where the first line stands that is neither blank nor a comment."""
    match = _BLANK_LINES.match(text)
    return match.end() if match else 0


def _looks_like_yaml(text: str) -> bool:
    return _YAML_START.match(text, _content_begins(text)) is not None


def _yaml_rows(text: str, log: Log) -> Iterator[Fields]:
    if _content_begins(text) == len(text):
        cure = f'begin with "measured:" and add a line for each resonance, for example {_YAML_ROW}'
        raise log.fail(None, f"the list is empty; {cure}")
    if re.compile(r"\s*(?:-\s|\[)").match(text, _content_begins(text)):
        place = Place(text[: _content_begins(text)].count("\n") + 1, 1)
        raise log.fail(place, 'the list stands without its name; write "measured:" before it')
    top = Fields(compose(text, log), path="", log=log)
    if "measured" not in top.keys and {"kind", "geometry"} <= set(top.keys):
        raise log.fail(
            top.place,
            'this is a specimen; a list of what was measured begins with "measured:", so look '
            "whether the two files are exchanged",
        )
    value = top.need("measured", "measured: [{frequency: 26.1 Hz, nodes: 0}]")
    top.finish()
    if value is not None and value.is_empty_list:
        cure = f"add a line for each resonance, for example {_YAML_ROW}"
        value.complain(f"measured is an empty list; {cure}")
    for item in value.items("[{frequency: 26.1 Hz, nodes: 0}]", most=MOST_ROWS) if value else ():
        fields = item.fields("{frequency: 26.1 Hz, nodes: 0}")
        if fields is not None:
            yield fields


# -- CSV ------------------------------------------------------------------------------------------

_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_DECIMAL_COMMA = re.compile(r"([+−-]?[0-9]*),([0-9]+(?:[eE][+-]?[0-9]+)?)")
_SHOWN = {",": ",", ";": ";", "\t": "<tab>"}


@dataclass(frozen=True, slots=True)
class _Table:
    """How the columns of a CSV text are to be read.

    names: one for each column; "" where the header has none, None where it was refused.
    """

    separator: str
    names: tuple[str | None, ...]
    log: Log


def _csv_rows(text: str, log: Log) -> Iterator[Fields]:
    separator = _separator(text)
    lines = list(islice(_csv_lines(text, separator, log), MOST_ROWS + 2))
    if not lines:
        raise log.fail(
            None,
            "the list is empty; write a header row and a row for each resonance, for example "
            '"frequency_hz,nodes" and "26.1,0"',
        )
    header, *rows = lines
    names = _column_names(header, separator, log)
    if len(rows) > MOST_ROWS:
        raise log.fail(
            None,
            f"the list has more than {MOST_ROWS:,} rows; it may hold one for each resonance, and "
            'those of a recorded sweep are found by "saltline pick"',
        )
    if not rows:
        cure = "add a row for each resonance, with its frequency at least"
        log.add(header[0].place, f"the list has a header and no rows; {cure}")
    table = _Table(separator, _put_right(names, header, rows, log), log)
    for i, cells in enumerate(rows):
        yield Fields(_csv_row(cells, table), path=f"measured.{i}", log=log)


def _separator(text: str) -> str:
    """The commonest of the header; that of the rows where the header is a single name."""
    content = text[_content_begins(text) :]
    header = re.sub('"[^"\n]*"', "", content.split("\n", 1)[0])
    for part in (header, content):
        found = max(";,\t", key=part.count)
        if found in part:
            return found
    return ","


def _csv_lines(text: str, separator: str, log: Log) -> Iterator[list[TextNode]]:
    """The cells of each line that is neither blank nor a comment; raises InputError."""
    place = _places_in(text)
    control = _CONTROL.search(text)
    if control:
        fault = f"here is the control character {control[0]!r}"
        raise log.fail(place(control.start()), f"{fault}; is it a text file?")
    pattern = _cell_pattern(separator)
    cells: list[TextNode] = []
    position = _content_begins(text)
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


def _column_names(header: Sequence[TextNode], separator: str, log: Log) -> tuple[str | None, ...]:
    """The columns by the header, complaining of what is wrong with it; raises InputError."""
    words = [cell.text for cell in header]
    known = [word for word in words if word in _KNOWN]
    if not known and any(_number(_with_point(word)) is not None for word in words):
        first = _SHOWN[separator].join(("frequency_hz", "nodes")[: len(words)])
        raise log.fail(
            header[0].place,
            f"the first row holds numbers; the list needs a header row, for example {first}",
        )
    if len(words) == 1 and not known and set(words[0].split()) <= set(_KNOWN):
        raise log.fail(
            header[0].place, 'the columns stand apart by spaces; put a "," or a tab between them'
        )
    names: list[str | None] = []
    for i, cell in enumerate(header):
        names.append(cell.text if cell.text in ("", *_KNOWN) else None)
        if cell.text in words[:i] and cell.text in known:
            first = f"first as column {words.index(cell.text) + 1}"
            log.add(cell.place, f"{quoted(cell.text)} is given twice, {first}; remove one")
            names[i] = None
    meant = [_refuse_name(cell, known, log) for cell in header if cell.text not in ("", *_KNOWN)]
    if "frequency_hz" not in (*known, *meant):
        cure = "name the column that holds the frequencies in hertz so"
        log.add(header[0].place, f'the header has no column "frequency_hz"; {cure}')
    return tuple(names)


def _refuse_name(cell: TextNode, given: Sequence[str], log: Log) -> str | None:
    """Complain of an unknown column; the known one that it may have been meant for."""
    word = re.sub("[^a-z0-9]+", "_", cell.text.casefold()).strip("_")
    free = [name for name in _COLUMNS if name not in given]
    near = [name for name in free if len(word) > 2 and name.startswith(word)]
    near = (near or nearest(word, free) or nearest(word, _COLUMNS))[:1]
    meant = f'; did you mean "{near[0]}"?' if near else ";"
    if near == ["frequency_hz"]:
        meant = '; if it is in hertz, name it "frequency_hz";'
    allowed = listed(_COLUMNS)
    log.add(cell.place, f"unknown column {quoted(cell.text)}{meant} allowed: {allowed}")
    return near[0] if near else None


def _put_right(
    names: tuple[str | None, ...],
    header: Sequence[TextNode],
    rows: Sequence[Sequence[TextNode]],
    log: Log,
) -> tuple[str | None, ...]:
    """The names, frequency_hz and nodes exchanged where the rows say that they are.

    That is complained of, and the rest of the list read as it was meant.
    """
    if "frequency_hz" not in names or "nodes" not in names:
        return names
    f, n = names.index("frequency_hz"), names.index("nodes")
    if not _are_exchanged([(row[f].text, row[n].text) for row in rows if len(row) > max(f, n)]):
        return names
    log.add(
        header[min(f, n)].place,
        "the columns frequency_hz and nodes look exchanged: frequency_hz holds small whole numbers "
        "only, nodes larger ones; exchange the two names in the header",
    )
    other = {"frequency_hz": "nodes", "nodes": "frequency_hz"}
    return tuple(other.get(name or "", name) for name in names)


def _are_exchanged(texts: Sequence[tuple[str, str]]) -> bool:
    """Whether pairs of a frequency and a count make sense only the other way round."""
    numbers = [(_number(_with_point(f)), _number(_with_point(n))) for f, n in texts]
    pairs = [(f, n) for f, n in numbers if f is not None and n is not None]
    if max((n for _, n in pairs), default=0.0) <= EXCHANGED_ABOVE:
        return False
    return all(0.0 <= f <= EXCHANGED_ABOVE and f.is_integer() and n > f for f, n in pairs)


def _with_point(text: str) -> str:
    """A number with a decimal comma as one with a point; any other text as it is."""
    match = _DECIMAL_COMMA.fullmatch(text)
    return f"{match[1]}.{match[2]}" if match else text


def _csv_row(cells: Sequence[TextNode], table: _Table) -> MappingNode:
    """A row as the mapping that it would be in YAML; its empty cells are left out."""
    names, log = table.names, table.log
    entries: dict[str, tuple[Place, Node]] = {}
    filled = [i for i, cell in enumerate(cells) if cell.text]
    for i in filled:
        cell = cells[i]
        name = names[i] if i < len(names) else None
        if name == "":
            cure = "name it in the header, or empty the cell"
            found = f"column {i + 1} has no name, yet holds {quoted(cell.text)}"
            log.add(cell.place, f"{found}; {cure}")
        elif name is not None:
            text = cell.text
            if table.separator != "," and name not in ("family", "note"):
                text = _with_point(text)
            entries[name] = (cell.place, TextNode(text, cell.place, plain=False))
    if filled[-1] >= len(names):
        _refuse_surplus(cells, filled[-1] + 1, table)
    if "frequency_hz" not in entries:
        at = names.index("frequency_hz") if "frequency_hz" in names else None
        place = cells[at].place if at is not None and at < len(cells) else cells[0].place
        if at is not None:
            cure = "write the frequency in hertz, or remove the row"
            log.add(place, f"frequency_hz is empty; {cure}")
        entries["frequency_hz"] = (place, BrokenNode(place))
    return MappingNode(entries, cells[0].place)


def _refuse_surplus(cells: Sequence[TextNode], count: int, table: _Table) -> None:
    width = len(table.names)
    point = "write a decimal point in numbers, and " if table.separator == "," else ""
    table.log.add(
        cells[width].place,
        f"the row has {count} cells and the header {width}; {point}put text that holds "
        f'"{_SHOWN[table.separator]}" in quotation marks',
    )
