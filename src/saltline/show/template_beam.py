"""A beam's template: a strip to be laid along it, with a ruler from its start.

Node lines run across the strip, each with the rank of its mode above; antinodes are diamonds, with
theirs below: on the centre line, or at both edges where the strip twists.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.modes import Mode
from saltline.nodes import BeamPattern
from saltline.show.outline import Outline
from saltline.show.pictures import LINE_MM, frequency_text
from saltline.show.pictures_labels import spread, text_width
from saltline.show.predicted import LOOKS
from saltline.show.table import LengthUnit
from saltline.show.template import (
    CHAIN,
    DASHES,
    HATCH_MM,
    MEDIUM,
    MM,
    THICK,
    THIN,
    Key,
    Label,
    Line,
    cross,
    diamond,
    length_text,
    mode_name,
    outline_lines,
    ruler,
    ruler_height,
)

MARKS = (
    "Lines across the strip: nodes, with the numbers of their modes above. Diamonds: antinodes, "
    "with the numbers of their modes below."
)
"""What the marks mean."""

LEAD_MM = 5.0
"""The height of what leads from the strip to a rank."""

OVER_MM = 1.0
"""So far a node line runs beyond the strip to either side."""

MOST_PLACES = 12
"""Of more nodes than these the key does not say where they are; `mark` lists them."""

MOST_WIDTHS, SPARE_MM = 1.2, 60.0
"""The ranks take no more room than this many lengths of the strip, and so much beside it."""

FAR_MM = 1e6
"""Ranks may stand beyond the strip's ends."""


def beam_template(
    outline: Outline, modes: Sequence[Mode], patterns: Sequence[BeamPattern], unit: LengthUnit
) -> tuple[list[Line], list[Label], list[Key]]:
    """Lines, labels and keys of a beam's template."""
    half = MM * float(outline.high[1])
    length = MM * float(outline.high[0])
    lines, labels = _ground(outline, half, length)
    keys = []
    nodes: list[tuple[float, Mode]] = []
    antinodes: list[tuple[float, Mode]] = []
    for mode, pattern, dashes in zip(modes, patterns, DASHES, strict=False):
        nodes += [(MM * x, mode) for x in pattern.nodes]
        antinodes += [(MM * x, mode) for x in pattern.antinodes]
        across = [np.array([[MM * x, -half - OVER_MM], [MM * x, half + OVER_MM]])
                  for x in pattern.nodes]  # fmt: skip
        if across:
            lines.append(Line(mode_name(mode, "nodes"), tuple(across), MEDIUM, dashes))
        if pattern.antinodes:
            levels = (half, -half) if mode.family == "torsion" else (0.0,)
            diamonds = tuple(diamond((MM * x, y)) for x in pattern.antinodes for y in levels)
            lines.append(Line(mode_name(mode, "antinodes"), diamonds, THIN))
        keys.append(Key(dashes, _key_text(mode, pattern, unit), mode_name(mode, "key")))
    above, below = half + OVER_MM, -half - OVER_MM
    for what, marks, y, side in (("node", nodes, above, 1.0), ("antinode", antinodes, below, -1.0)):
        led, told = _ranks(what, marks, y, side, MOST_WIDTHS * length + SPARE_MM)
        lines += led
        labels += told
    low = below - (LEAD_MM + LINE_MM + 1.0 if antinodes else 2.0)
    measure, numbers = ruler(0.0, length, zero=0.0, at=low, side=-1.0, unit=unit)
    ends = _ends(outline, length, low - ruler_height(unit) - 1.0, unit)
    return [*lines, measure], [*labels, *numbers, *ends], keys


