"""A beam's mode as a curve: nodes and antinodes marked and dimensioned, signs of the regions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.modes import Mode
from saltline.nodes import BeamPattern
from saltline.record import record
from saltline.show.outline import beam_halves
from saltline.show.pictures import LINE_MM, put_sign, size_mm
from saltline.show.pictures_labels import put_label, rows_for, text_width
from saltline.show.table import LengthUnit
from saltline.specimen import BeamGeometry, Specimen
from saltline.tracing.regions import phases_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

CURVE_MM = 9.0
"""The largest deflection on paper, to either side."""

MARGIN_MM = 3.0
"""Room at either end for what holds the beam."""

PROFILE_MM = 1.3
"""Half the thickest place of the beam's silhouette on paper."""

SIDES = {"edgewise": "depth_edge"}
"""Family -> the size of a section that is seen across the curve, where it is not the depth."""

NODE, ANTINODE = "o", "D"
"""The marks of nodes and antinodes."""


@record
class BeamView:
    """A beam's mode laid out on paper, all in mm from the left bottom corner of its axes.

    per_metre: mm on paper for a metre of the beam.
    node_rows, antinode_rows: the row of each dimension, from 0, below and above the curve.
    """

    per_metre: float
    node_rows: tuple[int, ...]
    antinode_rows: tuple[int, ...]

    @property
    def below(self) -> float:
        """The height of the dimensions of nodes."""
        return LINE_MM * (1 + max(self.node_rows, default=-1)) + 1.0

    @property
    def above(self) -> float:
        """The height of the dimensions of antinodes."""
        return LINE_MM * (1 + max(self.antinode_rows, default=-1)) + 1.0

    @property
    def height(self) -> float:
        """Of the whole."""
        return self.below + 2.0 * CURVE_MM + 2.0 + self.above

    @property
    def middle(self) -> float:
        """Where the line of no deflection is."""
        return self.below + CURVE_MM + 1.0

    def x(self, metres: float) -> float:
        """A place along the beam."""
        return MARGIN_MM + self.per_metre * metres

    def all_x(self, metres: Values) -> Values:
        """Places along the beam."""
        return np.asarray(MARGIN_MM + self.per_metre * metres)


def beam_view(pattern: BeamPattern, length: float, width_mm: float, unit: LengthUnit) -> BeamView:
    """How a mode is laid out on an axes that is so wide."""
    per_metre = (width_mm - 2.0 * MARGIN_MM) / length

    def rows(places: Sequence[float]) -> tuple[int, ...]:
        widths = [text_width(unit.text(x)) for x in places]
        return tuple(rows_for([per_metre * x for x in places], widths, gap=1.2))

    return BeamView(per_metre, rows(pattern.nodes), rows(pattern.antinodes))


def draw_beam_mode(
    axes: Axes, mode: Mode, pattern: BeamPattern, specimen: Specimen, *, unit: LengthUnit
) -> None:
    """A mode of a beam over its length.

    The axes must be as high as `beam_view(...).height`; its own numbers are mm on paper.
    """
    shape, geometry = mode.shape, specimen.geometry
    assert isinstance(shape, BeamShape)
    assert isinstance(geometry, BeamGeometry)
    width, height = size_mm(axes)
    view = beam_view(pattern, geometry.length, width, unit)
    axes.set(xlim=(0.0, width), ylim=(0.0, height))
    draw_silhouette(axes, specimen, view, mode.family)
    _curve(axes, shape, view)
    _dimensions(axes, shape, pattern, view, unit)


