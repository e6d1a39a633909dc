"""A specimen with some of its quantities varied: what is asked for, and each specimen it makes."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from itertools import product

from saltline.files.rewrite import RewriteError, exact_text, rewritten
from saltline.fitting.fittable import ChoiceError, kind_of, resolved, tied
from saltline.quantities_of import quantities
from saltline.quantity import Quantity, QuantityError, parse_quantity
from saltline.record import record
from saltline.specimen import Specimen
from saltline.spread import WITHOUT_EFFECT, changed
from saltline.words import listed, nearest, quoted

MOST_POINTS = 20_000
"""No grid has more points."""

EXAMPLE = "geometry.length=200..400 mm/21"

_RANGE = re.compile(
    r"(?P<low>.+?)\s*\.\.\s*(?P<high>.+?)(?:/\s*(?P<count>[0-9]+)(?P<log>\s*log)?)?"
)
_NUMBER = re.compile(r"\s*[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")


class GridError(ValueError):
    """A grid that cannot be made, in words for the user."""


@record
class Varied:
    """A quantity and the values that it takes.

    paths:   its own first, then those that share its text in the file by an alias and move along.
    kind:    a name in KINDS; unit: as the user wrote it.
    numbers: in that unit; values: SI.
    """

    paths: tuple[str, ...]
    kind: str
    unit: str
    numbers: tuple[float, ...]
    values: tuple[float, ...]

    @property
    def path(self) -> str:
        """Its name."""
        return self.paths[0]


Point = tuple[int, ...]
"""Which value each varied quantity has, as its place in `Varied.values`."""


def parse_varied(specimen: Specimen, text: str) -> Varied:
    """What "geometry.length=200..400 mm/21" or "attached.0.mass=1, 2, 5 g" asks for.

    A range has its number of values after a slash, evenly spaced, or in even ratios with "log"
    after that; a list has commas. The path may be its unmistakable end. Raises GridError.
    """
    name, sign, asked = (part.strip() for part in text.partition("="))
    if not sign or not name or not asked:
        raise GridError(f"{quoted(text)} varies nothing; write it like {quoted(EXAMPLE)}")
    path = _path(specimen, name)
    if path in WITHOUT_EFFECT or path.startswith("drive."):
        raise GridError(f"no natural frequency depends on {path}; vary another quantity")
    kind = kind_of(specimen, path)
    texts = _range(path, asked) if ".." in asked else _list(asked)
    try:
        read = [parse_quantity(text, kind, path=path) for text in texts]
    except QuantityError as fault:
        raise GridError(str(fault)) from None
    if any(quantity.tolerance for quantity in read):
        raise GridError(f"the values of {path} carry a tolerance; write them without it")
    values = tuple(quantity.value for quantity in read)
    if len(set(values)) < len(values):
        raise GridError(f"{quoted(text)} holds one value twice; remove one")
    numbers = tuple(float(_number_of(text)) for text in texts)
    known = quantities(specimen)[path]
    # One word, such as "clamped", states a deflection and a rotation; they are no alias.
    paths = (path, *(() if _is_word(known) else tied(specimen, path, known)))
    return Varied(paths, kind, read[-1].unit, numbers, values)


def _path(specimen: Specimen, name: str) -> str:
    """The path that a name means, that of a hold given as a word among them."""
    able = [
        path
        for path in quantities(specimen)
        if path not in WITHOUT_EFFECT and not path.startswith("drive.")
    ]
    try:
        return resolved(specimen, name)
    except ChoiceError as fault:
        if any(path.endswith(f".{name}") for path in able):
            raise GridError(str(fault)) from None
    near = nearest(name, able)
    meant = f"; did you mean {near[0]}?" if near else ";"
    raise GridError(
        f"{quoted(name)} is no quantity of {specimen.name}{meant} it must be {listed(able)}"
    )


def _list(asked: str) -> list[str]:
    """The values between commas; those without a unit have that of the last one."""
    parts = [part.strip() for part in asked.split(",")]
    if not all(parts):
        raise GridError(f"{quoted(asked)} has an empty place in its list; remove a comma")
    return _with_units(parts)


def _with_units(parts: Sequence[str]) -> list[str]:
    unit = parts[-1].removeprefix(_number_of(parts[-1])).strip()
    bare = [_number_of(part) == part for part in parts]
    return [
        f"{part} {unit}".strip() if is_bare else part
        for part, is_bare in zip(parts, bare, strict=True)
    ]


def _number_of(text: str) -> str:
    match = _NUMBER.match(text)
    return match[0] if match else ""


def _range(path: str, asked: str) -> list[str]:
    """The values of LOW..HIGH UNIT/COUNT."""
    match = _RANGE.fullmatch(asked)
    if match is None or match["count"] is None:
        raise GridError(
            f"{quoted(f'{path}={asked}')} does not say how many values; write their number after "
            f"a slash, like {quoted(EXAMPLE)}"
        )
    low_text, high_text = _with_units([match["low"], match["high"]])
    ends = [_number_of(text) for text in (low_text, high_text)]
    units = [t.removeprefix(n).strip() for t, n in zip((low_text, high_text), ends, strict=True)]
    if not all(ends) or units[0] != units[1]:
        raise GridError(
            f"{quoted(asked)} must be two numbers of one unit; write it like {quoted(EXAMPLE)}"
        )
    low, high, count = float(ends[0]), float(ends[1]), int(match["count"])
    if not low < high:
        raise GridError(f"{quoted(asked)} has its ends reversed; the lower one comes first")
    if not 2 <= count <= MOST_POINTS:
        raise GridError(f"{quoted(asked)}: a range has from 2 to {MOST_POINTS:,} values")
    if match["log"] and low <= 0.0:
        raise GridError(f'{quoted(asked)}: even ratios ("log") begin above zero')
    return [f"{number:.12g} {units[1]}".strip() for number in _spaced(low, high, count, match)]


def _spaced(low: float, high: float, count: int, match: re.Match[str]) -> list[float]:
    parts = [k / (count - 1) for k in range(count)]
    if match["log"]:
        return [low * (high / low) ** part for part in parts]
    return [low + (high - low) * part for part in parts]


# -- the specimens --------------------------------------------------------------------------------


def points_of(varied: Sequence[Varied]) -> tuple[Point, ...]:
    """Every combination, the first quantity varying slowest; raises GridError."""
    doubled = [item.path for n, item in enumerate(varied) if item.path in _paths(varied[:n])]
    if doubled:
        raise GridError(f"{doubled[0]} is varied twice; give it one range")
    many = math.prod(len(item.values) for item in varied)
    if many > MOST_POINTS:
        raise GridError(
            f"the grid has {many:,} points; at most {MOST_POINTS:,} are solved, so ask for fewer "
            "values or split it"
        )
    return tuple(product(*(range(len(item.values)) for item in varied)))


def _paths(varied: Sequence[Varied]) -> set[str]:
    return {path for item in varied for path in item.paths}


def specimen_at(specimen: Specimen, varied: Sequence[Varied], point: Point) -> Specimen:
    """The specimen at a point of the grid; what sits at an end that moves, moves along."""
    for item, number in zip(varied, point, strict=True):
        for path in item.paths:
            specimen = changed(specimen, path, item.values[number])
    return specimen


def check_grid(specimen: Specimen, varied: Sequence[Varied]) -> None:
    """Refuse a grid whose corners no specimen file could describe; raises GridError.

    A wall thicker than its tube or a mass beyond the end would otherwise be solved.
    """
    for corner in product(*(sorted({0, len(item.values) - 1}) for item in varied)):
        made = quantities(specimen_at(specimen, varied, corner))
        fault = _fault(specimen, {path: quantity.value for path, quantity in made.items()})
        if fault:
            where = ", ".join(
                f"{item.path} = {item.numbers[number]:.10g} {item.unit}".rstrip()
                for item, number in zip(varied, corner, strict=True)
            )
            raise GridError(f"with {where} this is no specimen: {fault}")


def _fault(specimen: Specimen, values: Mapping[str, float]) -> str:
    """What a reader of specimen files would say of other values; "" where nothing."""
    texts: dict[str, str] = {}
    for path, old in quantities(specimen).items():
        value = values[path]
        if value == old.value:
            continue
        if _is_word(old):
            if value < 0.0 and not path.endswith("tension"):
                return f"{path} must not be negative"
            continue
        texts[path] = exact_text(old, value, kind_of(specimen, path))
    if not texts or not specimen.text:
        return ""
    try:
        rewritten(specimen, texts)
    except RewriteError as fault:
        return str(fault).removeprefix("the new values make no specimen: ")
    return ""


def _is_word(quantity: Quantity) -> bool:
    """Whether the file gives it as a word ("clamped") or not at all: no number to be replaced."""
    return math.isinf(quantity.value) or (quantity.value == 0.0 and not quantity.unit)
