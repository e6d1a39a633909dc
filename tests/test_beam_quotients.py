"""Rayleigh's quotients without matrices are those with them, or are not given at all."""

import numpy as np
import pytest

from saltline.files.specimen_file import read_specimen
from saltline.problem import attach
from saltline.quantities_of import quantities, with_values
from saltline.solver import find_modes
from saltline.spread import held, moved

TEXT = """
kind: beam
material: brass
geometry:
  tension: 40 N
  segments:
    - {length: 120 mm, section: {shape: rectangle, width: 20 mm, thickness: 3 mm}}
    - {length: 90 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: {deflection: 1e6 N/m, rotation: 90 N m/rad}, end: free}
attached: [{mass: 3 g, at: 210 mm, rotary_inertia: 20 g mm2}, {mass: 2 g, at: 60 mm}]
supports: [{at: 150 mm, deflection: rigid}]
"""
BEAM = read_specimen(TEXT)
MOVING = ("attached.1.at", "supports.0.at", "attached.0.at")
FAMILIES = ("flatwise", "torsion", "edgewise", "axial")


def both(path: str, family: str):
    """Quotients of five modes with one quantity 1e-4 larger: without matrices, and with them."""
    problem = find_modes(BEAM, count=5, families=(family,)).modes[0].problem
    Q = np.column_stack([m.q for m in find_modes(BEAM, count=5, families=(family,)).modes])
    value = quantities(BEAM)[path].value
    changed = with_values(BEAM, moved(BEAM, path, (1.0 + 1e-4) * value))
    again = problem.rebuild(changed)
    K, M = attach(again)
    kept = held(again, K + 1e-3 * again.highest * M, Q)
    due = np.einsum("ij,ij->j", kept, K @ kept) / np.einsum("ij,ij->j", kept, M @ kept)
    return problem.quotients(Q)(changed), due


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(
    "path",
    [
        "material.youngs_modulus",
        "material.density",
        "material.poisson_ratio",
        "geometry.tension",
        "geometry.segments.0.section.thickness",
        "boundary.start.rotation",
        "boundary.start.deflection",
        "attached.0.mass",
        "attached.0.rotary_inertia",
    ],
)
def test_a_quotient_is_that_of_the_matrices(path, family):
    found, due = both(path, family)
    assert found == pytest.approx(due, rel=1e-9)


@pytest.mark.parametrize("path", MOVING)
def test_what_leaves_the_place_where_elements_meet_needs_the_matrices(path):
    assert both(path, "flatwise")[0] is None


def test_a_longer_beam_needs_no_matrices_as_long_as_all_stays_at_its_ends():
    text = """
kind: beam
material: steel
geometry: {length: 300 mm, section: {shape: rod, diameter: 6 mm}}
boundary: {start: clamped, end: {deflection: 2e4 N/m, rotation: free}}
attached: [{mass: 3 g, at: 300 mm}]
"""
    rod = read_specimen(text)
    modes = find_modes(rod, count=4).modes
    Q = np.column_stack([m.q for m in modes])
    longer = with_values(rod, moved(rod, "geometry.length", 0.3003))
    K, M = attach(modes[0].problem.rebuild(longer))
    due = np.einsum("ij,ij->j", Q, K @ Q) / np.einsum("ij,ij->j", Q, M @ Q)
    assert modes[0].problem.quotients(Q)(longer) == pytest.approx(due, rel=1e-9)


def test_a_tapered_beam_has_none():
    text = TEXT.replace(
        "section: {shape: rectangle, width: 20 mm, thickness: 2 mm}",
        "section_start: {shape: rectangle, width: 20 mm, thickness: 3 mm}, "
        "section_end: {shape: rectangle, width: 20 mm, thickness: 2 mm}",
    )
    assert find_modes(read_specimen(text), count=1).modes[0].problem.quotients is None
