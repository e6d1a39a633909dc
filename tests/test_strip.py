"""Where a strip stops being a beam: sorted by motion, against finite elements of the same strip."""

import math

import numpy as np
import pytest

from outside import record
from saltline.modes import find_modes
from saltline.specimen_file import read_specimen
from saltline.strip import as_plate, compare, is_plain, is_strip, motion_of, reach

STRIP = """
kind: beam
material: {{youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.33}}
geometry: {{length: {length} mm, section: {{shape: rectangle, width: 20 mm, thickness: 1 mm}}}}
boundary: {{start: {start}, end: {end}}}
"""


def strip(length=300.0, start="clamped", end="free"):
    return read_specimen(STRIP.format(length=length, start=start, end=end))


def finite_elements(specimen, count, columns):
    """The lowest plate frequencies by Morley's triangles (scikit-fem), and each mode's motion."""
    from scipy.sparse.linalg import eigsh
    from skfem import Basis, BilinearForm, ElementTriMorley, MeshTri
    from skfem.helpers import dd, ddot, eye, trace

    a, b = specimen.geometry.size
    h, material = specimen.geometry.thickness.value, specimen.material
    nu = material.poisson_ratio.value
    D = material.youngs_modulus.value * h**3 / 12.0 / (1.0 - nu**2)
    rows = max(4, round(columns * b / a))
    mesh = MeshTri.init_tensor(np.linspace(0, a, columns + 1), np.linspace(0, b, rows + 1))
    basis = Basis(mesh, ElementTriMorley())

    @BilinearForm
    def bending(u, v, _):
        curvature = dd(u)
        return D * ddot((1 - nu) * curvature + nu * eye(trace(curvature), 2), dd(v))

    @BilinearForm
    def mass(u, v, _):
        return material.density.value * h * u * v

    K, M = bending.assemble(basis), mass.assemble(basis)
    held = np.zeros(0, dtype=int)
    if specimen.boundary["left"].word == "clamped":
        held = basis.get_dofs(lambda x: np.isclose(x[0], 0.0)).all(["u", "u_n"])
    kept = np.setdiff1d(np.arange(K.shape[0]), held)
    values, vectors = eigsh(
        K[kept][:, kept], k=count + 3, M=M[kept][:, kept], sigma=-1e3, which="LM"
    )
    order = np.argsort(values)
    corners = basis.nodal_dofs[0]
    motions = []
    for k in order:
        w = np.zeros(K.shape[0])
        w[kept] = vectors[:, k]
        table = w[corners][np.lexsort((mesh.p[1], mesh.p[0]))].reshape(columns + 1, rows + 1)
        eta = np.linspace(-1.0, 1.0, rows + 1)
        weight = np.ones(rows + 1)
        weight[[0, -1]] = 0.5
        weight /= weight.sum()
        even, slope = table @ weight, table @ (weight * eta) / (weight @ eta**2)
        shares = np.array([np.sum(even**2), np.sum(slope**2) * (weight @ eta**2)])
        rest = np.sum(table**2 @ weight) - shares.sum()
        motions.append(("flatwise", "torsion", "chordwise")[int(np.argmax([*shares, rest]))])
    omega2 = values[order]
    elastic = omega2 > 1e2
    hz = np.sqrt(omega2[elastic]) / (2.0 * math.pi)
    return hz[:count], [m for m, keep in zip(motions, elastic, strict=True) if keep][:count]


def by_motion(frequencies, motions):
    """Motion -> its frequencies, ascending. (Meshes may order bending and torsion differently.)"""
    found = {}
    for hz, motion in zip(frequencies, motions, strict=True):
        found.setdefault(motion, []).append(hz)
    return found


@pytest.mark.parametrize("start", ["clamped", "free"])
def test_the_first_twelve_modes_are_sorted_as_finite_elements_sort_them(start):
    """scikit-fem, Morley's triangle, two meshes extrapolated (its error falls as h^2)."""
    specimen = strip(start=start)
    plate = as_plate(specimen)
    meshes = [by_motion(*finite_elements(plate, 16, columns)) for columns in (90, 180)]
    expected = sorted(
        ((4.0 * fine - coarse) / 3.0, motion)
        for motion in meshes[0]
        for coarse, fine in zip(meshes[0][motion], meshes[1][motion], strict=False)
    )[:12]
    beam = find_modes(specimen, count=24, families=("flatwise", "torsion"))
    rows = compare(specimen, beam, count=12)
    assert [row.motion for row in rows] == [motion for _, motion in expected]
    worst = max(
        abs(row.frequency_hz / hz - 1.0) for row, (hz, _) in zip(rows, expected, strict=True)
    )
    record(
        f"strip as plate, {start}-free, 12 modes", "scikit-fem, Morley, extrapolated", worst, 2e-3
    )


def test_matched_modes_are_near_and_differences_have_their_sign():
    specimen = strip()
    beam = find_modes(specimen, count=24, families=("flatwise", "torsion"))
    rows = compare(specimen, beam, count=10)
    assert {row.motion for row in rows} == {"flatwise", "torsion"}
    for row in rows:
        assert row.beam is not None
        # A plate is stiffer: it holds its width (Poisson) and knows no shear.
        assert 0.0 < row.difference < 0.12
        assert row.reason != ""


def test_a_slender_strip_tends_to_the_beam():
    """Width over length 1/100: the first bending mode within 0.3 %."""
    specimen = strip(length=2000.0, start="free")
    beam = find_modes(specimen, count=6, families=("flatwise", "torsion"))
    first = compare(specimen, beam, count=1)[0]
    assert abs(first.difference) < 3e-3


def test_the_quick_reach_agrees_with_the_full_comparison():
    specimen = strip()
    flatwise = find_modes(specimen, count=12)
    found = reach(specimen, flatwise.modes)
    full = compare(
        specimen, find_modes(specimen, count=40, families=("flatwise", "torsion")), count=18
    )
    torsion = next(row.frequency_hz for row in full if row.motion == "torsion")
    assert found.first_lines["torsion"] == pytest.approx(torsion, rel=0.01)
    assert found.holds_to_hz < math.inf
    beyond = [
        row.beam.frequency_hz
        for row in full
        if row.motion == "flatwise"
        and row.frequency_hz / (row.beam.euler_hz or row.beam.frequency_hz) - 1.0 > 0.02
    ]
    assert found.holds_to_hz == pytest.approx(beyond[0], rel=1e-9)


def test_only_a_plain_rectangle_is_a_strip():
    assert is_strip(strip())
    assert is_plain(strip())
    rod = STRIP.replace(
        "shape: rectangle, width: 20 mm, thickness: 1 mm", "shape: rod, diameter: 9 mm"
    )
    assert not is_strip(read_specimen(rod.format(length=300, start="free", end="free")))
    held = strip(start="{deflection: rigid, rotation: 5 N m/rad}")
    assert is_strip(held)
    assert not is_plain(held)


def test_the_motion_is_read_off_the_shape():
    modes = find_modes(as_plate(strip(length=100.0, start="free")), count=8).modes
    motions = [motion_of(mode.shape) for mode in modes]
    # Five times as long as wide: bending and torsion alternate, and nothing bends across yet.
    assert motions[0] == "flatwise"
    assert set(motions) == {"flatwise", "torsion"}
