"""What an option may hold: a quantity, how many modes, which ranks, a mass at a place."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    ParamType = click.ParamType[Any]
else:  # generic only in newer releases of click
    ParamType = click.ParamType


class QuantityParameter(ParamType):
    """A quantity with its unit, in SI."""

    name = "quantity"

    def __init__(self, kind: str) -> None:
        self.kind = kind

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
        return quantity.value


LARGEST_TOLERANCE = 0.5
"""A line farther off than this agrees with nothing: a larger tolerance is a slip."""


class ToleranceParameter(QuantityParameter):
    """How far a frequency may lie off; what can only be a forgotten percent sign is refused."""

    def __init__(self) -> None:
        super().__init__("ratio")

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float | None:
        """Parse the text; a bad one is a usage error that shows what to write."""
        ratio = super().convert(value, param, ctx)
        if ratio is not None and ratio > LARGEST_TOLERANCE:
            cure = "" if "%" in value else f'; did you mean "{value} %"?'
            self.fail(
                f"{value} is {100.0 * ratio:g} %, more than the {100.0 * LARGEST_TOLERANCE:g} % up "
                f"to which a line can be told from its neighbours{cure}",
                param,
                ctx,
            )
        return ratio


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
