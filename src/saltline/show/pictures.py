"""How all pictures look: sizes on paper, type, lines, signs. All black and grey.

A picture is drawn by a function that takes what was found and an axes, and returns nothing. Every
size is that on the printed sheet, in mm, and type is never smaller than `TYPE_PT`. What a mark
means is carried by its shape, line style or hatching and by words, never by a colour.
"""

from __future__ import annotations

import contextlib
import warnings
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from saltline.arrays import Values
from saltline.modes import Mode
from saltline.show.table import significant
from saltline.spread import Band

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

MM = 1.0 / 25.4
"""A millimetre in inches, in which matplotlib takes the size of a figure."""

POINT_MM = 25.4 / 72.0
"""A point in mm."""

TYPE_PT = 8.0
"""The size of all type, in points at the printed size."""

LINE_MM = TYPE_PT * POINT_MM * 1.3
"""From one line of type to the next, mm."""

TYPE_FACE = "DejaVu Sans"
"""The typeface, which comes with matplotlib."""

MINUS = "\N{MINUS SIGN}"

STYLE: Any = {
    "font.family": [TYPE_FACE],
    "font.size": TYPE_PT,
    "axes.titlesize": TYPE_PT,
    "axes.labelsize": TYPE_PT,
    "xtick.labelsize": TYPE_PT,
    "ytick.labelsize": TYPE_PT,
    "axes.linewidth": 0.5,
    "xtick.major.width": 0.5,
    "ytick.major.width": 0.5,
    "xtick.major.size": 2.0,
    "ytick.major.size": 2.0,
    "xtick.minor.size": 1.2,
    "xtick.major.pad": 2.0,
    "ytick.major.pad": 2.0,
    "axes.labelpad": 2.0,
    "hatch.linewidth": 0.3,
    "hatch.color": "0.45",
    "lines.linewidth": 0.9,
    "lines.markersize": 4.0,
    "path.simplify": False,  # it would move the points of a line that is to be measured
    "text.parse_math": False,  # a "$" in a specimen's name is a "$"
    "svg.fonttype": "path",
    "lines.scale_dashes": False,  # dashes are meant in points, whatever the line's width
    "svg.hashsalt": "saltline",
    "pdf.fonttype": 3,
}


@contextlib.contextmanager
def look() -> Iterator[None]:
    """While it lasts pictures look as they should, whatever the user's own settings are."""
    import matplotlib

    with matplotlib.rc_context(), warnings.catch_warnings():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(STYLE)
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        yield


def size_mm(axes: Axes) -> tuple[float, float]:
    """The width and the height of an axes on paper, mm."""
    dot = axes.figure.dpi * MM
    return axes.bbox.width / dot, axes.bbox.height / dot


def frequency_text(mode: Mode, band: Band | None = None) -> str:
    """ "163.09 Hz (157.6 to 168.6 Hz)"."""
    text = f"{significant(5)(mode.frequency_hz)} Hz"
    if band is None:
        return text
    low, high = (significant(4)(hz) for hz in (band.low_hz, band.high_hz))
    return f"{text} ({low} to {high} Hz)"


def sign_text(sign: float) -> str:
    """A plus or a minus sign."""
    return "+" if sign > 0.0 else MINUS


def put_sign(
    axes: Axes,
    at: Sequence[float] | Values,
    sign: int,
    *,
    points: float = TYPE_PT + 2.0,
    pad: float = 0.05,
) -> Text:
    """A plus or a minus sign at a place, on a light ground so that it is read on any grey.

    pad: how far the ground reaches beyond the type, in ems.
    """
    return axes.text(
        float(at[0]),
        float(at[1]),
        sign_text(sign),
        ha="center",
        va="center",
        fontsize=points,
        fontweight="bold",
        bbox={
            "boxstyle": f"circle,pad={pad}",
            "facecolor": "1.0",
            "edgecolor": "none",
            "alpha": 0.75,
        },
        zorder=6,
        clip_on=False,
    )
