"""What a cross-section is: its dimensions, and from them area, second moments, shear.

To add a shape: write a function of its dimensions and Poisson's ratio that returns
`SectionProperties`, and enter it in SHAPES; the reader of specimen files learns it from there.
Dimensions may be arrays (a tapered segment evaluated at many places at once).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

import numpy as np

from saltline.arrays import Values
from saltline.quantity import Quantity
from saltline.record import record
from saltline.words import quoted

Dimensions = Mapping[str, Values]

_UNKNOWN = np.asarray(np.nan)


@record
class Section:
    """A shape's name and its dimensions, as the specimen file states them."""

    shape: str
    dimensions: Mapping[str, Quantity]


@record
class SectionProperties:
    """What the mechanics needs of a section; NaN where a custom section does not say.

    A:     area, m2
    I:     second moment for flatwise bending (out of the wide face), m4
    I_edge: second moment for edgewise bending, m4
    kappa, kappa_edge: Timoshenko's shear coefficient in either direction
    J:     Saint-Venant torsion constant, m4
    I_polar: polar second moment of area, m4
    depth, depth_edge: outer size in the direction of motion, m (strain = curvature * depth / 2)
    """

    A: Values
    I: Values
    I_edge: Values
    kappa: Values
    kappa_edge: Values
    J: Values
    I_polar: Values
    depth: Values
    depth_edge: Values


@record
class Shape:
    """How one shape is described and computed.

    required, optional: dimension name -> the kind of quantity ("length", "area", "second_moment",
    "ratio"); properties: (dimensions, Poisson's ratio) -> SectionProperties; check: dimensions ->
    complaints as (dimension name, what is wrong and how it is put right).
    """

    required: Mapping[str, str]
    optional: Mapping[str, str]
    properties: Callable[[Dimensions, float], SectionProperties]
    check: Callable[[Mapping[str, float]], list[tuple[str, str]]]


def section_properties(section: Section, nu: float) -> SectionProperties:
    """Properties of one section; see `SectionProperties` for units."""
    return _properties(section.shape, nu, *((n, q.value) for n, q in section.dimensions.items()))


@lru_cache(maxsize=256)
def _properties(shape: str, nu: float, *dimensions: tuple[str, float]) -> SectionProperties:
    """The same by values: one section is asked for again at each end, and for each family."""
    values = {name: np.asarray(value) for name, value in dimensions}
    return SHAPES[shape].properties(values, nu)


def tapered_properties(start: Section, end: Section, nu: float, s: Values) -> SectionProperties:
    """Properties along a segment whose dimensions run evenly from `start` to `end`.

    s: positions as a fraction of the segment, shape (k,), 0 at the start and 1 at the end.
    """
    if start == end:
        properties = section_properties(start, nu)
    else:
        values = {
            name: q.value + (end.dimensions[name].value - q.value) * s
            for name, q in start.dimensions.items()
        }
        properties = SHAPES[start.shape].properties(values, nu)
    names = SectionProperties.__annotations__
    return SectionProperties(
        *(np.broadcast_to(getattr(properties, name), s.shape) for name in names)
    )


# -- the shapes -----------------------------------------------------------------------------------


def _rectangle(d: Dimensions, nu: float) -> SectionProperties:
    b, t = d["width"], d["thickness"]
    # Cowper (1966): rectangle; published coefficient recalled from memory.
    kappa = np.broadcast_to(np.asarray(10 * (1 + nu) / (12 + 11 * nu)), np.shape(b))
    return SectionProperties(
        A=b * t,
        I=b * t**3 / 12,
        I_edge=t * b**3 / 12,
        kappa=kappa,
        kappa_edge=kappa,
        J=rectangle_torsion_constant(b, t),
        I_polar=b * t * (b**2 + t**2) / 12,
        depth=t,
        depth_edge=b,
    )


_ODD = np.arange(1, 101, 2)
_HALF_TURNS, _FIFTHS = _ODD * np.pi / 2, 1.0 / _ODD**5


def rectangle_torsion_constant(width: Values, thickness: Values) -> Values:
    """Saint-Venant's torsion constant of a rectangle, m4.

    J = b t^3/3 (1 - (192/pi^5) (t/b) sum over odd n of tanh(n pi b/(2t))/n^5) with b >= t
    (Timoshenko and Goodier, Theory of Elasticity, torsion of a rectangular bar; from memory,
    checked in the tests against its finite-element value). Fifty terms leave 2e-9 of a square's.
    """
    b, t = np.maximum(width, thickness), np.minimum(width, thickness)
    series = np.tanh(np.multiply.outer(b / t, _HALF_TURNS)) @ _FIFTHS
    return np.asarray(b * t**3 / 3 * (1 - 192 / np.pi**5 * t / b * series))


def _round(D: Values, inner: Values, nu: float) -> SectionProperties:
    """A circle of diameter D with a concentric hole of diameter `inner` (0 for a rod)."""
    m = inner / D
    # Cowper (1966): hollow circle, m = inner/outer; m = 0 gives 6(1+nu)/(7+6nu); from memory.
    g = (1 + m**2) ** 2
    kappa = np.asarray(6 * (1 + nu) * g / ((7 + 6 * nu) * g + (20 + 12 * nu) * m**2))
    I = np.pi * (D**4 - inner**4) / 64
    return SectionProperties(
        A=np.pi * (D**2 - inner**2) / 4,
        I=I,
        I_edge=I,
        kappa=kappa,
        kappa_edge=kappa,
        J=2 * I,
        I_polar=2 * I,
        depth=D,
        depth_edge=D,
    )


