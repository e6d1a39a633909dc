"""One row of a measured list: a mapping, of whichever form of file, as a resonance."""

from __future__ import annotations

import re

from saltline.files.fields import Fields, Value
from saltline.measured_list import COUNTS, FAMILIES, Measured
from saltline.words import quoted

MOST_ROWS = 2_000
MOST_COUNT = 200
LOWEST_HZ, HIGHEST_HZ = 0.001, 1e6

NUMBERS_OF_HERTZ = {"frequency_hz": 1.0, "frequency_khz": 1000.0}
"""Names of a bare number that is a frequency -> Hz for a unit of it."""

UNITS = {"frequency_hz": "hertz", "frequency_khz": "kilohertz"}

POINT = "write a decimal point, and nothing between thousands"

STANDARD_ERROR = "standard_error_hz"
COLUMNS = ("frequency_hz", "uncertainty_hz", *COUNTS, "family", "note")
"""The columns that a person writes."""

EXTRA = ("damping_ratio", "quality_factor", "amplitude", STANDARD_ERROR)
"""Columns that the tools write beside the frequency."""

KNOWN = (*COLUMNS, "frequency_khz", *EXTRA)

_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[+-]?\.?(?:nan|inf|infinity)", re.IGNORECASE)
_NULLS = ("", "~", "null", "Null", "NULL")


def read_row(fields: Fields) -> Measured | None:
    """A row; None where its frequency is wrong, or where it is not known for a mistake."""
    frequency, tolerance = _frequency(fields)
    uncertainty = _uncertainty(fields, frequency, tolerance)
    counts = {key: _count(value) for key in COUNTS if (value := _given(fields, key))}
    family = _given(fields, "family")
    note = _given(fields, "note")
    row = Measured(
        frequency_hz=frequency or 0.0,
        counts={key: count for key, count in counts.items() if count is not None},
        family=family.choice(FAMILIES) if family else None,
        note=(note.text() if note else None) or "",
        uncertainty_hz=uncertainty,
        place=fields.place,
    )
    for key in fields.keys:
        if key[:1].isdigit():  # of "{frequency: 26,1 Hz}" YAML makes a key "1 Hz"
            fields.refuse(
                key, f"{quoted(key)} stands after a comma; if it is a decimal comma, write a point"
            )
    fields.allow(*(key for key in EXTRA if key in fields.keys))
    fields.finish()
    return row if frequency else None


def _given(fields: Fields, key: str) -> Value | None:
    """The value of an optional key; a null, as other programs write it, is none."""
    value = fields.find(key)
    return None if value is None or value.word in _NULLS else value


def _frequency(fields: Fields) -> tuple[float | None, float]:
    """The frequency and its tolerance, Hz, from a quantity or from a bare number."""
    bare = [key for key in NUMBERS_OF_HERTZ if key in fields.keys]
    if not bare:
        quantity = fields.quantity("frequency", "frequency", low=LOWEST_HZ, high=HIGHEST_HZ)
        return (quantity.value, quantity.tolerance) if quantity else (None, 0.0)
    key, *others = bare
    for other in ("frequency", *others):
        fields.refuse(other, f'{other} and {key} are both given; remove "{key}"')
    value = fields.find(key)
    number = _bare_number(value, UNITS[key]) if value else None
    if value is None or number is None:
        return None, 0.0
    frequency = NUMBERS_OF_HERTZ[key] * number
    if frequency <= 0.0:
        fault = "must be more than zero"
    elif not LOWEST_HZ <= frequency <= HIGHEST_HZ:
        fault = f"must be between {LOWEST_HZ:g} and {HIGHEST_HZ:,.0f} Hz"
    else:
        return frequency, 0.0
    value.complain(f"{key} {quoted(value.word or '')} {fault}; write it in {UNITS[key]}")
    return None, 0.0


def _uncertainty(fields: Fields, frequency: float | None, tolerance: float) -> float:
    """Half-width of the 95 % interval, Hz: as stated, else twice a standard error."""
    value = _given(fields, "uncertainty_hz")
    if value is None:
        # A tool wrote the standard error: one that says nothing is no mistake of the user's.
        error = fields.find(STANDARD_ERROR) if STANDARD_ERROR in fields.keys else None
        stated = 2.0 * (number_of((error.word if error else None) or "") or 0.0)
        return tolerance or (stated if frequency and 0.0 < stated < frequency else 0.0)
    number = _bare_number(value, "hertz")
    if tolerance:
        fault = "stands beside a frequency that has its own tolerance; remove one of the two"
    elif number is None:
        return 0.0
    elif number <= 0.0:
        fault = (
            "must be more than zero; write how far the frequency may lie to either side, or "
            "leave it out"
        )
    elif frequency and number >= frequency:
        fault = "must be less than the frequency; write it in hertz"
    else:
        return number
    value.complain(f"uncertainty_hz {quoted(value.word or '')} {fault}")
    return 0.0


def _bare_number(value: Value, unit: str) -> float | None:
    text = value.text(f"a number of {unit}, for example 26.1")
    if text is None:
        return None
    number = number_of(text)
    if number is None:
        name = f"{value.name} {quoted(text)}"
        if re.search("[0-9],[0-9]", text):
            value.complain(f"{name} has a comma in its number; {POINT}")
        else:
            cure = f"write it in {unit} without the unit, for example 26.1"
            what = "a finite number" if _NOT_FINITE.fullmatch(text) else "a number"
            value.complain(f"{name} is not {what}; {cure}")
    return number


def _count(value: Value) -> int | None:
    allowed = f"a whole number from 0 to {MOST_COUNT}"
    text = value.text(allowed)
    if text is None:
        return None
    number = number_of(text)
    if number is not None and 0.0 <= number <= MOST_COUNT and number.is_integer():
        return int(number)
    cure = "write how many were counted, or leave it out"
    value.complain(f"{value.name} {quoted(text)} must be {allowed}; {cure}")
    return None


def number_of(text: str) -> float | None:
    """A decimal number (infinite where it is too large), None where the text is none."""
    text = text.replace("−", "-")
    return float(text) if _NUMBER.fullmatch(text) else None
