"""A recorded sweep as a picture: the response, its noise, and what was picked out of it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Values
from saltline.show.pictures import LINE_MM, size_mm
from saltline.show.pictures_labels import put_label, rows_for, text_width
from saltline.show.pictures_sheet import EDGE_MM, WIDTH_MM, Panel, Sheet
from saltline.sweeps.line_up import Shared
from saltline.sweeps.picks import Picked
from saltline.words import visible

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PLOT_MM = 75.0
"""The height of the curve."""

LEFT_MM, RIGHT_MM, BELOW_MM = 16.0, 4.0, 9.0
"""Room for the numbers and the names of the scales."""

MOST_POINTS = 3000
"""A curve of more readings is drawn as the least and the greatest of each stretch."""

LEAST_SHOWN = 1e-6
"""What is less than this part of the highest reading lies below the picture."""

DECADE = 8.0
"""From this ratio of highest to lowest on the frequency scale is logarithmic."""


def sweep_sheet(found: Sequence[Picked], rows: Sequence[Shared]) -> Sheet:
    """One panel a recording; the numbers are those of the list's rows."""
    width = WIDTH_MM - 2.0 * EDGE_MM - LEFT_MM - RIGHT_MM
    panels = []
    for one in found:
        marks = _marks(one, rows)
        lanes = _lanes(one, marks, width)
        height = PLOT_MM + LINE_MM * (1 + max(lanes, default=0)) + 2.0
        draw = partial(draw_sweep, one=one, marks=marks)
        title = (visible(one.recording.path),) if len(found) > 1 else ()
        panels.append(Panel(draw, width, height, title, LEFT_MM, BELOW_MM))
    name = " and ".join(visible(one.recording.path) for one in found)
    caption = (
        "Line: the recorded response. Grey line: what it scatters by (standard deviation). "
        "Rings on numbered lines: resonances, by the rows of the list, each at its own height. "
        "Crosses: readings or resonances that may be something else.",
    )
    heading = (f"Resonances picked out of {name}",)
    return Sheet(heading, tuple((panel,) for panel in panels), caption, name=name)


def _marks(one: Picked, rows: Sequence[Shared]) -> list[tuple[str, float, float]]:
    """Number in the list, frequency and height of each resonance of a recording."""
    marks = []
    for pick in one.picks:
        near = [abs(row.pick.frequency_hz - pick.frequency_hz) for row in rows]
        marks.append((str(1 + near.index(min(near))), pick.frequency_hz, pick.amplitude))
    return marks


def _is_logarithmic(hz: Values) -> bool:
    return float(hz[-1] / hz[0]) > DECADE


def _lanes(one: Picked, marks: Sequence[tuple[str, float, float]], width: float) -> list[int]:
    hz = one.recording.hz
    scale = np.log if _is_logarithmic(hz) else np.asarray
    low, high = float(scale(hz[0])), float(scale(hz[-1]))
    places = [(float(scale(f)) - low) / (high - low) * width for _, f, _ in marks]
    return rows_for(places, [text_width(text) for text, _, _ in marks])


def draw_sweep(axes: Axes, one: Picked, marks: Sequence[tuple[str, float, float]]) -> None:
    """A recording with its resonances marked, the numbers of these above the curve."""
    recording = one.recording
    width, height = size_mm(axes)
    hz, size = _thinned(recording.hz, recording.magnitude)
    floor_hz, floor = _thinned(recording.hz, one.noise)
    axes.plot(hz, size, color="0.0", linewidth=0.7, zorder=3)
    axes.plot(floor_hz, floor, color="0.6", linewidth=0.9, zorder=2)
    if _is_logarithmic(recording.hz):
        axes.set_xscale("log")
    axes.set_yscale("log")
    _set_limits(axes, one, marks, PLOT_MM / height)
    lanes = _lanes(one, marks, width)
    for (text, f, amplitude), lane in zip(marks, lanes, strict=True):
        axes.plot([f], [amplitude], "o", color="0.0", markerfacecolor="1.0", ms=3.5, zorder=5)
        at = (PLOT_MM + 1.0 + LINE_MM * lane) / height
        axes.axvline(f, 0.0, at, color="0.5", linewidth=0.4, linestyle=":", zorder=1)
        put_label(axes, f, at + 0.2 / height, text, transform=axes.get_xaxis_transform())
    for strange in one.strange:
        level = float(np.interp(strange.frequency_hz, recording.hz, recording.magnitude))
        axes.plot([strange.frequency_hz], [level], "x", color="0.0", ms=6.0, mew=1.2, zorder=6)
    _name_scales(axes, recording.unit)


def _thinned(hz: Values, values: Values) -> tuple[Values, Values]:
    """At most `MOST_POINTS` points, by the extremes of stretches that are even on paper."""
    n = hz.size
    if n <= MOST_POINTS:
        return hz, values
    spaced = np.geomspace if _is_logarithmic(hz) else np.linspace
    edges = spaced(float(hz[0]), float(hz[-1]), MOST_POINTS // 2)
    starts = np.unique(np.searchsorted(hz, edges).clip(0, n - 1))
    low, high = np.minimum.reduceat(values, starts), np.maximum.reduceat(values, starts)
    return np.repeat(hz[starts], 2), np.column_stack([low, high]).ravel()


def _set_limits(
    axes: Axes, one: Picked, marks: Sequence[tuple[str, float, float]], part: float
) -> None:
    """The curve fills the lower `part` of the axes."""
    size = one.recording.magnitude
    positive = size[size > 0.0]
    high = 1.3 * max(float(size.max()), *(amplitude for _, _, amplitude in marks), 0.0)
    least = min(float(np.quantile(positive, 0.002)), float(np.median(one.noise)))
    low = max(least / 1.5, LEAST_SHOWN * high)
    axes.set_ylim(low, low * (high / low) ** (1.0 / part))
    axes.set_xlim(float(one.recording.hz[0]), float(one.recording.hz[-1]))


def _name_scales(axes: Axes, unit: str) -> None:
    from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

    def plain(value: float, _: object) -> str:
        return f"{value:g}"

    axes.set_xlabel("frequency, Hz")
    axes.set_ylabel(f"response, {visible(unit)}" if unit else "response")
    axes.yaxis.set_major_formatter(FuncFormatter(plain))
    axes.yaxis.set_minor_formatter(NullFormatter())
    if axes.get_xscale() == "log":
        axes.xaxis.set_major_locator(LogLocator(subs=(1.0, 2.0, 5.0)))
        axes.xaxis.set_major_formatter(FuncFormatter(plain))
        axes.xaxis.set_minor_formatter(NullFormatter())
    axes.spines[["right", "top"]].set_visible(False)
