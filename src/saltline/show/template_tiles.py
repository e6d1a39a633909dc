"""A template on paper: which part of it is on which page, and what a page says besides.

All in mm on paper from a page's left bottom corner; nothing is ever scaled.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from saltline.arrays import Values
from saltline.record import record
from saltline.show.paper import PAPERS
from saltline.show.pictures import LINE_MM
from saltline.show.pictures_sheet import wrapped
from saltline.show.template import Key, Template
from saltline.show.template_rings import RING_MM, ring_box, rings
from saltline.show.template_seams import OVERLAP_MM, spans

WHOLE = "whole"
"""No paper: one page as large as the template, for a plotter or a cutter."""

MARGIN_MM = 10.0
"""No printer reaches the edge of its paper."""

SEAM_CLEAR_MM = 0.6
"""A seam keeps so far from what it must not part."""

SHORT_MM = 8.0
"""A line that reaches no farther along the pages is a mark: parted, or on a seam, it is lost."""

TEXT, LEADER, MARK = 10_000.0, 100.0, 1.0
"""How bad it is to part a text, what leads to a text, and a mark: one text is worse than all marks
in its place."""

PARTED = ("ruler", "held")
"""The beginnings of the names of lines made of many short ones, which may well be parted."""

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
    strips: the widths of what is glued over, on its right and at its lower edge.
    rings:  the middles of its registration marks, on paper; those that it shares with the pages
            beside it are in the same places of the template on both.
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
    strips: tuple[float, float] = (0.0, 0.0)
    rings: tuple[Values, ...] = ()


@record
class _Layout:
    """Paper of one orientation, the room on it and how many pages a template takes."""

    size: tuple[float, float]
    low: Values
    high: Values
    columns: int = 1
    rows: int = 1


def pages_of(template: Template, paper: str) -> list[Page]:
    """A template's pages on a paper: the names in `PAPERS`, or `WHOLE`.

    The orientation is that which takes fewer pages.
    """
    # Where one page holds all, its rings stand beside the template.
    aside = 2.0 * RING_MM + 0.5
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
    """As few pages as may be."""
    width, height = size
    low = np.array([MARGIN_MM, MARGIN_MM + BARS_MM])
    high = np.array([width - MARGIN_MM, height - MARGIN_MM - _head(template, width)])
    need = box[1] - box[0]
    counts = np.maximum(np.ceil((need - OVERLAP_MM) / (high - low - OVERLAP_MM) - 1e-9), 1.0)
    return _Layout(size, low, high, int(counts[0]), int(counts[1]))


def _whole(template: Template, box: Values) -> _Layout:
    need = box[1] - box[0]
    width = max(float(need[0]), LEAST_MM) + 2.0 * MARGIN_MM
    height = float(need[1]) + 2.0 * MARGIN_MM + BARS_MM + _head(template, width)
    low = np.array([MARGIN_MM, MARGIN_MM + BARS_MM])
    high = np.array([width - MARGIN_MM, height - MARGIN_MM - _head(template, width)])
    return _Layout((width, height), low, high)


def _pages(template: Template, box: Values, layout: _Layout) -> list[Page]:
    columns, rows = layout.columns, layout.rows
    across = _spans(template, box, layout, 0, columns)
    down = _spans(template, box, layout, 1, rows)
    shared = _shared_rings(template, across, down)
    found = []
    for row, (bottom, top) in enumerate(down):
        for column, (left, right) in enumerate(across):
            number = row * columns + column + 1
            seen = np.array([left, bottom])
            window = np.array([right, top]) - seen
            # A window stands below the head, and in the middle of the paper's width.
            low = layout.low + (layout.high - layout.low - window) * [0.5, 1.0]
            marks = [at + low - seen for at in shared.get((row, column), ())]
            found.append(
                Page(
                    number,
                    columns * rows,
                    layout.size,
                    low,
                    low + window,
                    low - seen,
                    _title(template, layout, row, column),
                    template.keys,
                    left=number - 1 if column else 0,
                    right=number + 1 if column < columns - 1 else 0,
                    above=number - columns if row else 0,
                    below=number + columns if row < rows - 1 else 0,
                    strips=(
                        right - across[column + 1][0] if column < columns - 1 else 0.0,
                        down[row + 1][1] - bottom if row < rows - 1 else 0.0,
                    ),
                    rings=tuple(marks or _corners(low, low + window)),
                )
            )
    return found


def _spans(
    template: Template, box: Values, layout: _Layout, axis: int, count: int
) -> list[tuple[float, float]]:
    """What each column or row shows of a template; one page has it in the middle of its room."""
    low, high = (float(end) for end in box[:, axis])
    room = float(layout.high[axis] - layout.low[axis])
    if count > 1:
        if axis == 0:
            return spans(_obstacles(template, axis), (low, high), room, count)
        # From the top downward.
        turned = _obstacles(template, axis)[:, [1, 0, 2]] * [-1.0, -1.0, 1.0]
        return [(-b, -a) for a, b in spans(turned, (-high, -low), room, count)]
    return [((low + high - room) / 2.0, (low + high + room) / 2.0)]


def _obstacles(template: Template, axis: int) -> Values:
    """From where to where each text and mark reaches along an axis, and how bad a seam in it is."""
    rows = [(*label.box[:, axis], TEXT) for label in template.labels]
    for line in template.lines:
        if line.name.startswith(PARTED):
            continue
        for points in line.polylines:
            low, high = points[:, axis].min(), points[:, axis].max()
            if line.name.endswith("leaders"):
                rows.append((low, high, LEADER))
            elif high - low <= SHORT_MM:
                rows.append((low, high, MARK))
    found: Values = np.array(rows, dtype=float).reshape(-1, 3)
    found[:, :2] += [-SEAM_CLEAR_MM, SEAM_CLEAR_MM]
    return found


def _shared_rings(
    template: Template, across: Sequence[tuple[float, float]], down: Sequence[tuple[float, float]]
) -> dict[tuple[int, int], list[Values]]:
    """The rings of each page, by its row and column, on the template."""
    found: dict[tuple[int, int], list[Values]] = {}
    polylines = [points for line in template.lines for points in line.polylines]
    pieces = np.vstack([np.stack([p[:-1], p[1:]], axis=1) for p in polylines])
    taken = [label.box for label in template.labels]

    def add(strip: Values, along: int, *pages: tuple[int, int]) -> None:
        new = rings(pieces, np.array(taken).reshape(-1, 2, 2), strip, along)
        taken.extend(map(ring_box, new))
        for page in pages:
            found.setdefault(page, []).extend(new)

    # Where four pages lie on each other a ring would be on two of them alone.
    for row, (bottom, top) in enumerate(down):
        low = down[row + 1][1] if row + 1 < len(down) else bottom
        high = down[row - 1][0] if row else top
        for column, (before, after) in enumerate(pairwise(across)):
            strip = np.array([[after[0], low], [before[1], high]])
            add(strip, 1, (row, column), (row, column + 1))
    for column, (left, right) in enumerate(across):
        low = across[column - 1][1] if column else left
        high = across[column + 1][0] if column + 1 < len(across) else right
        for row, (before, after) in enumerate(pairwise(down)):
            strip = np.array([[low, before[0]], [high, after[1]]])
            add(strip, 0, (row, column), (row + 1, column))
    return found


def _corners(low: Values, high: Values) -> list[Values]:
    """Where the rings of a single page stand: in the corners of its window."""
    return [
        np.array([x, y])
        for x in (low[0] + RING_MM, high[0] - RING_MM)
        for y in (low[1] + RING_MM, high[1] - RING_MM)
    ]


def _title(template: Template, layout: _Layout, row: int, column: int) -> tuple[str, ...]:
    room = layout.size[0] - 2.0 * MARGIN_MM
    number, of = row * layout.columns + column + 1, layout.columns * layout.rows
    where = f"Template 1:1, page {number} of {of}"
    if of > 1:
        where += f" (column {column + 1} of {layout.columns}, row {row + 1} of {layout.rows})"
    words = _words(template, GLUE if of > 1 else "", room)
    return (*wrapped([template.heading], room), where, *words)