def draw_silhouette(axes: Axes, specimen: Specimen, view: BeamView, family: str) -> None:
    """The beam along the line of no deflection, its height not to scale.

    From its side, or from above where that is how the motion of the family is seen.
    """
    assert isinstance(specimen.geometry, BeamGeometry)
    x, half, _ = beam_halves(specimen.geometry, SIDES.get(family, "depth"), specimen)
    thick = PROFILE_MM * half / half.max()
    start, end = view.x(0.0), view.x(specimen.geometry.length)
    middle = view.middle
    axes.fill_between(
        view.all_x(x), middle - thick, middle + thick, facecolor="0.78", lw=0.0, zorder=0.5
    )
    axes.plot([start, end], [middle, middle], color="0.4", linewidth=0.4)
    for name, place, outward in (("start", start, -1.0), ("end", end, 1.0)):
        _draw_hold(axes, specimen.boundary[name].word, place, middle, outward)
    for support in specimen.supports:
        place = view.x(support.at[0].value)
        _draw_hold(axes, support.hold.word, place, middle, 0.0)
    for thing in specimen.attached:
        place = view.x(thing.at[0].value)
        axes.plot([place], [middle], marker="s", markersize=5.0, color="0.0", fillstyle="none")


def _draw_hold(axes: Axes, word: str, x: float, y: float, outward: float) -> None:
    """How a place is held: a hatched wall, a wedge below, a bare wall, or a spring's "e"."""
    if word == "free":
        return
    if outward and word in ("clamped", "guided"):
        axes.plot([x, x], [y - 4.0, y + 4.0], color="0.0", linewidth=1.0)
    if outward and word == "clamped":
        for step in np.arange(-4.0, 4.0, 1.6):
            low = y + float(step)
            axes.plot([x + 1.6 * outward, x], [low, low + 1.6], color="0.0", linewidth=0.4)
    elif word == "guided":
        axes.plot([x + outward] * 2, [y - 2.0, y + 2.0], "o", color="0.0", fillstyle="none", ms=2.5)
    else:
        axes.plot([x], [y - 2.4], marker="^", markersize=5.0, color="0.0", fillstyle="none")


def _curve(axes: Axes, shape: BeamShape, view: BeamView) -> None:
    """The curve, its regions shaded by their sign, and the signs."""
    phases = phases_of(shape)
    metres = np.linspace(0.0, float(shape.line.breaks[-1]), 601)
    x = view.all_x(metres)
    middle = view.middle
    w = CURVE_MM * phases.sense * shape.at(metres) / phases.largest
    up, down = w >= 0.0, w <= 0.0
    axes.fill_between(x, middle, middle + w, where=up, facecolor="0.92", lw=0.0, zorder=0.2)
    axes.fill_between(
        x, middle, middle + w, where=down, facecolor="none", hatch="/////", lw=0.0, zorder=0.2
    )
    axes.plot(x, middle + w, color="0.0")
    for region in phases.regions:
        reach = region.sign * CURVE_MM * region.height
        y = middle + (0.5 * reach if abs(reach) > 5.8 else reach + region.sign * 3.2)
        put_sign(axes, (_inside(view.x(region.at[0]), x), y), region.sign)


def _inside(place: float, x: Values) -> float:
    """A place for a sign that keeps clear of the ends."""
    return float(np.clip(place, x[0] + 2.5, x[-1] - 2.5))


def _dimensions(
    axes: Axes, shape: BeamShape, pattern: BeamPattern, view: BeamView, unit: LengthUnit
) -> None:
    """The places of nodes below the curve, those of antinodes above it."""
    phases = phases_of(shape)
    _, height = size_mm(axes)
    for x, row in zip(pattern.nodes, view.node_rows, strict=True):
        place, y = view.x(x), view.below - LINE_MM * row
        axes.plot([place, place], [y, view.middle], color="0.4", linewidth=0.4)
        put_label(axes, place, y - 0.4, unit.text(x), is_above=False)
        axes.plot([place], [view.middle], NODE, color="0.0", markerfacecolor="1.0", zorder=5)
    for x, row in zip(pattern.antinodes, view.antinode_rows, strict=True):
        place, y = view.x(x), height - view.above + LINE_MM * row
        w = phases.sense * float(shape.at(np.array([x]))[0]) / phases.largest
        peak = view.middle + CURVE_MM * w
        axes.plot([place, place], [peak, y], color="0.4", linewidth=0.5, linestyle=":")
        put_label(axes, place, y + 0.3, unit.text(x))
        axes.plot([place], [peak], ANTINODE, color="0.0", ms=3.0, zorder=5)
