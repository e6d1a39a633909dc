"""A measured list in CSV: its rows as the mappings that they would be in YAML."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import islice

from saltline.files.csv_cells import cell_lines, separator_of
from saltline.files.document import BrokenNode, Log, MappingNode, Node, TextNode
from saltline.files.fields import Fields
from saltline.files.measured_row import COLUMNS, KNOWN, MOST_ROWS, NUMBERS_OF_HERTZ, number_of
from saltline.measured_list import COUNTS
from saltline.quantity import Place
from saltline.record import record
from saltline.words import listed, nearest, quoted

EXCHANGED_ABOVE = 60
"""Whole numbers up to here where frequencies are due, and larger ones where counts are due, mean
that the two columns stand in each other's place."""

_DECIMAL_COMMA = re.compile(r"([+−-]?[0-9]*),([0-9]+(?:[eE][+-]?[0-9]+)?)")
SHOWN = {",": ",", ";": ";", "\t": "<tab>"}
_FREQUENCY = re.compile(r"(?:f|freq|frequency|resonance)_(k?hz)")
MOST_PICKED = 50
"""A list with levels and no counts that has more rows is a recording."""

_LEVEL = re.compile(r"amp|mag|level|response|real|imag|accel")
_MODE = re.compile(r"(?:mode|order|rank|n|no|nr)(?:_(?:number|no|nr|order))?")
_OTHER_UNIT = re.compile(r"(?:f|freq|frequency|resonance|rpm)(?:_.+)?")


@record
class _Table:
    """How the columns of a CSV text are to be read.

    names: one for each column; "" where the header has none, None where it was refused.
    """

    separator: str
    names: tuple[str | None, ...]
    log: Log


def csv_rows(text: str, log: Log) -> Iterator[Fields]:
    """The rows of a CSV text; raises InputError where reading cannot go on."""
    separator = separator_of(text)
    lines = list(islice(cell_lines(text, separator, log), MOST_ROWS + 2))
    if not lines:
        raise log.fail(
            None,
            "the list is empty; write a header row and a row for each resonance, for example "
            '"frequency_hz,nodes" and "26.1,0"',
        )
    header, *rows = lines
    if len(rows) <= MOST_ROWS:
        _refuse_a_recording(header, len(rows), log)
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


def _refuse_a_recording(header: Sequence[TextNode], rows: int, log: Log) -> None:
    """Refuse a recorded sweep, which has a level at every frequency; raises InputError."""
    words = [_word(cell.text) for cell in header]
    levels = [word for word in words if _LEVEL.match(word)]
    if levels and rows > MOST_PICKED and not {*COUNTS, "damping_ratio"} & set(words):
        raise log.fail(
            header[0].place,
            f"this looks like a recorded sweep, {rows:,} rows with a level each; saltline pick "
            "finds its resonances and writes the list",
        )


def _column_names(header: Sequence[TextNode], separator: str, log: Log) -> tuple[str | None, ...]:
    """The columns by the header, complaining of what is wrong with it; raises InputError."""
    found = [_known_name(cell.text) for cell in header]
    known = [name for name in found if name]
    if not known:
        _refuse_no_header(header, separator, log)
    names: list[str | None] = list(found)
    for i, (cell, name) in enumerate(zip(header, found, strict=True)):
        same = [k for k in range(i) if name and _alike(found[k], name)]
        if same:
            first = f"{quoted(header[same[0]].text)}, first as column {same[0] + 1}"
            given = "" if header[same[0]].text == cell.text else f", as {quoted(cell.text)}"
            log.add(cell.place, f"{first}, is given twice{given}; remove one")
            names[i] = None
    meant = [
        _refuse_name(cell, known, log)
        for cell, name in zip(header, found, strict=True)
        if name is None
    ]
    if not any(name in NUMBERS_OF_HERTZ for name in (*known, *meant)):
        cure = "name the column that holds the frequencies in hertz so"
        log.add(header[0].place, f'the header has no column "frequency_hz"; {cure}')
    return tuple(names)


