"""Which quantities a specimen is made of, by path, and the same specimen with some replaced."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, cast

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
    unknown = values.keys() - quantities(specimen).keys()
    if unknown:
        raise KeyError(f"{specimen.name} has no quantity {', '.join(sorted(unknown))}")
    return cast(Specimen, _replaced(specimen, values))


def _walk(part: Any) -> Iterator[Quantity]:
    if isinstance(part, Quantity):
        yield part
    elif is_dataclass(part):
        for field in fields(part):
            yield from _walk(getattr(part, field.name))
    elif isinstance(part, tuple):
        for item in part:
            yield from _walk(item)
    elif isinstance(part, Mapping):
        for item in part.values():
            yield from _walk(item)


def _replaced(part: Any, values: Mapping[str, float]) -> Any:
    """The part with its quantities replaced, and the very same object where none is."""
    if isinstance(part, Quantity):
        return replace(part, value=values[part.path]) if part.path in values else part
    if is_dataclass(part) and not isinstance(part, type):
        old = {field.name: getattr(part, field.name) for field in fields(part)}
        new = {name: _replaced(item, values) for name, item in old.items()}
        return replace(part, **new) if any(new[n] is not old[n] for n in old) else part
    if isinstance(part, tuple):
        items = tuple(_replaced(item, values) for item in part)
        return items if any(a is not b for a, b in zip(items, part, strict=True)) else part
    if isinstance(part, Mapping):
        entries = {name: _replaced(item, values) for name, item in part.items()}
        return entries if any(entries[n] is not part[n] for n in part) else part
    return part
