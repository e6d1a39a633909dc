"""Which quantities of a specimen can be adjusted to what was measured: from where, and how far.

Positive quantities are adjusted in their logarithm, x = ln(v / v0); what may change its sign, or is
a place, in x = (v - v0) / scale. x is 0 at the value of the file.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from saltline.files.rewrite import exact_text
from saltline.fitting.fittable import (
    WIDE_KINDS,
    ChoiceError,
    checked,
    kind_of,
    limits,
    resolved,
    scale_of,
    tied,
)
from saltline.quantities_of import quantities
from saltline.quantity import Quantity, QuantityError, parse_quantity
from saltline.record import record
from saltline.specimen import Specimen
from saltline.spread import moved
from saltline.words import quoted

MOST_X = 600.0
"""The exponential of more is no number."""


@record
class Adjustable:
    """A quantity to be adjusted.

    paths:    its own first, then those that share its text by an alias and move along.
    quantity: as the file states it; kind: a name in KINDS.
    scale:    of x where the quantity is adjusted as it is; 0 where in its logarithm.
    low, high: SI.
    prior:    standard uncertainty of x that the file's tolerance says; 0 where it is not used.
    """

    paths: tuple[str, ...]
    quantity: Quantity
    kind: str
    scale: float
    low: float
    high: float
    prior: float

    @property
    def path(self) -> str:
        """Its name."""
        return self.paths[0]

    @property
    def is_vague(self) -> bool:
        """Whether a first guess of it may be wrong by powers of ten."""
        return self.kind.removesuffix("_per_length") in WIDE_KINDS

    @property
    def start(self) -> float:
        """The value in the file, SI."""
        return self.quantity.value

    def value(self, x: float) -> float:
        """SI value at x."""
        if self.scale:
            return self.start + self.scale * x
        return self.start * math.exp(x) if x < MOST_X else math.inf

    def x(self, value: float) -> float:
        """The inverse of `value`."""
        return (value - self.start) / self.scale if self.scale else math.log(value / self.start)

    def slope(self, x: float) -> float:
        """d value / d x."""
        return self.scale or self.value(x)


def adjustables(
    specimen: Specimen,
    names: Sequence[str],
    bounds: Mapping[str, tuple[float, float]] | None = None,
) -> tuple[Adjustable, ...]:
    """The quantities of these names, each a path or the unmistakable end of one.

    bounds: path -> (low, high), SI, instead of the physical ones.
    Raises ChoiceError with everything that is wrong.
    """
    found: dict[str, Adjustable] = {}
    named, faults = [], []
    for name in names:
        try:
            path = resolved(specimen, name)
            named.append(path)
            item = _adjustable(specimen, path, (bounds or {}).get(path))
        except ChoiceError as fault:
            faults.append(str(fault))
            continue
        if not found.keys() & set(item.paths):
            found[path] = item
    faults += [
        f"{path} has a bound but is not fitted; add --quantity {path}"
        for path in (bounds or {})
        if path not in named
    ]
    if faults:
        raise ChoiceError("\n".join(dict.fromkeys(faults)))
    return tuple(found.values())


def _adjustable(specimen: Specimen, path: str, bound: tuple[float, float] | None) -> Adjustable:
    quantity, kind = checked(specimen, path), kind_of(specimen, path)
    low, high = bound or limits(specimen, path, quantity)
    if not low < quantity.value < high:
        shown = exact_text(quantity, quantity.value, kind)
        raise ChoiceError(
            f"{path} is {shown} in the file, which is not between its bounds; widen them, or "
            "write a value between them into the file"
        )
    scale = scale_of(specimen, path, quantity)
    return Adjustable(
        paths=(path, *tied(specimen, path, quantity)),
        quantity=quantity,
        kind=kind,
        scale=scale,
        low=low,
        high=high,
        prior=quantity.standard_uncertainty / (scale or quantity.value),
    )


def without_priors(chosen: Sequence[Adjustable]) -> tuple[Adjustable, ...]:
    """The same quantities as if the file stated no tolerance for them."""
    return tuple(replace(item, prior=0.0) for item in chosen)


def parse_bound(specimen: Specimen, text: str) -> tuple[str, float, float]:
    """Path, low and high of a bound such as "geometry.length=200..210 mm"; raises ChoiceError."""
    name, sign, limits = text.partition("=")
    low, dots, high = (part.strip() for part in limits.partition(".."))
    if not sign or not dots or not low or not high:
        raise ChoiceError(
            f"{quoted(text)} is no bound; write it like material.youngs_modulus=90..110 GPa"
        )
    path = resolved(specimen, name.strip())
    kind = kind_of(specimen, path)
    try:
        upper = parse_quantity(high, kind, path=path)
        if upper.unit and _is_number(low):
            low += f" {upper.unit}"
        lower = parse_quantity(low, kind, path=path)
    except QuantityError as fault:
        raise ChoiceError(str(fault)) from None
    if not lower.value < upper.value:
        raise ChoiceError(f"{quoted(text)} has its bounds reversed; the lower one comes first")
    return path, lower.value, upper.value


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def values_at(
    specimen: Specimen, chosen: Sequence[Adjustable], x: Sequence[float]
) -> dict[str, float]:
    """SI values by path at x, with those of what moves along with an end."""
    known = quantities(specimen)
    values: dict[str, float] = {}
    for item, x_item in zip(chosen, x, strict=True):
        for path in item.paths:
            for other, value in moved(specimen, path, item.value(x_item)).items():
                before = values.get(other, known[other].value)
                values[other] = before + (value - known[other].value)
    return values
