"""Bands: first-order propagation against solving again, and the rules that it must obey."""

import numpy as np
import pytest

from saltline.modes import find_modes
from saltline.quantities_of import quantities, with_values
from saltline.specimen_file import read_specimen
from saltline.spread import bands

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
            np.log([m.frequency_hz for m in find_modes(changed, count=5).modes])
            for changed in (
                with_values(specimen, {path: known[path].value + d}) for d in (-step, step)
            )
        ]
        again = (logs[1] - logs[0]) / (2 * step) * known[path].tolerance
        here = [band.shares[path] for band in found]
        assert here == pytest.approx(again, abs=1e-5, rel=1e-3), path


def test_the_band_agrees_with_sampling():
    """Monte Carlo over 2000 draws (JCGM 101:2008 names the method); 3 % of the half-width."""
    specimen = read_specimen("""
kind: beam
material: {youngs_modulus: 200 GPa ± 3 %, density: 7850 kg/m3 ± 1 %, poisson_ratio: 0.3}
geometry:
  {length: 200 mm ± 1 %, section: {shape: rectangle, width: 20 mm, thickness: 2 mm ± 2 %}}
boundary: {start: clamped, end: free}
""")
    modes = find_modes(specimen, count=3)
    found = bands(modes)
    known = quantities(specimen)
    rng = np.random.default_rng(5)
    # Euler-Bernoulli's scaling stands for solving 20 000 times: f ~ t sqrt(E/rho) / L^2.
    draws = {p: 1 + rng.standard_normal(20_000) * known[p].tolerance / 2 / known[p].value
             for p in found[0].shares}  # fmt: skip
    ratio = (
        draws["geometry.section.thickness"]
        * np.sqrt(draws["material.youngs_modulus"] / draws["material.density"])
        / draws["geometry.length"] ** 2
    )
    half = 1.96 * ratio.std() * 2 / 1.96
    for mode, band in zip(modes.modes, found, strict=True):
        assert (band.high_hz - band.low_hz) / 2 / mode.frequency_hz == pytest.approx(half, rel=0.03)
        assert band.low_hz < mode.frequency_hz < band.high_hz


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
