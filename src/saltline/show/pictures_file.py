"""Figures as the bytes of a file: PNG, SVG, PDF or GIF, the same bytes for the same input.

A file bears a date only where the environment variable SOURCE_DATE_EPOCH gives one.
"""

from __future__ import annotations

import io
import os
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from PIL.Image import Image

ENDINGS = (".png", ".svg", ".pdf")
"""The kinds of still pictures."""

PNG_DPI = 200
"""Dots an inch: a picture of 180 mm is then 1417 dots wide."""

FRAME_DPI = 100

CREATOR = "saltline"


def _date(key: str) -> dict[str, Any]:
    """No date, unless the environment states one, which matplotlib then takes."""
    return {} if "SOURCE_DATE_EPOCH" in os.environ else {key: None}


def as_pdf(figures: Iterable[Figure], name: str) -> bytes:
    """One page a figure, each as large as its figure."""
    from matplotlib.backends.backend_pdf import PdfPages

    out = io.BytesIO()
    metadata = {"Title": name, "Creator": CREATOR, "Producer": CREATOR, **_date("CreationDate")}
    with PdfPages(out, metadata=metadata) as pages:
        for figure in figures:
            pages.savefig(figure, dpi=PNG_DPI)
    return out.getvalue()


def as_svg(figure: Figure, name: str) -> bytes:
    """One drawing as large as its figure."""
    out = io.BytesIO()
    metadata = {"Title": name, "Creator": CREATOR, **_date("Date")}
    figure.savefig(out, format="svg", metadata=metadata, dpi=PNG_DPI)
    return out.getvalue()


def as_png(figure: Figure, name: str) -> bytes:
    """One picture of `PNG_DPI` dots an inch."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=PNG_DPI, metadata={"Title": name, "Software": CREATOR})
    return out.getvalue()


def frame(figure: Figure) -> Image:
    """The figure as it is now, in grey."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from PIL import Image

    figure.set_dpi(FRAME_DPI)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()  # type: ignore[no-untyped-call]  # matplotlib's stubs lack it
    dots = np.asarray(canvas.buffer_rgba())  # type: ignore[no-untyped-call]
    return Image.fromarray(dots).convert("L")


def as_gif(frames: Sequence[Image], duration_ms: int) -> bytes:
    """Frames of equal duration, over and over."""
    out = io.BytesIO()
    frames[0].save(
        out,
        format="GIF",
        save_all=True,
        append_images=list(frames[1:]),
        duration=duration_ms,
        loop=0,
        optimize=False,
    )
    return out.getvalue()
