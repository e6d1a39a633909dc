"""Records: what is known of a thing, stated once and never changed.

`record` makes of a class what `dataclasses.dataclass(frozen=True, slots=True)` makes of it, and
`dataclasses.fields`, `replace`, `asdict` and `is_dataclass` take it for one. It is here for its
cost: the library compiles six methods for each class when its module is imported, which for the
sixty that one prediction needs took a third of the command's time. Here comparing, printing,
pickling and refusing to change are shared by all records, and the one method that must be written
for each class, `__init__`, is compiled when the first of its kind is made.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, dataclass, field, fields
from operator import attrgetter
from typing import Any, TypeVar, dataclass_transform

T = TypeVar("T")


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
def record(cls: type[T]) -> type[T]:
    """Make a class a record: its annotated names are what it holds, in that order.

    Defaults, `field(default=..., default_factory=..., repr=..., compare=..., hash=...)` and
    methods stand as in a dataclass. What a class defines itself is kept. There is no
    `__post_init__`: a record computes nothing.

    Raises `dataclasses.FrozenInstanceError` where a value of a record is assigned or deleted.
    """
    for name, shared in _SHARED.items():
        if name not in cls.__dict__:
            setattr(cls, name, shared)
    made = dataclass(init=False, repr=False, eq=False, slots=True)(cls)
    _compared_by_values(made)
    _initialised(made)
    return made


def _refuse_to_set(self: object, name: str, value: object) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_to_delete(self: object, name: str) -> None:
    raise FrozenInstanceError(f"cannot delete field {name!r}")


def _printed(self: Any) -> str:
    shown = (f"{it.name}={getattr(self, it.name)!r}" for it in fields(self) if it.repr)
    return f"{type(self).__qualname__}({', '.join(shown)})"


def _state(self: Any) -> list[object]:
    return [getattr(self, it.name) for it in fields(self)]


def _restored(self: Any, state: list[object]) -> None:
    for it, value in zip(fields(self), state, strict=True):
        object.__setattr__(self, it.name, value)


_SHARED: dict[str, Callable[..., object]] = {
    "__setattr__": _refuse_to_set,
    "__delattr__": _refuse_to_delete,
    "__repr__": _printed,
    "__getstate__": _state,
    "__setstate__": _restored,
}


def _compared_by_values(cls: Any) -> None:
    """Equal where the class and all values are; the hash goes by the same values."""
    compared = [it.name for it in fields(cls) if it.compare]
    hashed = [it.name for it in fields(cls) if (it.compare if it.hash is None else it.hash)]
    values = _getter(compared)
    hashed_values = _getter(hashed)

    def equal(self: object, other: object) -> object:
        if type(other) is not type(self):
            return NotImplemented
        return values(self) == values(other)

    def hashed_by_values(self: object) -> int:
        return hash(hashed_values(self))

    own = cls.__dict__
    if "__eq__" not in own:
        cls.__eq__ = equal
    if own.get("__hash__") is None:
        cls.__hash__ = hashed_by_values


def _getter(names: list[str]) -> Callable[[object], object]:
    return attrgetter(*names) if names else lambda _: ()


# -- making one -----------------------------------------------------------------------------------

_NOT_GIVEN = object()


def _initialised(cls: Any) -> None:
    """Give the class an `__init__` that writes and compiles its successor when first called."""

    def first(self: object, *values: object, **named: object) -> None:
        cls.__init__ = _written_init(cls)
        cls.__init__(self, *values, **named)

    cls.__init__ = first


def _written_init(cls: Any) -> Callable[..., None]:
    """The function that takes a record's values by place or by name and keeps them."""
    known: dict[str, object] = {"_keep": object.__setattr__, "_NOT_GIVEN": _NOT_GIVEN}
    parameters = []
    body = []
    for it in fields(cls):
        parameter, value = _parameter(it, known)
        parameters.append(parameter)
        body.append(f"    _keep(self, {it.name!r}, {value})")
    lines = [f"def __init__(self, {', '.join(parameters)}):", *(body or ["    pass"])]
    exec("\n".join(lines), known)
    init: Callable[..., None] = known["__init__"]  # type: ignore[assignment]
    init.__qualname__ = f"{cls.__qualname__}.__init__"
    return init


def _parameter(it: Field[Any], known: dict[str, object]) -> tuple[str, str]:
    """How a value stands among the parameters, and the expression of what is kept of it."""
    if it.default is not MISSING:
        known[f"_default_{it.name}"] = it.default
        return f"{it.name}=_default_{it.name}", it.name
    if it.default_factory is not MISSING:
        known[f"_factory_{it.name}"] = it.default_factory
        value = f"_factory_{it.name}() if {it.name} is _NOT_GIVEN else {it.name}"
        return f"{it.name}=_NOT_GIVEN", value
    return it.name, it.name
