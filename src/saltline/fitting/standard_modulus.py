"""What the standards' formulas make of one resonance: the modulus of a bar without any solver.

Free bars: the impulse-excitation standards (ASTM E1876, EN 843-2, ISO 12680; one set of formulas).
Clamped bars: the vibrating-beam standard (ASTM E756). All coefficients are from memory; the tests
check them against exact roots and against Timoshenko's beam. SI throughout; E and G in Pa.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

from saltline.facts import facts
from saltline.measured_list import Measured
from saltline.record import record
from saltline.specimen import BeamGeometry, Specimen

IMPULSE = "ASTM E1876, EN 843-2, ISO 12680"
VIBRATING_BEAM = "ASTM E756"

CANTILEVER = (0.55959, 3.5069, 9.8194, 19.242, 31.809)
"""C_n of ASTM E756 for a clamped bar's first five modes; (beta L)^2 / (2 pi)."""


@record
class StandardModulus:
    """One modulus by a standard's formula.

    quantity:     "youngs_modulus" or "shear_modulus"; value: Pa.
    standard:     which; formula: in words of symbols.
    frequency_hz: of the line it comes from; mode: that line's mode, such as "flatwise 1".
    correction:   the factor by which a thick bar's value is raised (R of a bar in torsion), 1 where
                  the formula has none.
    poisson_ratio: the one in the correction; None where none is in it.
    """

    quantity: str
    value: float
    standard: str
    formula: str
    frequency_hz: float
    mode: str
    correction: float = 1.0
    poisson_ratio: float | None = None


class Line(NamedTuple):
    """A measured line with the mode that it is, by family and order."""

    family: str
    order: int
    measured: Measured


# -- the formulas ---------------------------------------------------------------------------------


def bar_correction(ratio: float, mu: float) -> float:
    """T1 of a free rectangular bar in flexure (ASTM E1876, from memory).

    ratio: thickness over length; mu: Poisson's ratio.
    """
    return (
        1.0
        + 6.585 * (1.0 + 0.0752 * mu + 0.8109 * mu**2) * ratio**2
        - 0.868 * ratio**4
        - 8.340 * (1.0 + 0.2023 * mu + 2.173 * mu**2) * ratio**4
        / (1.0 + 6.338 * (1.0 + 0.1408 * mu + 1.536 * mu**2) * ratio**2)
    )  # fmt: skip


def rod_correction(ratio: float, mu: float) -> float:
    """T1' of a free round rod in flexure (ASTM E1876, from memory).

    ratio: diameter over length; mu: Poisson's ratio.
    """
    return (
        1.0
        + 4.939 * (1.0 + 0.0752 * mu + 0.8109 * mu**2) * ratio**2
        - 0.4883 * ratio**4
        - 4.691 * (1.0 + 0.2023 * mu + 2.173 * mu**2) * ratio**4
        / (1.0 + 4.754 * (1.0 + 0.1408 * mu + 1.536 * mu**2) * ratio**2)
    )  # fmt: skip


def bar_torsion_factor(b: float, t: float, L: float) -> float:
    """R of a free rectangular bar in torsion (ASTM E1876, newer editions, from memory)."""
    section = (1.0 + (b / t) ** 2) / (
        4.0 - 2.521 * (t / b) * (1.0 - 1.991 / (math.exp(math.pi * b / t) + 1.0))
    )
    return float(
        section * (1.0 + 0.00851 * b**2 / L**2)
        - 0.060 * (b / L) ** 1.5 * (b / t - 1.0) ** 2
    )  # fmt: skip


def bar_youngs_modulus(m: float, f: float, *, b: float, t: float, L: float, mu: float) -> float:
    """E = 0.9465 (m f^2 / b) (L^3 / t^3) T1: the first flexural resonance of a free bar, Pa."""
    return 0.9465 * (m * f**2 / b) * (L**3 / t**3) * bar_correction(t / L, mu)


def rod_youngs_modulus(m: float, f: float, *, d: float, L: float, mu: float) -> float:
    """E = 1.6067 (L^3 / D^4) m f^2 T1': the first flexural resonance of a free rod, Pa."""
    return 1.6067 * L**3 / d**4 * m * f**2 * rod_correction(d / L, mu)


def bar_shear_modulus(m: float, f: float, *, b: float, t: float, L: float) -> float:
    """G = (4 L m f^2 / (b t)) R: the first torsional resonance of a free bar, Pa."""
    return 4.0 * L * m * f**2 / (b * t) * bar_torsion_factor(b, t, L)


def rod_shear_modulus(m: float, f: float, *, d: float, L: float) -> float:
    """G = 16 m f^2 L / (pi D^2): the first torsional resonance of a free rod, Pa."""
    return 16.0 * m * f**2 * L / (math.pi * d**2)


def cantilever_youngs_modulus(rho: float, f: float, order: int, *, t: float, L: float) -> float:
    """E = 12 rho l^4 f_n^2 / (H^2 C_n^2): the n-th resonance of a clamped bar, Pa.

    order: n, from 1 to 5.
    """
    return 12.0 * rho * L**4 * f**2 / (t**2 * CANTILEVER[order - 1] ** 2)


# -- a specimen's lines by the formulas -----------------------------------------------------------


