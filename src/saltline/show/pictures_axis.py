"""A frequency axis on paper, logarithmic, and the texts that stand at the heads of lines on it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from saltline.record import record
from saltline.show.pictures import LINE_MM
from saltline.show.pictures_labels import spread, text_width

if TYPE_CHECKING:
    from matplotlib.axes import Axes

END_MM = 6.0
"""Room at either end of the axis."""

LEADER_MM = 3.0
"""The height of what leads from a line to the text at its head."""

NARROWEST = 1.05
"""The axis spans at least this ratio."""


@record
class Axis:
    """Frequencies from `low_hz` to `high_hz` over a width in mm."""

    low_hz: float
    high_hz: float
    width: float

    def x(self, hz: float) -> float:
        """The place of a frequency, mm."""
        part = math.log(hz / self.low_hz) / math.log(self.high_hz / self.low_hz)
        return END_MM + part * (self.width - 2.0 * END_MM)


def axis_over(frequencies_hz: Iterable[float], width: float) -> Axis:
    """An axis that holds all of some frequencies; at least one."""
    reach = sorted(frequencies_hz)
    low, high = reach[0], reach[-1]
    if high < NARROWEST * low:
        low, high = low / NARROWEST, high * NARROWEST
    return Axis(low, high, width)


def draw_scale(axes: Axes, axis: Axis) -> None:
    """Round frequencies along the axis."""
    named = spaced_numbers(axis.low_hz, axis.high_hz)
    axes.set_xticks([axis.x(hz) for hz in named], [f"{hz:g}" for hz in named])
    axes.set_xlabel("frequency, Hz (logarithmic)")


def spaced_numbers(low: float, high: float) -> list[float]:
    """Round numbers in a range above zero, about evenly spaced on a logarithmic axis.

    >>> spaced_numbers(20.0, 900.0)
    [20.0, 50.0, 100.0, 200.0, 500.0]
    >>> spaced_numbers(95.0, 760.0)
    [100.0, 200.0, 300.0, 500.0, 700.0]
    """
    if high / low > 8.0:
        return round_numbers(low, high)
    decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    for digits in ((1.0, 2.0, 3.0, 5.0, 7.0), (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)):
        found = [digit * 10.0**k for k in decades for digit in digits]
        found = [value for value in found if low <= value <= high]
        if len(found) >= 4:
            return found
    return round_numbers(low, high)


def round_numbers(low: float, high: float) -> list[float]:
    """Round numbers in a range: 1, 2, 5 a decade over decades, even steps over less.

    >>> round_numbers(20.0, 900.0)
    [20.0, 50.0, 100.0, 200.0, 500.0]
    >>> round_numbers(-1.5, 3.1)
    [-1.0, 0.0, 1.0, 2.0, 3.0]
    """
    if low > 0.0 and high / low > 8.0:
        decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        found = [digit * 10.0**k for k in decades for digit in (1.0, 2.0, 5.0)]
        return [value for value in found if low <= value <= high]
    rough = (high - low) / 6.0
    unit = 10.0 ** math.floor(math.log10(rough))
    step = unit * next(k for k in (1.0, 2.0, 5.0, 10.0) if k * unit >= rough)
    return [k * step for k in range(math.ceil(low / step), math.floor(high / step) + 1)]


# -- heads ----------------------------------------------------------------------------------------


@record
class Heads:
    """Texts above lines, mm.

    texts:  none where there are too many to be read.
    feet:   where the lines are; places: where the texts stand.
    height: of all this; is_upright: whether the texts run upward, for there are many.
    """

    texts: tuple[str, ...]
    feet: tuple[float, ...]
    places: tuple[float, ...]
    height: float
    is_upright: bool

    @property
    def middle(self) -> float:
        """The height of the middle of the texts."""
        return (LEADER_MM + self.height) / 2.0


def heads_of(texts: Sequence[str], feet: Sequence[float], width: float) -> Heads:
    """Texts set out above lines over a width, so that none overlaps another."""
    wide = [text_width(text) for text in texts]
    is_upright = sum(wide) + 2.0 * len(wide) > 0.8 * width
    gap = 0.0 if is_upright else 2.0
    taken = [LINE_MM] * len(wide) if is_upright else wide
    if not texts or sum(taken) + gap * len(taken) > width:
        return Heads((), (), (), 0.0, False)
    places = spread(feet, taken, low=0.0, high=width, gap=gap)
    height = LEADER_MM + 1.0 + (max(wide) if is_upright else LINE_MM)
    return Heads(tuple(texts), tuple(feet), tuple(places), height, is_upright)


def draw_heads(axes: Axes, heads: Heads, y: float) -> None:
    """The texts, and what leads to them from lines that end at a height."""
    for text, foot, place in zip(heads.texts, heads.feet, heads.places, strict=True):
        axes.plot([foot, place], [y, y + LEADER_MM], color="0.0", linewidth=0.4)
        rotation = 90.0 if heads.is_upright else 0.0
        axes.text(place, y + LEADER_MM + 0.5, text, ha="center", va="bottom", rotation=rotation)
