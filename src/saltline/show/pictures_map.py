"""The frequency axis as a map: all modes in rows by family, their bands, and the measured lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial, singledispatch
from typing import TYPE_CHECKING

from saltline.files.measured import MOST_COUNT
from saltline.measured_list import Measured
from saltline.modes import Mode, Modes
from saltline.motions import FAMILIES
from saltline.nodes import BeamPattern, Pattern, PlatePattern, pattern_of
from saltline.record import record
from saltline.show.phrases import stated
from saltline.show.pictures import LINE_MM, size_mm
from saltline.show.pictures_axis import Axis, Heads, axis_over, draw_heads, draw_scale, heads_of
from saltline.show.pictures_labels import put_label, rows_for, text_width
from saltline.show.pictures_modes import SCALE_MM, specimen_line
from saltline.show.pictures_sheet import EDGE_MM, WIDTH_MM, Panel, Sheet
from saltline.show.table import significant
from saltline.spread import Band, bands
from saltline.tracing.nodecircles import DiscPattern

if TYPE_CHECKING:
    from matplotlib.axes import Axes

TICK_MM = 5.0
"""The height of a mode's line."""

GAP_MM = 2.0
"""Room between rows."""

MEASURED = "measured, Hz"

Row = tuple[int, str]
"""A row's number from the bottom and its name."""


@record
class Mark:
    """One mode on the map, its band, its row and the number that it bears there."""

    mode: Mode
    band: Band | None
    row: Row
    number: int

    @property
    def extent(self) -> tuple[float, float]:
        """The band, Hz, or the frequency alone; a band that reaches nothing is cut."""
        hz = self.mode.frequency_hz
        return (
            (hz, hz) if self.band is None else (max(self.band.low_hz, 0.5 * hz), self.band.high_hz)
        )


def marks_of(modes: Modes) -> list[Mark]:
    """Every mode as it stands on the map."""
    return [
        Mark(mode, band, *_place(pattern_of(mode.shape), mode))
        for mode, band in zip(modes.modes, bands(modes), strict=True)
    ]


@singledispatch
def _place(pattern: Pattern, mode: Mode) -> tuple[Row, int]:
    """The row of a mode and the number that it bears: its rank, or a beam's in its family."""
    raise TypeError(f"no row is known for {type(pattern).__name__}")


@_place.register
def _(pattern: BeamPattern, mode: Mode) -> tuple[Row, int]:
    return (FAMILIES.index(mode.family), mode.family), mode.order


@_place.register
def _(pattern: PlatePattern, mode: Mode) -> tuple[Row, int]:
    if pattern.lines_x is None:
        return (MOST_COUNT, "other figures"), mode.rank
    return (pattern.lines_x, f"{pattern.lines_x} across x"), mode.rank


@_place.register
def _(pattern: DiscPattern, mode: Mode) -> tuple[Row, int]:
    many = pattern.diameters
    return (many, f"{many} diameter{'' if many == 1 else 's'}"), mode.rank


@record
class MapView:
    """The map laid out on paper: mm from the left bottom corner of its axes.

    rows:   each row -> the height of its lines' feet.
    labels: for each mark the row of its number above its line, from 0.
    top:    above the highest row; heads: the measured frequencies above that.
    """

    axis: Axis
    rows: Mapping[Row, float]
    labels: tuple[int, ...]
    top: float
    heads: Heads

    @property
    def height(self) -> float:
        """Of the whole."""
        return self.top + self.heads.height


def map_view(marks: Sequence[Mark], measured: Sequence[Measured], width: float) -> MapView:
    """How the map is laid out on an axes that is so wide; at least one mark."""
    reach = [hz for mark in marks for hz in mark.extent]
    axis = axis_over([*reach, *(line.frequency_hz for line in measured)], width)
    labels = [0] * len(marks)
    rows: dict[Row, float] = {}
    y = GAP_MM
    for row in sorted({mark.row for mark in marks}):
        own = [k for k, mark in enumerate(marks) if mark.row == row]
        places = [axis.x(marks[k].mode.frequency_hz) for k in own]
        found = rows_for(places, [text_width(str(marks[k].number)) for k in own])
        for k, number in zip(own, found, strict=True):
            labels[k] = number
        rows[row] = y
        y += TICK_MM + LINE_MM * (1 + max(found)) + GAP_MM
    feet = [axis.x(line.frequency_hz) for line in measured]
    heads = heads_of([stated(line.frequency_hz) for line in measured], feet, width)
    return MapView(axis, rows, tuple(labels), y, heads)


