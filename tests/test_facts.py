"""Mass, centre of gravity and overhang against sums by hand."""

import math

import pytest

from saltline.facts import facts
from saltline.specimen_file import read_specimen

MATERIAL = "material: {youngs_modulus: 200 GPa, density: 8000 kg/m3, poisson_ratio: 0.3}\n"


def test_a_cantilever_with_a_mass_at_the_tip():
    """0.2 m x 20 mm x 2 mm at 8000 kg/m3 is 64 g; 16 g at the tip."""
    found = facts(
        read_specimen(
            MATERIAL
            + """
kind: beam
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
attached: [{mass: 16 g, at: 200 mm}]
"""
        )
    )
    assert found.mass_kg == pytest.approx(0.080, rel=1e-12)
    assert found.centre_m == pytest.approx((0.12,), rel=1e-12)
    assert found.overhang_n_m == pytest.approx(0.080 * 9.80665 * 0.12, rel=1e-12)


def test_held_at_its_end_the_arm_runs_from_the_end():
    found = facts(
        read_specimen(
            MATERIAL
            + """
kind: beam
geometry:
  segments:
    - {length: 100 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
    - {length: 100 mm, section: {shape: rectangle, width: 20 mm, thickness: 6 mm}}
boundary: {start: free, end: clamped}
"""
        )
    )
    # 32 g at 50 mm and 96 g at 150 mm
    assert found.mass_kg == pytest.approx(0.128, rel=1e-12)
    assert found.centre_m == pytest.approx((0.125,), rel=1e-12)
    assert found.overhang_n_m == pytest.approx(0.128 * 9.80665 * 0.075, rel=1e-12)


def test_a_cone_weighs_a_third_of_its_cylinder():
    """A cone's centre lies a quarter of its height from the base (Archimedes)."""
    found = facts(
        read_specimen(
            MATERIAL
            + """
kind: beam
geometry:
  segments:
    - length: 1 m
      section_start: {shape: rod, diameter: 0.1 m}
      section_end: {shape: rod, diameter: 1e-6 m}
boundary: {start: free, end: free}
"""
        )
    )
    assert found.mass_kg == pytest.approx(8000 * math.pi * 0.05**2 / 3, rel=1e-4)
    assert found.centre_m == pytest.approx((0.25,), rel=1e-4)
    assert found.overhang_n_m == 0.0


def test_plates_and_discs():
    plate = facts(
        read_specimen(
            MATERIAL
            + """
kind: plate
geometry: {length: 200 mm, width: 100 mm, thickness: 1 mm}
boundary: {left: free, right: clamped, bottom: free, top: free}
"""
        )
    )
    assert plate.mass_kg == pytest.approx(0.16, rel=1e-12)
    assert plate.overhang_n_m == pytest.approx(0.16 * 9.80665 * 0.1, rel=1e-12)
    disc = facts(
        read_specimen(
            MATERIAL
            + """
kind: disc
geometry: {diameter: 200 mm, thickness: 1 mm, hole_diameter: 100 mm}
boundary: {rim: free, hole: clamped}
"""
        )
    )
    assert disc.mass_kg == pytest.approx(8.0 * math.pi / 4 * 0.03, rel=1e-12)
    assert disc.centre_m == ()
    assert disc.overhang_n_m == 0.0
