"""Strain and stress at the surface, against static and dynamic closed forms."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pytest

from exact_response import clamped_disc, euler_beam
from outside import record
from saltline.files.specimen_file import read_specimen
from saltline.forced.response import driven, superposed
from saltline.forced.shapes import deflections
from saltline.forced.strain import (
    at_worst_phase,
    principal,
    strain_readings,
    stress,
    surface,
)
from saltline.modes import Modes
from saltline.solver import find_modes
from saltline.specimen import Specimen
from specimens import UNIT, omegas, plate

ALUMINIUM = "material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}\n"
STRIP = (
    ALUMINIUM
    + """
kind: beam
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
"""
)


def static_peaks(specimen: Specimen, count: int = 30) -> Mapping[str, float]:
    """The largest strain and stress per m/s2 of a base that moves far below all resonances."""
    modes = find_modes(specimen, count=count)
    known, watched = driven(modes, damping_ratio=1e-9), surface(modes)
    read = strain_readings(watched, known.shapes)
    f = np.array([1e-4 * modes.modes[0].frequency_hz])
    sums = superposed(known, f, read.reshape(len(read), -1)).reshape(-1, 3)
    tensor = at_worst_phase(sums)
    return {
        "strain": float(principal(tensor).max()),
        "stress": float(principal(stress(watched, tensor)).max()),
    }


# -- beams ----------------------------------------------------------------------------------------


def per_tip(modes: Modes, number: int) -> tuple[float, float]:
    """The largest strain of a beam's mode over its tip's deflection, 1/m, and where that is."""
    watched, shape = surface(modes), modes.modes[number].shape
    strain = principal(strain_readings(watched, [shape])[0])
    tip = float(deflections(shape, np.array([[watched.places.max()]]))[0])
    return float(strain.max()) / abs(tip), float(watched.places[int(np.argmax(strain)), 0])


def test_root_strain_of_a_cantilever_over_its_tip() -> None:
    """h/2 beta^2 in every mode, for w''(0) = beta^2 w(L) (textbook); beta L with mpmath."""
    roots = (1.8751040687, 4.6940911330, 7.8547574382, 10.9955407349, 14.1371683910)
    modes = find_modes(read_specimen(STRIP), count=8, theory="euler")
    errors = []
    for number, root in enumerate(roots):
        found, place = per_tip(modes, number)
        errors.append(abs(found / (1e-3 * (root / 0.2) ** 2) - 1.0))
        assert place == pytest.approx(0.0, abs=1e-9)
    record(
        "root strain over tip deflection, modes 1-5", "closed form, mpmath roots", max(errors), 1e-6
    )


def test_strain_of_a_driven_cantilever_along_its_length() -> None:
    specimen = read_specimen(STRIP)
    modes = find_modes(specimen, count=6, theory="euler")
    known, watched = driven(modes, damping_ratio=0.01), surface(modes)
    # In the unit beam's lengths: L = 0.2 m, and omega as many times the unit's.
    rate = 2.0 * math.pi * modes.modes[0].frequency_hz / 3.5160152685
    lambdas = np.array([1.0, 3.5, 10.0, 22.03, 40.0])
    some = [0, 9, 23, 40, 60]
    xs = watched.places[some, 0] / 0.2
    f = lambdas * rate / (2.0 * math.pi)
    read = strain_readings(watched, known.shapes)[:, some, 0]
    found = superposed(known, f, read)
    exact = []
    for lam, hz in zip(lambdas, f, strict=True):
        curvature = euler_beam("clamped-free", float(lam), 0.01, list(xs))[:, 2] / 0.2**2
        base = -1.0 / (2.0 * math.pi * hz) ** 2
        exact.append(-1e-3 * curvature * base)
    # The relative motion's sign: the sum is that of -z.
    worst = np.max(np.abs(-found / np.array(exact) - 1.0))
    record("strain along a driven cantilever", "closed form, complex modulus, mpmath", worst, 1e-5)


def test_the_stress_at_rest_is_that_of_the_weight() -> None:
    """Root moment m L/2 over section modulus b h^2/6 (statics), and its strain by E."""
    found = static_peaks(read_specimen(STRIP))
    due = 2700.0 * 0.02 * 0.002 * 0.2 * 0.1 / (0.02 * 0.002**2 / 6.0)
    assert found["stress"] == pytest.approx(due, rel=1e-5)
    assert found["strain"] == pytest.approx(due / 70e9, rel=1e-5)


def test_at_a_step_the_thinner_side_is_strained_more() -> None:
    """One moment through both sections: strain goes with 1/(b h^2)."""
    text = (
        ALUMINIUM
        + """
