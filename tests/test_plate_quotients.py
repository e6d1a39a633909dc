"""A plate's quotients without matrices are those with them, or are not given at all."""

from __future__ import annotations

import numpy as np
import pytest

from saltline.arrays import Values
from saltline.files.specimen_file import read_specimen
from saltline.problem import attach
from saltline.quantities_of import quantities
from saltline.solver import find_modes
from saltline.spread import by_problem, changed, held

TEXT = """
kind: plate
material: brass
geometry: {length: 300 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: {deflection: 1e6 N/m/m, rotation: 90 N}, right: free, bottom: free, top: free}
attached: [{mass: 30 g, at: [240 mm, 100 mm]}]
supports:
  - {at: [120 mm, 100 mm], deflection: rigid, rotation: rigid, diameter: 30 mm}
  - {at: [180 mm, 40 mm], deflection: 3e4 N/m}
"""
PLATE = read_specimen(TEXT)
MODES = find_modes(PLATE, count=6)


def both(path: str) -> list[tuple[Values | None, Values]]:
    """Quotients with one quantity 1e-4 larger, for each symmetry class: without, with matrices."""
    specimen = changed(PLATE, path, (1.0 + 1e-4) * quantities(PLATE)[path].value)
    pairs = []
    for problem, members in by_problem(MODES.modes):
        Q = np.column_stack([np.asarray(MODES.modes[i].q) for i in members])
        again = problem.rebuild(specimen)
        K, M = attach(again)
        kept = held(again, K + 1e-3 * again.highest * M, Q)
        due = np.einsum("ij,ij->j", kept, K @ kept) / np.einsum("ij,ij->j", kept, M @ kept)
        assert problem.quotients is not None
        pairs.append((problem.quotients(Q)(specimen), due))
    return pairs


@pytest.mark.parametrize(
    "path",
    [
        "material.youngs_modulus",
        "material.density",
        "material.poisson_ratio",
        "geometry.thickness",
        "boundary.left.deflection",
        "boundary.left.rotation",
        "attached.0.mass",
        "supports.1.deflection",
    ],
)
def test_a_quotient_is_that_of_the_matrices(path: str) -> None:
    for found, due in both(path):
        assert found == pytest.approx(due, rel=1e-9)


@pytest.mark.parametrize(
    "path", ["geometry.length", "attached.0.at.0", "supports.0.at.1", "supports.0.diameter"]
)
def test_what_moves_the_functions_is_left_to_the_matrices(path: str) -> None:
    assert all(found is None for found, _ in both(path))
