"""The template of a plate or a disc: node lines as they run, antinodes, rulers from the datum."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from saltline.arrays import Values
from saltline.modes import Mode
from saltline.nodes import Pattern
from saltline.show.face import Face
from saltline.show.outline import Outline, Spot, circle
from saltline.show.pictures import LINE_MM, frequency_text
from saltline.show.pictures_modes import short_count
from saltline.show.table import LengthUnit
from saltline.show.template import (
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
    held_text,
    length_text,
    mode_name,
    outline_lines,
    ruler,
    ruler_height,
    turned,
)

MARKS = (
    "Lines: at rest, with the number of their mode on them. Diamonds: antinodes, with the numbers "
    "of their modes beside them."
)
"""What the marks mean."""

BEYOND_MM = 5.0
"""A centre line runs so far beyond the rim."""

ROOM_MM = 3.0
"""From the rim to the rulers, beside the hatching."""

SAME_MM = 3.0
"""Antinodes nearer to each other than this share their mark's label."""

FAR = np.full((1, 2), 1e9)
"""A line so far away that it is in nobody's way."""

PART_MM = 130.0
"""A node line bears the rank of its mode once in so much of its length."""

TRIED = 24
"""So many places along a node line are tried for its mode's rank."""


def face_template(
    faces: Sequence[Face], modes: Sequence[Mode], patterns: Sequence[Pattern], unit: LengthUnit
) -> tuple[list[Line], list[Label], list[Key]]:
    """Lines, labels and keys of the modes of a plate or a disc; at least one."""
    outline = faces[0].outline
    lines, keys = [], []
    for face, mode, pattern, dashes in zip(faces, modes, patterns, DASHES, strict=False):
        if face.lines:
            node_lines = tuple(line * MM for line in face.lines)
            lines.append(Line(mode_name(mode, "nodes"), node_lines, MEDIUM, dashes))
        marks = tuple(diamond((MM * x, MM * y)) for x, y in _antinodes(face))
        lines.append(Line(mode_name(mode, "antinodes"), marks, THIN))
        text = f"mode {mode.rank}, {frequency_text(mode)}: {short_count(pattern)}"
        keys.append(Key(dashes, text, mode_name(mode, "key")))
    return lines, _ranks(faces, modes, outline), keys


# -- ranks ----------------------------------------------------------------------------------------


def _ranks(faces: Sequence[Face], modes: Sequence[Mode], outline: Outline) -> list[Label]:
    """The rank of its mode on each node line, and the ranks beside each antinode."""
    labels = _antinode_ranks(faces, modes, outline)
    taken = [label.box for label in labels] + [_spot_box(spot) for spot in outline.spots]
    every = [
        (mode, line * MM) for face, mode in zip(faces, modes, strict=True) for line in face.lines
    ]
    for number, (mode, line) in enumerate(every):
        others = np.vstack([*(other for k, (_, other) in enumerate(every) if k != number), FAR])
        for part in _parts(line):
            label = _best(part, str(mode.rank), taken, others)
            label = replace(label, name=mode_name(mode, "node-label"))
            labels.append(label)
            taken.append(label.box)
    return labels


def _parts(line: Values) -> list[Values]:
    """A line in parts that each bear its rank, so that no page has one without."""
    along = _along(line)
    count = max(1, math.ceil(float(along[-1]) / PART_MM))
    ends = along[-1] * np.arange(count + 1) / count
    parts = []
    for low, high in pairwise(ends):
        s = np.concatenate([[low], along[(along > low) & (along < high)], [high]])
        parts.append(np.column_stack([np.interp(s, along, line[:, k]) for k in (0, 1)]))
    return parts


def _along(line: Values) -> Values:
    """How far along its line each point lies, mm."""
    return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])


def _spot_box(spot: Spot) -> Values:
    at, half = MM * np.array(spot.at), MM * spot.diameter / 2.0 + 3.0
    return np.array([at - half, at + half])