kind: beam
geometry:
  segments:
    - {length: 100 mm, section: {shape: rectangle, width: 20 mm, thickness: 3 mm}}
    - {length: 100 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
"""
    )
    modes = find_modes(read_specimen(text), count=4, theory="euler")
    watched = surface(modes)
    strain = strain_readings(watched, [modes.modes[1].shape])[0, :, 0]
    x = watched.places[:, 0]
    before = strain[np.flatnonzero(x < 0.1)[-1]]
    after = strain[np.flatnonzero(x > 0.1)[0]]
    assert after / before == pytest.approx((3.0 / 2.0) ** 2, rel=1e-5)


def test_a_custom_section_without_thickness_has_no_strain() -> None:
    text = (
        ALUMINIUM
        + """
kind: beam
geometry: {length: 200 mm, section: {shape: custom, area: 40 mm2, second_moment: 13 mm4}}
boundary: {start: clamped, end: free}
"""
    )
    modes = find_modes(read_specimen(text), count=2, theory="euler")
    assert np.all(np.isnan(strain_readings(surface(modes), [modes.modes[0].shape])))


# -- plates and discs -----------------------------------------------------------------------------

H = 0.01
"""Thickness of the unit plate, m."""
STRESS = UNIT * 6.0 / H**2
"""Stress of a unit plate under 1 m/s2 over the coefficient of its moment, M = c m a^2."""


@pytest.mark.parametrize(
    ("edges", "coefficient"),
    [
        # Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 1959, tables 8 and 35 (from
        # memory), nu = 0.3: at the middle of a pinned plate, at the middle of a clamped edge.
        ("SSSS", 0.0479),
        ("CCCC", 0.0513),
    ],
)
def test_stress_of_a_square_plate_under_its_weight(edges: str, coefficient: float) -> None:
    found = static_peaks(plate(edges))
    worst = abs(found["stress"] / (coefficient * STRESS) - 1.0)
    source = "Timoshenko and Woinowsky-Krieger, tables (from memory)"
    record("static stress of square plates", source, worst, 0.003)


@pytest.mark.parametrize(
    ("rim", "strain", "stress_"),
    [
        # q R^2/8 at the rim, strained along the radius alone: sigma = E/(1 - nu^2) epsilon.
        ("clamped", 0.125 * (1.0 - 0.09), 0.125),
        # (3 + nu) q R^2/16 at the centre, both ways alike: epsilon = (1 - nu) sigma/E.
        ("pinned", 3.3 / 16.0 * 0.7, 3.3 / 16.0),
    ],
)
def test_stress_and_strain_of_a_disc_under_its_weight(
    rim: str, strain: float, stress_: float
) -> None:
    """Timoshenko and Woinowsky-Krieger, ch. 3 (textbook)."""
    text = f"""
kind: disc
material: {{youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}}
geometry: {{diameter: 200 mm, thickness: 2 mm}}
boundary: {{rim: {rim}}}
"""
    found = static_peaks(read_specimen(text))
    unit = 2700.0 * 0.002 * 0.1**2 * 6.0 / 0.002**2
    assert found["stress"] == pytest.approx(stress_ * unit, rel=1e-4)
    assert found["strain"] == pytest.approx(strain * unit / 70e9, rel=1e-4)


def test_strain_of_a_driven_disc_at_its_centre() -> None:
    """W'' of the exact response by a difference of its values."""
    text = f"""
kind: disc
material: {{youngs_modulus: {UNIT * 0.91 * 12.0 / H**3!r} Pa, density: {UNIT / H!r} kg/m3,
            poisson_ratio: 0.3}}
geometry: {{diameter: 2 m, thickness: {H} m}}
boundary: {{rim: clamped}}
"""
    modes = find_modes(read_specimen(text), count=20)
    known, watched = driven(modes, damping_ratio=0.01), surface(modes)
    omega = np.array([5.0, 20.0, 41.0])
    read = strain_readings(watched, known.shapes)[:, 0, :2]
    found = superposed(known, omega / (2.0 * math.pi), read)
    d = 1e-2
    for row, o in zip(found, omega, strict=True):
        w0, w1, w2 = clamped_disc(float(o), 0.01, (0.0, d, 2.0 * d))
        bend = (-30.0 * w0 + 32.0 * w1 - 2.0 * w2) / (12.0 * d * d)  # even: w(-d) = w(d)
        due = -(H / 2.0) * bend / -(o**2)
        assert -row == pytest.approx([due, due], rel=1e-6)


def test_the_rim_of_a_stud_is_where_a_plate_on_it_strains_most() -> None:
    text = (
        ALUMINIUM
        + """
kind: plate
geometry: {length: 200 mm, width: 160 mm, thickness: 1.5 mm}
boundary: {left: free, right: free, bottom: free, top: free}
supports: [{at: [100 mm, 80 mm], deflection: rigid, rotation: rigid, diameter: 16 mm}]
"""
    )
    modes = find_modes(read_specimen(text), count=4)
    known, watched = driven(modes), surface(modes)
    strain = strain_readings(watched, known.shapes)
    umbrella = max(range(len(known.work)), key=lambda n: abs(known.work[n]))
    place = watched.places[int(np.argmax(principal(strain[umbrella])))]
    assert math.dist(place, (0.1, 0.08)) == pytest.approx(0.008, rel=1e-5)


# -- tensors --------------------------------------------------------------------------------------


def test_principal_values_are_eigenvalues() -> None:
    rng = np.random.default_rng(3)
    tensors = rng.standard_normal((50, 3))
    for tensor, found in zip(tensors, principal(tensors), strict=True):
        xx, yy, xy = tensor
        eigenvalues = np.linalg.eigvalsh([[xx, xy], [xy, yy]])
        assert found == pytest.approx(np.abs(eigenvalues).max())


def test_the_worst_phase_of_one_phase_is_the_amplitude() -> None:
    tensor = np.array([2.0, -1.0, 0.5])
    turned = tensor * np.exp(0.7j)
    assert np.abs(at_worst_phase(turned)) == pytest.approx(np.abs(tensor))
    # Of two parts a quarter apart the larger one is met at its crest.
    assert np.abs(at_worst_phase(np.array([2.0, 1.0j, 0.0]))) == pytest.approx([2.0, 0.0, 0.0])


def test_an_orthotropic_sheet_is_stressed_by_its_own_moduli() -> None:
    """Pulled along y alone: sigma_y = Ey eps_y where eps_x = -nu_yx eps_y (Hooke's law)."""
    text = """
kind: plate
material: {youngs_modulus_x: 10 GPa, youngs_modulus_y: 2 GPa, shear_modulus: 1 GPa,
           poisson_ratio: 0.3, density: 500 kg/m3}
geometry: {length: 200 mm, width: 160 mm, thickness: 2 mm}
boundary: {left: clamped, right: free, bottom: free, top: free}
"""
    watched = surface(find_modes(read_specimen(text), count=1))
    nu_yx = 0.3 * 2.0 / 10.0
    found = stress(watched, np.array([-nu_yx * 1e-3, 1e-3, 5e-4]))
    assert found == pytest.approx([0.0, 2e9 * 1e-3, 1e9 * 1e-3], abs=1e-3)


def test_omega_of_the_unit_plate_is_lambda() -> None:
    """What the static tables above rest on: D = 1000 N m and 1000 kg/m2."""
    assert omegas(find_modes(plate("SSSS"), count=1))[0] == pytest.approx(2.0 * math.pi**2)
