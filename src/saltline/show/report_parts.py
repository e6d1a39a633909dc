"""What stands on the sheets of a report, as data: sections of prose, tables, listings, pictures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from saltline.record import record
from saltline.show.table import Table

if TYPE_CHECKING:
    from saltline.show.pictures_sheet import Sheet


@record
class Prose:
    """Paragraphs."""

    texts: tuple[str, ...]


@record
class Points:
    """Sentences under each other, each with a mark before it."""

    texts: tuple[str, ...]


@record
class Entries:
    """Labels, and what is said beside each."""

    rows: tuple[tuple[str, str], ...]


@record
class Grid:
    """A table. It keeps all of its columns, however wide the sheet is."""

    table: Table


@record
class Listing:
    """Lines that are aligned in characters, under a title of their own."""

    title: str
    lines: tuple[str, ...]


@record
class FileText:
    """The text of a file, line by line as it stands there; name: of the file."""

    name: str
    lines: tuple[str, ...]


@record
class Picture:
    """A picture, drawn only where it is shown.

    sheet:  what is drawn.
    sketch: the same in plain characters; None where there is no such thing.
    """

    sheet: Callable[[], Sheet]
    sketch: Callable[[], str] | None = None


Part = Prose | Points | Entries | Grid | Listing | FileText | Picture


def points(texts: Sequence[str]) -> tuple[Points, ...]:
    """Sentences as points, each in one line; nothing of none."""
    return (Points(tuple(" ".join(text.split()) for text in texts)),) if texts else ()


def new_points(texts: Sequence[str], shown: Sequence[str]) -> tuple[Points, ...]:
    """The same of those that are not shown already."""
    return points([text for text in texts if text not in shown])


@record
class Section:
    """A heading and what stands below it."""

    title: str
    parts: tuple[Part, ...]


@record
class Report:
    """All of it.

    title:    the specimen's name; lines: below it, at the top of the first sheet.
    date:     when it was made; trace: where from, for the foot of every sheet.
    sections: in their order.
    """

    title: str
    lines: tuple[str, ...]
    date: str
    trace: str
    sections: tuple[Section, ...]
