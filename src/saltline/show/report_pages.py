"""The sheets of a report laid out: what stands on each page of a paper, and where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import singledispatch
from itertools import chain

from saltline.record import record
from saltline.show.paper import PAPERS
from saltline.show.report_flow import Placed, Run, Strip, paginate
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
    Section,
)
from saltline.show.report_strips import labelled_line, picture_row, table_head, table_row, type_line
from saltline.show.report_table import SetTable, set_table, width_of
from saltline.show.report_type import (
    BODY,
    CELL_TITLE,
    HEADING,
    MONO,
    MONO_TITLE,
    STRONG,
    TITLE,
    TypeFace,
    wrap,
)

TEXT_MM = 174.0
"""The width of what is on a page: that of a picture."""

TOP_MM, BOTTOM_MM = 23.0, 19.0
"""From the paper's edges to what is on it; the head and the foot of the page are in this room."""

PARAGRAPH_MM = 1.8
"""Room between paragraphs."""

HANG_MM = 4.0
"""What stands under the mark of a point begins so far to the right."""

WHOLE_ROWS = 22
"""A table or a listing of no more rows is kept on one page."""

MANY_ROWS, BESIDE_MM = 24, 4.0
"""A narrow table of more rows than this stands in two columns, with room between them."""

POINT = "\N{BULLET}"


@record
class Page:
    """A page: number of it and of all, the size of its paper in mm, and what is on it."""

    number: int
    count: int
    size: tuple[float, float]
    placed: tuple[Placed, ...]


def pages_of(report: Report, paper: str) -> list[Page]:
    """The pages of a report on a paper out of PAPERS."""
    size = PAPERS[paper]
    runs = [*_opening(report), *chain.from_iterable(map(_section, report.sections))]
    found = paginate(runs, size[1] - TOP_MM - BOTTOM_MM)
    return [
        Page(number, len(found), size, tuple(placed))
        for number, placed in enumerate(found, start=1)
    ]


# -- lines of text --------------------------------------------------------------------------------


def _paragraph(text: str, face: TypeFace = BODY, *, binds: bool = False) -> Run:
    lines = wrap(text, face, TEXT_MM)
    strips = tuple(type_line(line, face) for line in lines)
    return Run(strips, before=PARAGRAPH_MM, least=len(lines) if binds else 2, binds=binds)


def _hanging(rows: Sequence[tuple[str, str]], labels: TypeFace, indent: float) -> Iterator[Run]:
    """Labels, each with a text beside it that is wrapped."""
    before = 1.2 * PARAGRAPH_MM
    for label, text in rows:
        yield _hung(label, text, labels, indent, before)
        before = 0.4 * PARAGRAPH_MM


def _hung(label: str, text: str, labels: TypeFace, indent: float, before: float) -> Run:
    first, *others = wrap(text, BODY, TEXT_MM - indent)
    strips = (
        labelled_line(label, first, labels, BODY, indent),
        *(type_line(line, BODY, indent) for line in others),
    )
    return Run(strips, before=before, least=min(len(strips), 3))


def _heading(text: str) -> Run:
    strips = tuple(type_line(line, HEADING) for line in wrap(text, HEADING, TEXT_MM))
    return Run(strips, before=7.0, least=len(strips), binds=True)


def _opening(report: Report) -> list[Run]:
    title = tuple(type_line(line, TITLE) for line in wrap(report.title, TITLE, TEXT_MM))
    return [Run(title, least=len(title), binds=True), *map(_paragraph, report.lines)]


def _section(section: Section) -> Iterator[Run]:
    """What opens a section stays with what follows: a heading and a line alone say nothing."""
    yield _heading(section.title)
    first, *others = section.parts
    is_opening = bool(others) and isinstance(first, Prose)
    for run in _runs(first):
        yield replace(run, binds=True, least=len(run.rows)) if is_opening else run
    for part in others:
        yield from _runs(part)


# -- the parts ------------------------------------------------------------------------------------


