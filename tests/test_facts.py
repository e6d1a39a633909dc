"""Mass, centre of gravity and overhang against sums by hand."""

import math

import numpy as np
import pytest

from saltline.facts import doubts, facts
from saltline.files.specimen_file import read_specimen
from saltline.solver import find_modes

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


# -- what is hardly meant -------------------------------------------------------------------------


def beam(length, thickness, ends=("clamped", "free"), extra=""):
    start, end = ends
    return read_specimen(
        MATERIAL
        + f"""
kind: beam
geometry: {{length: {length}, section: {{shape: rectangle, width: 20 mm, thickness: {thickness}}}}}
boundary: {{start: {start}, end: {end}}}
{extra}
"""
    )


def sag_of(specimen):
    """The static deflection of a uniform strip under its own weight (textbook), over its length."""
    section = specimen.geometry.segments[0].section_start.dimensions
    t, L = section["thickness"].value, specimen.geometry.length
    per_load = {"clamped-free": 1 / 8, "pinned-pinned": 5 / 384}
    ends = "-".join(specimen.boundary[name].word for name in ("start", "end"))
    return per_load[ends] * 8000 * 9.80665 * t * L**3 / (200e9 * t**3 / 12)


@pytest.mark.parametrize("ends", [("clamped", "free"), ("pinned", "pinned")])
def test_a_beam_is_doubted_once_its_weight_bends_it_by_a_tenth_of_its_length(ends):
    """The sag is an estimate, to a fifth of the textbook's (common practice, no source)."""
    lengths = np.geomspace(0.4, 1.6, 24)
    specimens = [beam(f"{length!r} m", "1 mm", ends) for length in lengths.tolist()]
    said = [" ".join(doubts(find_modes(s, count=1))) for s in specimens]
    first = next(n for n, text in enumerate(said) if "its own weight" in text)
    assert 0.08 < sag_of(specimens[first]) < 0.125
    assert all("its own weight" in text for text in said[first:])


def test_what_floats_does_not_sag_and_a_usual_specimen_is_not_doubted():
    assert doubts(find_modes(beam("3 m", "1 mm", ("free", "free")), count=1)) == ()
    assert doubts(find_modes(beam("200 mm", "2 mm"), count=1)) == ()
    assert doubts(find_modes(beam("200 mm", "2 mm"), count=1, families=["torsion"])) == ()


def test_a_unit_that_is_off_is_asked_about():
    """A reed of 300 m instead of 300 mm; a thickness in micrometres; a spring far too soft."""
    assert doubts(find_modes(beam("300 m", "1.5 mm"), count=1)) == (
        "the length is 200000 times the thickness",
        "the first frequency is 1.3e-05 Hz",
        "its own weight would bend it by more than 100 % of its length",
    )
    foil = find_modes(beam("30 mm", "5 um", ("clamped", "clamped")), count=1)
    assert doubts(foil) == ("the length is 6000 times the thickness",)
    soft = beam("200 mm", "2 mm", ("{deflection: 0.1 N/m, rotation: rigid}", "guided"))
    slow, sags = doubts(find_modes(soft, count=1))
    assert slow.startswith("the first frequency is 0.2")
    assert "its own weight" in sags


def test_plates_and_discs_are_judged_by_their_largest_side():
    plate = read_specimen(
        MATERIAL
        + """
kind: plate
geometry: {length: 3 m, width: 0.5 m, thickness: 0.5 mm}
boundary: {left: pinned, right: pinned, bottom: pinned, top: pinned}
"""
    )
    assert "the length is 6000 times the thickness" in doubts(find_modes(plate, count=1))
    disc = read_specimen(
        MATERIAL
        + """
kind: disc
geometry: {diameter: 300 mm, thickness: 1 mm}
boundary: {rim: clamped}
"""
    )
    assert doubts(find_modes(disc, count=1)) == ()
