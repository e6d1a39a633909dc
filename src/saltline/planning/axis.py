"""Where the drive axis of a rig meets a specimen that is moved by its supports.

The rig file may say so. Else a specimen that is clamped at one side alone has the axis behind the
clamp's face, in the middle of that side; one that is held otherwise has it at the mean of the
middles of all that holds it: its supports at points, its held edges, its lines. SI throughout.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from saltline.arrays import Values
from saltline.planning.rig import Rig
from saltline.record import record
from saltline.specimen import Specimen, Support

SIDES: Mapping[str, tuple[int, float]] = {
    "start": (0, 0.0),
    "end": (0, 1.0),
    "left": (0, 0.0),
    "right": (0, 1.0),
    "bottom": (1, 0.0),
    "top": (1, 1.0),
}
"""End or edge -> the axis across it, and where along that it lies, as a part of the size."""


@record
class Axis:
    """The drive axis.

    at:    in the coordinates in which places on the specimen are given, m; () on a disc, whose
           centre it goes through.
    known: by what: "stated" (the rig's drive_axis), "clamp" (its clamp_distance), "face" (at the
           clamp's face, assumed since no clamp_distance is stated), "holds" (the middle of what
           holds the specimen, assumed) or "centre" (of a disc).
    """

    at: tuple[float, ...]
    known: str

    @property
    def is_assumed(self) -> bool:
        """Whether nothing in the files says where it is."""
        return self.known in ("face", "holds")


def drive_axis(specimen: Specimen, rig: Rig) -> Axis:
    """The drive axis of a specimen that its supports move; something must hold it."""
    if not specimen.geometry.size:
        return Axis((), "centre")
    if rig.exciter.drive_axis:
        return Axis(tuple(q.value for q in rig.exciter.drive_axis), "stated")
    side = held_side(specimen)
    if side is None:
        mean = np.mean([*_sides_held(specimen).values(), *_supports_held(specimen)], axis=0)
        return Axis(tuple(float(x) for x in mean), "holds")
    away = rig.exciter.clamp_distance
    at = _sides_held(specimen)[side]
    across, part = SIDES[side]
    at[across] += (2.0 * part - 1.0) * (0.0 if away is None else away.value)
    return Axis(tuple(float(x) for x in at), "face" if away is None else "clamp")


def held_side(specimen: Specimen) -> str | None:
    """The end or edge at which alone a beam or a plate is held; None where it is held otherwise."""
    sides = _sides_held(specimen)
    return next(iter(sides)) if len(sides) == 1 and not _supports_held(specimen) else None


def _sides_held(specimen: Specimen) -> dict[str, Values]:
    """The middles of the ends or edges that are held against deflection."""
    size = np.array(specimen.geometry.size)
    held = {}
    for name, hold in specimen.boundary.items():
        if name in SIDES and hold.deflection.value > 0.0:
            across, part = SIDES[name]
            at = size / 2.0
            at[across] = part * size[across]
            held[name] = at
    return held


def _supports_held(specimen: Specimen) -> list[Values]:
    """The middles of the supports that hold against deflection."""
    return [_middle(support) for support in specimen.supports if support.hold.deflection.value > 0]


def _middle(support: Support) -> Values:
    ends = [[q.value for q in place] for place in (support.at, support.to) if place]
    return np.asarray(np.mean(ends, axis=0))
