"""Where the registration rings stand on the strip that two pages share, mm."""

from __future__ import annotations

import numpy as np

from saltline.arrays import Values

RING_MM = 3.0
"""Half the size of a ring's cross."""

RING_CLEAR_MM = RING_MM + 0.8
"""So far the middle of a ring keeps from all lines and texts."""

RING_STEP_MM = 0.5
"""Places for a ring are tried so near to each other."""

SEAM_MM = 1.5
"""A ring would stand so far from where it is as near to the seam as may be."""

TOGETHER = 60
"""So many places are looked at together: mostly one of the first is clear."""

ASIDE = 0.1
"""The rings of a strip would stand at this part of its length from both of its ends."""


def rings(pieces: Values, boxes: Values, strip: Values, along: int) -> list[Values]:
    """The middles of the two rings on the strip that two pages share, mm.

    Each stands clear of all else as near as may be to its end of the strip, on its half of it;
    where nothing is clear, it stands where it is clearest.

    pieces: starts and ends of what is drawn straight, shape (n, 2, 2); boxes: corners of all else,
            shape (n, 2, 2); strip: its corners; along: the axis along it.
    """
    starts, steps = _near(pieces, strip)
    boxes = boxes[_is_near(boxes[:, 0], boxes[:, 1], strip)]
    low, high = strip[:, along] + [RING_MM, -RING_MM]
    high = max(high, low + 2.0 * RING_STEP_MM)  # a strip may be shorter than a ring
    middle = (low + high) / 2.0
    near, far = strip[:, 1 - along] + [RING_MM + 0.5, -RING_MM]
    across = np.arange(near, far, RING_STEP_MM)
    # Near to the seam, which is the strip's left or upper edge: what is glued is told at the other.
    centre = near + SEAM_MM if along else far - SEAM_MM
    found: list[Values] = []
    for wanted, ends in ((ASIDE, (low, middle)), (1.0 - ASIDE, (middle, high))):
        want = low + wanted * (high - low)
        every = np.array([(a, b) for a in np.arange(*ends, RING_STEP_MM) for b in across])
        order = np.argsort(np.hypot(every[:, 0] - want, every[:, 1] - centre), kind="stable")
        places = every[order][:, ::-1] if along else every[order]
        found.append(_clear(places, starts, steps, boxes))
        boxes = np.vstack([boxes, ring_box(found[-1])[None]])
    return found


def ring_box(at: Values) -> Values:
    """The left bottom and the right top corner of a ring's cross."""
    return np.array([at - RING_MM, at + RING_MM])


def _near(pieces: Values, strip: Values) -> tuple[Values, Values]:
    """Starts of the pieces that may be near to a strip, and the steps to their ends."""
    near = pieces[_is_near(pieces.min(axis=1), pieces.max(axis=1), strip)]
    return near[:, 0], near[:, 1] - near[:, 0]


def _is_near(low: Values, high: Values, strip: Values) -> Values:
    """Whether each of some boxes may be near to a strip."""
    low, high = low - RING_CLEAR_MM, high + RING_CLEAR_MM
    near: Values = np.all((high >= strip[0]) & (low <= strip[1]), axis=1)
    return near


def _clear(places: Values, starts: Values, steps: Values, boxes: Values) -> Values:
    """The first place that is clear, or the clearest of all."""
    best: Values = places[0]
    most = -np.inf
    for some in np.array_split(places, max(1, len(places) // TOGETHER)):
        room = np.minimum(_room(some, starts, steps, boxes), RING_CLEAR_MM)
        k = int(np.argmax(room))
        if room[k] > most:
            best, most = some[k], room[k]
        if most >= RING_CLEAR_MM:
            break
    return best


def _room(places: Values, starts: Values, steps: Values, boxes: Values) -> Values:
    """How far each place is from the nearest piece of a line and the nearest box, mm."""
    room = np.full(len(places), np.inf)
    if len(starts):
        away = places[:, None] - starts
        part = np.sum(away * steps, axis=2) / np.maximum(np.sum(steps**2, axis=1), 1e-12)
        away -= np.clip(part, 0.0, 1.0)[:, :, None] * steps
        room = np.minimum(room, np.linalg.norm(away, axis=2).min(axis=1))
    if len(boxes):
        low, high = boxes[:, 0], boxes[:, 1]
        beyond = np.maximum(np.maximum(low - places[:, None], places[:, None] - high), 0.0)
        room = np.minimum(room, np.linalg.norm(beyond, axis=2).min(axis=1))
    return room
