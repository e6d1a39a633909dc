"""Mode shapes in plain characters, right in the table, for a bench machine that shows no pictures.

A beam is seen from its side, a plate or a disc from above.
"""

from __future__ import annotations

from dataclasses import replace
from functools import singledispatch
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.modes import Modes
from saltline.nodes import BeamPattern, Pattern, pattern_of
from saltline.show.face import face_of
from saltline.show.outline import Outline, outline_of
from saltline.show.table import Column, Result, Row, Table
from saltline.tracing.regions import phases_of

LONG = 41
"""So many characters show a beam's length."""

LEVELS = ".-'"
"""Low, in the middle and high within a line of text."""

LINES = 3
"""So many lines of text show a beam."""

WIDE, HIGH = 33, 11
"""A plate is shown by no more characters and lines than these."""

SLIM = 2.1
"""A character's height over its width on most screens (common practice, no source)."""

HOLDS = {"clamped": "#", "pinned": "^", "guided": "|", "elastic": "~", "free": " "}
"""How an end or edge is held -> its character."""

SPOTS = {"support": "x", "mass": "m", "drive": "v"}
"""What stands on a specimen -> its character."""

NODE, NODE_LINE, FREE_RIM = "o", "*", "."

GIVES_WAY = ("euler_hz", "shear_percent", "nodes_m")
"""Columns of a beam's table whose place the drawing takes, so that it fits on a screen."""

Canvas = list[list[str]]


def with_sketches(result: Result, modes: Modes) -> Result:
    """The result of `predict` with a drawing in each mode's row and in rows added below it.

    The JSON form stays as it is, and CSV would have the added rows: this is for a table alone.
    """
    table = result.tables[0]
    outline = outline_of(modes.specimen)
    rows: list[Row] = []
    for row, mode in zip(table.rows, modes.modes, strict=True):
        lines = sketch_of(mode.shape, pattern_of(mode.shape), outline)
        rows += [{**row, "sketch": lines[0]}, *({"sketch": line} for line in lines[1:]), {}]
    columns = [
        replace(column, shown=column.shown and column.key not in GIVES_WAY)
        for column in table.columns
    ]
    drawn = Table((*columns, Column("sketch", "sketch", words=True)), rows[:-1], table.title)
    said = (_explained(modes),) if rows else ()
    return replace(result, tables=(drawn, *result.tables[1:]), lines=(*result.lines, *said))


def _explained(modes: Modes) -> str:
    """What the characters mean."""
    words = {hold.word for hold in modes.specimen.boundary.values()} - {"free"}
    held = "".join(f", {mark} {word}" for word, mark in HOLDS.items() if word in words)
    there = {spot.what for spot in outline_of(modes.specimen).spots}
    held += "".join(f", {mark} {what}" for what, mark in SPOTS.items() if what in there)
    if modes.specimen.kind == "beam":
        return f"sketch: {NODE} node{held}"
    return f"sketch: {NODE_LINE} node line, + and - move against each other{held}"


@singledispatch
def sketch_of(shape: Any, pattern: Pattern, outline: Outline) -> list[str]:
    """The lines of text that show a mode: of a plate or a disc its node lines from above."""
    face = face_of(shape, pattern, outline)
    sides = outline.high - outline.low
    columns, lines = _size(float(sides[1] / sides[0]))
    canvas: Canvas = [[" "] * columns for _ in range(lines)]
    for line in face.lines:
        for i, j in _cells(_dense(line), outline, columns, lines, rim=1):
            canvas[i][j] = NODE_LINE
    for region in face.phases.regions:
        for i, j in _cells(np.array(region.peaks), outline, columns, lines, rim=1):
            if canvas[i][j] == " ":
                canvas[i][j] = "+" if region.sign > 0 else "-"
    for edge in outline.edges:
        for i, j in _cells(_dense(edge.points), outline, columns, lines, rim=0):
            canvas[i][j] = HOLDS[edge.word].replace(" ", FREE_RIM)
    for spot in outline.spots:
        for i, j in _cells(np.array([spot.at]), outline, columns, lines, rim=1):
            canvas[i][j] = SPOTS[spot.what]
    return ["".join(row).rstrip() for row in canvas]


def _size(aspect: float) -> tuple[int, int]:
    """Characters and lines of a figure so much higher than wide.

    Both odd: a line of symmetry, which is often a node line, then runs through a row and not
    between two.
    """
    columns = max(min(WIDE, round(HIGH * SLIM / aspect)), 9) | 1
    return columns, min(max(round(columns * aspect / SLIM), 3) | 1, HIGH)


def _cells(
    points: Values, outline: Outline, columns: int, lines: int, *, rim: int
) -> list[tuple[int, int]]:
    """The line and the column of each point, keeping so many cells from the border."""
    part = (points - outline.low) / (outline.high - outline.low)
    place = np.column_stack([(1.0 - part[:, 1]) * lines, part[:, 0] * columns]).astype(int)
    place = np.clip(place, rim, [lines - 1 - rim, columns - 1 - rim])
    return [(int(i), int(j)) for i, j in place]


def _dense(line: Values) -> Values:
    """A polyline with points so near to each other that no cell is left out."""
    count = 8 * max(WIDE, HIGH)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    wanted = np.linspace(0.0, along[-1], count)
    return np.column_stack([np.interp(wanted, along, line[:, k]) for k in (0, 1)])


@sketch_of.register
def _(shape: BeamShape, pattern: BeamPattern, outline: Outline) -> list[str]:
    """A beam from its side, the motion at its largest; how it is held stands at its ends."""
    length = float(outline.high[0])
    phases = phases_of(shape)
    x = (np.arange(LONG) + 0.5) / LONG * length
    w = phases.sense / phases.largest * shape.at(x)
    canvas: Canvas = [[" "] * LONG for _ in range(LINES)]
    for column, height in enumerate(np.clip(w, -1.0, 1.0)):
        line, level = divmod(round((height + 1.0) / 2.0 * (LINES * len(LEVELS) - 1)), len(LEVELS))
        canvas[LINES - 1 - line][column] = LEVELS[level]
    for node in pattern.nodes:
        column = min(int(node / length * LONG), LONG - 1)
        for line in canvas:
            line[column] = " "
        canvas[LINES // 2][column] = NODE
    for spot in outline.spots:
        column = min(int(spot.at[0] / length * LONG), LONG - 1)
        if canvas[-1][column] == " ":
            canvas[-1][column] = SPOTS[spot.what]
    start, end = (HOLDS[edge.word] for edge in outline.edges)
    middle = LINES // 2
    return [
        (f"{start}{''.join(line)}{end}" if n == middle else f" {''.join(line)}").rstrip()
        for n, line in enumerate(canvas)
    ]
