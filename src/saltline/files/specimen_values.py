"""What the parts of a specimen file share: sizes that are taken, and mappings of another kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from saltline.files.fields import Fields, Value
from saltline.quantity import Quantity

RANGES: Mapping[str, tuple[float, float]] = {
    "length": (1e-7, 1e3),
    "area": (1e-14, 1e6),
    "second_moment": (1e-28, 1e12),
    "pressure": (1e3, 1e14),
    "density": (0.1, 1e5),
    "mass": (1e-12, 1e6),
    "rotary_inertia": (0.0, 1e9),
    "force": (-1e12, 1e12),
    "stiffness": (0.0, 1e15),
    "rotational_stiffness": (0.0, 1e15),
    "stiffness_per_length": (0.0, 1e15),
    "rotational_stiffness_per_length": (0.0, 1e15),
    "ratio": (1e-7, 10.0),
}
"""Kind -> the SI values taken: wide of anything real, near enough to keep floats from overflow."""


def sized(fields: Fields, key: str, kind: str) -> Quantity | None:
    """A required quantity within RANGES."""
    low, high = RANGES[kind]
    return fields.quantity(key, kind, low=low, high=high)


def sized_if_given(fields: Fields, key: str, kind: str) -> Quantity | None:
    """An optional quantity within RANGES."""
    low, high = RANGES[kind]
    return fields.quantity(key, kind, required=False, low=low, high=high)


def is_of_another(
    value: Value, kind: str, marks: Mapping[str, Sequence[str]], *, example: str
) -> bool:
    """Whether a mapping is that of another kind of specimen, of which it then complains once.

    marks: kind -> the keys by which its mapping is told from those of the others; example: the
    mapping that is due.
    """
    if any(key in marks[kind] for key in value.keys):
        return False
    others = [other for other, keys in marks.items() if any(key in keys for key in value.keys)]
    if len(others) == 1:
        keys = ", ".join(key for key in value.keys if key in marks[others[0]])
        value.complain(
            f"{value.name} is that of a {others[0]} ({keys}), and kind is {kind}; write kind: "
            f"{others[0]}, or for a {kind} {example}"
        )
    return len(others) == 1
