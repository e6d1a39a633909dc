"""Plate shapes read together are what each of them reads alone: all kinds of singular functions."""

from __future__ import annotations

import numpy as np
import pytest

from saltline.files.specimen_file import read_specimen
from saltline.forced.together import jets_together
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape
from saltline.solver import find_modes

ORDERS = ((0, 0), (1, 0), (0, 2), (1, 1))

PLATES = {
    "smooth": "boundary: {left: clamped, right: clamped, bottom: pinned, top: pinned}",
    "corners": "boundary: {left: clamped, right: free, bottom: free, top: free}",
    "a stud and a point": """
boundary: {left: free, right: free, bottom: free, top: free}
supports: [{at: [60 mm, 70 mm], deflection: rigid, rotation: 40 N m/rad, diameter: 12 mm},
           {at: [150 mm, 110 mm], deflection: rigid}]""",
    "a line that ends within": """
boundary: {left: free, right: free, bottom: pinned, top: free}
supports: [{from: [90 mm, 0 mm], to: [90 mm, 70 mm], deflection: rigid}]""",
}


@pytest.mark.parametrize("name", PLATES)
def test_together_is_as_each_alone(name: str) -> None:
    specimen = read_specimen(f"""
kind: plate
material: {{youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}}
geometry: {{length: 200 mm, width: 160 mm, thickness: 2 mm}}
{PLATES[name]}
""")
    shapes = [m.shape for m in find_modes(specimen, count=5).modes]
    plates: list[PlateShape | MixedShape] = [s for s in shapes if isinstance(s, PlateShape)]
    assert len(plates) == 5
    one, other = (s for s in plates[:2] if isinstance(s, PlateShape))
    plates.append(MixedShape(((one, 0.6), (other, -0.8))))
    rng = np.random.default_rng(4)
    x, y = rng.uniform(0.0, 0.2, 40), rng.uniform(0.0, 0.16, 40)
    x[:3], y[:3] = 0.06, 0.07 + np.array([0.0, 0.003, 0.008])  # on and beside the stud
    found = jets_together(plates, x, y, ORDERS)
    for number, shape in enumerate(plates):
        for values, due in zip(found[:, number], shape.jet(x, y, ORDERS), strict=True):
            assert np.abs(values - due).max() <= 1e-12 * np.abs(due).max()
