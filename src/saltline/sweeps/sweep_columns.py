"""Which column of a recording is which, and in what unit: by its heading, a row of units, or what
the user says."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence

from saltline.files.complaints import Log
from saltline.measured_list import COUNTS
from saltline.quantity import Place
from saltline.record import record
from saltline.words import listed, quoted

ROLES = {
    "frequency_hz": ("frequency", "freq", "f"),
    "amplitude": (
        "magnitude",
        "mag",
        "amp",
        "level",
        "acceleration",
        "velocity",
        "displacement",
    ),
    "phase_deg": ("phase",),
    "real": ("re", "real_part"),
    "imaginary": ("im", "imag", "imaginary_part"),
    "time_s": ("time", "t"),
    "drive": ("force", "input", "excitation"),
    "response": ("output",),
}
"""Name of a column -> further headings by which it is known."""

UNITS = {
    "frequency_hz": {"Hz": 1.0, "kHz": 1e3, "rad/s": 0.5 / math.pi, "rpm": 1.0 / 60.0},
    "time_s": {"s": 1.0, "sec": 1.0, "ms": 1e-3, "us": 1e-6, "µs": 1e-6, "min": 60.0},
    "phase_deg": {"deg": 1.0, "°": 1.0, "degree": 1.0, "degrees": 1.0, "rad": 180.0 / math.pi},
}
"""What one of a unit is in that of the name."""

DECIBEL = "db"

WAYS = "frequency_hz with amplitude, with real and imaginary, or time_s with drive and response"
"""The sets of columns that are a recording."""

_BRACKETED = re.compile(r"(.*?)[\s_]*[\[(]([^\])]*)[\])]\s*")
_ENDING = re.compile(r"(.+)_(khz|hz|rpm|deg|rad|ms|us|s|db)")
_NUMBER = re.compile(r"[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)(?:[eE][+-]?[0-9]+)?")


@record
class Heading:
    """A column that is used: its role, its number from 0, its unit as written, where it stands."""

    role: str
    number: int
    unit: str
    place: Place

    @property
    def is_decibel(self) -> bool:
        """Whether its values are levels in decibels."""
        return self.unit.lower().split(" ")[0] == DECIBEL


def is_number(text: str) -> bool:
    """Whether a cell holds a decimal number."""
    return _NUMBER.fullmatch(text.strip().replace("−", "-")) is not None


def role_of(heading: str, chosen: Mapping[str, str]) -> tuple[str | None, str]:
    """The role of a heading, None for a column that is not used, and the unit that it states.

    chosen: role -> heading, as the user says.
    """
    word = heading.strip()
    bracketed = _BRACKETED.fullmatch(word)
    name, unit = (bracketed[1], bracketed[2].strip()) if bracketed else (word, "")
    for role, wanted in chosen.items():
        if wanted.strip().casefold() in (word.casefold(), name.casefold()):
            return role, unit
    plain = re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_")
    ending = _ENDING.fullmatch(plain)
    if ending and not unit:
        plain, unit = ending[1], ending[2]
    for role, others in ROLES.items():
        own = role.rpartition("_")[0] or role
        if plain in (role, own, *others) and role not in chosen:
            return role, unit
    return None, unit


def headings_of(
    cells: Sequence[str], places: Sequence[Place], chosen: Mapping[str, str], log: Log
) -> list[Heading]:
    """The columns of a header row that are used; complains of one that is there twice."""
    found: list[Heading] = []
    for number, (cell, place) in enumerate(zip(cells, places, strict=True)):
        role, unit = role_of(cell, chosen)
        role = _by_number(number, chosen) or role
        if role is None:
            continue
        first = next((heading for heading in found if heading.role == role), None)
        if first is None:
            found.append(Heading(role, number, unit, place))
            continue
        log.add(
            place,
            f"{quoted(cell)} is {role} as column {first.number + 1} is; say which is meant, for "
            f"example --column {role}={number + 1}",
        )
    return found


def _by_number(number: int, chosen: Mapping[str, str]) -> str | None:
    """The role of a column, from 0, that the user names by its number, from 1."""
    return next((role for role, text in chosen.items() if text.strip() == str(number + 1)), None)


def numbered(chosen: Mapping[str, str], width: int, log: Log) -> list[Heading]:
    """The columns that the user names by their numbers, from 1."""
    found = []
    for role, text in chosen.items():
        if not text.isdecimal():
            continue
        if not 1 <= int(text) <= width:
            log.add(None, f"--column {role}={text}: the rows have {width} columns")
            continue
        found.append(Heading(role, int(text) - 1, "", Place(1, 1)))
    return found


def is_whole(roles: Sequence[str]) -> bool:
    """Whether columns of these roles are a recording."""
    known = set(roles)
    return any(
        need <= known
        for need in (
            {"frequency_hz", "amplitude"},
            {"frequency_hz", "real", "imaginary"},
            {"time_s", "drive", "response"},
        )
    )


def missing(headings: Sequence[Heading], cells: Sequence[str]) -> str:
    """What a header row lacks, in words."""
    if set(COUNTS) & {cell.strip().casefold() for cell in cells}:
        return "this is a measured list, which saltline check and saltline fit read"
    there = listed(heading.role for heading in headings) if headings else "none of them"
    shown = ", ".join(quoted(cell.strip()) for cell in cells[:8])
    return (
        f"the columns of a recording are {WAYS}; found here: {there}. Name those that are meant, "
        f"for example --column amplitude=HEADING, of {shown}"
    )


def factor_of(heading: Heading, log: Log) -> float:
    """What one of the column's unit is in that of its role; complains of an unknown one."""
    known = UNITS.get(heading.role)
    if known is None or not heading.unit:
        return 1.0
    unit = heading.unit.casefold()
    factor = next((size for name, size in known.items() if name.casefold() == unit), None)
    if factor is None:
        log.add(
            heading.place,
            f"{heading.role} in {quoted(heading.unit)}: the units known here are {listed(known)}",
        )
        return 1.0
    return factor
