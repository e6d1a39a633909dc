"""How wide a text is on paper, and in how many rows texts stand that would overlap in one."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING

from saltline.show.pictures import POINT_MM, TYPE_FACE, TYPE_PT

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text
    from matplotlib.transforms import Transform

_MEASURED_PT = 100.0
"""The size at which type is measured: there whole dots hardly matter."""


@cache
def text_width(text: str, size_pt: float = TYPE_PT) -> float:
    """The width of a text in the pictures' type, mm."""
    from matplotlib.font_manager import FontProperties, findfont, get_font

    font = get_font(findfont(FontProperties(family=[TYPE_FACE])))
    font.set_size(_MEASURED_PT, 72.0)
    font.set_text(text)
    dots = font.get_width_height()[0] / 64.0
    return float(dots * size_pt / _MEASURED_PT * POINT_MM)


def rows_for(places: Sequence[float], widths: Sequence[float], *, gap: float = 1.0) -> list[int]:
    """The row, from 0, in which each text stands so that none overlaps another.

    places: of the middles of the texts, mm, in any order; each goes into the first row with room,
    and those that are in one place but for rounding in their own order.

    >>> rows_for([0.0, 5.0, 20.0], [8.0, 8.0, 8.0])
    [0, 1, 0]
    """
    ends: list[float] = []
    rows = [0] * len(places)
    for k in sorted(range(len(places)), key=lambda k: (round(places[k], 6), k)):
        start = places[k] - widths[k] / 2.0
        row = next((r for r, end in enumerate(ends) if end + gap <= start), len(ends))
        ends[row : row + 1] = [places[k] + widths[k] / 2.0]
        rows[k] = row
    return rows


def put_label(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    *,
    is_above: bool = True,
    transform: Transform | None = None,
) -> Text:
    """A text above or below a place, centred, on a white ground over what leads to other rows.

    What leads past a text to the one behind it is seen between the rows, never through the type.
    transform: of the place; without one it is in the axes' own numbers.
    """
    return axes.text(
        x, y, text, ha="center", va="bottom" if is_above else "top", zorder=4,
        bbox={"facecolor": "1.0", "edgecolor": "none", "pad": 0.3},
        transform=transform or axes.transData,
    )  # fmt: skip


def spread(
    places: Sequence[float], widths: Sequence[float], *, low: float, high: float, gap: float = 1.0
) -> list[float]:
    """Where texts stand side by side between two limits, each as near its place as others allow.

    Those that would overlap become a block whose middle keeps the mean of their places; the sum of
    the widths must fit.

    >>> spread([10.0, 11.0, 30.0], [4.0, 4.0, 4.0], low=0.0, high=40.0)
    [8.0, 13.0, 30.0]
    """
    order = sorted(range(len(places)), key=lambda k: (places[k], k))
    blocks: list[list[int]] = []
    starts: list[float] = []

    def long(block: Sequence[int]) -> float:
        return sum(widths[k] for k in block) + gap * (len(block) - 1)

    def start_of(block: Sequence[int]) -> float:
        offset, wanted = 0.0, 0.0
        for k in block:
            wanted += places[k] - offset - widths[k] / 2.0
            offset += widths[k] + gap
        return max(min(wanted / len(block), high - long(block)), low)

    for k in order:
        blocks.append([k])
        starts.append(start_of([k]))
        while len(blocks) > 1 and starts[-2] + long(blocks[-2]) + gap > starts[-1]:
            last = blocks.pop()
            starts.pop()
            blocks[-1] += last
            starts[-1] = start_of(blocks[-1])
    found = [0.0] * len(places)
    for block, start in zip(blocks, starts, strict=True):
        for k in block:
            found[k] = start + widths[k] / 2.0
            start += widths[k] + gap
    return found