def _antinodes(face: Face) -> list[tuple[float, ...]]:
    """Where the regions of a mode move most, m."""
    return [at for region in face.phases.regions for at in region.peaks]


def _antinode_ranks(faces: Sequence[Face], modes: Sequence[Mode], outline: Outline) -> list[Label]:
    """Beside each antinode, toward the middle, the ranks of the modes that have it."""
    found: list[tuple[Values, list[int]]] = []
    for face, mode in zip(faces, modes, strict=True):
        for place in _antinodes(face):
            at = MM * np.array(place)
            near = next((ranks for p, ranks in found if math.dist(p, at) < SAME_MM), None)
            if near is None:
                found.append((at, [mode.rank]))
            elif mode.rank not in near:
                near.append(mode.rank)
    middle = MM * (outline.low + outline.high) / 2.0
    labels: list[Label] = []
    for at, ranks in found:
        name = f"mode-{'-'.join(map(str, ranks))}-antinode-label"
        inward = np.sign(np.round(middle - at, 6))
        labels.append(_beside(at, inward, " ".join(map(str, ranks)), name, labels))
    return labels


def _beside(at: Values, inward: Values, text: str, name: str, labels: Sequence[Label]) -> Label:
    """Ranks beside an antinode, where they cover no other ones.

    inward: the signs of the way to the middle.
    """
    ways = (
        inward,
        inward * (1, -1),
        inward * (-1, 1),
        -inward,
        np.array([0.0, 1.0]),
        -inward[::-1],
    )
    tried = []
    for far in (1.0, 2.6):
        for way in ways:
            # Above, where there is no way inward.
            dx, dy = way if way.any() else (0.0, 1.2)
            place = (float(at[0] + 2.0 * dx), float(at[1] + 2.2 * far * dy))
            label = Label(text, place, 0.5 - 0.5 * float(dx), is_framed=True, name=name)
            if not any(_overlap(label.box, other.box) for other in labels):
                return label
            tried.append(label)
    return tried[0]


def _overlap(one: Values, other: Values) -> bool:
    return bool(np.all(one[0] < other[1]) and np.all(other[0] < one[1]))


def _best(line: Values, text: str, taken: Sequence[Values], others: Values) -> Label:
    """The rank on the place along its line that is farthest from other ranks and lines."""
    along = _along(line)
    tried = [
        np.array([np.interp(s, along, line[:, 0]), np.interp(s, along, line[:, 1])])
        for s in along[-1] * (np.arange(TRIED) + 0.5) / TRIED
    ]
    places = [(_room(at, text, taken, others), -n) for n, at in enumerate(tried)]
    at = tried[-max(places)[1]]
    return Label(text, (float(at[0]), float(at[1])), is_framed=True)


def _room(at: Values, text: str, taken: Sequence[Values], others: Values) -> float:
    """How far a rank at a place keeps from other ranks and from other lines, at most 8 mm, mm."""
    box = Label(text, (float(at[0]), float(at[1]))).box
    gap = 8.0
    if taken:
        boxes = np.array(taken)
        gap = float(np.maximum(boxes[:, 0] - box[1], box[0] - boxes[:, 1]).max(axis=1).min())
    lines = float(np.linalg.norm(others - at, axis=1).min())
    return round(min(8.0, gap, lines - 1.5), 1)


# -- the ground -----------------------------------------------------------------------------------


