"""The most that a mode can lie from a coarser calculation is no less than it does lie from it."""

import numpy as np
import pytest

from saltline.beam import beam_problems
from saltline.disc import disc_problems
from saltline.files.specimen_file import read_specimen
from saltline.modes import SETTLED
from saltline.plate import plate_problems
from saltline.problem import attach, solve
from saltline.settling import largest_changes
from saltline.solver import find_modes
from specimens import mass, plate, support

TEXT = """
kind: beam
material: brass
geometry: {{length: 200 mm, section: {{shape: rectangle, width: 20 mm, thickness: {thick}}}}}
boundary: {{start: {start}, end: {end}}}
{more}
"""
MASS = "attached: [{mass: 9 g, at: 70 mm, rotary_inertia: 20 g mm2}, {mass: 2 g, at: 200 mm}]"
SUPPORT = "supports: [{at: 90 mm, deflection: rigid}]"
SPRING = "{deflection: 2e5 N/m, rotation: 40 N m/rad}"

ROUNDING = 1e-9


def beam(start: str, end: str, more: str = "", thick: str = "1.5 mm"):
    return read_specimen(TEXT.format(start=start, end=end, more=more, thick=thick))


def problems(specimen, family, theory, count):
    """The same problem at two degrees, made for few modes so that higher ones are coarse."""
    return [
        beam_problems(
            specimen, count=count, theory=theory, families=[family], refinement=refinement
        )[0]
        for refinement in (0, 1)
    ]


@pytest.mark.parametrize("theory", ["timoshenko", "euler"])
@pytest.mark.parametrize("family", ["flatwise", "torsion", "axial"])
@pytest.mark.parametrize(
    ("start", "end", "more", "thick"),
    [
        ("clamped", "free", "", "1.5 mm"),
        ("clamped", "free", "", "18 mm"),
        ("free", "free", "", "1.5 mm"),
        ("clamped", "pinned", MASS, "1.5 mm"),
        ("clamped", "clamped", SUPPORT, "4 mm"),
        (SPRING, "free", MASS, "1.5 mm"),
    ],
)
def test_no_mode_lies_farther_from_the_coarser_one(start, end, more, thick, family, theory):
    coarse, fine = problems(beam(start, end, more, thick), family, theory, 2)
    count = 14
    found = solve(fine, count)
    before = solve(coarse, count).omega2
    bound = largest_changes(fine, found.q, found.omega2, found.rigid)
    assert bound is not None
    due = 1.0 - np.sqrt(found.omega2 / before)
    assert np.all(bound >= due - ROUNDING)
    assert due.max() > 1e-7 > SETTLED / 1e3, "otherwise this tests nothing but rounding"
    assert np.all(bound[:4] < SETTLED), "the modes that the basis is made for have settled"


def test_the_lower_functions_are_those_of_the_degree_before():
    coarse, fine = problems(beam("clamped", "pinned", MASS), "flatwise", "timoshenko", 5)
    lower = np.flatnonzero(np.diag(fine.cut(np.eye(fine.K.shape[0]))))
    assert lower.size == coarse.K.shape[0] < fine.K.shape[0]
    for whole, part in zip(attach(fine), attach(coarse), strict=True):
        assert whole[np.ix_(lower, lower)] == pytest.approx(part, rel=1e-12, abs=1e-12 * part.max())


def test_what_a_pin_leaves_of_the_motions_without_strain_is_not_told():
    """One of two is left, and which is not known here: then both degrees are solved."""
    specimen = beam("pinned", "free")
    fine = problems(specimen, "flatwise", "timoshenko", 5)[1]
    found = solve(fine, 5)
    assert found.rigid == 1
    assert largest_changes(fine, found.q, found.omega2, found.rigid) is None
    assert not find_modes(specimen).unsettled


def test_a_mode_that_has_not_settled_is_seen():
    """Far more modes than the basis is made for."""
    fine = problems(beam("clamped", "free"), "flatwise", "timoshenko", 1)[1]
    found = solve(fine, 16)
    bound = largest_changes(fine, found.q, found.omega2, found.rigid)
    assert bound is not None
    assert bound.max() > SETTLED


DISC = """
kind: disc
material: brass
geometry: {{diameter: 300 mm, thickness: 3 mm{hole}}}
boundary: {{rim: {rim}{inner}}}
"""


@pytest.mark.parametrize(
    ("hole", "rim", "inner"),
    [
        ("", "free", ""),
        ("", "clamped", ""),
        (", hole_diameter: 60 mm", "free", ", hole: clamped"),
    ],
)
def test_no_mode_of_a_disc_lies_farther_from_the_coarser_one(hole, rim, inner):
    specimen = read_specimen(DISC.format(hole=hole, rim=rim, inner=inner))
    coarse, fine = (disc_problems(specimen, count=2, refinement=rise) for rise in (0, 1))
    furthest = 0.0
    for before, after in zip(coarse, fine, strict=True):
        size = after.K.shape[0]
        assert np.linalg.matrix_rank(after.cut(np.eye(size))) == before.K.shape[0] < size
        count = 8
        found = solve(after, count)
        due = 1.0 - np.sqrt(found.omega2 / solve(before, count).omega2)
        bound = largest_changes(after, found.q, found.omega2, found.rigid)
        if bound is not None:
            assert np.all(bound >= due - ROUNDING)
            furthest = max(furthest, due.max())
    assert furthest > 1e-7, "otherwise this tests nothing but rounding"


@pytest.mark.parametrize(
    ("edges", "more"),
    [
        ("FFFF", {}),
        ("SSSS", {}),
        ("CFFF", {}),
        ("FFFF", {"attached": [mass((0.3, 0.2), 0.05)]}),
        ("SSFF", {"supports": [support((0.8, 0.4), 300.0)]}),
    ],
)
def test_no_mode_of_a_plate_lies_farther_from_the_coarser_one(edges, more):
    specimen = plate(edges, width=0.71, **more)
    coarse, fine = (plate_problems(specimen, count=2, refinement=rise) for rise in (0, 1))
    furthest = 0.0
    for before, after in zip(coarse, fine, strict=True):
        count = 12
        found = solve(after, count)
        due = 1.0 - np.sqrt(found.omega2 / solve(before, count).omega2)
        bound = largest_changes(after, found.q, found.omega2, found.rigid)
        assert bound is not None
        assert np.all(bound >= due - ROUNDING)
        furthest = max(furthest, due.max())
    assert furthest > 1e-8, "otherwise this tests nothing but rounding"


def test_a_free_plate_is_solved_once():
    """Its lowest modes are known to lie less than a part in a million from the degree before."""
    found = find_modes(plate("FFFF", width=0.71), count=10)
    for problem in {id(mode.problem): mode.problem for mode in found.modes}.values():
        modes = [mode for mode in found.modes if mode.problem is problem]
        Q = np.column_stack([mode.q for mode in modes])
        omega2 = np.array([(2.0 * np.pi * mode.frequency_hz) ** 2 for mode in modes])
        bound = largest_changes(problem, Q, omega2, found.rigid)
        assert bound is not None
        assert np.all(bound < SETTLED)


def test_what_a_plate_is_cut_to_has_no_polynomial_of_a_higher_degree():
    coarse, fine = (plate_problems(plate("FFFF"), count=5, refinement=rise) for rise in (0, 1))
    for before, after in zip(coarse, fine, strict=True):
        size = after.K.shape[0]
        assert np.linalg.matrix_rank(after.cut(np.eye(size))) == before.K.shape[0] < size
