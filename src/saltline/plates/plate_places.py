"""Places on a plate: edges, points, rigid patches, the ends of lines that hold it."""

from __future__ import annotations

import math

from saltline.record import record
from saltline.specimen import Attachment, Specimen, Support

AXIS_EDGES = (("left", "right"), ("bottom", "top"))
"""The edges that close each axis."""

SAME = 1e-9
"""Two places nearer than this fraction of the plate are one."""


@record
class Patch:
    """A rigid patch on a plate: its centre and radius, m, and whether it stands still."""

    at: tuple[float, float]
    radius: float
    is_still: bool


def patches(specimen: Specimen) -> list[Patch]:
    """The rigid patches by which the plate's slope is held, or on which a thing stands."""
    things: list[Support | Attachment] = [*specimen.supports, *specimen.attached]
    return [
        Patch(
            place_of(thing),
            thing.diameter.value / 2.0,
            isinstance(thing, Support) and thing.hold.word == "clamped",
        )
        for thing in things
        if thing.diameter is not None
    ]


def patch_under(specimen: Specimen, at: tuple[float, float]) -> Patch | None:
    """The rigid patch on which a place lies; None where the plate bends."""
    found = (p for p in patches(specimen) if math.dist(p.at, at) < p.radius)
    return next(found, None)


def force_points(specimen: Specimen) -> list[tuple[float, float]]:
    """Where a force acts on a point at which the plate bends and is not held already."""
    places = [place_of(s) for s in specimen.supports if s.diameter is None and not s.to]
    places += [
        place_of(thing)
        for thing in specimen.attached
        if patch_under(specimen, place_of(thing)) is None and not _is_held(specimen, thing)
    ]
    scale = min(specimen.geometry.size)
    apart: list[tuple[float, float]] = []
    for place in places:
        if all(math.dist(place, other) > SAME * scale for other in apart):
            apart.append(place)
    return apart


def is_pressed(specimen: Specimen) -> bool:
    """Whether a force acts at a point or on a patch of the plate."""
    return bool(patches(specimen) or force_points(specimen))


def _is_held(specimen: Specimen, thing: Attachment) -> bool:
    """Whether a thing stands on an edge that does not move."""
    return any(
        math.isinf(specimen.boundary[edge].deflection.value)
        for edge in edges_at(specimen, place_of(thing))
    )


def line_ends(specimen: Specimen, support: Support) -> list[tuple[tuple[float, float], complex]]:
    """The ends of a rigid support along a line, with the direction onward."""
    stiffnesses = (support.hold.deflection.value, support.hold.rotation.value)
    if not support.to or not any(map(math.isinf, stiffnesses)):
        return []
    start, end = place_of(support), (support.to[0].value, support.to[1].value)
    onward = complex(end[0] - start[0], end[1] - start[1])
    onward /= abs(onward)
    return [(start, -onward), (end, onward)]


def inner_line_ends(
    specimen: Specimen, support: Support
) -> list[tuple[tuple[float, float], complex]]:
    """Those within the plate."""
    if edge_along(specimen, support) is not None:
        return []
    ends = line_ends(specimen, support)
    return [(at, ahead) for at, ahead in ends if -ahead not in directions_in(specimen, at)]


def place_of(thing: Support | Attachment) -> tuple[float, float]:
    return thing.at[0].value, thing.at[1].value


INWARD = {"left": 1.0 + 0j, "right": -1.0 + 0j, "bottom": 1j, "top": -1j}
"""The direction into the plate from each edge."""


def edges_at(specimen: Specimen, at: tuple[float, float]) -> list[str]:
    """The edges on which a place lies."""
    found = []
    for (low, high), place, size in zip(AXIS_EDGES, at, specimen.geometry.size, strict=True):
        found += [low] if place <= SAME * size else []
        found += [high] if place >= size * (1.0 - SAME) else []
    return found


def directions_in(specimen: Specimen, at: tuple[float, float]) -> list[complex]:
    """The direction into the plate from each edge on which a place lies."""
    return [INWARD[edge] for edge in edges_at(specimen, at)]


def edge_along(specimen: Specimen, support: Support) -> str | None:
    """The edge on which a support along a line lies with the whole of it."""
    if not support.to:
        return None
    start = edges_at(specimen, place_of(support))
    end = edges_at(specimen, (support.to[0].value, support.to[1].value))
    return next((edge for edge in start if edge in end), None)
