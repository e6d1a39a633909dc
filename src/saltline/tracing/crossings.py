"""Node lines joined where they meet: at crossings, and over what holds the plate at rest."""

from __future__ import annotations

import math

import numpy as np

from saltline.arrays import Flags, Values
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape
from saltline.tracing.saddles import Saddle


def join_at(
    lines: list[Values], saddles: list[Saddle], cell: float
) -> tuple[list[Values], list[int]]:
    """Cut the lines near each crossing and join the ends that face each other through it.

    Returns the lines, and how many go through each saddle: fewer than two is no crossing.
    """
    through = []
    for saddle in saddles:
        radius = max(1.6 * cell, 1.5 * saddle.gap)
        pieces: list[Values] = []
        ends: list[tuple[int, int]] = []  # (piece, 0 for its start or -1 for its end)
        for line in lines:
            near = np.linalg.norm(line - saddle.place, axis=1) < radius
            for piece, start_cut, end_cut in _cut(line, near):
                pieces.append(piece)
                number = len(pieces) - 1
                ends += [(number, 0)] * start_cut + [(number, -1)] * end_cut
        is_crossing = len(ends) >= 4 and len(ends) % 2 == 0
        lines = _link(pieces, ends, saddle.place) if is_crossing else lines
        through.append(len(ends) // 2 if is_crossing else 0)
    return lines, through


def joined_over_patches(
    lines: list[Values], shape: PlateShape | MixedShape, cell: float
) -> tuple[list[Values], list[tuple[Values, int]]]:
    """Join the lines that run to a patch at rest, straight over it.

    Returns the lines, and for each such patch its centre and how many go over it.
    """
    found = []
    for patch, _ in shape.patches:
        centre = np.array(patch.at)
        reached = [_nearest(line, centre) < patch.radius for line in lines]
        if not patch.is_still or not any(reached):
            continue
        radius = max(1.2 * patch.radius, 1.6 * cell)
        pieces: list[Values] = []
        ends: list[tuple[int, int]] = []
        for line, is_reached in zip(lines, reached, strict=True):
            near = (np.linalg.norm(line - centre, axis=1) < radius) & is_reached
            for piece, start_cut, end_cut in _cut(line, near):
                pieces.append(piece)
                number = len(pieces) - 1
                ends += [(number, 0)] * start_cut + [(number, -1)] * end_cut
        if len(ends) % 2 == 0:
            lines = _link(pieces, ends, centre)
            found.append((centre, len(ends) // 2))
    return lines, found


def _nearest(line: Values, place: Values) -> float:
    """The distance from a place to the nearest point of a line."""
    start, step = line[:-1] - place, np.diff(line, axis=0)
    long = np.einsum("ij,ij->i", step, step)
    t = -np.einsum("ij,ij->i", start, step) / np.where(long > 0.0, long, 1.0)
    feet = start + np.clip(t, 0.0, 1.0)[:, None] * step
    return float(np.linalg.norm(feet, axis=1).min(initial=math.inf))


def _cut(line: Values, near: Flags) -> list[tuple[Values, bool, bool]]:
    """The runs of a line outside of the cut, each with whether its start and end are cuts."""
    if not np.any(near):
        return [(line, False, False)]
    closed = bool(np.all(line[0] == line[-1]))
    if closed:
        first = int(np.argmax(near))
        line, near = np.roll(line[:-1], -first, axis=0), np.roll(near[:-1], -first)
    runs = []
    starts = np.flatnonzero(~near & np.concatenate([[True], near[:-1]]))
    for start in starts:
        rest = np.flatnonzero(near[start:])
        stop = start + int(rest[0]) if rest.size else len(line)
        end_cut = stop < len(line) or closed
        runs.append((line[start:stop], bool(start > 0), bool(end_cut)))
    return runs


def _link(pieces: list[Values], ends: list[tuple[int, int]], crossing: Values) -> list[Values]:
    """Join cut ends through the crossing, each with the one most nearly opposite."""
    if not ends:
        return pieces
    away = np.array([pieces[n][side] - crossing for n, side in ends])
    angles = np.arctan2(away[:, 1], away[:, 0])
    order = [ends[i] for i in np.argsort(angles)]
    half = len(order) // 2
    chains: dict[int, Values] = dict(enumerate(pieces))
    owner = {n: n for n in chains}
    for one, other in zip(order[:half], order[half:], strict=True):
        a, b = owner[one[0]], owner[other[0]]
        first = chains[a] if _is_tip(chains[a], pieces[one[0]][one[1]], -1) else chains[a][::-1]
        if a == b:
            chains[a] = np.vstack([first, crossing, first[:1]])
            continue
        second = chains[b] if _is_tip(chains[b], pieces[other[0]][other[1]], 0) else chains[b][::-1]
        chains[a] = np.vstack([first, crossing, second])
        del chains[b]
        owner = {n: a if o == b else o for n, o in owner.items()}
    return list(chains.values())


def _is_tip(chain: Values, point: Values, side: int) -> bool:
    return bool(np.all(chain[side] == point))
