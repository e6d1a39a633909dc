"""Records: what is known of a thing, stated once and never changed.

`record` makes of a class what `dataclasses.dataclass(frozen=True, slots=True)` makes of it, and
`dataclasses.fields`, `replace`, `asdict` and `is_dataclass` take it for one. It is here for its
cost: the library compiles six methods for each class when its module is imported, which for the
sixty that one prediction needs took a third of the command's time. Here all records share theirs
until the first of a class is made or compared; then what is special to the class takes their place.
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
        if cls.__dict__.get(name) is None:  # Python sets `__hash__ = None` beside an own `__eq__`
            setattr(cls, name, shared)
    return dataclass(init=False, repr=False, eq=False, slots=True, match_args=False)(cls)


# -- what all records share -----------------------------------------------------------------------


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


# -- what is made for each class when it is first asked for ---------------------------------------


def _first_init(self: Any, *values: object, **named: object) -> None:
    cls: Any = type(self)
    cls.__init__ = _init_of(cls)
    self.__init__(*values, **named)


def _first_equal(self: Any, other: object) -> Any:
    cls: Any = type(self)
    values = _getter([it.name for it in fields(cls) if it.compare])

    def equal(self: object, other: object) -> object:
        """Equal where the class and all values are."""
        if type(other) is not type(self):
            return NotImplemented
        return values(self) == values(other)

    cls.__eq__ = equal
    return equal(self, other)


def _first_hash(self: Any) -> int:
    cls: Any = type(self)
    values = _getter([i.name for i in fields(cls) if (i.compare if i.hash is None else i.hash)])
    cls.__hash__ = lambda self: hash(values(self))
    return hash(self)


def _getter(names: list[str]) -> Callable[[object], object]:
    return attrgetter(*names) if names else lambda _: ()


_SHARED: dict[str, Callable[..., object]] = {
    "__init__": _first_init,
    "__eq__": _first_equal,
    "__hash__": _first_hash,
    "__setattr__": _refuse_to_set,
    "__delattr__": _refuse_to_delete,
    "__repr__": _printed,
    "__getstate__": _state,
    "__setstate__": _restored,
}


# -- making one -----------------------------------------------------------------------------------


def _init_of(cls: Any) -> Callable[..., None]:
    """The function that takes a record's values by place or by name and keeps them."""
    held = fields(cls)
    count = len(held)
    # A slot's own setter: it does not ask `__setattr__`, which refuses.
    setters = [cls.__dict__[it.name].__set__ for it in held]

    def init(self: object, *values: object, **named: object) -> None:
        if named or len(values) != count:
            values = _arranged(cls, held, values, named)
        for keep, value in zip(setters, values, strict=True):
            keep(self, value)

    return init


def _arranged(
    cls: type, held: tuple[Field[Any], ...], values: tuple[object, ...], named: dict[str, object]
) -> tuple[object, ...]:
    """The values of all fields in their order; those that are not given by their defaults."""
    found = list(values)
    missing = []
    for it in held[len(values) :]:
        if it.name in named:
            found.append(named.pop(it.name))
        elif it.default is not MISSING:
            found.append(it.default)
        elif it.default_factory is not MISSING:
            found.append(it.default_factory())
        else:
            missing.append(it.name)
    if missing:
        raise TypeError(f"{cls.__qualname__} needs {', '.join(missing)}")
    if named or len(found) > len(held):
        foreign = ", ".join(named) or f"{len(found)} values"
        raise TypeError(f"{cls.__qualname__} does not take {foreign}")
    return tuple(found)