@singledispatch
def _runs(part: Part) -> Iterator[Run]:
    raise TypeError(f"no layout is known for {type(part).__name__}")


@_runs.register
def _(part: Prose) -> Iterator[Run]:
    yield from map(_paragraph, part.texts)


@_runs.register
def _(part: Points) -> Iterator[Run]:
    yield from _hanging([(POINT, text) for text in part.texts], BODY, HANG_MM)


@_runs.register
def _(part: Entries) -> Iterator[Run]:
    indent = max(STRONG.width(label) for label, _ in part.rows) + 3.0
    yield from _hanging(part.rows, STRONG, indent)


@_runs.register
def _(part: Listing) -> Iterator[Run]:
    lines = list(chain.from_iterable(map(_characters, part.lines)))
    title = [type_line(line, MONO_TITLE) for line in _characters(part.title)]
    strips = (*title, *(type_line(line, MONO) for line in lines))
    whole = len(strips) if len(strips) <= WHOLE_ROWS else 4
    yield Run(strips, before=3.0, least=whole)


@_runs.register
def _(part: FileText) -> Iterator[Run]:
    """A file with its numbers of lines; a long line goes on below without one."""
    wide = len(str(len(part.lines)))
    indent = MONO.width(" " * (wide + 2))
    rows: list[Strip] = []
    for number, line in enumerate(part.lines, start=1):
        first, *others = _characters(line, wide + 2)
        rows.append(labelled_line(f"{number:{wide}d}", first, MONO, MONO, indent))
        rows += [type_line(other, MONO, indent) for other in others]
    yield _title(part.name)
    yield Run(tuple(rows) or (type_line("", MONO),), before=1.0, least=min(max(len(rows), 1), 4))


def _title(text: str) -> Run:
    """What stands above a table or a file."""
    strips = tuple(type_line(line, CELL_TITLE) for line in wrap(text, CELL_TITLE, TEXT_MM))
    return Run(strips, before=3.0, least=len(strips), binds=True)


def _characters(line: str, taken: int = 0) -> list[str]:
    """A line of a listing in pieces that fit a page; spaces stay as they are.

    It is parted behind a space where there is one in the last third of a piece.
    """
    most = int(TEXT_MM / MONO.width(" ")) - taken
    line = line.expandtabs(4)
    pieces = []
    while len(line) > most:
        space = line.rfind(" ", 2 * most // 3, most)
        end = space + 1 if space >= 0 else most
        pieces.append(line[:end])
        line = line[end:]
    return [*pieces, line]


# -- tables ---------------------------------------------------------------------------------------


@_runs.register
def _(part: Grid) -> Iterator[Run]:
    table = part.table
    if not table.rows:
        return
    if table.title:
        yield _title(table.title)
    for columns in set_table(table, TEXT_MM):
        yield _table_run(columns, len(columns[0].cells))


def _table_run(columns: SetTable, count: int) -> Run:
    """A table under its heading; a long and narrow one beside itself."""
    apart = (TEXT_MM + BESIDE_MM) / 2.0
    is_narrow = width_of(columns) <= apart - BESIDE_MM and count > MANY_ROWS
    times = (
        2 if is_narrow and all(len(c.cells[k]) == 1 for c in columns for k in range(count)) else 1
    )
    lefts = [k * apart for k in range(times)]
    rows = tuple(table_row(columns, k) for k in range(count))
    return Run(
        rows,
        head=(table_head(columns, lefts),),
        before=3.0,
        least=count if count <= WHOLE_ROWS else 4,
        columns=times,
        apart=apart,
    )


# -- pictures -------------------------------------------------------------------------------------


@_runs.register
def _(part: Picture) -> Iterator[Run]:
    sheet = part.sheet()
    for text in sheet.caption:
        yield _paragraph(text, binds=True)
    foot = (picture_row(sheet.foot),) if sheet.foot else ()
    yield Run(tuple(map(picture_row, sheet.rows)), foot=foot, before=2.0)
