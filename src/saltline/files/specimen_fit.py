"""Whether supports and attached things go together: judged with the whole specimen at hand."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import combinations

from saltline.files.document import Log
from saltline.files.specimen_places import SAME_PLACE
from saltline.quantity import Place, Quantity
from saltline.specimen import (
    Attachment,
    BeamGeometry,
    DiscGeometry,
    Geometry,
    Hold,
    PlateGeometry,
    Support,
)


def check_supports(
    log: Log, geometry: Geometry, boundary: Mapping[str, Hold], supports: tuple[Support, ...]
) -> None:
    """Complain of supports that are already held, meet one another or do not fit."""
    for support in supports:
        for edge in edges_at(geometry, support):
            if boundary[edge].word != "free":
                log.add(
                    _place_of(support),
                    f"this support stands at {edge}, which boundary holds already; remove the "
                    f"support, or write {edge}: free and say here how it is held",
                )
        _check_fit(log, geometry, support)
    scale = max(geometry.size, default=1.0)
    for one, other in combinations(supports, 2):
        apart = distance(one, other)
        if apart <= SAME_PLACE * scale and bool(one.to) == bool(other.to):
            fault = "stands at the same place as another one"
        elif apart < _radius(one) + _radius(other):
            fault = "overlaps another one"
        else:
            continue
        log.add(_place_of(other), f"this support {fault}; remove one of them or move it")


def check_attached(
    log: Log,
    geometry: Geometry,
    supports: tuple[Support, ...],
    attached: tuple[Attachment, ...],
) -> None:
    """Complain of things that turn on a mere point of a plate, or whose foot does not fit."""
    if isinstance(geometry, BeamGeometry):
        return
    for number, thing in enumerate(attached):
        before: list[Support | Attachment] = [*supports, *attached[:number]]
        others = [other for other in before if other.diameter is not None]
        if thing.diameter is None:
            on_a_patch = any(_gap(thing, other) < 0.0 for other in others)
            if thing.rotary_inertia.value > 0.0 and not on_a_patch:
                log.add(
                    thing.rotary_inertia.place,
                    "rotary_inertia acts at a mere point, which thin-plate theory cannot answer: "
                    "the result depends on how large the loaded spot is; add the diameter of the "
                    "foot on which it stands, for example diameter: 8 mm",
                )
            continue
        _check_fit(log, geometry, thing)
        if any(_gap(thing, other) < 0.0 for other in others):
            log.add(
                thing.diameter.place,
                "the foot of this thing overlaps a stud or another foot; move it, or leave its "
                "diameter out: what stands on a stud moves with it",
            )


def _gap(one: Attachment, other: Support | Attachment) -> float:
    """How far the circles on which two things stand are apart, m; negative where they overlap."""
    return math.dist(_values(one.at), _values(other.at)) - _radius(one) - _radius(other)


def distance(one: Support, other: Support) -> float:
    """How far two supports are apart, m; two along lines by their ends, for they may cross."""
    if one.to and other.to:
        ends = [[_values(place) for place in (s.at, s.to)] for s in (one, other)]
        return min(
            max(math.dist(p, q) for p, q in zip(ends[0], order, strict=True))
            for order in (ends[1], ends[1][::-1])
        )
    if other.to:
        one, other = other, one
    place = _values(other.at)
    if not one.to:
        return math.dist(_values(one.at), place)
    low_high = zip(_values(one.at), _values(one.to), place, strict=True)
    return math.hypot(*(v - min(max(v, min(a, b)), max(a, b)) for a, b, v in low_high))


def _values(place: tuple[Quantity, ...]) -> list[float]:
    return [q.value for q in place]


def _place_of(support: Support) -> Place | None:
    return (support.at or (support.hold.deflection,))[0].place


def _radius(thing: Support | Attachment) -> float:
    return thing.diameter.value / 2.0 if thing.diameter else 0.0


def edges_at(geometry: Geometry, support: Support) -> list[str]:
    """The ends or edges on which a support stands, one along a line with the whole of it."""
    pairs = {
        BeamGeometry: (("start", "end"),),
        PlateGeometry: (("left", "right"), ("bottom", "top")),
    }
    found = []
    for (low, high), p, q, size in zip(
        pairs.get(type(geometry), ()),
        support.at,
        support.to or support.at,
        geometry.size,
        strict=False,
    ):
        if max(p.value, q.value) <= SAME_PLACE * size:
            found.append(low)
        if min(p.value, q.value) >= size * (1.0 - SAME_PLACE):
            found.append(high)
    return found


def _check_fit(log: Log, geometry: Geometry, thing: Support | Attachment) -> None:
    diameter = thing.diameter
    if diameter is None:
        return
    if isinstance(geometry, DiscGeometry):
        fits = diameter.value < geometry.diameter.value
    else:
        r = _radius(thing)
        fits = all(
            q.value - r >= -SAME_PLACE * size and q.value + r <= size * (1.0 + SAME_PLACE)
            for q, size in zip(thing.at, geometry.size, strict=True)
        )
    if not fits:
        log.add(
            diameter.place,
            f"diameter of {diameter.value * 1e3:.6g} mm does not fit on the specimen there; it "
            "must lie wholly within the edges",
        )
