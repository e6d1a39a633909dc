"""What a specimen file says of places: supports between the ends, and what is attached where."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from saltline.files.fields import Fields, Value
from saltline.files.specimen_holds import read_stiffness
from saltline.files.specimen_values import sized, sized_if_given
from saltline.quantity import Quantity
from saltline.specimen import (
    Attachment,
    Hold,
    Support,
)

SAME_PLACE = 1e-9
"""Two places nearer than this fraction of the specimen are one."""

_PLACES = {"beam": "at: 120 mm", "plate": "at: [60 mm, 60 mm]", "disc": "at: centre"}
_CENTRE = ("centre", "center")

_HOLDS_NOTHING = "this support holds nothing; give deflection or rotation, or remove it"

Size = tuple[float, ...] | None


def read_place(
    fields: Fields, *, kind: str | None, size: Size, key: str = "at"
) -> tuple[Quantity, ...] | None:
    """Where something is, from the key: x on a beam, x and y on a plate, () on a disc.

    size: extent in each direction, m, within which it must lie; None where that is not known.
    """
    if kind == "disc":
        value = fields.find("at")
        if value is not None:
            value.choice(_CENTRE)
        return ()
    value = fields.need(key, _PLACES[kind or "beam"].replace("at", key, 1))
    if value is None or kind is None:
        return None
    values = [value] if kind == "beam" else value.items("[60 mm, 60 mm]")
    if kind == "plate" and values and len(values) != 2:
        value.complain(f"{key} must be two lengths on a plate, x and y, for example [60 mm, 60 mm]")
        return None
    limits = size or (math.inf,) * len(values)
    found = [_coordinate(v, limit) for v, limit in zip(values, limits, strict=False)]
    place = tuple(quantity for quantity in found if quantity is not None)
    return place if place and len(place) == len(found) else None


def _coordinate(value: Value, limit: float) -> Quantity | None:
    quantity = value.quantity("length")
    if quantity is None or -SAME_PLACE * limit <= quantity.value <= limit * (1.0 + SAME_PLACE):
        # 12.2 in and 309.88 mm are the same place, if not the same float.
        return quantity and replace(quantity, value=min(max(quantity.value, 0.0), limit))
    reach = f"0 and {limit * 1e3:.6g} mm" if math.isfinite(limit) else "0 and the specimen's size"
    value.complain(
        f"{value.name} of {quantity.value * 1e3:.6g} mm lies outside of the specimen; it must be "
        f"between {reach}"
    )
    return None


def read_attached(top: Fields, *, kind: str | None, size: Size) -> tuple[Attachment, ...]:
    """What is fixed to the specimen; items with a mistake are left out."""
    found = []
    for fields in _items(top, "attached", f"{{mass: 4.5 g, {_PLACES[kind or 'beam']}}}"):
        mass = sized(fields, "mass", "mass")
        at = read_place(fields, kind=kind, size=size)
        inertia = sized_if_given(fields, "rotary_inertia", "rotary_inertia")
        diameter = None if kind == "beam" else sized_if_given(fields, "diameter", "length")
        fields.finish()
        if inertia is None:
            inertia = Quantity(0.0, path=f"{fields.path}.rotary_inertia")
        if mass is not None and at is not None:
            found.append(Attachment(at, mass, inertia, diameter))
    return tuple(found)


def read_supports(top: Fields, *, kind: str | None, size: Size) -> tuple[Support, ...]:
    """The supports away from the ends; items with a mistake are left out."""
    example = f"{{{_PLACES[kind or 'beam']}, deflection: rigid}}"
    found = [_support(fields, kind, size) for fields in _items(top, "supports", example)]
    return tuple(support for support in found if support is not None)


def _items(top: Fields, key: str, example: str) -> Iterator[Fields]:
    value = top.find(key)
    for item in value.items(f"[{example}]") if value else []:
        fields = item.fields(example)
        if fields is not None:
            yield fields


def _support(fields: Fields, kind: str | None, size: Size) -> Support | None:
    if kind == "plate" and not {"from", "to"}.isdisjoint(fields.keys):
        return _line_support(fields, size)
    at = read_place(fields, kind=kind, size=size)
    value = fields.need("deflection", "deflection: rigid")
    deflection = read_stiffness(value, kind="stiffness") if value else None
    value = fields.find("rotation")
    rotation: Quantity | None = Quantity(0.0, path=f"{fields.path}.rotation")
    if value is not None:
        rotation = read_stiffness(value, kind="rotational_stiffness")
    diameter = None if kind == "beam" else sized_if_given(fields, "diameter", "length")
    fields.finish()
    if rotation is not None and kind in ("plate", "disc"):
        _check_diameter(fields, rotation)
    if at is None or deflection is None or rotation is None:
        return None
    if deflection.value == 0.0 and rotation.value == 0.0:
        fields.complain(_HOLDS_NOTHING)
    return Support(at, Hold(deflection, rotation), diameter)


def _line_support(fields: Fields, size: Size) -> Support | None:
    """A support along a line of a plate that is parallel to an edge."""
    for key, why in (
        ("at", 'at is for a support at a point; along a line "from" and "to" say it all'),
        ("diameter", "diameter is that of a stud; a support along a line has none"),
    ):
        fields.refuse(key, why)
    start, end = (read_place(fields, kind="plate", size=size, key=key) for key in ("from", "to"))
    deflection, rotation = (
        read_stiffness(value, kind=kind) if value else Quantity(0.0, path=f"{fields.path}.{key}")
        for key, kind, value in (
            ("deflection", "stiffness_per_length", fields.need("deflection", "deflection: rigid")),
            ("rotation", "rotational_stiffness_per_length", fields.find("rotation")),
        )
    )
    fields.finish()
    if start is None or end is None or deflection is None or rotation is None:
        return None
    if deflection.value == 0.0 and rotation.value == 0.0:
        fields.complain(_HOLDS_NOTHING)
    scale = max(size or [abs(q.value) for q in (*start, *end)])
    steps = [abs(q.value - p.value) > SAME_PLACE * scale for p, q in zip(start, end, strict=True)]
    if all(steps):
        fields.complain(
            "this support runs aslant; it must run along x or along y, so that from and to have "
            "one coordinate in common"
        )
        return None
    if not any(steps):
        fields.complain("this support has no length; give at for a support at a point")
        return None
    # The coordinate in common is one quantity, by whichever name it goes.
    to = tuple(q if step else p for p, q, step in zip(start, end, steps, strict=True))
    return Support(start, Hold(deflection, rotation), to=to)


def _check_diameter(fields: Fields, rotation: Quantity) -> None:
    """A slope is held by something of a size, never by a point."""
    given = fields.find("diameter")
    if rotation.value > 0.0 and given is None:
        fields.complain(
            "rotation is held at a mere point, which thin-plate theory cannot answer: the result "
            "depends on how large the held spot is; add the diameter of the stud or washer that "
            "holds it, for example diameter: 8 mm"
        )
    if rotation.value == 0.0 and given is not None:
        given.complain(
            "diameter is that of a stud that holds the slope, yet rotation is free; remove it or "
            "add rotation: rigid"
        )