def standard_moduli(specimen: Specimen, lines: Sequence[Line]) -> tuple[StandardModulus, ...]:
    """Every modulus that a standard's formula gives; none where no standard has the specimen.

    A uniform bar of rectangular section or a rod, nothing attached, no supports, no tension; free
    at both ends, or (rectangle only) clamped at one.
    """
    geometry = specimen.geometry
    if not isinstance(geometry, BeamGeometry) or not _is_bare(specimen, geometry):
        return ()
    section = geometry.segments[0].section_start
    held = sorted(hold.word for hold in specimen.boundary.values())
    if held == ["free", "free"] and section.shape in _FREE:
        return _free_bar(specimen, section.shape, lines)
    if held == ["clamped", "free"] and section.shape == "rectangle":
        return _clamped_bar(specimen, lines)
    return ()


def _is_bare(specimen: Specimen, geometry: BeamGeometry) -> bool:
    segment = geometry.segments[0]
    return (
        len(geometry.segments) == 1
        and segment.section_start == segment.section_end
        and not specimen.attached
        and not specimen.supports
        and geometry.tension.value == 0.0
    )


@record
class _FreeFormulas:
    """The two formulas of a section: (mass, f, sizes, mu) -> (modulus, correction)."""

    youngs: Callable[[float, float, Mapping[str, float], float], tuple[float, float]]
    shear: Callable[[float, float, Mapping[str, float]], tuple[float, float]]
    words: tuple[str, str]


_FREE: Mapping[str, _FreeFormulas] = {
    "rectangle": _FreeFormulas(
        lambda m, f, s, mu: (
            bar_youngs_modulus(m, f, b=s["width"], t=s["thickness"], L=s["length"], mu=mu),
            bar_correction(s["thickness"] / s["length"], mu),
        ),
        lambda m, f, s: (
            bar_shear_modulus(m, f, b=s["width"], t=s["thickness"], L=s["length"]),
            bar_torsion_factor(s["width"], s["thickness"], s["length"]),
        ),
        ("E = 0.9465 (m f²/b) (L/t)³ T1", "G = 4 L m f²/(b t) R"),
    ),
    "rod": _FreeFormulas(
        lambda m, f, s, mu: (
            rod_youngs_modulus(m, f, d=s["diameter"], L=s["length"], mu=mu),
            rod_correction(s["diameter"] / s["length"], mu),
        ),
        lambda m, f, s: (rod_shear_modulus(m, f, d=s["diameter"], L=s["length"]), 1.0),
        ("E = 1.6067 (L³/D⁴) m f² T1'", "G = 16 m f² L/(π D²)"),
    ),
}


def _sizes(specimen: Specimen) -> dict[str, float]:
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    dimensions = geometry.segments[0].section_start.dimensions
    return {"length": geometry.length} | {name: q.value for name, q in dimensions.items()}


def _free_bar(specimen: Specimen, shape: str, lines: Sequence[Line]) -> tuple[StandardModulus, ...]:
    """E of the first bending line, G of the first torsional one; with both, mu = E / (2G) - 1."""
    formulas, sizes, m = _FREE[shape], _sizes(specimen), facts(specimen).mass_kg
    first = {line.family: line.measured for line in lines if line.order == 1}
    mu, found = specimen.material.poisson_ratio.value, []
    bending, twist = first.get("flatwise"), first.get("torsion")
    if twist is not None:
        f = twist.frequency_hz
        G, R = formulas.shear(m, f, sizes)
        found.append(
            StandardModulus(
                "shear_modulus", G, IMPULSE, formulas.words[1], f, "torsion 1", correction=R
            )
        )
    if bending is not None:
        f = bending.frequency_hz
        if twist is not None:
            mu = _settled_ratio(lambda mu: formulas.youngs(m, f, sizes, mu)[0], G, mu)
        E, T = formulas.youngs(m, f, sizes, mu)
        found.insert(
            0,
            StandardModulus(
                "youngs_modulus", E, IMPULSE, formulas.words[0], f, "flatwise 1", T, mu
            ),
        )
    return tuple(found)


def _settled_ratio(E_of: Callable[[float], float], G: float, mu: float) -> float:
    """mu = E / (2G) - 1 with E corrected by that same mu, found by turns as the standard does.

    An impossible ratio (two lines of which one is another mode) leaves the given one.
    """
    found = mu
    for _ in range(50):
        after = E_of(found) / (2.0 * G) - 1.0
        if not -1.0 < after < 0.5:
            return mu
        if abs(after - found) < 1e-12:
            break
        found = after
    return found


def _clamped_bar(specimen: Specimen, lines: Sequence[Line]) -> tuple[StandardModulus, ...]:
    sizes, rho = _sizes(specimen), specimen.material.density.value
    return tuple(
        StandardModulus(
            "youngs_modulus",
            cantilever_youngs_modulus(
                rho, line.measured.frequency_hz, line.order,
                t=sizes["thickness"], L=sizes["length"],
            ),
            VIBRATING_BEAM,
            "E = 12 ρ l⁴ f²/(H² C²)",
            line.measured.frequency_hz,
            f"flatwise {line.order}",
        )
        for line in sorted(lines, key=lambda line: line.order)
        if line.family == "flatwise" and line.order <= len(CANTILEVER)
    )  # fmt: skip
