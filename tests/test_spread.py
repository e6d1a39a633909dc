"""Bands: first-order propagation against solving again, and the rules that it must obey."""

from collections.abc import Callable, Sequence

import numpy as np
import pytest

from outside import record
from saltline.arrays import Values
from saltline.files.specimen_file import read_specimen
from saltline.quantities_of import quantities, with_values
from saltline.solver import find_modes
from saltline.spread import bands
from specimens import ritz

BEAM = """
kind: beam
material: {youngs_modulus: 103 GPa ± 3 %, density: 8500 ± 50 kg/m3, poisson_ratio: 0.34 ± 5 %}
geometry:
  length: 180 ± 0.5 mm
  section: {shape: rectangle, width: 20 ± 0.1 mm, thickness: 3 ± 0.02 mm}
boundary: {start: clamped, end: {deflection: 1e5 N/m ± 10 %, rotation: free}}
attached: [{mass: 3 ± 0.2 g, at: 100 ± 1 mm}]
supports: [{at: 150 ± 1 mm, deflection: rigid}]
"""

PLATE = """
kind: plate
material: {youngs_modulus: 70 GPa ± 3 %, density: 2700 ± 50 kg/m3, poisson_ratio: 0.33 ± 5 %}
geometry: {length: 180 ± 0.5 mm, width: 120 ± 0.5 mm, thickness: 1.5 ± 0.02 mm}
boundary:
  {left: pinned, right: free, top: free, bottom: {deflection: 1e5 N/m/m ± 10 %, rotation: free}}
attached: [{mass: 3 ± 0.2 g, at: [100 ± 1 mm, 40 ± 1 mm]}]
"""


def solved_again(specimen):
    """A beam's five frequencies, Hz; a plate's in one basis alone, for their differences."""
    if specimen.kind == "plate":
        return ritz(specimen, 5, refinement=0) / (2.0 * np.pi)
    return np.array([mode.frequency_hz for mode in find_modes(specimen, count=5).modes])


@pytest.mark.parametrize("text", [BEAM, PLATE], ids=["beam", "plate"])
def test_each_share_is_what_solving_again_gives(text):
    specimen = read_specimen(text)
    modes = find_modes(specimen, count=5)
    found = bands(modes)
    known = quantities(specimen)
    shares = found[0].shares
    assert len(shares) >= 9
    for path in shares:
        step = known[path].tolerance / 20
        logs = [
            np.log(solved_again(changed))
            for changed in (
                with_values(specimen, {path: known[path].value + d}) for d in (-step, step)
            )
        ]
        again = (logs[1] - logs[0]) / (2 * step) * known[path].tolerance
        here = [band.shares[path] for band in found]
        assert here == pytest.approx(again, abs=1e-5, rel=1e-3), path


# -- sampling -------------------------------------------------------------------------------------

DRAWS = 20_000
"""The standard deviation of so many draws is known to 0.5 %."""

SAMPLED = """
kind: beam
material: {youngs_modulus: 200 GPa ± 3 %, density: 7850 kg/m3 ± 3 %, poisson_ratio: 0.3}
geometry:
  length: 200 mm ± 3 %
  section: {shape: rectangle, width: 20 mm ± 3 %, thickness: 2 mm ± 3 %}
"""

Equation = Callable[[Values, Values], Values]
"""(beta L or kL, the draw's parameter) -> what is nothing at a root."""


def tip_mass(x: Values, mu: Values) -> Values:
    """A cantilever with mu of its mass at the tip (Karnovsky and Lebed, sec. 7.5)."""
    c, s, t = np.cos(x), np.sin(x), np.tanh(x)  # divided by cosh x
    return 1.0 / np.cosh(x) + c + mu * x * (c * t - s)


def root_spring(x: Values, t: Values) -> Values:
    """A cantilever whose root turns on a spring of t E I/L (textbook; see reference tables)."""
    return t / x * (1.0 / np.cosh(x) + np.cos(x)) + np.cos(x) * np.tanh(x) - np.sin(x)


def end_mass(z: Values, r: Values) -> Values:
    """A bar held at one end with r of its mass at the other: cot z = r z (textbook)."""
    return np.cos(z) - r * z * np.sin(z)


def roots_of(equation: Equation, parameter: Values, guesses: Sequence[float]) -> Values:
    """The equation solved for every draw near each guess, by bisection, shape (modes, draws)."""
    found = []
    for guess in guesses:
        low, high = np.full(DRAWS, 0.8 * guess), np.full(DRAWS, 1.2 * guess)
        sign = np.sign(equation(low, parameter))
        assert np.all(sign * equation(high, parameter) < 0.0)
        for _ in range(40):
            middle = (low + high) / 2.0
            left = sign * equation(middle, parameter) > 0.0
            low, high = np.where(left, middle, low), np.where(left, high, middle)
        found.append((low + high) / 2.0)
    return np.array(found)


