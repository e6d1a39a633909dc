"""What a quantity is: "3.2 ± 0.05 mm" as an SI value with its tolerance, unit and place."""

from __future__ import annotations

import math
import re
from dataclasses import field

from saltline.quantity_kinds import ANGULAR_RATE, example_of
from saltline.quantity_kinds import KINDS as KINDS
from saltline.record import record
from saltline.units import ACCELERATION, KNOWN, RATE, Dimension, Unit, UnitError, parse_unit
from saltline.words import nearest, quoted


@record
class Place:
    """Where in a file something stands: line and column, both counted from 1."""

    line: int
    column: int


@record
class Quantity:
    """A value in SI units with what is known about it.

    value:     in SI units (m, kg, s, rad and what they make); may be infinite (a rigid hold).
    tolerance: half-width of the 95 % interval (k = 2), SI, 0 where exact.
    unit:      the unit as the user wrote it ("mm"); "" for a pure number.
    path:      the name in the specimen file ("geometry.length"); "" where it has none.
    place:     where in the file it stands; None for built-in values and defaults.
    """

    value: float
    tolerance: float = 0.0
    unit: str = ""
    path: str = ""
    place: Place | None = field(default=None, compare=False)

    @property
    def standard_uncertainty(self) -> float:
        """Half the tolerance: a tolerance is a 95 % interval (JCGM 100:2008, 4.3.4, k = 2)."""
        return self.tolerance / 2.0


class QuantityError(ValueError):
    """A quantity that cannot be read: what was found, what is allowed, what puts it right."""


_LONGEST = 200
_PERCENT = ("%", "percent")

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_PLUS_MINUS = re.compile(r"\s*(?:±|\+/-|\+-)\s*")

# Most files hold none of these, and need not wait until their patterns are compiled.
_FRACTION = r"(?:([0-9]+)[ -]+)?([0-9]+)/([0-9]+)(?![0-9.])"
_BRACKETED = r"\(([^()]*)\)\s*([^()]*)"
_NOT_FINITE = r"(?i)[+-]?\.?(?:nan|inf|infinity)\b"
_MARKED = r"[0-9]+(?:\.[0-9]+)*,[0-9]+(?:[.,][0-9]+)*|[0-9]+(?:\.[0-9]+){2,}"
"""Digits with a comma among them, or with more than one point."""


def parse_quantity(
    given: str | float, kind: str, *, path: str = "", place: Place | None = None
) -> Quantity:
    """Read a quantity such as "3.2 ± 0.05 mm", "103 GPa ± 3 %" or (a ratio) 0.34.

    kind:  a name in KINDS, which says what dimension is due.
    path:  goes into the quantity, and its last word into the messages.
    place: goes into the quantity.
    Raises QuantityError.
    """
    reading = _Reading(_name_of(path, kind), given, kind, example_of(path, kind))
    if isinstance(given, bool) or not isinstance(given, (str, int, float)):
        raise reading.error(f"is not {KINDS[kind].a_noun}")
    if not isinstance(given, str):
        try:
            given = repr(float(given))
        except OverflowError:
            raise reading.error("is too large a number") from None
    value, tolerance, unit = reading.parse(given.strip().replace("−", "-"))
    return Quantity(value, tolerance, unit, path, place)


def _corrected(text: str, which: int) -> str:
    """The text with each number that has commas or several points as it may have been meant."""
    return re.sub(_MARKED, lambda found: _meant(found[0])[which], text)


def _meant(number: str) -> list[str]:
    """What a number with commas or several points may have been meant for.

    >>> _meant("3,2"), _meant("1,200"), _meant("1.200,5"), _meant("1,200,000.5")
    (['3.2'], ['1.200', '1200'], ['1200.5'], ['1200000.5'])
    """
    *before, last = re.split("[.,]", number)
    marks = set(re.findall("[.,]", number))
    whole = "".join([*before, last])
    if len(before) == 1:
        return [f"{before[0]}.{last}", whole] if len(last) == 3 else [f"{before[0]}.{last}"]
    return [whole] if len(marks) == 1 and len(last) == 3 else [f"{''.join(before)}.{last}"]


def to_unit(value: float, unit: str, *, kind: str = "") -> float:
    """An SI value in the given unit: the inverse of reading it.

    kind: needed where the unit alone does not tell ("g": a mass or an acceleration; "rad/s" for a
    frequency in Hz). Raises UnitError for an unknown unit.
    """
    return value / _unit(unit, kind).factor


def _unit(text: str, kind: str) -> Unit:
    unit = parse_unit(text, g_is_acceleration=kind == "acceleration")
    if kind == "frequency" and unit.dimension == ANGULAR_RATE:
        return Unit(unit.factor / (2.0 * math.pi), RATE)
    return unit


def _name_of(path: str, kind: str) -> str:
    words = [word for word in path.split(".") if word and not word.isdigit()]
    return words[-1] if words else KINDS[kind].noun