def _ground(outline: Outline, half: float, length: float) -> tuple[list[Line], list[Label]]:
    """The strip, its centre line, the datum, and what stands on it."""
    reach = half + 4.0
    datum = np.array([[0.0, -reach], [0.0, reach]])
    lines = outline_lines(outline)
    lines.append(Line("datum", (datum,), THICK))
    beyond = 5.0
    lines.append(
        Line("centre-line", (np.array([[-beyond, 0.0], [length + beyond, 0.0]]),), THIN, CHAIN)
    )
    labels = [Label("centre line", (length + beyond + 1.0, 0.0), 0.0)]
    for spot in outline.spots:
        at = (MM * spot.at[0], MM * spot.at[1])
        lines.append(Line(spot.what, tuple(cross(at)), THIN))
        labels.append(Label(spot.what, (at[0] + 1.0, at[1] + 2.5), 0.0, is_framed=True))
    return lines, labels


def _ranks(
    what: str, marks: Sequence[tuple[float, Mode]], y: float, side: float, room: float
) -> tuple[list[Line], list[Label]]:
    """The rank of each node or antinode beside the strip, and a thin line that leads to it.

    room: the width that the ranks may take together, mm; of more, nobody could follow the lines.
    """
    if not marks:
        return [], []
    places = [x for x, _ in marks]
    widths = [max(text_width(str(mode.rank)), 1.8) for _, mode in marks]
    if sum(widths) > room:
        text = "too many lines for their ranks: choose fewer modes"
        return [], [Label(text, (0.0, y + side * LEAD_MM), 0.0, 0.0 if side > 0.0 else 1.0)]
    stands = spread(places, widths, low=-FAR_MM, high=FAR_MM, gap=0.8)
    leads, labels = [], []
    for (x, mode), stand in zip(marks, stands, strict=True):
        end = y + side * LEAD_MM
        leads.append(np.array([[x, y], [x, y + 0.25 * side * LEAD_MM], [stand, end]]))
        upright = 0.0 if side > 0.0 else 1.0
        name = mode_name(mode, f"{what}-label")
        labels.append(Label(str(mode.rank), (stand, end + 0.4 * side), 0.5, upright, name=name))
    return [Line(f"{what}-leaders", tuple(leads), THIN)], labels


def _ends(outline: Outline, length: float, y: float, unit: LengthUnit) -> list[Label]:
    """What the strip's two ends are, below the ruler: beside each other where there is room."""
    start, end = (edge.word for edge in outline.edges)
    datum = "clamp line at the start" if start == "clamped" else f"start, {start}"
    left = Label(f"datum 0 = {datum}", (-HATCH_MM[1], y), 0.0, 1.0)
    text = f"{length_text(length / MM, unit)} = end, {end}"
    beside = left.box[1][0] + 3.0 + text_width(text) <= length
    right = Label(text, (length, y if beside else y - LINE_MM), 1.0, 1.0)
    labels = [left, right]
    if not outline.is_as_stated:
        labels.append(Label("width not stated in the file", (0.0, y - 2.0 * LINE_MM), 0.0, 1.0))
    return labels


def _key_text(mode: Mode, pattern: BeamPattern, unit: LengthUnit) -> str:
    """What a mode is and where its nodes and antinodes are."""
    text = f"mode {mode.rank}, {mode.family} {mode.order}, {frequency_text(mode)}: "
    if mode.family != "flatwise":
        text += f"{LOOKS[mode.family]}; "
    many = len(pattern.nodes)
    if many > MOST_PLACES:
        first, last = (unit.text(x) for x in (pattern.nodes[0], pattern.nodes[-1]))
        return text + f"{many} nodes from {first} to {last} {unit.sign}, all of them in the table"
    text += _places("node", pattern.nodes, unit) or "no node"
    antinodes = _places("antinode", pattern.antinodes, unit)
    edges = ", at both edges" if mode.family == "torsion" and antinodes else ""
    return f"{text}, {antinodes}{edges}" if antinodes else text


def _places(word: str, places: Sequence[float], unit: LengthUnit) -> str:
    """ "nodes at 90.6 156.2 mm"; nothing for none."""
    if not places:
        return ""
    return f"{word}{'s' if len(places) > 1 else ''} at {unit.texts(places)} {unit.sign}"
