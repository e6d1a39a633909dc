"""A report as a PDF: its pages drawn, each with the same head and foot, and the file's bytes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from saltline.show.pictures import look
from saltline.show.pictures_file import as_pdf
from saltline.show.report_canvas import Canvas
from saltline.show.report_pages import TEXT_MM, TOP_MM, Page, pages_of
from saltline.show.report_parts import Report
from saltline.show.report_type import CELL, CELL_TITLE, TypeFace, shortened

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.figure import Figure

HEAD_MM, FOOT_MM = 12.0, 13.0
"""From the paper's edge to the top of the line at the head, and to that of the line at the foot."""


def report_pdf(
    report: Report, paper: str, follow: Callable[[list[Page]], Iterable[Page]] = iter
) -> bytes:
    """The file.

    paper:  a key of `PAPERS`.
    follow: is handed the pages and gives them on one by one, each when it is drawn: for whoever
            wants to show how far it is.
    """
    with look():
        return as_pdf(
            (drawn(page, report) for page in follow(pages_of(report, paper))), report.title
        )


def figures_of(report: Report, paper: str) -> Iterator[Figure]:
    """The pages as figures, to be used while `look` lasts."""
    for page in pages_of(report, paper):
        yield drawn(page, report)


def drawn(page: Page, report: Report) -> Figure:
    """A page as a figure as large as its paper."""
    canvas = Canvas(*page.size)
    left = (page.size[0] - TEXT_MM) / 2.0
    _head(canvas, left, report)
    for item in page.placed:
        item.strip.draw(canvas, left + item.left, page.size[1] - TOP_MM - item.top)
    _foot(canvas, left, page, report)
    return canvas.finished()


def _head(canvas: Canvas, left: float, report: Report) -> None:
    top = canvas.height - HEAD_MM
    _ends(canvas, left, top, report.title, report.date, CELL_TITLE)
    canvas.rule(left, left + TEXT_MM, top - CELL.line_mm - 1.0)


def _foot(canvas: Canvas, left: float, page: Page, report: Report) -> None:
    canvas.rule(left, left + TEXT_MM, FOOT_MM + 1.2)
    number = f"page {page.number} of {page.count}"
    _ends(canvas, left, FOOT_MM, report.trace, number, CELL)


def _ends(canvas: Canvas, left: float, top: float, first: str, last: str, face: TypeFace) -> None:
    """A text at the left, shortened where there is no room for it, and one at the right."""
    wide = CELL.width(last)
    canvas.write(left, top, shortened(first, face, TEXT_MM - wide - 4.0), face)
    canvas.write(left + TEXT_MM - wide, top, last, CELL)
