"""What a specimen file says of how a place is held: the ends or edges, and stiffnesses.

Each function takes a value of the file and returns the part, or None after it has complained.
"""

from __future__ import annotations

from collections.abc import Mapping

from saltline.files.fields import Value
from saltline.files.specimen_values import RANGES, is_of_another
from saltline.quantity import KINDS, Quantity
from saltline.specimen import BOUNDARY_WORDS, EDGES, RIGID, Hold
from saltline.words import quoted

_HOLDS = ("deflection", "rotation")

# Words that are used elsewhere for the same thing (common practice, no source).
HOLDS_MEANT: Mapping[str, str] = {
    "fixed": "clamped", "built-in": "clamped", "built in": "clamped", "encastre": "clamped",
    "encastré": "clamped", "cantilever": "clamped", "rigid": "clamped", "welded": "clamped",
    "bolted": "clamped", "simply supported": "pinned", "simply-supported": "pinned",
    "simple": "pinned", "supported": "pinned", "hinged": "pinned", "hinge": "pinned",
    "knife edge": "pinned", "sliding": "guided", "none": "free", "open": "free",
    "unsupported": "free",
}  # fmt: skip
STIFFNESSES_MEANT: Mapping[str, str] = {
    "fixed": "rigid", "clamped": "rigid", "infinite": "rigid", "infinity": "rigid", "inf": "rigid",
    "none": "free", "no": "free", "zero": "free",
}  # fmt: skip


def read_boundary(value: Value, *, kind: str, has_hole: bool) -> dict[str, Hold] | None:
    """How each end or edge of a specimen of this kind is held."""
    edges = [edge for edge in EDGES[kind] if edge != "hole" or has_hole]
    example = "{" + ", ".join(f"{edge}: clamped" for edge in edges) + "}"
    if is_of_another(value, kind, EDGES, example=example):
        return None
    fields = value.fields(example)
    if fields is None:
        return None
    if "hole" in EDGES[kind] and not has_hole:
        fields.refuse("hole", "the disc has no hole; add hole_diameter to geometry or remove this")
    found = {edge: fields.need(edge, f"{edge}: clamped") for edge in edges}
    holds = {edge: _edge(v, per_length=kind != "beam") if v else None for edge, v in found.items()}
    fields.finish()
    complete = {edge: hold for edge, hold in holds.items() if hold is not None}
    return complete if len(complete) == len(edges) else None


def _edge(value: Value, *, per_length: bool) -> Hold | None:
    kinds = ("stiffness", "rotational_stiffness")
    if per_length:
        kinds = ("stiffness_per_length", "rotational_stiffness_per_length")
    example = ", ".join(
        f"{part}: {KINDS[kind].example}" for part, kind in zip(_HOLDS, kinds, strict=True)
    )
    if not value.is_mapping:
        word = value.choice(BOUNDARY_WORDS, also=f"{{{example}}}", meant=HOLDS_MEANT)
        if word is None:
            return None
        deflection, rotation = (
            Quantity(stiffness, path=f"{value.path}.{part}", place=value.place)
            for part, stiffness in zip(_HOLDS, BOUNDARY_WORDS[word], strict=True)
        )
        return Hold(deflection, rotation)
    fields = value.fields()
    assert fields is not None
    found = [
        read_stiffness(part, kind=kind) if part else None
        for part, kind in zip(
            (fields.need(part, f"{part}: free") for part in _HOLDS), kinds, strict=True
        )
    ]
    fields.finish()
    return Hold(found[0], found[1]) if found[0] and found[1] else None


def read_stiffness(value: Value, *, kind: str) -> Quantity | None:
    """A stiffness of the given kind: `rigid`, `free` or a quantity."""
    word = value.word or ""
    if word and not word[0].isalpha():
        low, high = RANGES[kind]
        return value.quantity(kind, low=low, high=high)
    words = {"rigid": RIGID, "free": 0.0}
    also = f"a stiffness such as {quoted(KINDS[kind].example)}"
    chosen = value.choice(words, also=also, meant=STIFFNESSES_MEANT)
    if chosen is None:
        return None
    return Quantity(words[chosen], path=value.path, place=value.place)
