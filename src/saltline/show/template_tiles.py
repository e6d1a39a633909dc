"""A template on paper: which part of it is on which page, and what a page says besides.

All in mm on paper from a page's left bottom corner; nothing is ever scaled.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values
from saltline.record import record
from saltline.show.paper import PAPERS
from saltline.show.pictures import LINE_MM
from saltline.show.pictures_sheet import wrapped
from saltline.show.template import Key, Template

WHOLE = "whole"
"""No paper: one page as large as the template, for a plotter or a cutter."""

MARGIN_MM = 10.0
"""No printer reaches the edge of its paper."""

OVERLAP_MM = 14.0
"""So much of a template is on both of two neighbouring pages."""

MARK_MM = 3.0
"""Half the size of a registration mark; they stand beside the template where one page holds it."""

SAMPLE_MM = 20.0
"""The length of a line in the key."""

GAP_MM = 4.0

BARS_MM = 13.0
"""The height of the check bars at the foot of a page."""

BARS = ((100.0, "100 mm"), (101.6, "4 in"))
"""The check bars: length in mm, and what it is called."""

LEAST_MM = 150.0
"""A whole page is at least so wide, for the bars and the key."""

PRINT = "Print at 100 % (actual size), never fitted to the page; measure the bars before use."

GLUE = 'Cut at "cut here" alone, lay each page on the strip that names it, ring on ring, and glue.'


@record
class Page:
    """One page.

    number, of: which of how many; column, row: from 0, the left top page first.
    size:   width and height of the paper.
    low, high: corners of the window through which the template is seen, on paper.
    origin: where on paper the template's (0, 0) lies, be it beyond the paper.
    title, keys: what is above the window, wrapped; right, above: the pages that overlap this one.
    left:   the page that lies under this one's left edge, above: under its top edge; right, below:
            those that are glued on its right and its lower edge. 0 where there is none.
    """

    number: int
    of: int
    size: tuple[float, float]
    low: Values
    high: Values
    origin: Values
    title: tuple[str, ...]
    keys: tuple[Key, ...]
    left: int = 0
    right: int = 0
    above: int = 0
    below: int = 0


@record
class _Layout:
    """Paper of one orientation, its window and how many pages a template takes."""

    size: tuple[float, float]
    low: Values
    high: Values
    columns: int
    rows: int


def pages_of(template: Template, paper: str) -> list[Page]:
    """A template's pages on a paper: the names in `PAPERS`, or `WHOLE`.

    The orientation is that which takes fewer pages.
    """
    aside = 2.0 * MARK_MM + 0.5
    box = template.box + np.array([[-aside, -1.0], [aside, 1.0]])
    if paper == WHOLE:
        layout = _whole(template, box)
    else:
        width, height = PAPERS[paper]
        wide = box[1][0] - box[0][0] > box[1][1] - box[0][1]
        sizes = ((height, width), (width, height)) if wide else ((width, height), (height, width))
        layout = min(
            (_layout(template, box, size) for size in sizes), key=lambda x: x.columns * x.rows
        )
    return _pages(template, box, layout)


def key_lines(keys: Sequence[Key], width: float) -> list[list[str]]:
    """The lines of each mode's text in the key, wrapped to a page's width."""
    return [wrapped([key.text], width - SAMPLE_MM - 2.0) for key in keys]


def _head(template: Template, width: float) -> float:
    """The height of what stands above the window."""
    room = width - 2.0 * MARGIN_MM
    keys = sum(map(len, key_lines(template.keys, room)))
    titles = len(wrapped([template.heading], room)) + len(_words(template, GLUE, room)) + 1
    return LINE_MM * (keys + titles) + GAP_MM


def _words(template: Template, glue: str, room: float) -> list[str]:
    """What is said of every page, below the line that tells which it is; glue: "" on one page."""
    return wrapped([text for text in (PRINT, glue, template.marks, template.trace) if text], room)


def _layout(template: Template, box: Values, size: tuple[float, float]) -> _Layout:
    """As few pages as may be, each with an even share of the template."""
    width, height = size
    low = np.array([MARGIN_MM, MARGIN_MM + BARS_MM])
    high = np.array([width - MARGIN_MM, height - MARGIN_MM - _head(template, width)])
    need = box[1] - box[0]
    counts = np.maximum(np.ceil((need - OVERLAP_MM) / (high - low - OVERLAP_MM) - 1e-9), 1.0)
    window = np.where(counts > 1.0, (need - OVERLAP_MM) / counts + OVERLAP_MM, high - low)
    spare = high - low - window
    # A window stands below the head, and in the middle of the paper's width.
    low = low + spare * [0.5, 1.0]
    return _Layout(size, low, low + window, int(counts[0]), int(counts[1]))


def _whole(template: Template, box: Values) -> _Layout:
    need = box[1] - box[0]
    width = max(float(need[0]), LEAST_MM) + 2.0 * MARGIN_MM
    height = float(need[1]) + 2.0 * MARGIN_MM + BARS_MM + _head(template, width)
    low = np.array([MARGIN_MM, MARGIN_MM + BARS_MM])
    high = np.array([width - MARGIN_MM, height - MARGIN_MM - _head(template, width)])
    return _Layout((width, height), low, high, 1, 1)


def _pages(template: Template, box: Values, layout: _Layout) -> list[Page]:
    columns, rows = layout.columns, layout.rows
    window = layout.high - layout.low
    step = window - OVERLAP_MM
    whole = np.array([columns, rows]) * step + OVERLAP_MM
    spare = whole - (box[1] - box[0])
    # What is not needed lies to the right and below, or to both sides where there is one page.
    share = np.array([0.5 if columns == 1 else 0.0, 0.5 if rows == 1 else 1.0])
    corner = box[0] - share * spare  # of all windows together, on the template
    found = []
    for row in range(rows):
        for column in range(columns):
            number = row * columns + column + 1
            seen = corner + step * np.array([column, rows - 1 - row])
            found.append(
                Page(
                    number,
                    columns * rows,
                    layout.size,
                    layout.low,
                    layout.high,
                    layout.low - seen,
                    _title(template, layout, row, column),
                    template.keys,
                    left=number - 1 if column else 0,
                    right=number + 1 if column < columns - 1 else 0,
                    above=number - columns if row else 0,
                    below=number + columns if row < rows - 1 else 0,
                )
            )
    return found


def _title(template: Template, layout: _Layout, row: int, column: int) -> tuple[str, ...]:
    room = layout.size[0] - 2.0 * MARGIN_MM
    number, of = row * layout.columns + column + 1, layout.columns * layout.rows
    where = f"Template 1:1, page {number} of {of}"
    if of > 1:
        where += f" (column {column + 1} of {layout.columns}, row {row + 1} of {layout.rows})"
    words = _words(template, GLUE if of > 1 else "", room)
    return (*wrapped([template.heading], room), where, *words)
