"""Strips of content set on pages: what stays together, what is repeated where a page begins.

Everything is measured in mm, from the top of the part of a page that content may use. Nothing here
knows how a strip is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from saltline.record import record

if TYPE_CHECKING:
    from saltline.show.report_canvas import Canvas


@record
class Strip:
    """A piece that is never broken: a line of text, a row of a table, a row of pictures.

    draw: (canvas, left edge, top) puts it on a page, mm from the page's left bottom corner.
    """

    height: float
    draw: Callable[[Canvas, float, float], None]


@record
class Run:
    """Strips below each other that belong together.

    rows:    at least one.
    head, foot: above the first and below the last row on every page that has some of them.
    before:  room above, except at the top of a page.
    least:   so many rows stay together at the beginning, and at the end.
    binds:   whether the end stays on the page on which the next run begins.
    columns: so many rows stand side by side, read down first, this far apart; those of a run with
             several columns are of one height.
    """

    rows: tuple[Strip, ...]
    head: tuple[Strip, ...] = ()
    foot: tuple[Strip, ...] = ()
    before: float = 0.0
    least: int = 1
    binds: bool = False
    columns: int = 1
    apart: float = 0.0


@record
class Placed:
    """A strip on a page: its left edge and its top, from the left top corner of the room there."""

    strip: Strip
    left: float
    top: float


def height_of(strips: Sequence[Strip]) -> float:
    """Of all of them below each other."""
    return sum(strip.height for strip in strips)


def paginate(runs: Sequence[Run], room: float) -> list[list[Placed]]:
    """The runs on pages with so much room; at least one page.

    A strip that is higher than a page has a page of its own.
    """
    pages: list[list[Placed]] = [[]]
    y = 0.0
    for number, run in enumerate(runs):
        gap = run.before if y > 0.0 else 0.0
        if y > 0.0 and y + gap + _beginning(runs[number:], room) > room:
            pages.append([])
            y = gap = 0.0
        y = _place(run, y + gap, room, pages)
    return pages


def _beginning(runs: Sequence[Run], room: float) -> float:
    """The height with which the first run may begin on a page, and with it what it is bound to."""
    run, *others = runs
    together = [] if run.columns > 1 else run.rows[: run.least]
    height = height_of((*run.head, *(together or run.rows[:1]), *run.foot))
    if run.binds and others and len(run.rows) <= run.least:
        height += others[0].before + _beginning(others, room)
    return height if height <= room else height_of((*run.head, *run.rows[:1], *run.foot))


def _place(run: Run, y: float, room: float, pages: list[list[Placed]]) -> float:
    """Put a run below a height; returns the height below its end, on the last page."""
    rest = list(run.rows)
    while True:
        many = _many(run, rest, room - y - height_of((*run.head, *run.foot)), is_top=y == 0.0)
        if many:
            y = _put(run.head, y, pages[-1])
            y = _put_rows(run, rest[:many], y, pages[-1])
            y = _put(run.foot, y, pages[-1])
            del rest[:many]
        if not rest:
            return y
        pages.append([])
        y = 0.0


def _many(run: Run, rest: Sequence[Strip], space: float, *, is_top: bool) -> int:
    """How many of the rows that are left go on a page with so much space for them."""
    if run.columns > 1:
        fit = run.columns * int((space + 1e-9) / rest[0].height)
        return min(len(rest), max(fit, run.columns if is_top else 0))
    fit, used = 0, 0.0
    for strip in rest:
        used += strip.height
        if used > space + 1e-9:
            break
        fit += 1
    left = len(rest) - fit
    if 0 < left < run.least <= len(rest) - run.least:
        fit = len(rest) - run.least
    return max(fit, 1) if is_top else fit


def _put(strips: Sequence[Strip], y: float, page: list[Placed], left: float = 0.0) -> float:
    for strip in strips:
        page.append(Placed(strip, left, y))
        y += strip.height
    return y


def _put_rows(run: Run, rows: Sequence[Strip], y: float, page: list[Placed]) -> float:
    """Rows below each other, or in columns that are read down first."""
    deep = math.ceil(len(rows) / run.columns)
    ends = [
        _put(rows[first : first + deep], y, page, left=(first // deep) * run.apart)
        for first in range(0, len(rows), deep)
    ]
    return max(ends)