def draw_map(axes: Axes, marks: Sequence[Mark], measured: Sequence[Measured] = ()) -> None:
    """The map; the axes must be as high as `map_view(...).height`, its own numbers are mm."""
    width, height = size_mm(axes)
    view = map_view(marks, measured, width)
    axes.set(xlim=(0.0, width), ylim=(0.0, height))
    axes.spines[["left", "right", "top"]].set_visible(False)
    for y in view.rows.values():
        axes.plot([0.0, width], [y, y], color="0.7", linewidth=0.4, zorder=0)
    named = [(name, y + TICK_MM / 2.0) for (_, name), y in view.rows.items()]
    if view.heads.texts:
        named.append((MEASURED, view.top + view.heads.middle))
    axes.set_yticks([y for _, y in named], [name for name, _ in named])
    axes.tick_params(axis="y", length=0.0)
    for mark, number in zip(marks, view.labels, strict=True):
        _draw_mark(axes, mark, number, view)
    for line in measured:
        x = view.axis.x(line.frequency_hz)
        axes.plot([x, x], [0.0, view.top], color="0.0", lw=0.7, linestyle=(0, (4, 2)), zorder=1)
    draw_heads(axes, view.heads, view.top)
    draw_scale(axes, view.axis)


def _draw_mark(axes: Axes, mark: Mark, number: int, view: MapView) -> None:
    """A line at the frequency, a grey box over the band, the number above."""
    x, y = view.axis.x(mark.mode.frequency_hz), view.rows[mark.row]
    low, high = (view.axis.x(hz) for hz in mark.extent)
    axes.fill_between([low, high], y, y + 0.6 * TICK_MM, facecolor="0.8", linewidth=0.0)
    label = y + TICK_MM + LINE_MM * number
    axes.plot([x, x], [y, y + TICK_MM], color="0.0", linewidth=1.1)
    axes.plot([x, x], [y + TICK_MM, label], color="0.0", linewidth=0.3)
    put_label(axes, x, label + 0.3, str(mark.number))


NEAR = 1.05
"""A line up to this many times the highest mode's frequency may still be that mode."""

RANKS = "the rank over all the modes shown"


def _numbers(modes: Modes) -> str:
    """What the numbers are."""
    if modes.specimen.kind != "beam":
        return RANKS
    last = modes.modes[-1]
    example = f"{last.order} in the row of {last.family} is {last.family} {last.order}"
    return f"the order in its family: {example}"


def _end_words(modes: Modes, measured: Sequence[Measured]) -> str:
    """Where measured lines lie beyond the modes that were asked for, a sentence on it."""
    highest = max(mode.frequency_hz for mode in modes.modes)
    if all(line.frequency_hz <= NEAR * highest for line in measured):
        return ""
    return f" Above {significant(4)(highest)} Hz no mode was asked for."


def map_sheet(modes: Modes, measured: Sequence[Measured] = ()) -> Sheet:
    """The map on a sheet; at least one mode."""
    marks = marks_of(modes)
    names = {mark.row[1] for mark in marks} | ({MEASURED} if measured else set())
    left = max(map(text_width, names)) + 3.0
    width = WIDTH_MM - 2.0 * EDGE_MM - left
    height = map_view(marks, measured, width).height
    draw = partial(draw_map, marks=marks, measured=measured)
    caption = (
        f"Whole lines: predicted, with {_numbers(modes)}."
        + (" Grey: 95 % band by the tolerances." if any(mark.band for mark in marks) else "")
        + (" Broken lines: measured." if measured else "")
        + _end_words(modes, measured),
    )
    panel = Panel(draw, width, height, (), left, SCALE_MM)
    return Sheet((specimen_line(modes.specimen),), ([panel],), caption, name=modes.specimen.name)
