"""What is on a true-scale template: lines and texts in mm, in the specimen's own coordinates.

Nothing here is drawn; `template_tiles` lays it out on paper and `template_draw` draws it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.modes import Mode
from saltline.record import record
from saltline.show.outline import Edge, Outline, hatch
from saltline.show.pictures import LINE_MM, POINT_MM, TYPE_PT
from saltline.show.pictures_labels import text_width
from saltline.show.table import INCHES, LengthUnit

MM = 1000.0
"""Millimetres in a metre."""

THIN, MEDIUM, THICK = 0.13, 0.25, 0.5
"""Widths of lines, mm."""

CHAIN = (7.0, 1.2, 0.4, 1.2)
"""The dashes of a centre line: long, gap, short, gap, mm."""

DASHES: tuple[tuple[float, ...], ...] = (
    (),
    (4.0, 1.5),
    (0.6, 1.2),
    (4.0, 1.2, 0.6, 1.2),
    (4.0, 1.2, 0.6, 1.2, 0.6, 1.2),
    (8.0, 2.0),
    (1.8, 1.2),
    (8.0, 1.2, 1.8, 1.2),
    (1.8, 1.2, 0.6, 1.2),
    (8.0, 1.2, 0.6, 1.2, 0.6, 1.2, 0.6, 1.2),
)
"""The dashes by which the modes on a template are told apart, in their order, mm."""

MOST_MODES = len(DASHES)
"""A template holds no more modes than there are kinds of lines."""

HATCH_MM = (1.8, 2.0)
"""Distance and length of the hatching of held edges."""

MARK_MM = 1.1
"""Half the size of an antinode's diamond and of other marks."""


@record
class Line:
    """Polylines of one kind, each shape (n, 2), mm.

    name: what they are, in a word or a few joined by "-"; SVG has it as an id.
    """

    name: str
    polylines: tuple[Values, ...]
    width: float = MEDIUM
    dashes: tuple[float, ...] = ()


@record
class Label:
    """A text at a place, mm.

    across, upright: which part of the text stands there: 0 its left or bottom, 1 its right or top.
    is_framed: whether it stands on a white ground, over lines.
    is_turned: whether it runs upward.
    name:      what it belongs to; SVG has it as an id.
    """

    text: str
    at: tuple[float, float]
    across: float = 0.5
    upright: float = 0.5
    is_framed: bool = False
    is_turned: bool = False
    name: str = "text"

    @property
    def box(self) -> Values:
        """Its left bottom and right top corner, shape (2, 2)."""
        size = np.array([text_width(self.text) + 0.6, TYPE_PT * POINT_MM * 1.1])
        share = np.array([self.across, self.upright])
        if self.is_turned:
            size, share = size[::-1], share[::-1]
        low = np.array(self.at) - share * size
        return np.array([low, low + size])


@record
class Key:
    """How the lines of one mode look, and what they are; name: as a line's."""

    dashes: tuple[float, ...]
    text: str
    name: str


@record
class Template:
    """All that is on a template, at true scale.

    name, heading: what it is a template of.
    marks: what its marks mean, a sentence.
    trace: when it was made, and of which file; "" where nobody needs to know.
    """

    name: str
    heading: str
    lines: tuple[Line, ...]
    labels: tuple[Label, ...]
    keys: tuple[Key, ...]
    marks: str
    trace: str = ""

    @property
    def box(self) -> Values:
        """Its left bottom and right top corner, mm, shape (2, 2)."""
        points = [p for line in self.lines for p in line.polylines]
        points += [label.box for label in self.labels]
        every = np.vstack(points)
        return np.array([every.min(axis=0), every.max(axis=0)])


def mode_name(mode: Mode, what: str) -> str:
    """The name of a mode's lines: "mode-3-nodes"."""
    return f"mode-{mode.rank}-{what}"


# -- what all templates have ----------------------------------------------------------------------


