"""Predicted against measured: how far each measured line lies from the mode that it is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

from saltline.modes import Mode
from saltline.motions import FAMILIES
from saltline.naming.identify import Identification, Match
from saltline.record import record
from saltline.show.phrases import stated
from saltline.show.pictures import LINE_MM, MINUS, size_mm
from saltline.show.pictures_axis import (
    Axis,
    Heads,
    axis_over,
    draw_heads,
    draw_scale,
    heads_of,
    round_numbers,
)
from saltline.show.pictures_labels import put_label, rows_for, text_width
from saltline.show.pictures_modes import SCALE_MM, specimen_line
from saltline.show.pictures_sheet import EDGE_MM, WIDTH_MM, Panel, Sheet
from saltline.show.table import significant
from saltline.specimen import Specimen

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PLOT_MM = 60.0
"""The height of the part that shows the differences."""

LANE_MM = 3.5
"""The height of the marks in a lane below it."""

LEFT_MM = 30.0
"""Room for the names of the lanes."""

UNEXPLAINED = "unexplained"

MARKS = {
    "agrees": ("o", "full", "dot: agrees"),
    "off": ("^", "none", "triangle: off"),
    "count differs": ("s", "none", "square: the count differs"),
    UNEXPLAINED: ("x", "none", "cross: unexplained"),
}
"""Finding -> its mark, how it is filled, and both in words."""


@record
class Lane:
    """A row of marks below the differences, each with a text under it, mm.

    y: the height of the marks; rows: of the texts, from 0.
    """

    name: str
    y: float
    places: tuple[float, ...]
    texts: tuple[str, ...]
    rows: tuple[int, ...]


@record
class CompareView:
    """The comparison laid out on paper: mm from the left bottom corner of its axes.

    kind:  what the modes are called together, "flatwise" or "mode".
    named: the matches that have a mode; unexplained, unseen: lanes, None where nothing is in them.
    base:  where the part with the differences begins; reach: percent at its top and bottom.
    heads: the orders or ranks above the named lines.
    """

    kind: str
    axis: Axis
    named: tuple[Match, ...]
    unexplained: Lane | None
    unseen: Lane | None
    base: float
    reach: float
    heads: Heads

    @property
    def height(self) -> float:
        """Of the whole."""
        return self.base + PLOT_MM + self.heads.height

    def y(self, percent: float) -> float:
        """The place of a difference."""
        return self.base + PLOT_MM * (0.5 + 0.5 * percent / self.reach)


def compare_view(found: Identification, width: float, tolerance: float) -> CompareView:
    """How a comparison is laid out on an axes that is so wide."""
    named = [match for match in found.matches if match.mode is not None]
    left_over = [match.measured for match in found.matches if match.mode is None]
    unseen = [(found.scale * one.mode.frequency_hz, one.mode) for one in found.unseen]
    kind, told = _naming(found)
    lines = [match.measured.frequency_hz for match in found.matches]
    axis = axis_over([*lines, *(hz for hz, _ in unseen)], width)
    y = 1.0
    lanes: list[Lane | None] = []
    for name, marks in (
        (f"not seen, {kind}", [(hz, told(mode)) for hz, mode in unseen]),
        ("unexplained, Hz", [(row.frequency_hz, stated(row.frequency_hz)) for row in left_over]),
    ):
        lanes.append(_lane(name, marks, axis, y) if marks else None)
        y += 0.0 if lanes[-1] is None else _lane_height(lanes[-1])
    largest = max((abs(100.0 * match.residual) for match in named), default=0.0)
    heads = heads_of(
        [told(match.mode) for match in named if match.mode is not None],
        [axis.x(match.measured.frequency_hz) for match in named],
        width,
    )
    reach = 1.15 * max(largest, 130.0 * tolerance)
    return CompareView(kind, axis, tuple(named), lanes[1], lanes[0], y + 2.0, reach, heads)


def _naming(found: Identification) -> tuple[str, Callable[[Mode], str]]:
    """What the modes are called together, and how each of them is told."""
    modes = [match.mode for match in found.matches if match.mode is not None]
    families = {mode.family for mode in (*modes, *(one.mode for one in found.unseen))}
    if len(families) > 1:
        return "mode", lambda mode: f"{mode.family} {mode.order}"
    if families & set(FAMILIES):
        return families.pop(), lambda mode: str(mode.order)
    return "mode", lambda mode: str(mode.rank)


def _lane(name: str, marks: Sequence[tuple[float, str]], axis: Axis, y: float) -> Lane:
    places = [axis.x(hz) for hz, _ in marks]
    rows = rows_for(places, [text_width(text) for _, text in marks])
    middle = y + LINE_MM * (1 + max(rows)) + LANE_MM / 2.0
    return Lane(name, middle, tuple(places), tuple(text for _, text in marks), tuple(rows))


def _lane_height(lane: Lane) -> float:
    return LINE_MM * (1 + max(lane.rows)) + LANE_MM + 1.0


def draw_comparison(axes: Axes, found: Identification, *, tolerance: float) -> None:
    """The comparison; the axes must be as high as `compare_view(...).height`, its numbers are mm.

    tolerance: relative difference that still agrees.
    """
    width, height = size_mm(axes)
    view = compare_view(found, width, tolerance)
    axes.set(xlim=(0.0, width), ylim=(0.0, height))
    axes.spines[["right", "top", "left"]].set_visible(False)
    _draw_ground(axes, view, width, tolerance)
    for match in view.named:
        x, y = view.axis.x(match.measured.frequency_hz), view.y(100.0 * match.residual)
        axes.plot([x, x], [view.y(0.0), y], color="0.0", linewidth=0.5)
        axes.plot([x, x], [y, view.base + PLOT_MM], color="0.6", linewidth=0.4, linestyle=":")
        marker, fill, _ = MARKS[match.finding]
        axes.plot([x], [y], marker, color="0.0", fillstyle=fill, ms=4.5, zorder=4)
    draw_heads(axes, view.heads, view.base + PLOT_MM)
    for lane, marker in ((view.unexplained, "x"), (view.unseen, "|")):
        if lane is not None:
            _draw_lane(axes, lane, marker)
    draw_scale(axes, view.axis)


def _draw_ground(axes: Axes, view: CompareView, width: float, tolerance: float) -> None:
    """What agrees in grey, no difference as a line, and the scale at the left."""
    low, high = view.y(-100.0 * tolerance), view.y(100.0 * tolerance)
    axes.fill_between([0.0, width], low, high, facecolor="0.93", linewidth=0.0, zorder=0)
    axes.plot([0.0, width], [view.y(0.0)] * 2, color="0.0", linewidth=0.6)
    ticks = round_numbers(-view.reach, view.reach)
    named = [(lane.name, lane.y) for lane in (view.unseen, view.unexplained) if lane is not None]
    named += [(_percent(percent), view.y(percent)) for percent in ticks]
    if view.heads.texts:
        named.append((view.kind, view.base + PLOT_MM + view.heads.middle))
    axes.set_yticks([y for _, y in named], [name for name, _ in named])


def _percent(value: float) -> str:
    sign = "+" if value > 0.0 else MINUS if value < 0.0 else ""
    return f"{sign}{abs(value):g} %"


def _draw_lane(axes: Axes, lane: Lane, marker: str) -> None:
    for place, text, row in zip(lane.places, lane.texts, lane.rows, strict=True):
        foot = lane.y - LANE_MM / 2.0 - LINE_MM * row
        axes.plot([place], [lane.y], marker, color="0.0", ms=5.0)
        axes.plot([place, place], [lane.y - 1.0, foot], color="0.0", linewidth=0.3)
        put_label(axes, place, foot - 0.3, text, is_above=False)


def comparison_sheet(specimen: Specimen, found: Identification, *, tolerance: float) -> Sheet:
    """The comparison on a sheet."""
    width = WIDTH_MM - 2.0 * EDGE_MM - LEFT_MM
    height = compare_view(found, width, tolerance).height
    draw = partial(draw_comparison, found=found, tolerance=tolerance)
    findings = {match.finding for match in found.matches}
    marks = ", ".join(text for name, (_, _, text) in MARKS.items() if name in findings)
    caption = (
        "Each measured frequency against that of its mode once the common factor "
        f"{significant(4)(found.scale)} is out; its mode stands above. Grey: "
        f"agrees within {100.0 * tolerance:g} %. {marks.capitalize()}."
        + (" Not seen: predicted modes that are not in the list." if found.unseen else ""),
    )
    panel = Panel(draw, width, height, (), LEFT_MM, SCALE_MM)
    return Sheet((specimen_line(specimen),), ([panel],), caption, name=specimen.name)
