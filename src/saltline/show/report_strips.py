"""The strips of a report's pages: a line of type, a row of a table, a row of pictures."""

from __future__ import annotations

from collections.abc import Sequence

from saltline.show.pictures import LINE_MM
from saltline.show.pictures_sheet import GAP_MM, Panel
from saltline.show.report_canvas import Canvas
from saltline.show.report_flow import Strip
from saltline.show.report_table import COLUMN_GAP_MM, SetTable
from saltline.show.report_type import CELL, TypeFace

ROW_GAP_MM = 0.7
"""Room between the rows of a table, with a hairline in it."""


def type_line(text: str, face: TypeFace, indent: float = 0.0) -> Strip:
    """A line of type."""

    def draw(canvas: Canvas, x: float, top: float) -> None:
        canvas.write(x + indent, top, text, face)

    return Strip(face.line_mm, draw)


def labelled_line(label: str, text: str, labels: TypeFace, face: TypeFace, indent: float) -> Strip:
    """A line with something before it."""

    def draw(canvas: Canvas, x: float, top: float) -> None:
        canvas.write(x, top, label, labels)
        canvas.write(x + indent, top, text, face)

    return Strip(face.line_mm, draw)


def table_head(columns: SetTable, lefts: Sequence[float]) -> Strip:
    """The headings of a table with a rule under them, once or several times side by side."""
    has_units = any(column.head[1] for column in columns)
    height = CELL.line_mm * (2 if has_units else 1) + 1.4

    def draw(canvas: Canvas, x: float, top: float) -> None:
        for left in lefts:
            at = x + left
            for column in columns:
                for k, (text, indent) in enumerate(zip(column.head, column.indents, strict=True)):
                    canvas.write(at + indent, top - k * CELL.line_mm, text, CELL)
                at += column.width + COLUMN_GAP_MM
            canvas.rule(x + left, at - COLUMN_GAP_MM, top - height + 0.8)

    return Strip(height, draw)


def table_row(columns: SetTable, number: int) -> Strip:
    """A row of a table, as high as its highest cell."""
    height = CELL.line_mm * max(len(column.cells[number]) for column in columns) + ROW_GAP_MM

    def draw(canvas: Canvas, x: float, top: float) -> None:
        at = x
        for column in columns:
            for k, (indent, text) in enumerate(column.cells[number]):
                canvas.write(at + indent, top - k * CELL.line_mm, text, CELL)
            at += column.width + COLUMN_GAP_MM
        canvas.rule(x, at - COLUMN_GAP_MM, top - height + 0.5, hair=True)

    return Strip(height, draw)


def picture_row(row: Sequence[Panel]) -> Strip:
    """A row of pictures."""
    height = max(panel.whole_height for panel in row) + GAP_MM

    def draw(canvas: Canvas, x: float, top: float) -> None:
        for panel in row:
            _panel(canvas, panel, x, top)
            x += panel.whole_width + GAP_MM

    return Strip(height, draw)


def _panel(canvas: Canvas, panel: Panel, x: float, top: float) -> None:
    bottom = top - panel.whole_height + panel.below
    for k, text in enumerate(panel.title):
        canvas.write(x + panel.left, top - k * LINE_MM, text, CELL)
    panel.draw(canvas.axes(x + panel.left, bottom, panel.width, panel.height))
