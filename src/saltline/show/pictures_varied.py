"""Frequencies against a varied quantity: a line a mode, each with its name at its end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from itertools import cycle
from typing import TYPE_CHECKING

from saltline.many.grid import Varied
from saltline.record import record
from saltline.show.pictures import LINE_MM, size_mm
from saltline.show.pictures_axis import round_numbers
from saltline.show.pictures_labels import spread, text_width
from saltline.show.pictures_sheet import EDGE_MM, WIDTH_MM, Panel, Sheet
from saltline.show.varied import Solved, line_name, lines_of, number_at

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEIGHT_MM = 90.0
"""The height of a panel."""

LEFT_MM = 16.0
"""Room for the frequencies."""

BELOW_MM = 11.0
"""Room for the values and what they are."""

MOST_PANELS = 12
"""No sheet has more: nobody would compare them."""

DASHES = ("-", "--", "-.", ":")
"""Line styles in turn, so that lines that cross are told apart without colour."""

DOTTED = 40
"""Up to so many points each is marked, so that what was solved is told from what is drawn."""

WIDE = 8.0
"""Frequencies that span more than this ratio are drawn on a logarithmic scale, and so are values
that do and stand in even ratios."""


@record
class Curve:
    """One mode over the varied quantity; hz is NaN where it is not among those found."""

    name: str
    x: tuple[float, ...]
    hz: tuple[float, ...]


def curves_of(first: Varied, solved: Sequence[Solved]) -> list[Curve]:
    """The curve of each mode over the first of the varied quantities, in the user's unit."""
    x = tuple(first.numbers[one.point[0]] for one in solved)
    found = []
    for line in lines_of(solved):
        hz = []
        for one in solved:
            known = {(mode["family"], mode["order"]): mode["frequency_hz"] for mode in one.modes}
            hz.append(known.get(line, math.nan))
        found.append(Curve(line_name(line), x, tuple(hz)))
    return found


def draw_varied(
    axes: Axes, curves: Sequence[Curve], label: str, reach: tuple[float, float]
) -> None:
    """The curves; the names of the modes stand right of the axes.

    label: of the varied quantity; reach: the lowest and the highest frequency, Hz.
    """
    x = curves[0].x
    _scale(axes, x, reach)
    for curve, dash in zip(curves, cycle(DASHES), strict=False):
        mark = "o" if len(x) <= DOTTED else ""
        axes.plot(x, curve.hz, dash, marker=mark, ms=1.8, color="0.0", linewidth=0.8)
    axes.set_xlabel(label)
    axes.set_ylabel("frequency, Hz" + (" (logarithmic)" if axes.get_yscale() == "log" else ""))
    axes.spines[["right", "top"]].set_visible(False)
    _name(axes, curves)


def _scale(axes: Axes, x: Sequence[float], reach: tuple[float, float]) -> None:
    """Even or logarithmic scales with round numbers along them."""
    low, high = reach
    if low > 0.0 and high / low > WIDE:
        axes.set_yscale("log")
        axes.set_ylim(low / 1.1, high * 1.1)
    else:
        axes.set_ylim(low - 0.06 * (high - low or low), high + 0.06 * (high - low or high))
    ends = min(x), max(x)
    if ends[0] > 0.0 and ends[1] / ends[0] > WIDE:
        axes.set_xscale("log")
    room = 0.02 * (ends[1] - ends[0]) or 0.5 * abs(ends[0]) or 1.0
    axes.set_xlim(*((ends[0] / 1.05, ends[1] * 1.05) if axes.get_xscale() == "log" else
                    (ends[0] - room, ends[1] + room)))  # fmt: skip
    for side, limits in (("x", axes.get_xlim()), ("y", axes.get_ylim())):
        ticks = round_numbers(*limits)
        getattr(axes, f"set_{side}ticks")(ticks, [f"{tick:g}" for tick in ticks])
    axes.minorticks_off()


def _name(axes: Axes, curves: Sequence[Curve]) -> None:
    """The name of each curve at its right end, moved apart where two would overlap."""
    width, height = size_mm(axes)
    known = [(curve, _last(curve)) for curve in curves]
    ends = [(curve, place) for curve, place in known if place is not None]
    points = axes.transData.transform([place for _, place in ends])
    low = axes.transAxes.transform((0.0, 0.0))
    high = axes.transAxes.transform((1.0, 1.0))
    y = [(float(p[1]) - low[1]) / (high[1] - low[1]) * height for p in points]
    if LINE_MM * len(y) > height:
        return
    places = spread(y, [LINE_MM] * len(y), low=0.0, high=height, gap=0.0)
    for (curve, _), p, foot, place in zip(ends, points, y, places, strict=True):
        x = (float(p[0]) - low[0]) / (high[0] - low[0]) * width
        axes.plot(
            [x / width, 1.0 + 3.0 / width, 1.0 + 4.0 / width],
            [foot / height, place / height, place / height],
            color="0.5", linewidth=0.3, transform=axes.transAxes, clip_on=False,
        )  # fmt: skip
        axes.text(
            1.0 + 4.5 / width, place / height, curve.name, transform=axes.transAxes, va="center"
        )


def _last(curve: Curve) -> tuple[float, float] | None:
    """The right end of a curve, None of one that is nowhere."""
    there = [(x, hz) for x, hz in zip(curve.x, curve.hz, strict=True) if not math.isnan(hz)]
    return max(there) if there else None


def varied_sheet(name: str, varied: Sequence[Varied], solved: Sequence[Solved]) -> Sheet:
    """The frequencies against the first varied quantity, a panel for each value of the others.

    At least one point must have modes; there may be `MOST_PANELS` panels.
    """
    first, others = varied[0], varied[1:]
    groups: dict[tuple[int, ...], list[Solved]] = {}
    for one in solved:
        groups.setdefault(one.point[1:], []).append(one)
    found = [mode["frequency_hz"] for one in solved for mode in one.modes]
    reach = (min(found), max(found))
    label = f"{first.path}, {first.unit}" if first.unit else first.path
    names = max((text_width(line_name(line)) for line in lines_of(solved)), default=0.0)
    width = WIDTH_MM - 2.0 * EDGE_MM - LEFT_MM - names - 5.0
    rows = []
    for rest, members in groups.items():
        title = ", ".join(
            f"{item.path} = {number_at(item, number)} {item.unit}".rstrip()
            for item, number in zip(others, rest, strict=True)
        )
        draw = partial(draw_varied, curves=curves_of(first, members), label=label, reach=reach)
        titles = (title,) if title else ()
        rows.append([Panel(draw, width, HEIGHT_MM, titles, LEFT_MM, BELOW_MM)])
    caption = f"Natural frequencies of {name}. Each line is one mode, named at its right end."
    if len(first.values) <= DOTTED:
        caption += " Dots: what was solved; between them the line is drawn straight."
    return Sheet((name,), tuple(rows), (caption,), name=name)
