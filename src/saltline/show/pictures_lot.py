"""A lot over the order of its lists: how far each mode lies from its median."""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from saltline.many.lot import Lot, LotMode
from saltline.show.lot_sheet import mode_name
from saltline.show.pictures import MINUS
from saltline.show.pictures_axis import round_numbers
from saltline.show.pictures_sheet import EDGE_MM, WIDTH_MM, Panel, Sheet
from saltline.show.table import significant

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEIGHT_MM = 26.0
"""The height of a mode's panel."""

LEFT_MM = 16.0
"""Room for the percents."""

BELOW_MM = 4.5
"""Room for the numbers of the lists."""

LEAST_PERCENT = 0.05
"""A panel reaches at least so far from the median."""

NAMED = 12
"""Of more outliers than this the numbers would hide each other and are left out."""


def from_median(mode: LotMode) -> tuple[float, ...]:
    """How far the mode of each list lies from the median, percent."""
    return tuple(100.0 * (hz / mode.median_hz - 1.0) for hz in mode.hz)


def draw_lot_mode(axes: Axes, mode: LotMode, *, last: int) -> None:
    """One mode over the lists 1 to `last`."""
    percent = from_median(mode)
    reach = 1.35 * max(LEAST_PERCENT, *(abs(p) for p in percent))
    axes.set(xlim=(0.0, last + 1.0), ylim=(-reach, reach))
    axes.plot([0.0, last + 1.0], [0.0, 0.0], color="0.6", linewidth=0.5)
    for number, p in zip(mode.numbers, percent, strict=True):
        is_out = number in mode.outliers
        axes.plot([number], [p], "s" if is_out else "o", color="0.0", ms=5.0 if is_out else 2.2,
                  fillstyle="none" if is_out else "full")  # fmt: skip
        if is_out and len(mode.outliers) <= NAMED:
            axes.annotate(
                str(number), (number, p), xytext=(4.5, 0.0), textcoords="offset points", va="center"
            )
    if mode.drift is not None and mode.drift.is_told:
        _draw_trend(axes, mode)
    axes.spines[["right", "top"]].set_visible(False)
    ticks = round_numbers(-reach, reach)
    axes.set_yticks(ticks[:: max(1, math.ceil(len(ticks) / 5))])
    axes.set_yticklabels([_percent(tick) for tick in axes.get_yticks()])
    numbers = [n for n in round_numbers(0.0, max(last, 2)) if n == round(n) > 0]
    axes.set_xticks(numbers, [f"{n:.0f}" for n in numbers])


def _draw_trend(axes: Axes, mode: LotMode) -> None:
    """The line of the median slope, through the median of the middles."""
    assert mode.drift is not None
    ends = np.array([mode.numbers[0], mode.numbers[-1]], dtype=float)
    slope = math.log1p(mode.drift.relative)
    start = float(np.median(np.log(mode.hz) - slope * np.array(mode.numbers)))
    line = 100.0 * (np.exp(start + slope * ends) / mode.median_hz - 1.0)
    axes.plot(ends, line, "--", color="0.0", linewidth=0.8)


def _percent(value: float) -> str:
    sign = "+" if value > 0.0 else MINUS if value < 0.0 else ""
    return f"{sign}{abs(value):g} %"


def lot_sheet(name: str, lot: Lot) -> Sheet:
    """Every mode of a lot, one below another; there must be one."""
    last = max(one.number for one in lot.lists)
    width = WIDTH_MM - 2.0 * EDGE_MM - LEFT_MM
    rows = []
    for mode in lot.modes:
        title = f"{mode_name(mode)}: median {significant(5)(mode.median_hz)} Hz"
        if len(mode.hz) > 1:
            s = 100.0 * mode.deviation_hz / mode.mean_hz
            title += f", scatter s {significant(2)(s)} % of {len(mode.hz)} lists"
        draw = partial(draw_lot_mode, mode=mode, last=last)
        rows.append([Panel(draw, width, HEIGHT_MM, (title,), LEFT_MM, BELOW_MM)])
    caption = "Dot: a list."
    if any(mode.outliers for mode in lot.modes):
        caption += " Square: a list that stands out, with its number."
    if any(mode.drift and mode.drift.is_told for mode in lot.modes):
        caption += " Dashed: a drift that chance hardly makes."
    what = "How far each mode lies from its median, over the number of the list in the order given."
    return Sheet((name,), tuple(rows), (what, caption), name=name)
