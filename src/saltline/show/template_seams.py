"""Where a template is parted onto several pages, mm: beside what should not be parted."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from saltline.arrays import Values

OVERLAP_MM = 14.0
"""So much of a template is on both of two neighbouring pages where there is room enough."""

LEAST_OVERLAP_MM = 10.0
"""And so much in any case: a ring and what page is glued there still stand on it."""

SHIFT_MM = 30.0
"""So far a seam may lie from where all pages have the same share, or a third of that share."""

STEP_MM = 0.25
"""Places for a seam are tried so near to each other."""

NARROW, UNEVEN = 0.05, 1e-3
"""How bad each mm is by which an overlap is narrower, or by which a share is uneven; what must
least of all be parted is 1 or more."""


def spans(
    obstacles: Values, ends: tuple[float, float], room: float, count: int
) -> list[tuple[float, float]]:
    """From where to where each of some pages shows a drawing along them, mm.

    Each begins at its seam, and the one before it ends `OVERLAP_MM` beyond that, or less where its
    paper ends.
    obstacles: shape (n, 3), from where to where things reach, and how bad a seam in each is.
    ends: of all that is to be shown; room: the most that fits on one page; count: of the pages.
    """
    first, last = ends
    share = (last - first - OVERLAP_MM) / count
    room = max(room, share + OVERLAP_MM)
    beside = _beside(share)
    places = [first + k * share + beside for k in range(1, count)]
    costs = [_cost(at, *obstacles.T) + UNEVEN * np.abs(beside) for at in places]
    starts = [first, *_best(places, costs, (first, last), room)]
    stops = [min(b + OVERLAP_MM, a + room) for a, b in pairwise(starts)]
    return list(zip(starts, [*stops, last], strict=True))


def _beside(share: float) -> Values:
    """How far from an even share seams are tried, that share itself among them."""
    beside = np.arange(STEP_MM, min(SHIFT_MM, share / 3.0), STEP_MM)
    return np.concatenate([-beside[::-1], [0.0], beside])


def _cost(places: Values, low: Values, high: Values, weights: Values) -> Values:
    """How bad a seam is at each place, by what it parts."""
    is_parted = (low < places[:, None]) & (places[:, None] < high)
    return is_parted @ weights


def _best(
    places: Sequence[Values], costs: Sequence[Values], ends: tuple[float, float], room: float
) -> list[float]:
    """The seams that are least bad together, with no page larger than its room.

    Step by step, for each place of a seam, the best way there from the one before it.
    """
    first, last = ends
    before, total = np.array([first]), np.array([0.0])
    ways = []
    for at, cost in zip(places, costs, strict=True):
        every = total + _narrow(at[:, None] - before, room)
        ways.append(np.argmin(every, axis=1))
        before, total = at, cost + every.min(axis=1)
    # The last page overlaps no other.
    total = total + np.where(last - before > room + 1e-9, np.inf, 0.0)
    k = int(np.argmin(total))
    found = []
    for at, way in zip(places[::-1], ways[::-1], strict=True):
        found.append(float(at[k]))
        k = int(way[k])
    return found[::-1]


def _narrow(steps: Values, room: float) -> Values:
    """How bad it is that pages overlap less where their seams are some steps apart, mm."""
    missing = np.maximum(steps + OVERLAP_MM - room, 0.0)
    too_far = missing > OVERLAP_MM - LEAST_OVERLAP_MM
    return np.where(too_far, np.inf, np.where(missing > 1e-9, NARROW * missing, 0.0))