def outline_lines(outline: Outline) -> list[Line]:
    """Rims, hatching of what is held, supports along lines."""
    rims = tuple(rim * MM for rim in outline.rims)
    apart, long = (k / MM for k in HATCH_MM)
    ticks = [
        tick * MM
        for edge in outline.edges
        if edge.word != "free"
        for tick in hatch(edge, apart=apart, long=long / 2.0**0.5)
    ]
    lines = [Line("outline", rims, MEDIUM)]
    if ticks:
        lines.append(Line("held", tuple(ticks), THIN))
    if outline.lines:
        lines.append(Line("line-supports", tuple(line * MM for line in outline.lines), THICK))
    return lines


def held_text(edge: Edge) -> str:
    """ "left edge: clamped"."""
    noun = edge.name if edge.name in ("start", "end", "rim", "hole") else f"{edge.name} edge"
    return f"{noun}: {edge.word}"


def diamond(at: Sequence[float], half: float = MARK_MM) -> Values:
    """The mark of an antinode."""
    x, y = at
    return np.array([[x - half, y], [x, y + half], [x + half, y], [x, y - half], [x - half, y]])


def cross(at: Sequence[float], half: float = 2.0 * MARK_MM) -> list[Values]:
    """An upright cross."""
    x, y = at
    return [np.array([[x - half, y], [x + half, y]]), np.array([[x, y - half], [x, y + half]])]


# -- rulers ---------------------------------------------------------------------------------------

TICKS_MM = (1.4, 2.4, 3.6)
"""The lengths of a ruler's ticks, of the finest division first."""


@record
class Division:
    """How a ruler is divided.

    steps:      mm, each a multiple of the one before; the last has numbers.
    per_number: what is counted at each of those.
    """

    steps: tuple[float, float, float]
    per_number: float


DIVISIONS = {
    "mm": Division((1.0, 5.0, 10.0), 10.0),
    "in": Division((25.4 / 16.0, 25.4 / 4.0, 25.4), 1.0),
}
"""Unit -> the division of its ruler: whole, 5 and 10 mm, or 1/16, 1/4 and 1 in."""


def ruler(
    low: float, high: float, *, zero: float, at: float, side: float, unit: LengthUnit
) -> tuple[Line, list[Label]]:
    """A ruler along x at the height `at`, mm; side: 1 with its ticks upward, -1 downward.

    zero: where it begins to count, to both sides.
    """
    division = DIVISIONS[unit.sign]
    fine = division.steps[0]
    lines = [np.array([[low, at], [high, at]])]
    labels = []
    for k in range(int(np.ceil((low - zero) / fine - 1e-9)), int((high - zero) / fine + 1e-9) + 1):
        x = zero + k * fine
        rank = max(n for n, step in enumerate(division.steps) if k % round(step / fine) == 0)
        lines.append(np.array([[x, at], [x, at + side * TICKS_MM[rank]]]))
        if rank == len(division.steps) - 1:
            number = abs(round((x - zero) / division.steps[-1]) * division.per_number)
            place = (x, at + side * (TICKS_MM[-1] + 0.5))
            text = f"{number:g}" if number else f"0 {unit.sign}"
            upright = 0.0 if side > 0.0 else 1.0
            labels.append(Label(text, place, 0.5, upright, name="ruler-number"))
    return Line("ruler", tuple(lines), THIN), labels


def turned(line: Line, labels: Iterable[Label]) -> tuple[Line, list[Label]]:
    """A ruler along y instead of x: x and y exchanged, its texts running upward."""
    return (
        Line(f"{line.name}-y", tuple(p[:, ::-1] for p in line.polylines), line.width, line.dashes),
        [
            replace(label, at=label.at[::-1], is_turned=True, name=f"{label.name}-y")
            for label in labels
        ],
    )


def ruler_height(unit: LengthUnit) -> float:
    """What a ruler takes up beside the line on which it stands, mm."""
    del unit
    return TICKS_MM[-1] + LINE_MM + 0.5


def length_text(metres: float, unit: LengthUnit) -> str:
    """A length with its unit."""
    return f"{unit.text(metres)} {INCHES.sign if unit is INCHES else unit.sign}"
