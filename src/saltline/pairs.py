"""Pairs of modes that lie so close that a small imperfection mixes their figures, and into what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

from saltline.mixed_shape import MixedShape
from saltline.modes import Mode, Modes
from saltline.nodes import PlatePattern, plate_pattern
from saltline.plates.plate_shape import PlateShape
from saltline.record import record
from saltline.turning import MASS_SHARE as MASS_SHARE
from saltline.turning import ONE_FREQUENCY, TURNED, Turn, deviations
from saltline.turning import SIDE_SHARE as SIDE_SHARE

NEAR = 0.03
"""Modes closer than this (relative) are partners."""

ALIKE_DEG = 2.0
"""Figures that are turned by less than this look alike."""


@record
class Pair:
    """Two partners.

    apart:  their relative distance.
    turns:  what each imperfection that is tried does to them, the mass first.
    shapes: their figures without a drive; all angles are counted from these.
    """

    first: Mode
    second: Mode
    apart: float
    turns: tuple[Turn, ...]
    shapes: tuple[PlateShape, PlateShape]

    @property
    def low_deg(self) -> float:
        """The least angle that any of the imperfections reaches."""
        return min(turn.low_deg for turn in self.turns)

    @property
    def high_deg(self) -> float:
        """The largest angle that any of the imperfections reaches."""
        return max(turn.high_deg for turn in self.turns)

    @property
    def angle_deg(self) -> float:
        """How far the imperfections turn the one figure toward the other, at most 45."""
        return max(-self.low_deg, self.high_deg)

    @property
    def is_fragile(self) -> bool:
        """Whether a small deviation gives the figures another look."""
        return self.angle_deg > math.degrees(TURNED)

    @property
    def is_exact(self) -> bool:
        """Whether both have one frequency, so that any mixture is a mode already."""
        return self.apart < ONE_FREQUENCY

    @property
    def driven_deg(self) -> float | None:
        """The angle of the mixture that the drive excites, above -90 and to 90; None without."""
        if not isinstance(self.first.shape, MixedShape):
            return None
        (_, a), (_, b) = self.first.shape.parts
        angle = math.degrees(math.atan2(b, a))
        return angle - 180.0 * math.ceil((angle - 90.0) / 180.0)


@record
class Figure:
    """The mixture first cos(angle) + second sin(angle) of a pair, and how it looks."""

    angle_deg: float
    pattern: PlatePattern


def partners(modes: Modes) -> dict[int, list[int]]:
    """Rank -> the ranks of its partners, for the modes that have any."""
    found: dict[int, list[int]] = {}
    for i, j in _near(modes.modes):
        one, other = modes.modes[i].rank, modes.modes[j].rank
        found.setdefault(one, []).append(other)
        found.setdefault(other, []).append(one)
    return found


def pairs(modes: Modes) -> list[Pair]:
    """All pairs of partners of a plate, and how easily each is turned."""
    near = _near(modes.modes)
    if modes.specimen.kind != "plate" or not near:
        return []
    shapes = {i: _undriven(modes.modes[i]) for pair in near for i in pair}
    tried = deviations(modes, near, shapes)
    return [
        Pair(
            modes.modes[i],
            modes.modes[j],
            max(modes.modes[j].frequency_hz / modes.modes[i].frequency_hz - 1.0, 0.0),
            tuple(deviation(i, j) for deviation in tried),
            (shapes[i], shapes[j]),
        )
        for i, j in near
    ]


def figures(pair: Pair) -> list[Figure]:
    """The two figures of a pair, at 0 and 90 degrees, and those at the ends of the range.

    An end from which another that is kept can hardly be told is left out.
    """
    ends = [middle + end for middle in (0.0, 90.0) for end in (pair.low_deg, pair.high_deg)]
    kept = [0.0, 90.0]
    for angle in ends:
        if all(abs((angle - other + 90.0) % 180.0 - 90.0) >= ALIKE_DEG for other in kept):
            kept.append(angle)
    return [figure(pair, angle) for angle in sorted(kept)]


def figure(pair: Pair, angle_deg: float) -> Figure:
    """A mixture of the two figures of a pair."""
    t = math.radians(angle_deg)
    u, v = pair.shapes
    name = f"mixed with {id(v)} at {angle_deg!r} degrees"
    mixed = u.known.get(name)
    if not isinstance(mixed, MixedShape):
        mixed = u.known[name] = MixedShape(((u, math.cos(t)), (v, math.sin(t))))
    return Figure(angle_deg, plate_pattern(mixed))


def _near(modes: Sequence[Mode]) -> list[tuple[int, int]]:
    """Places in the list of the two modes of each pair."""
    return [
        (i, j)
        for i, j in combinations(range(len(modes)), 2)
        if modes[j].frequency_hz <= (1.0 + NEAR) * modes[i].frequency_hz
    ]


def _undriven(mode: Mode) -> PlateShape:
    """The figure that the problem gave the mode, whatever a drive has made of it."""
    assert mode.problem is not None
    assert mode.q is not None
    assert isinstance(mode.shape, PlateShape | MixedShape)
    shape = mode.shape.known.get("undriven")
    if not isinstance(shape, PlateShape):
        shape = mode.problem.shape_of(mode.q)
        assert isinstance(shape, PlateShape)
        mode.shape.known["undriven"] = shape
    return shape
