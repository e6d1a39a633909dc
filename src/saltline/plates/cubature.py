"""Integrals over a rectangle of functions that are singular at a few spots.

The rectangle is cut into boxes until each has at most one spot, in a corner, and is small against
its distance from the others. A box without a spot takes a product of Gauss rules. One with a spot
is cut into two triangles in which every ray from the spot is graded toward it (Duffy 1982, SIAM J.
Numer. Anal. 19, 1260), or into two sectors outside of the circle that the spot leaves out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from saltline.arrays import Values
from saltline.legendre import gauss
from saltline.record import record

SPARE = 10
"""Gauss points beyond those for the polynomials, for the singular factor."""

DEEPEST = 12
"""How often a box is halved at most."""


@record
class Spot:
    """A singular point, m, and the radius of the circle about it that is left out (0 for none)."""

    x: float
    y: float
    radius: float = 0.0


@record
class Rule:
    """Places and weights; shape (n,) each."""

    x: Values
    y: Values
    weights: Values


@record
class _Box:
    """A rectangle, and the degrees of the polynomials on it each way."""

    x: tuple[float, float]
    y: tuple[float, float]
    degrees: tuple[float, float]

    def cut(self, axis: int, place: float) -> list[_Box]:
        """The two parts; what a polynomial of some degree does on half of its element is less."""
        low, high = self.x if axis == 0 else self.y
        parts = []
        for side in ((low, place), (place, high)):
            fewer = math.sqrt((side[1] - side[0]) / (high - low))
            if axis == 0:
                parts.append(_Box(side, self.y, (self.degrees[0] * fewer, self.degrees[1])))
            else:
                parts.append(_Box(self.x, side, (self.degrees[0], self.degrees[1] * fewer)))
        return parts

    @property
    def sides(self) -> tuple[float, float]:
        return self.x[1] - self.x[0], self.y[1] - self.y[0]

    def distance(self, spot: Spot) -> float:
        """How far a spot is from the box, m; 0 inside."""
        away = [
            max(low - v, 0.0, v - high) for v, (low, high) in ((spot.x, self.x), (spot.y, self.y))
        ]
        return math.hypot(*away)


def rectangle_rule(
    breaks: tuple[Sequence[float], Sequence[float]],
    degrees: tuple[Sequence[int], Sequence[int]],
    spots: Sequence[Spot],
) -> Rule:
    """A rule over the rectangle of elements, less the circles that the spots leave out.

    breaks:  element boundaries each way, m.
    degrees: of the polynomials on each element each way.
    spots:   inside, on the rim or near the rectangle.
    """
    parts = []
    reach = 1e-9 * max(breaks[0][-1] - breaks[0][0], breaks[1][-1] - breaks[1][0])
    for x, px in zip(pairwise(breaks[0]), degrees[0], strict=True):
        for y, py in zip(pairwise(breaks[1]), degrees[1], strict=True):
            for box, spot in _leaves(_Box(x, y, (px, py)), spots, reach, DEEPEST):
                parts += [_product(box)] if spot is None else _from_corner(box, spot)
    return _joined(parts)


def disc_rule(spot: Spot, degree: float) -> Rule:
    """A rule over the circle that a spot leaves out.

    degree: of the polynomials over one radius.
    """
    n = 8 + math.ceil(degree)
    xi, w = gauss(n)
    r = spot.radius * (xi + 1.0) / 2.0
    angles = 2.0 * math.pi * np.arange(2 * n + 2) / (2 * n + 2)
    weights = np.outer(w * r * spot.radius / 2.0, np.full(angles.size, 2.0 * math.pi / angles.size))
    return Rule(
        (spot.x + np.outer(r, np.cos(angles))).ravel(),
        (spot.y + np.outer(r, np.sin(angles))).ravel(),
        weights.ravel(),
    )


def _joined(parts: Sequence[Rule]) -> Rule:
    return Rule(
        np.concatenate([part.x for part in parts]),
        np.concatenate([part.y for part in parts]),
        np.concatenate([part.weights for part in parts]),
    )


# -- cutting into boxes ---------------------------------------------------------------------------


def _leaves(
    box: _Box, spots: Sequence[Spot], reach: float, depth: int
) -> list[tuple[_Box, Spot | None]]:
    """The boxes to integrate over, each with the spot in its corner if there is one."""
    here = [spot for spot in spots if box.distance(spot) <= reach]
    cut = _next_cut(box, here, spots, reach) if depth > 0 else None
    if cut is None:
        return [(box, here[0] if here else None)]
    deeper = depth if len(here) > 1 else depth - 1
    return [leaf for part in box.cut(*cut) for leaf in _leaves(part, spots, reach, deeper)]


def _next_cut(
    box: _Box, here: Sequence[Spot], spots: Sequence[Spot], reach: float
) -> tuple[int, float] | None:
    """The axis and the place at which the box is to be cut, None where it is good as it is."""
    if len(here) > 1:
        return _between(here)
    long = 0 if box.sides[0] >= box.sides[1] else 1
    longest, shortest = box.sides[long], box.sides[1 - long]
    sides = (box.x, box.y)
    away = min((box.distance(spot) for spot in spots if spot not in here), default=math.inf)
    if not here:
        return (long, sum(sides[long]) / 2.0) if longest > 1.5 * away else None
    spot = here[0]
    for axis, place in ((0, spot.x), (1, spot.y)):
        if sides[axis][0] + reach < place < sides[axis][1] - reach:
            return axis, place
    low, high = sides[long]
    at_low = (spot.x, spot.y)[long] - low <= reach
    if longest > 2.0 * shortest:
        return long, low + 1.4 * shortest if at_low else high - 1.4 * shortest
    if longest > 1.5 * away and longest > 4.0 * spot.radius:
        return long, (low + high) / 2.0
    return None


def _between(here: Sequence[Spot]) -> tuple[int, float]:
    """A cut between two spots where the gap is widest."""
    widest, best = -math.inf, (0, 0.0)
    for axis in (0, 1):
        ordered = sorted(here, key=lambda spot: (spot.x, spot.y)[axis])
        for one, other in pairwise(ordered):
            low = (one.x, one.y)[axis] + one.radius
            high = (other.x, other.y)[axis] - other.radius
            if high - low > widest:
                widest, best = high - low, (axis, (low + high) / 2.0)
    return best


# -- rules on a box -------------------------------------------------------------------------------


def _points(degree: float) -> int:
    return math.ceil(degree / 2.0) + SPARE


def _product(box: _Box) -> Rule:
    axes = []
    for (low, high), degree in zip((box.x, box.y), box.degrees, strict=True):
        xi, w = gauss(_points(degree))
        axes.append((low + (high - low) * (xi + 1.0) / 2.0, w * (high - low) / 2.0))
    (x, wx), (y, wy) = axes
    X, Y = np.meshgrid(x, y, indexing="ij")
    return Rule(X.ravel(), Y.ravel(), np.outer(wx, wy).ravel())


def _from_corner(box: _Box, spot: Spot) -> list[Rule]:
    """The two triangles from the spot to the two sides across from it."""
    away_x = max(box.x, key=lambda v: abs(v - spot.x)) - spot.x
    away_y = max(box.y, key=lambda v: abs(v - spot.y)) - spot.y
    s, w_s = gauss(_points(max(box.degrees)))
    s, w_s = (s + 1.0) / 2.0, w_s / 2.0
    octaves = 0.0
    if spot.radius > 0.0:
        octaves = max(math.log(math.hypot(away_x, away_y) / spot.radius), 1.0)
    along = math.ceil(sum(box.degrees) * (0.3 + 0.22 * octaves if octaves else 0.8)) + SPARE
    tau, w_tau = gauss(along)
    tau, w_tau = (tau + 1.0) / 2.0, w_tau / 2.0
    rules = []
    for dx, dy in ((np.full_like(s, away_x), away_y * s), (away_x * s, np.full_like(s, away_y))):
        if spot.radius > 0.0:
            # t is the fraction of the ray, and ln t runs evenly from the circle to the side.
            least = np.minimum(spot.radius / np.hypot(dx, dy), 1.0)
            t = least[:, None] ** (1.0 - tau)
            w_t = -np.log(least)[:, None] * t * w_tau
        else:
            t = np.broadcast_to(tau**2, (s.size, tau.size))
            w_t = np.broadcast_to(2.0 * tau * w_tau, t.shape)
        weights = abs(away_x * away_y) * w_s[:, None] * t * w_t
        rules.append(
            Rule(
                (spot.x + dx[:, None] * t).ravel(),
                (spot.y + dy[:, None] * t).ravel(),
                weights.ravel(),
            )
        )
    return rules