@pytest.mark.parametrize(
    ("rest", "family", "equation"),
    [
        (
            "boundary: {start: clamped, end: free}\nattached: [{mass: 20 g ± 3 %, at: 200 mm}]",
            "flatwise",
            tip_mass,
        ),
        (
            "boundary: {start: {deflection: rigid, rotation: 40 N m/rad ± 3 %}, end: free}",
            "flatwise",
            root_spring,
        ),
        (
            "boundary: {start: clamped, end: free}\nattached: [{mass: 20 g ± 3 %, at: 200 mm}]",
            "axial",
            end_mass,
        ),
    ],
    ids=["tip mass", "root spring", "axial, end mass"],
)
def test_bands_agree_with_solving_twenty_thousand_draws_again(rest, family, equation):
    """Monte Carlo (JCGM 101:2008), every tolerance 3 %; half-widths (two standard deviations)
    within 3 %. Each draw is solved again, by the exact frequency equation."""
    specimen = read_specimen(SAMPLED + rest)
    modes = find_modes(specimen, count=3, theory="euler", families=[family])
    found = bands(modes)
    known, rng = quantities(specimen), np.random.default_rng(5)
    p = {
        path: known[path].value + known[path].tolerance / 2.0 * rng.standard_normal(DRAWS)
        for path in found[0].shares
        if known[path].tolerance > 0.0
    }
    E, rho = p["material.youngs_modulus"], p["material.density"]
    L, b, t = (p[f"geometry.{name}"] for name in ("length", "section.width", "section.thickness"))
    own, EI = rho * b * t * L, E * b * t**3 / 12.0
    if equation is root_spring:
        parameter = p["boundary.start.rotation"] * L / EI
    else:
        parameter = p["attached.0.mass"] / own
    if family == "axial":
        unit, power = np.sqrt(E / rho) / L, 1
    else:
        unit, power = np.sqrt(EI * L / own) / L**2, 2
    guesses = [
        (2.0 * np.pi * mode.frequency_hz / np.median(unit)) ** (1.0 / power) for mode in modes.modes
    ]
    hz = unit * roots_of(equation, parameter, guesses) ** power / (2.0 * np.pi)
    worst = 0.0
    for mode, band, draws in zip(modes.modes, found, hz, strict=True):
        assert np.median(draws) == pytest.approx(mode.frequency_hz, rel=2e-3)
        half = (band.high_hz - band.low_hz) / 2.0
        worst = max(worst, abs(half / (2.0 * draws.std()) - 1.0))
        inside = np.mean((draws > band.low_hz) & (draws < band.high_hz))
        assert inside == pytest.approx(0.9545, abs=0.01)
    record("half-widths of bands at 3 %", "20 000 draws, exact frequency equations", worst, 0.03)


def test_closed_forms_of_the_shares():
    """Euler-Bernoulli, one section: ln f moves by 1/2 E, -1/2 rho, 1 t, -2 L (textbook)."""
    specimen = read_specimen("""
kind: beam
material: {youngs_modulus: 200 GPa ± 2 %, density: 7850 kg/m3 ± 2 %, poisson_ratio: 0.3}
geometry:
  {length: 200 mm ± 2 %, section: {shape: rectangle, width: 20 mm ± 2 %, thickness: 2 mm ± 2 %}}
boundary: {start: clamped, end: free}
""")
    for band in bands(find_modes(specimen, count=4, theory="euler")):
        assert band.shares == pytest.approx(
            {
                "material.youngs_modulus": 0.01,
                "material.density": -0.01,
                "geometry.length": -0.04,
                "geometry.section.width": 0.0,
                "geometry.section.thickness": 0.02,
            },
            abs=1e-6,
        )


def test_no_tolerance_no_band():
    specimen = read_specimen("""
kind: beam
material: {youngs_modulus: 200 GPa, density: 7850 kg/m3, poisson_ratio: 0.3}
geometry: {length: 200 mm, section: {shape: rod, diameter: 5 mm}}
boundary: {start: free, end: free}
""")
    assert bands(find_modes(specimen, count=2)) == [None, None]


@pytest.mark.parametrize("place", ["215 mm", "218 mm", "220 mm"])
def test_a_mass_near_or_at_the_tip_does_not_disturb_the_length(place):
    """A short last element must not make the difference quotient coarse."""
    text = """
kind: beam
material: {youngs_modulus: 200 GPa, density: 7850 kg/m3, poisson_ratio: 0.3}
geometry: {length: LENGTH mm ± 0.5 mm, section: {shape: rectangle, width: 25 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
attached: [{mass: 1.5 g, at: PLACE}]
"""

    def specimen(length, at):
        return read_specimen(text.replace("LENGTH", str(length)).replace("PLACE", at))

    share = [b.shares["geometry.length"] for b in bands(find_modes(specimen(220, place), count=3))]
    logs = []
    for step in (-0.02, 0.02):
        at = f"{220 + step} mm" if place == "220 mm" else place
        found = find_modes(specimen(220 + step, at), count=3)
        logs.append(np.log([m.frequency_hz for m in found.modes]))
    assert share == pytest.approx((logs[1] - logs[0]) / 0.04 * 0.5, rel=1e-3)