def _rod(d: Dimensions, nu: float) -> SectionProperties:
    return _round(d["diameter"], np.zeros_like(d["diameter"]), nu)


def _tube(d: Dimensions, nu: float) -> SectionProperties:
    return _round(d["outer_diameter"], d["outer_diameter"] - 2 * d["wall"], nu)


def _box(d: Dimensions, nu: float) -> SectionProperties:
    wide, low = np.maximum(d["width"], d["height"]), np.minimum(d["width"], d["height"])
    t = d["wall"]
    inner_wide, inner_low = wide - 2 * t, low - 2 * t
    I = (wide * low**3 - inner_wide * inner_low**3) / 12
    I_edge = (low * wide**3 - inner_low * inner_wide**3) / 12
    mid_area, mid_length = (wide - t) * (low - t), 2 * (wide + low - 2 * t)
    return SectionProperties(
        A=wide * low - inner_wide * inner_low,
        I=I,
        I_edge=I_edge,
        kappa=_cowper_box(depth=low - t, across=wide - t, nu=nu),
        kappa_edge=_cowper_box(depth=wide - t, across=low - t, nu=nu),
        # Bredt's closed thin-walled formula 4 A_m^2 t / s, plus the walls' own s t^3/3.
        J=4 * mid_area**2 * t / mid_length + mid_length * t**3 / 3,
        I_polar=I + I_edge,
        depth=low,
        depth_edge=wide,
    )


def _cowper_box(*, depth: Values, across: Values, nu: float) -> Values:
    """Cowper (1966): thin-walled box, walls of equal thickness, sizes at mid-wall; from memory.

    It is 20(1+nu)/(48+39nu) for the square tube, which is in the same paper.
    """
    m = n = across / depth
    return np.asarray(
        10 * (1 + nu) * (1 + 3 * m) ** 2
        / (
            (12 + 72 * m + 150 * m**2 + 90 * m**3)
            + nu * (11 + 66 * m + 135 * m**2 + 90 * m**3)
            + 10 * n**2 * ((3 + nu) * m + 3 * m**2)
        )
    )  # fmt: skip


def _custom(d: Dimensions, nu: float) -> SectionProperties:
    return SectionProperties(
        A=d["area"],
        I=d["second_moment"],
        I_edge=d.get("second_moment_edgewise", _UNKNOWN),
        kappa=d.get("shear_coefficient", _UNKNOWN),
        kappa_edge=d.get("shear_coefficient", _UNKNOWN),
        J=d.get("torsion_constant", _UNKNOWN),
        I_polar=d.get("polar_moment", _UNKNOWN),
        depth=d.get("thickness", _UNKNOWN),
        depth_edge=d.get("width", _UNKNOWN),
    )


def _wall_fits(*outer: str) -> Callable[[Mapping[str, float]], list[tuple[str, str]]]:
    def check(d: Mapping[str, float]) -> list[tuple[str, str]]:
        least = min(d[name] for name in outer)
        if 2 * d["wall"] < least:
            return []
        names = " and ".join(name.replace("_", " ") for name in outer)
        return [
            (
                "wall",
                f"wall of {d['wall'] * 1e3:.6g} mm leaves no hollow; it must be less than half "
                f"of the {names} ({least * 500:.6g} mm); for a solid section use another shape",
            )
        ]

    return check


SLIP_OF_UNIT = 20.0
"""A thickness so many times larger than the width was not exchanged with it: its unit is wrong."""


def too_thick(thickness: float, least: float, what: str, *, why: str) -> str:
    """What to say of a thickness that is larger than another dimension, both in m.

    what: the other dimension in words; why: the thickness is the smaller one.
    """
    if thickness <= SLIP_OF_UNIT * least:
        return f"thickness is larger than {what}; exchange the two, for {why}"
    return (
        f"thickness of {thickness * 1e3:.6g} mm is {thickness / least:.2g} times {what}; write the "
        f"unit that is meant, for example {quoted(f'{thickness:.6g} mm')}"
    )


def _thickness_is_less(d: Mapping[str, float]) -> list[tuple[str, str]]:
    if d["thickness"] <= d["width"]:
        return []
    why = "flatwise bending is out of the wide face (the other direction is edgewise)"
    return [("thickness", too_thick(d["thickness"], d["width"], "width", why=why))]


def _no_check(d: Mapping[str, float]) -> list[tuple[str, str]]:
    return []


SHAPES: Mapping[str, Shape] = {
    "rectangle": Shape(
        {"width": "length", "thickness": "length"}, {}, _rectangle, _thickness_is_less
    ),
    "rod": Shape({"diameter": "length"}, {}, _rod, _no_check),
    "tube": Shape(
        {"outer_diameter": "length", "wall": "length"}, {}, _tube, _wall_fits("outer_diameter")
    ),
    "box": Shape(
        {"width": "length", "height": "length", "wall": "length"},
        {},
        _box,
        _wall_fits("width", "height"),
    ),
    "custom": Shape(
        {"area": "area", "second_moment": "second_moment"},
        {
            "second_moment_edgewise": "second_moment",
            "shear_coefficient": "ratio",
            "torsion_constant": "second_moment",
            "polar_moment": "second_moment",
            "width": "length",
            "thickness": "length",
        },
        _custom,
        _no_check,
    ),
}
