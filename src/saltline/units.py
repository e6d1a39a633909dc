"""What a unit is: "N m/rad" as a factor to SI and the exponents of its base dimensions."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import import_module

from saltline.record import record

Dimension = tuple[int, int, int, int, int]
"""Exponents of length, mass, time, angle and octave.

Angle and octave are pure numbers, yet kept apart: 163 rad/s is not 163 Hz.
"""

NUMBER: Dimension = (0, 0, 0, 0, 0)
LENGTH: Dimension = (1, 0, 0, 0, 0)
MASS: Dimension = (0, 1, 0, 0, 0)
TIME: Dimension = (0, 0, 1, 0, 0)
ANGLE: Dimension = (0, 0, 0, 1, 0)
OCTAVE: Dimension = (0, 0, 0, 0, 1)
RATE: Dimension = (0, 0, -1, 0, 0)
VOLUME: Dimension = (3, 0, 0, 0, 0)
FORCE: Dimension = (1, 1, -2, 0, 0)
PRESSURE: Dimension = (-1, 1, -2, 0, 0)
MOMENT: Dimension = (2, 1, -2, 0, 0)
ACCELERATION: Dimension = (1, 0, -2, 0, 0)


class UnitError(ValueError):
    """What is wrong with a unit, to be put after it; `atom` is the part that is not known."""

    def __init__(self, message: str, *, atom: str = "") -> None:
        super().__init__(message)
        self.atom = atom


@record
class Unit:
    """factor: what one of it is in SI (m, kg, s, rad, octave); dimension: its exponents."""

    factor: float
    dimension: Dimension


_PREFIXED: Mapping[str, Unit] = {
    "m": Unit(1.0, LENGTH),
    "g": Unit(1e-3, MASS),
    "s": Unit(1.0, TIME),
    "Hz": Unit(1.0, RATE),
    "N": Unit(1.0, FORCE),
    "Nm": Unit(1.0, MOMENT),
    "Pa": Unit(1.0, PRESSURE),
    "bar": Unit(1e5, PRESSURE),
    "rad": Unit(1.0, ANGLE),
}
"""Symbols that take an SI prefix."""

_PREFIXES: Mapping[str, float] = {
    "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "c": 1e-2,
    "k": 1e3, "M": 1e6, "G": 1e9, "T": 1e12,
}  # fmt: skip

_PREFIXES_OF_G: Mapping[str, float] = {"": 1.0, **{p: _PREFIXES[p] for p in ("m", "u", "µ", "μ")}}
"""Those that go before g as an acceleration. "kg" is none of them: nobody means a thousand g, and a
mass where an acceleration is due is a slip that must be told."""

_WORDS: Mapping[str, str] = {
    "metre": "m", "meter": "m", "gram": "g", "second": "s", "sec": "s", "hertz": "Hz",
    "newton": "N", "pascal": "Pa", "radian": "rad",
}  # fmt: skip

_WORD_PREFIXES: Mapping[str, str] = {
    "micro": "u", "milli": "m", "centi": "c", "kilo": "k", "mega": "M", "giga": "G",
}  # fmt: skip

_PLAIN: Mapping[str, Unit] = {
    "min": Unit(60.0, TIME),
    "minute": Unit(60.0, TIME),
    "h": Unit(3600.0, TIME),
    "hour": Unit(3600.0, TIME),
    "rpm": Unit(1.0 / 60.0, RATE),
    "deg": Unit(math.pi / 180.0, ANGLE),
    "degree": Unit(math.pi / 180.0, ANGLE),
    "°": Unit(math.pi / 180.0, ANGLE),
    "octave": Unit(1.0, OCTAVE),
    "oct": Unit(1.0, OCTAVE),
    "%": Unit(1e-2, NUMBER),
    "percent": Unit(1e-2, NUMBER),
    "ppm": Unit(1e-6, NUMBER),
    "micron": Unit(1e-6, LENGTH),
    "cc": Unit(1e-6, VOLUME),
    "Nmm": Unit(1e-3, MOMENT),
}

_CUSTOMARY: Mapping[str, tuple[str, float, Dimension]] = {
    "in": ("inch", 1.0, LENGTH),
    "inch": ("inch", 1.0, LENGTH),
    "inches": ("inch", 1.0, LENGTH),
    "ft": ("foot", 1.0, LENGTH),
    "foot": ("foot", 1.0, LENGTH),
    "feet": ("foot", 1.0, LENGTH),
    "mil": ("mil", 1.0, LENGTH),
    "thou": ("mil", 1.0, LENGTH),
    "lb": ("lb", 1.0, MASS),
    "lbm": ("lb", 1.0, MASS),
    "pound": ("lb", 1.0, MASS),
    "oz": ("oz", 1.0, MASS),
    "ounce": ("oz", 1.0, MASS),
    "slug": ("slug", 1.0, MASS),
    "lbf": ("lbf", 1.0, FORCE),
    "psi": ("psi", 1.0, PRESSURE),
    "ksi": ("psi", 1e3, PRESSURE),
    "Mpsi": ("psi", 1e6, PRESSURE),
    "g_n": ("g", 1.0, ACCELERATION),
    "gn": ("g", 1.0, ACCELERATION),
}
"""Symbol -> (name in scipy.constants, times, dimension)."""

KNOWN: tuple[str, ...] = (
    "m", "mm", "cm", "um", "g", "kg", "mg", "s", "ms", "Hz", "kHz", "N", "kN", "mN",
    "Pa", "kPa", "MPa", "GPa", "rad", "mrad", *_PLAIN, *_CUSTOMARY,
)  # fmt: skip
"""The usual units, from which the nearest one is suggested for an unknown one."""

_ORDINARY = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻−⋅×", "0123456789--··")
_TIMES = re.compile(r"\s*[*·]\s*|\s+|-(?=[^\W\d])")
_POWER = re.compile(r"([^\W\d_][^\W\d]*|[%°])(?:\^?(-?[1-9]))?")


@lru_cache(maxsize=512)
def parse_unit(text: str, *, g_is_acceleration: bool = False) -> Unit:
    """Return factor and dimension of a unit such as "mm", "kg/m3", "N m/rad/m" or "lbf in/rad".

    text: atoms with an exponent (m2, m^2, m²), multiplied by a space, "*" or "·", divided by "/".
    g_is_acceleration: "g" is 9.80665 m/s2 instead of a gram; "kg" stays a mass.
    Raises UnitError for an unknown atom or a form that cannot be read.
    """
    factor, exponents = 1.0, [0, 0, 0, 0, 0]
    for name, power in _atoms(text):
        atom = _atom(name, g_is_acceleration)
        factor *= atom.factor**power
        for i, exponent in enumerate(atom.dimension):
            exponents[i] += exponent * power
    length, mass, time, angle, octave = exponents
    return Unit(factor, (length, mass, time, angle, octave))


def _atoms(text: str) -> Iterator[tuple[str, int]]:
    """The atoms of a unit, each with its exponent; those under a "/" have a negative one."""
    above, *below = text.strip().translate(_ORDINARY).split("/")
    if above.strip() != ("1" if below else ""):
        yield from _product(above)
    for part in map(str.strip, below):
        bracketed = part.startswith("(") and part.endswith(")")
        atoms = _product(part[1:-1] if bracketed else part)
        if len(atoms) > 1 and not bracketed:
            raise UnitError('can be read in two ways; write what multiplies before the first "/"')
        yield from ((name, -power) for name, power in atoms)


def _product(text: str) -> list[tuple[str, int]]:
    """Atoms that are multiplied, each with its exponent."""
    atoms = []
    for part in _TIMES.split(text.strip()):
        match = _POWER.fullmatch(part)
        if match is None:
            raise UnitError('cannot be read; a unit is written like "mm", "kg/m3" or "N m/rad"')
        atoms.append((match[1], int(match[2] or 1)))
    return atoms


@lru_cache(maxsize=512)
def _atom(name: str, g_is_acceleration: bool) -> Unit:
    if g_is_acceleration and name.endswith("g") and name[:-1] in _PREFIXES_OF_G:
        return Unit(_PREFIXES_OF_G[name[:-1]] * _constant("g"), ACCELERATION)
    if name in _PREFIXED:
        return _PREFIXED[name]
    if name in _PLAIN:
        return _PLAIN[name]
    if name in _CUSTOMARY:
        constant, times, dimension = _CUSTOMARY[name]
        return Unit(times * _constant(constant), dimension)
    if name[0] in _PREFIXES and name[1:] in _PREFIXED:
        unit = _PREFIXED[name[1:]]
        return Unit(_PREFIXES[name[0]] * unit.factor, unit.dimension)
    symbol = _symbol_of_word(name)
    if symbol:
        return _atom(symbol, False)
    raise UnitError("is not known", atom=name)


def _symbol_of_word(name: str) -> str:
    """The symbol of a unit that is written out ("millimetres" -> "mm"); "" for no such word."""
    word = name[:-1] if name.endswith("s") and len(name) > 2 else name
    if word != name and (word in _PLAIN or word in _CUSTOMARY):
        return word
    for prefix, symbol in _WORD_PREFIXES.items():
        if word.startswith(prefix) and word.removeprefix(prefix) in _WORDS:
            return symbol + _WORDS[word.removeprefix(prefix)]
    return _WORDS.get(word, "")


def _constant(name: str) -> float:
    """A conversion factor of scipy.constants, imported late: a file in SI units needs none."""
    return float(getattr(import_module("scipy.constants"), name))