@record
class _Reading:
    """One quantity being read: what its messages need, and the steps in order."""

    name: str
    given: object
    kind: str
    example: str

    def error(self, fault: str, cure: str = "") -> QuantityError:
        """What was found, what is allowed, what puts it right."""
        kind = KINDS[self.kind]
        cure = cure or f'it must be {kind.a_noun}, for example "{self.example}"'
        return QuantityError(f"{self.name} {quoted(str(self.given))} {fault}; {cure}")

    def needs_unit(self, number: str) -> QuantityError:
        unit = KINDS[self.kind].unit
        return QuantityError(f"{self.name} needs a unit, for example {quoted(f'{number} {unit}')}")

    def parse(self, text: str) -> tuple[float, float, str]:
        """Value and tolerance in SI, and the unit as written."""
        self._refuse_known_slips(text)
        bracketed = re.fullmatch(_BRACKETED, text) if text.startswith("(") else None
        if bracketed:
            text = _PLUS_MINUS.sub(f" {bracketed[2]} ± ", bracketed[1]) + f" {bracketed[2]}"
        parts = _PLUS_MINUS.split(text)
        if len(parts) > 2:
            raise self.error(
                "has more than one tolerance", 'write one, for example "3.2 ± 0.05 mm"'
            )
        number, unit = self._number_and_unit(parts[0])
        if len(parts) == 1:
            return self._in_si(number, self._due_unit(unit, parts[0])), 0.0, unit
        width, width_unit = self._number_and_unit(parts[1])
        if width < 0.0:
            raise self.error("has a negative tolerance", "write how far it may lie to either side")
        if not unit and width_unit and width_unit not in _PERCENT:
            unit = width_unit
        value = self._in_si(number, self._due_unit(unit, parts[0]))
        if self._is_relative(number, unit, width, width_unit):
            return value, self._finite(abs(value) * width / 100.0), unit
        if bool(unit) != bool(width_unit):
            raise self.error(
                "has a tolerance without a unit",
                f'write for example "{parts[0]} ± {parts[1]} {unit}" or "{parts[0]} ± 3 %"',
            )
        return value, self._in_si(width, width_unit), unit

    def _refuse_known_slips(self, text: str) -> None:
        if not text:
            raise self.error("is empty")
        if len(text) > _LONGEST:
            raise self.error("is too long to be a quantity")
        marked = re.findall(_MARKED, text) if "," in text or text.count(".") > 1 else ()
        if marked:
            fault = "a comma" if any("," in number for number in marked) else "more than one point"
            cures = [_corrected(text, -1), _corrected(text, 0)]
            raise self.error(
                f"has {fault} in its number",
                "write a decimal point, and nothing between thousands: "
                + " or ".join(quoted(cure) for cure in dict.fromkeys(cures)),
            )

    def _number_and_unit(self, text: str) -> tuple[float, str]:
        fraction = re.match(_FRACTION, text) if "/" in text else None
        if fraction and int(fraction[3]) > 0 and len(fraction[0]) < 20:
            number = int(fraction[1] or 0) + int(fraction[2]) / int(fraction[3])
            return number, text[fraction.end() :].strip()
        match = _NUMBER.match(text)
        if match is None:
            if re.match(_NOT_FINITE, text):
                raise self.error("is not a finite number")
            raise self.error("does not begin with a number")
        rest = text[match.end() :].strip()
        if rest[:1].isdigit() and not rest.startswith("1/"):
            raise self.error("has a space within its number", "write the digits without a space")
        return self._finite(float(match[0])), rest

    def _due_unit(self, unit: str, number: str) -> str:
        if not unit and self.kind != "ratio":
            raise self.needs_unit(number)
        return unit

    def _is_relative(self, number: float, unit: str, width: float, width_unit: str) -> bool:
        """Whether a tolerance is a percentage of the value.

        A ratio may itself be in percent: "0.4 % ± 0.05 %" is absolute. "0.34 ± 3 %" and
        "0.4 % ± 10 %" can only be relative, for otherwise they would reach beyond zero;
        "0.4 ± 0.05 %" may mean either and is refused.
        """
        if width_unit not in _PERCENT:
            return False
        if self.kind != "ratio" or (unit and unit not in _PERCENT) or width >= abs(number):
            return True
        if unit:
            return False
        raise self.error(
            "can be read in two ways",
            f'write "{number:g} % ± {width:g} %" or "{number:g} ± {number * width / 100:.3g}"',
        )

    def _in_si(self, number: float, text: str) -> float:
        try:
            unit = _unit(text, self.kind)
        except UnitError as fault:
            raise self._bad_unit(text, fault) from None
        if unit.dimension not in KINDS[self.kind].dimensions:
            raise self._wrong_dimension(unit.dimension)
        # Fifteen digits: 4.5 g is then 0.0045 kg, not 0.0045000000000000005.
        return float(f"{self._finite(number * unit.factor):.15g}")

    def _bad_unit(self, text: str, fault: UnitError) -> QuantityError:
        if not fault.atom:
            return self.error(f"has the unit {quoted(text)}, which {fault}")
        near = nearest(fault.atom, KNOWN)
        meant = f' (did you mean "{near[0]}"?)' if near else ""
        return self.error(f"has an unknown unit {quoted(fault.atom)}{meant}")

    def _wrong_dimension(self, found: Dimension) -> QuantityError:
        nouns = [kind.a_noun for kind in KINDS.values() if found in kind.dimensions]
        what = f"is {' or '.join(nouns)}" if nouns else "has the unit of something else"
        kind = KINDS[self.kind]
        cure = f'it must be {kind.a_noun}, for example "{self.example}"'
        # kg where N is due: the commonest slip with pounds, which are written alike.
        as_force = tuple(a + b for a, b in zip(found, ACCELERATION, strict=True))
        if as_force in kind.dimensions:
            cure += ' ("lb" and "kg" are masses; a pound-force is "lbf")'
        return self.error(what, cure)

    def _finite(self, number: float) -> float:
        if not math.isfinite(number):
            raise self.error("is too large a number")
        return number
