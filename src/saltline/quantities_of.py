"""Which quantities a specimen is made of, by path, and the same specimen with some replaced."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from functools import cache
from typing import Any

from saltline.quantity import Quantity
from saltline.specimen import Specimen


def quantities(specimen: Specimen) -> dict[str, Quantity]:
    """Every quantity of a specimen by its path ("geometry.section.thickness").

    A section that is the same at both ends of a segment stands here once.
    """
    return {quantity.path: quantity for quantity in _walk(specimen) if quantity.path}


def with_values(specimen: Specimen, values: Mapping[str, float]) -> Specimen:
    """The same specimen with other values.

    values: path -> value in SI units; tolerances and places stay as they are.
    Raises KeyError for a path that the specimen does not have.
    """
    found: set[str] = set()
    # A path begins with the part of the specimen that it lies in, so that the others need no look:
    # half the time of a change, and every tolerance asks for two. What was put on it (a sensor) has
    # a path of its own.
    begun = {path.partition(".")[0] for path in values}
    parts = begun if begun <= set(_names(Specimen)) else set(_names(Specimen))
    new = {name: _replaced(getattr(specimen, name), values, found) for name in parts}
    unknown = values.keys() - found
    if unknown:
        raise KeyError(f"{specimen.name} has no quantity {', '.join(sorted(unknown))}")
    return replace(specimen, **new) if new else specimen


def _walk(part: Any) -> Iterator[Quantity]:
    """Every quantity in it, in the order of the fields."""
    waiting = [part]
    while waiting:
        part = waiting.pop()
        if isinstance(part, Quantity):
            yield part
            continue
        names = _names(part.__class__)
        if names:
            waiting += [getattr(part, name) for name in reversed(names)]
        elif isinstance(part, tuple):
            waiting += reversed(part)
        elif not isinstance(part, _LEAVES) and isinstance(part, Mapping):
            waiting += reversed(tuple(part.values()))


_LEAVES = (str, float, int, type(None))
"""What holds no quantities, told first because there is most of it."""


@cache
def _names(kind: type) -> tuple[str, ...]:
    """The names of a dataclass's fields; none of anything else."""
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else ()


def _replaced(part: Any, values: Mapping[str, float], found: set[str]) -> Any:
    """The part with its quantities replaced, and the very same object where none is.

    found: to it come the paths that are there.
    """
    if isinstance(part, Quantity):
        if part.path not in values:
            return part
        found.add(part.path)
        return replace(part, value=values[part.path])
    names = _names(part.__class__)
    if names:
        new = {}
        for name in names:
            old = getattr(part, name)
            item = _replaced(old, values, found)
            if item is not old:
                new[name] = item
        return replace(part, **new) if new else part
    if isinstance(part, tuple):
        items = tuple(_replaced(item, values, found) for item in part)
        return items if any(a is not b for a, b in zip(items, part, strict=True)) else part
    if not isinstance(part, _LEAVES) and isinstance(part, Mapping):
        entries = {name: _replaced(item, values, found) for name, item in part.items()}
        return entries if any(entries[n] is not part[n] for n in part) else part
    return part
