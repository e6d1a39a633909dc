"""Records: what is known of a thing, stated once and never changed.

`record` makes of a class what `dataclasses.dataclass(frozen=True, slots=True)` makes of it, and
`dataclasses.fields`, `replace`, `asdict` and `is_dataclass` take it for one. It is here for its
cost: the library compiles six methods for each class when its module is imported, which for the
sixty that one prediction needs took a third of the command's time. Here all records share theirs
until the first of a class is made or compared; then what is special to the class takes their place.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import MISSING, FrozenInstanceError, dataclass, field, fields
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
    # A slot's own setter: it does not ask `__setattr__`, which refuses.
    slots = [
        (it.name, cls.__dict__[it.name].__set__, it.default, it.default_factory)
        for it in fields(cls)
    ]
    setters = [slot[1] for slot in slots]
    count = len(slots)

    def init(self: object, *values: object, **named: object) -> None:
        if len(values) > count:
            raise TypeError(f"{cls.__qualname__} does not take {len(values)} values")
        for keep, value in zip(setters, values, strict=False):
            keep(self, value)
        for name, keep, default, factory in slots[len(values) :]:
            if name in named:
                keep(self, named.pop(name))
            elif default is not MISSING:
                keep(self, default)
            elif factory is not MISSING:
                keep(self, factory())
            else:
                raise TypeError(f"{cls.__qualname__} needs {name}")
        if named:
            raise TypeError(f"{cls.__qualname__} does not take {', '.join(named)}")

    return init
