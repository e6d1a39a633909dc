"""What an option may hold: a quantity, how many modes, which ranks, a mass at a place."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from saltline.quantity import Quantity

    ParamType = click.ParamType[Any]
else:  # generic only in newer releases of click
    ParamType = click.ParamType


def _nothing(text: str, quantity: Quantity) -> str:
    return ""


class QuantityParameter(ParamType):
    """A quantity with its unit, in SI.

    fault: of the text and the quantity, what is wrong with it beside its kind; "" for nothing.
    """

    name = "quantity"

    def __init__(self, kind: str, fault: Callable[[str, Quantity], str] = _nothing) -> None:
        self.kind = kind
        self.fault = fault

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float | None:
        """Parse the text; a bad one is a usage error that names the option."""
        from saltline.quantity import QuantityError, parse_quantity

        if not isinstance(value, str):
            return float(value)
        try:
            quantity = parse_quantity(value, self.kind)
        except QuantityError as error:
            self.fail(str(error), param, ctx)
        if quantity.value <= 0.0:
            self.fail(f"{value} must be greater than zero", param, ctx)
        fault = self.fault(value, quantity)
        if fault:
            self.fail(fault, param, ctx)
        return quantity.value


LARGEST_TOLERANCE = 0.5
"""A line farther off than this agrees with nothing: a larger tolerance is a slip."""


def too_large(text: str, tolerance: Quantity) -> str:
    """What to say of a tolerance that can only be a forgotten percent sign; else ""."""
    if tolerance.value <= LARGEST_TOLERANCE:
        return ""
    cure = "" if "%" in text else f'; did you mean "{text} %"?'
    return (
        f"{text} is {100.0 * tolerance.value:g} %, more than the {100.0 * LARGEST_TOLERANCE:g} % "
        f"up to which a line can be told from its neighbours{cure}"
    )


def too_damped(text: str, damping: Quantity) -> str:
    """What to say of a ratio that looks like a percentage, or leaves no resonance; else ""."""
    from saltline.files.specimen_file import forgotten_percent

    fault = forgotten_percent(damping)
    if fault:
        return f"damping ratio {fault}"
    if damping.value >= 1.0:
        return f"a damping ratio of {text} leaves nothing that resonates"
    return ""


class CountParameter(ParamType):
    """How many modes."""

    name = "count"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """Parse the text; a bad one is a usage error that says what to write."""
        text = str(value).strip()
        if not (text.isdecimal() and 1 <= int(text) <= 400):
            last = text.replace(",", "-").rpartition("-")[2].strip()
            many = last if last.isdecimal() and 1 <= int(last) <= 400 else "8"
            self.fail(
                f"{text!r} is no number of modes from 1 to 400; write how many of the lowest are "
                f'wanted, for example "--modes {many}"',
                param,
                ctx,
            )
        return int(text)


class MassAtPlace(ParamType):
    """A mass at a place: "4.5 g at 300 mm", on a plate "4.5 g at 60 mm, 40 mm", or "at centre"."""

    name = "mass at place"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, tuple[float, ...]]:
        """Parse the text; a bad one is a usage error."""
        from saltline.quantity import QuantityError, parse_quantity

        mass, word, place = str(value).partition(" at ")
        place = "" if place.strip() in ("centre", "center") else place.strip().strip("[]")
        if not word:
            self.fail(f'{value!r} must be a mass at a place, like "4.5 g at 300 mm"', param, ctx)
        try:
            parts = [part.strip() for part in place.split(",")] if place else []
            at = tuple(parse_quantity(part, "length").value for part in parts)
            grams = parse_quantity(mass.strip(), "mass").value
        except QuantityError as error:
            self.fail(str(error), param, ctx)
        if grams <= 0.0:
            self.fail(f"{mass.strip()} must be greater than zero", param, ctx)
        return grams, at


class RankRange(ParamType):
    """Which modes by rank: "1-5,8"."""

    name = "ranks"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> frozenset[int]:
        """Parse the text; a bad one is a usage error."""
        if isinstance(value, frozenset):
            return value
        ranks: set[int] = set()
        for part in str(value).split(","):
            first, dash, last = part.strip().partition("-")
            if not (first.isdecimal() and (last.isdecimal() or not dash)):
                self.fail(f'{value!r} is no list of modes; write it like "1-5,8"', param, ctx)
            low, high = int(first), int(last or first)
            if not 1 <= low <= high <= 400:
                self.fail(f"{part.strip()!r}: modes run from 1 to 400, lower first", param, ctx)
            ranks |= set(range(low, high + 1))
        return frozenset(ranks)
