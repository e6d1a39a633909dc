"""Panels set out on sheets of paper: a heading, rows of panels, a caption.

Each panel is drawn by a function of an axes; here is only where the axes stand.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from saltline.record import record
from saltline.show import pictures_file
from saltline.show.pictures import LINE_MM, MM, POINT_MM, TYPE_PT
from saltline.show.pictures_labels import text_width

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

WIDTH_MM = 180.0
"""A sheet's width: it fits on A4 and on Letter with their margins."""

PAGE_MM = 254.0
"""A page's height, likewise."""

EDGE_MM = 3.0
"""Room along the sheet's edges."""

GAP_MM = 4.0
"""Room between panels and between rows."""


@record
class Panel:
    """One axes on a sheet, all sizes in mm.

    draw:   what is drawn on it.
    width, height: of the axes.
    title:  lines above it.
    left, below: room for the numbers of its scales.
    """

    draw: Callable[[Axes], None]
    width: float
    height: float
    title: tuple[str, ...] = ()
    left: float = 0.0
    below: float = 0.0

    @property
    def whole_width(self) -> float:
        """With its scale."""
        return self.left + self.width

    @property
    def whole_height(self) -> float:
        """With its title and its scale."""
        head = LINE_MM * len(self.title) + 0.8 if self.title else 0.0
        return head + self.height + self.below


Row = Sequence[Panel]


@record
class Sheet:
    """What is to be set out.

    heading, caption: lines above and below everything, on every page; they are wrapped.
    rows:   of panels.
    foot:   a row that ends every page, such as a common scale.
    name:   what the file says that it is.
    """

    heading: tuple[str, ...]
    rows: tuple[Row, ...]
    caption: tuple[str, ...]
    foot: Row = ()
    name: str = ""


def on_one_sheet(sheet: Sheet) -> Figure:
    """Everything on one sheet, as high as it takes."""
    return _figure(sheet, sheet.rows)


def on_pages(sheet: Sheet) -> list[Figure]:
    """The rows on as many pages as they need."""
    room = PAGE_MM - _height(sheet, ())
    pages: list[list[Row]] = [[]]
    used = 0.0
    for row in sheet.rows:
        height = _row_height(row)
        if pages[-1] and used + height > room:
            pages.append([])
            used = 0.0
        pages[-1].append(row)
        used += height
    return [_figure(sheet, rows) for rows in pages]


def encoded(sheet: Sheet, ending: str) -> bytes:
    """The bytes of its file: ".pdf" in pages, ".png" and ".svg" on one sheet."""
    if ending == ".pdf":
        return pictures_file.as_pdf(on_pages(sheet), sheet.name)
    encode = {".png": pictures_file.as_png, ".svg": pictures_file.as_svg}[ending]
    return encode(on_one_sheet(sheet), sheet.name)


def wrapped(lines: Sequence[str], width_mm: float = WIDTH_MM - 2.0 * EDGE_MM) -> list[str]:
    """Lines broken so that none is wider than the sheet."""
    found: list[str] = []
    for line in lines:
        count = len(line)
        parts = [line]
        while any(text_width(part) > width_mm for part in parts) and count > 8:
            count = int(0.95 * count)
            parts = textwrap.wrap(line, count)
        found += parts
    return found


def _row_height(row: Row) -> float:
    return max(panel.whole_height for panel in row) + GAP_MM


def _height(sheet: Sheet, rows: Sequence[Row]) -> float:
    lines = len(wrapped(sheet.heading)) + len(wrapped(sheet.caption))
    foot = _row_height(sheet.foot) - GAP_MM if sheet.foot else 0.0
    return 2.0 * EDGE_MM + LINE_MM * lines + 2.0 * GAP_MM + foot + sum(map(_row_height, rows))


def _figure(sheet: Sheet, rows: Sequence[Row]) -> Figure:
    from matplotlib.figure import Figure

    height = _height(sheet, rows)
    figure = Figure(figsize=(WIDTH_MM * MM, height * MM), facecolor="1.0")
    y = _write(figure, wrapped(sheet.heading), height - EDGE_MM) - GAP_MM
    for row in rows:
        _set(figure, row, y)
        y -= _row_height(row)
    if sheet.foot:
        y += GAP_MM
        _set(figure, sheet.foot, y)
        y -= _row_height(sheet.foot)
    _write(figure, wrapped(sheet.caption), y)
    return figure


def _write(figure: Figure, lines: Sequence[str], top: float, x: float = EDGE_MM) -> float:
    """Lines from a height downward; returns the height below them."""
    width, height = (side / MM for side in figure.get_size_inches())
    for line in lines:
        figure.text(x / width, (top - TYPE_PT * POINT_MM) / height, line, va="baseline")
        top -= LINE_MM
    return top


def _set(figure: Figure, row: Row, top: float) -> None:
    """A row of panels below a height."""
    width, height = (side / MM for side in figure.get_size_inches())
    x = EDGE_MM
    for panel in row:
        y = _write(figure, panel.title, top, x + panel.left)
        y -= 0.8 if panel.title else 0.0
        box = ((x + panel.left) / width, (y - panel.height) / height)
        axes = figure.add_axes((*box, panel.width / width, panel.height / height))
        panel.draw(axes)
        x += panel.whole_width + GAP_MM
