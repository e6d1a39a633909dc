"""A record does what a frozen dataclass with slots does: both are asked the same."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, asdict, dataclass, field, fields, is_dataclass, replace
from typing import Any

import pytest

from saltline.record import record


@record
class Bar:
    """A bar of the tests."""

    length: float
    name: str = "bar"
    marks: list[int] = field(default_factory=list, compare=False, repr=False)

    @property
    def doubled(self) -> float:
        return 2 * self.length


@dataclass(frozen=True, slots=True)
class StandardBar:
    """The same as the library makes it."""

    length: float
    name: str = "bar"
    marks: list[int] = field(default_factory=list, compare=False, repr=False)


@record
class Rod:
    """Holds what a bar holds, and is not one."""

    length: float
    name: str = "bar"


@record
class Nothing:
    """Holds nothing."""


@record
class Reading:
    """Says itself how it is printed and when it equals another."""

    value: float

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Reading) and abs(self.value - other.value) < 0.5

    def __hash__(self) -> int:
        return 7

    def __repr__(self) -> str:
        return "a reading"


def test_equal_and_hashed_by_what_is_compared() -> None:
    assert Bar(1.0, marks=[1]) == Bar(1.0, "bar", [2])
    assert hash(Bar(1.0, marks=[1])) == hash(Bar(1.0))
    assert Bar(1.0) != Bar(2.0)
    assert Bar(1.0) != Rod(1.0)
    assert Bar(1.0) != (1.0, "bar")
    assert {Rod(1.0): "first"}[Rod(1.0)] == "first"
    assert Nothing() == Nothing()
    assert hash(Nothing()) == hash(Nothing())


def test_what_a_class_says_itself_is_kept() -> None:
    assert Reading(1.0) == Reading(1.2)
    assert hash(Reading(1.0)) == 7
    assert repr(Reading(1.0)) == "a reading"


@pytest.mark.parametrize(
    "change",
    [
        lambda bar: setattr(bar, "length", 2.0),
        lambda bar: setattr(bar, "width", 2.0),
        lambda bar: delattr(bar, "length"),
    ],
)
def test_nothing_is_assigned_or_deleted(change: Callable[[Any], None]) -> None:
    bar = Bar(1.0)
    for one in (bar, StandardBar(1.0)):
        # The library raises TypeError for a name it does not hold; a record refuses all alike.
        with pytest.raises((FrozenInstanceError, TypeError)):
            change(one)
    with pytest.raises(FrozenInstanceError):
        change(bar)
    assert bar.length == 1.0
    assert not hasattr(bar, "__dict__")


def test_made_by_place_or_name_with_defaults() -> None:
    assert Bar(1.0).name == "bar"
    assert Bar(name="rod", length=2.0) == Bar(2.0, "rod")
    first, second = Bar(1.0), Bar(1.0)
    assert first.marks == []
    assert first.marks is not second.marks
    assert Bar(1.0, marks=[3]).marks == [3]
    assert Bar(3.0).doubled == 6.0


@pytest.mark.parametrize(
    ("values", "named", "said"),
    [
        ((), {}, "Bar needs length"),
        ((), {"name": "rod"}, "Bar needs length"),
        ((1.0, "a", [], 4), {}, "Bar does not take 4 values"),
        ((1.0,), {"width": 2.0}, "Bar does not take width"),
        ((1.0,), {"length": 2.0}, "Bar does not take length"),
        ((), {"width": 1.0}, "Bar needs length"),
    ],
)
def test_a_missing_or_foreign_value_is_refused(
    values: tuple[Any, ...], named: dict[str, Any], said: str
) -> None:
    with pytest.raises(TypeError):
        StandardBar(*values, **named)
    with pytest.raises(TypeError) as refused:
        Bar(*values, **named)
    assert str(refused.value) == said


@pytest.mark.parametrize(
    "copied", [copy.copy, copy.deepcopy, lambda bar: pickle.loads(pickle.dumps(bar))]
)
def test_copied_and_pickled_whole(copied: Callable[[Bar], Bar]) -> None:
    again = copied(Bar(1.5, "rod", [1, 2]))
    assert (again.length, again.name, again.marks) == (1.5, "rod", [1, 2])


def test_the_library_takes_it_for_a_dataclass() -> None:
    bar, standard = Bar(1.0, "rod", [1]), StandardBar(1.0, "rod", [1])
    assert is_dataclass(bar)
    assert [it.name for it in fields(Bar)] == [it.name for it in fields(StandardBar)]
    assert asdict(bar) == asdict(standard)
    assert replace(bar, length=2.0) == Bar(2.0, "rod", [1])
    assert repr(bar) == repr(standard).replace("StandardBar", "Bar")
    assert repr(Nothing()) == "Nothing()"
    with pytest.raises(TypeError, match="width"):
        replace(bar, width=1.0)  # type: ignore[call-arg]