def plate_ground(outline: Outline, unit: LengthUnit) -> tuple[list[Line], list[Label]]:
    """A plate's outline, centre lines, datum, rulers along the bottom and the left edge."""
    width, height = (MM * float(v) for v in outline.high)
    lines, labels = [*outline_lines(outline), _centre_lines(outline)], []
    lines.append(Line("datum", tuple(cross((0.0, 0.0), 4.0)), THICK))
    off = -ROOM_MM
    rule, numbers = ruler(0.0, width, zero=0.0, at=off, side=-1.0, unit=unit)
    up, turned_numbers = turned(*ruler(0.0, height, zero=0.0, at=off, side=-1.0, unit=unit))
    lines += [rule, up]
    labels += [*numbers, *turned_numbers]
    y = off - ruler_height(unit) - 1.0
    size = f"{length_text(width / MM, unit)} × {length_text(height / MM, unit)}"
    held = [held_text(edge) for edge in outline.edges if edge.word != "free"]
    words = ["datum 0, 0: left bottom corner", size, *(held or ["all edges free"])]
    for text in words:
        labels.append(Label(text, (0.0, y), 0.0, 1.0))
        y -= LINE_MM
    more_lines, more_labels = _spots(outline)
    return [*lines, *more_lines], [*labels, *more_labels]


def disc_ground(outline: Outline, unit: LengthUnit) -> tuple[list[Line], list[Label]]:
    """A disc's rim, hole and centre lines, degrees about the rim, a ruler from the centre."""
    radius = MM * float(outline.high[0])
    lines: list[Line] = [*outline_lines(outline), _centre_lines(outline)]
    lines.append(Line("datum", tuple(cross((0.0, 0.0), 4.0)), THICK))
    ticks, labels = [], []
    reach = radius + HATCH_MM[1] + 1.0
    for degrees in range(0, 360, 5):
        direction = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
        long = 3.0 if degrees % 30 == 0 else 2.0 if degrees % 10 == 0 else 1.2
        ticks.append(np.array([reach * direction, (reach + long) * direction]))
        if degrees % 30 == 0:
            x, y = (reach + 4.5) * direction
            across, upright = 0.5 - 0.5 * direction
            labels.append(Label(f"{degrees}°", (x, y), float(across), float(upright)))
    lines.append(Line("degrees", tuple(ticks), THIN))
    low = -reach - 4.5 - LINE_MM - 3.0
    rule, numbers = ruler(-radius, radius, zero=0.0, at=low, side=-1.0, unit=unit)
    y = low - ruler_height(unit) - 1.0
    words = [
        f"datum 0: centre; diameter {length_text(2.0 * radius / MM, unit)}",
        *(held_text(edge) for edge in outline.edges),
        "nodal diameters may stand at any angle: turn them to what is found",
    ]
    for text in words:
        labels.append(Label(text, (-radius, y), 0.0, 1.0))
        y -= LINE_MM
    more_lines, more_labels = _spots(outline)
    return [*lines, rule, *more_lines], [*labels, *numbers, *more_labels]


def _centre_lines(outline: Outline) -> Line:
    """A cross in the middle and the ends of the centre lines, beyond the rim.

    Between them they would lie on node lines, and two kinds of dashes on each other are a third.
    """
    (left, low), (right, high) = MM * outline.low, MM * outline.high
    x, y = (left + right) / 2.0, (low + high) / 2.0
    ends = [
        np.array([[left - BEYOND_MM, y], [left, y]]),
        np.array([[right, y], [right + BEYOND_MM, y]]),
        np.array([[x, low - BEYOND_MM], [x, low]]),
        np.array([[x, high], [x, high + BEYOND_MM]]),
    ]
    return Line("centre-lines", (*cross((x, y)), *ends), THIN)


def _spots(outline: Outline) -> tuple[list[Line], list[Label]]:
    """Supports, masses and the driving point."""
    lines, labels = [], []
    for spot in outline.spots:
        at = (MM * spot.at[0], MM * spot.at[1])
        marks = cross(at)
        if spot.diameter:
            marks.append(circle(spot.diameter / 2.0, spot.at) * MM)
        lines.append(Line(spot.what, tuple(marks), THIN))
        reach = max(MM * spot.diameter / 2.0, 2.0)
        labels.append(Label(spot.what, (at[0], at[1] - reach - 0.8), 0.5, 1.0, is_framed=True))
    return lines, labels