def _known_name(heading: str) -> str | None:
    """The column that a heading means, whatever its case and signs; None where it means none."""
    word = _word(heading)
    frequency = _FREQUENCY.fullmatch(word)
    if frequency:
        return f"frequency_{frequency[1]}"
    return word if word in ("", *KNOWN) else None


def _word(heading: str) -> str:
    return re.sub("[^a-z0-9]+", "_", heading.casefold()).strip("_")


def _alike(one: str | None, other: str) -> bool:
    """Whether two columns are given for the same thing."""
    return one == other or (one in NUMBERS_OF_HERTZ and other in NUMBERS_OF_HERTZ)


def _refuse_no_header(header: Sequence[TextNode], separator: str, log: Log) -> None:
    """Refuse a first row that is not made of names; raises InputError."""
    words = [cell.text for cell in header]
    if any(number_of(_with_point(word)) is not None for word in words):
        first = SHOWN[separator].join(("frequency_hz", "nodes")[: len(words)])
        raise log.fail(
            header[0].place,
            f"the first row holds numbers; the list needs a header row, for example {first}",
        )
    if len(words) == 1 and all(_known_name(word) for word in words[0].split()):
        raise log.fail(
            header[0].place, 'the columns stand apart by spaces; put a "," or a tab between them'
        )


def _refuse_name(cell: TextNode, given: Sequence[str], log: Log) -> str | None:
    """Complain of an unknown column; the known one that it may have been meant for."""
    word = _word(cell.text)
    free = [name for name in COLUMNS if name not in given]
    near = [name for name in free if len(word) > 2 and name.startswith(word)]
    near = (near or _resembling(word, free) or _resembling(word, COLUMNS))[:1]
    if _OTHER_UNIT.fullmatch(word) and not set(NUMBERS_OF_HERTZ) & set(given):
        near = ["frequency_hz"]
    meant = f'; did you mean "{near[0]}"?' if near else ";"
    if near == ["frequency_hz"]:
        meant = (
            '; if it is in hertz, name it "frequency_hz", in kilohertz "frequency_khz", and '
            "convert any other unit;"
        )
    if _MODE.fullmatch(word):
        near, meant = [], "; which mode a line is, is found out, so leave the column out;"
    log.add(cell.place, f"unknown column {quoted(cell.text)}{meant} allowed: {listed(COLUMNS)}")
    return near[0] if near else None


def _resembling(word: str, names: Sequence[str]) -> list[str]:
    """The name that a word may have been meant for: a heading is seldom wrong in its first letter,
    and one of another language resembles by accident."""
    return nearest(word, [name for name in names if name[0] == word[:1]])


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
        f"the columns {header[f].text} and {header[n].text} look exchanged: {header[f].text} holds "
        f"small whole numbers only, {header[n].text} larger ones; exchange the two names in the "
        "header",
    )
    other = {"frequency_hz": "nodes", "nodes": "frequency_hz"}
    return tuple(other.get(name or "", name) for name in names)


def _are_exchanged(texts: Sequence[tuple[str, str]]) -> bool:
    """Whether pairs of a frequency and a count make sense only the other way round."""
    numbers = [(number_of(_with_point(f)), number_of(_with_point(n))) for f, n in texts]
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
    frequency = next((name for name in names if name in NUMBERS_OF_HERTZ), None)
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
    if frequency is None or frequency not in entries:
        at = None if frequency is None else names.index(frequency)
        place = cells[at].place if at is not None and at < len(cells) else cells[0].place
        if at is not None:
            cure = "write the frequency, or remove the row"
            log.add(place, f"{frequency} is empty; {cure}")
        entries[frequency or "frequency_hz"] = (place, BrokenNode(place))
    return MappingNode(entries, cells[0].place)


def _refuse_surplus(cells: Sequence[TextNode], count: int, table: _Table) -> None:
    width = len(table.names)
    point = (
        "a decimal comma parts a number in two, so write a decimal point; and "
        if table.separator == ","
        else ""
    )
    table.log.add(
        cells[width].place,
        f"the row has {count} cells and the header {width}; {point}put text that holds "
        f'"{SHOWN[table.separator]}" in quotation marks',
    )
