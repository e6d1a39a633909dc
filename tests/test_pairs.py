"""Partners: which modes lie so close that a small imperfection mixes their figures."""

import numpy as np
import pytest

from saltline.modes import find_modes
from saltline.pairs import pairs, partners
from saltline.specimen_file import read_specimen

SHEET = """
kind: plate
material: {{youngs_modulus: 69 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}}
geometry: {{length: 240 mm, width: {width} mm, thickness: 2 mm}}
boundary: {{left: free, right: free, bottom: free, top: free}}
{extra}
"""


def modes_of(width=240.0, extra="", count=8):
    return find_modes(read_specimen(SHEET.format(width=width, extra=extra)), count=count)


def test_a_square_free_plate_has_its_two_degenerate_pairs():
    """Modes 4, 5 and 6, 7 of the free square plate (Leissa 1973, from memory)."""
    modes = modes_of()
    assert partners(modes) == {4: [5], 5: [4], 6: [7], 7: [6]}
    found = pairs(modes)
    assert [(p.first.rank, p.second.rank) for p in found] == [(4, 5), (6, 7)]
    assert all(p.apart < 1e-9 for p in found)
    assert all(p.angle_deg == pytest.approx(45.0, abs=0.1) for p in found)
    assert all(p.is_fragile for p in found)


def test_an_oblong_plate_has_lost_those_partners():
    assert partners(modes_of(width=200.0, count=7)) == {}


def test_the_angle_is_that_of_a_plate_solved_with_the_mass():
    """The mixing that perturbation theory tells against solving the plate with a mass again."""
    plain = modes_of(width=238.0, count=5)
    pair = next(p for p in pairs(plain) if p.first.rank == 4)
    assert 0.0 < pair.apart < 0.03
    a, b = plain.specimen.geometry.size
    x, y = np.linspace(0.0, a, 41), np.linspace(0.0, b, 41)
    u, v = (m.shape.at(x, y) for m in (pair.first, pair.second))
    i, j = np.unravel_index(np.argmax(np.abs(u * v)), u.shape)
    mass = 0.01 * 2700 * a * b * 2e-3
    place = f"[{1e3 * x[i]} mm, {1e3 * y[j]} mm]"
    loaded = modes_of(238.0, f"attached: [{{mass: {1e3 * mass} g, at: {place}}}]", 5)
    w = loaded.modes[3].shape.at(x, y)
    shares = [abs(float(np.sum(w * s)) / float(np.sum(s * s))) for s in (u, v)]
    turned = np.degrees(np.arctan2(min(shares), max(shares)))
    assert pair.angle_deg == pytest.approx(turned, rel=0.25)
