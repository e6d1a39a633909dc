"""Mass-weighted integrals of shapes, and rigid-body motions, against closed forms and laws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from outside import record
from saltline.files.specimen_file import read_specimen
from saltline.forced.inertia import inertia
from saltline.forced.rigid import rigid_motions
from saltline.modes import Modes
from saltline.quantity import Quantity
from saltline.solver import find_modes
from saltline.specimen import Specimen
from specimens import UNIT, beam, mass, plate, spring, support


def found(modes: Modes) -> np.ndarray:
    return inertia(modes.modes, modes.specimen)


def test_a_pinned_beams_modes_are_sines() -> None:
    """Of sqrt(2/m) sin(n pi x): sqrt(2 m) (1 - cos n pi)/(n pi) and -sqrt(2 m) cos(n pi)/(n pi)."""
    modes = find_modes(beam("pinned-pinned"), count=8, theory="euler")
    n = np.arange(1, 9)
    size = math.sqrt(2.0 * UNIT) / (n * math.pi)
    due = np.stack([size * (1.0 - (-1.0) ** n), size * np.abs((-1.0) ** n)], axis=1)
    worst = np.max(np.abs(np.abs(found(modes)[:, :2]) - due)) / size[0]
    record("inertia of a pinned beam's modes, and its moment", "sines (closed form)", worst, 1e-9)


def test_a_pinned_plates_modes_are_products_of_sines() -> None:
    modes = find_modes(plate("SSSS", width=0.8), count=1)
    size = 2.0 * math.sqrt(0.8 * UNIT) * (2.0 / math.pi) ** 2
    due = size * np.array([1.0, 0.5, 0.4])  # symmetric: the centre's arms
    worst = np.max(np.abs(np.abs(found(modes)[0]) / due - 1.0))
    record("inertia of a pinned plate's first mode", "sines (closed form)", worst, 1e-9)


def test_the_sign_of_a_moment_goes_with_that_of_the_force() -> None:
    """A first mode that moves one way has its force at a place on the specimen."""
    for specimen in (beam("clamped-free"), plate("CFFF"), plate("FFCF")):
        even, *moments = found(find_modes(specimen, count=1))[0]
        assert 0.0 < moments[0] / even < 1.0


def test_modes_of_a_free_specimen_work_against_no_rigid_motion() -> None:
    """Orthogonality to what is rigid, attached masses and their inertia included."""
    foot = [mass((0.2, 0.3), 0.3, inertia=0.01, foot=0.1)]
    for specimen in (
        beam("free-free", attached=[mass(0.2, 0.5, inertia=0.02)]),
        plate("FFFF", width=0.8, attached=[mass((0.2, 0.3), 0.3)]),
        plate("FFFF", width=0.8, attached=foot),
    ):
        modes = find_modes(specimen, count=4)
        assert np.abs(found(modes)).max() < 1e-10 * math.sqrt(UNIT)


@pytest.mark.parametrize("hole", ["", ", hole_diameter: 40 mm"])
def test_a_free_discs_modes_work_against_no_rigid_motion(hole: str) -> None:
    edges = "{rim: free, hole: free}" if hole else "{rim: free}"
    text = f"""
kind: disc
material: steel
geometry: {{diameter: 240 mm, thickness: 2 mm{hole}}}
boundary: {edges}
"""
    text += "" if hole else "attached: [{mass: 20 g, rotary_inertia: 2 kg mm2, diameter: 20 mm}]\n"
    modes = find_modes(read_specimen(text), count=12)
    assert any(mode.labels["diameters"] == 0 for mode in modes.modes)
    assert np.abs(found(modes)).max() < 1e-8


def test_a_beams_other_families_have_none() -> None:
    text = """
kind: beam
material: steel
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
"""
    modes = find_modes(read_specimen(text), count=4, families=("edgewise", "torsion", "axial"))
    assert np.all(found(modes) == 0.0)


# -- rigid-body motions ---------------------------------------------------------------------------

PATCH = [
    {"at": ["0.5 m", "0.5 m"], "deflection": "rigid", "rotation": "rigid", "diameter": "0.1 m"}
]


@pytest.mark.parametrize(
    "specimen",
    [
        beam("free-free"), beam("pinned-free"), beam("guided-free"), beam("clamped-free"),
        beam("free-free", supports=[support(0.3)]),
        beam("free-free", supports=[support(0.3), support(0.7)]),
        beam((spring(3.0, "free"), "free")),
        beam("free-free", tension=0.5),
        plate("FFFF"), plate("SFFF"), plate("GFFF"), plate("CFFF"),
        plate("FFFF", supports=[support((0.5, 0.5))]),
        plate("FFFF", supports=[support((0.2, 0.5)), support((0.7, 0.5))]),
        plate("FFFF", supports=PATCH),
    ],
)  # fmt: skip
def test_rigid_motions_are_as_many_as_the_solver_left_out(specimen: Specimen) -> None:
    modes = find_modes(specimen, count=3, theory="euler" if specimen.kind == "beam" else None)
    assert len(rigid_motions(modes)) == modes.rigid


def test_a_bars_rigid_motions_are_orthonormal_in_its_mass() -> None:
    """Of a uniform bar: the even motion 1/sqrt(m), the turn sqrt(12/m) (x - 1/2), or alike."""
    motions = rigid_motions(find_modes(beam("free-free"), count=2, theory="euler"))
    c = np.array([motion.shape.c[:2] for motion in motions])
    M = UNIT * np.array([[1.0, 0.5], [0.5, 1.0 / 3.0]])
    assert c @ M @ c.T == pytest.approx(np.eye(2), abs=1e-12)
    assert np.array([m.inertia[:2] for m in motions]) == pytest.approx(c @ M)


def test_a_plates_rigid_motions_count_what_stands_on_it() -> None:
    """Against the mass matrix summed over a fine grid and the thing on its foot."""
    thing = mass((0.2, 0.3), 0.3, inertia=0.01, foot=0.1)
    motions = rigid_motions(find_modes(plate("FFFF", width=0.8, attached=[thing]), count=2))
    c = np.array([motion.shape.c for motion in motions])
    n = 400
    x, y = np.meshgrid((np.arange(n) + 0.5) / n, 0.8 * (np.arange(n) + 0.5) / n)
    rows = np.stack([np.ones(n * n), x.ravel(), y.ravel()])
    M = UNIT * 0.8 * rows @ rows.T / n**2
    place = np.array([1.0, 0.2, 0.3])
    M += UNIT * (0.3 * np.outer(place, place) + 0.01 * np.diag([0.0, 1.0, 1.0]))
    assert c @ M @ c.T == pytest.approx(np.eye(3), abs=1e-5)


def test_a_massless_thing_changes_nothing() -> None:
    specimen = beam("clamped-free")
    nothing = replace(
        beam("clamped-free", attached=[mass(0.3, 0.5)]).attached[0], mass=Quantity(0.0)
    )
    modes = [find_modes(s, count=4) for s in (specimen, replace(specimen, attached=(nothing,)))]
    assert np.abs(found(modes[0])) == pytest.approx(np.abs(found(modes[1])), rel=1e-7)
