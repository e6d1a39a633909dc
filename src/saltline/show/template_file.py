"""A template as files: one PDF of all pages, or an SVG a page."""

from __future__ import annotations

from saltline.modes import Modes
from saltline.show.pictures import look
from saltline.show.pictures_file import as_pdf, as_svg
from saltline.show.table import LengthUnit
from saltline.show.template_draw import page_figures
from saltline.show.template_sheet import template_of
from saltline.show.template_tiles import WHOLE, pages_of

DEFAULT_PAPER = {".pdf": "a4", ".svg": WHOLE}
"""Ending -> the paper where none is named: a drawing is mostly for a plotter or a cutter."""


def encoded_template(
    modes: Modes, ending: str, paper: str | None, *, unit: LengthUnit, trace: str = ""
) -> list[tuple[str, bytes]]:
    """What is added to a file's name before its ending, and the file's bytes.

    A PDF has all pages. An SVG has one; where there are several the files are numbered "-1", "-2".
    ending: a key of `DEFAULT_PAPER`; paper: a key of `PAPERS`, `WHOLE`, or None.
    trace:  when it was made, and of which file.
    """
    name = modes.specimen.name
    with look():
        template = template_of(modes, unit=unit, trace=trace)
        pages = pages_of(template, paper or DEFAULT_PAPER[ending])
        figures = page_figures(template, pages)
        if ending == ".pdf":
            return [("", as_pdf(figures, name))]
        drawn = [as_svg(figure, name) for figure in figures]
    if len(drawn) == 1:
        return [("", drawn[0])]
    return [(f"-{number}", content) for number, content in enumerate(drawn, start=1)]
