"""How strongly a drive excites each mode, against closed forms and symmetry."""

import numpy as np
import pytest

from outside import record
from saltline.files.measured import Measured
from saltline.files.specimen_file import read_specimen
from saltline.forced.drive import NOT_EXCITED, excitation
from saltline.naming.check import check
from saltline.solver import find_modes

MATERIAL = "material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}\n"

CANTILEVER = (
    MATERIAL
    + """
kind: beam
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
drive: {through: boundary}
"""
)

SQUARE = (
    MATERIAL
    + """
kind: plate
geometry: {length: 200 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: EDGE, right: EDGE, bottom: EDGE, top: EDGE}
drive: DRIVE
"""
)


def cantilever_fractions(count):
    """4 sigma^2/(beta L)^2, sigma = (sinh b - sin b)/(cosh b + cos b) (textbook; mpmath roots)."""
    import mpmath

    found = []
    for n in range(1, count + 1):
        b = mpmath.findroot(
            lambda x: mpmath.cos(x) + 1 / mpmath.cosh(x),
            1.8751 if n == 1 else (n - 0.5) * mpmath.pi,
        )
        sigma = (mpmath.sinh(b) - mpmath.sin(b)) / (mpmath.cosh(b) + mpmath.cos(b))
        found.append(float(4 * sigma**2 / b**2))
    return found


def test_effective_masses_of_a_cantilever_are_the_closed_form():
    modes = find_modes(read_specimen(CANTILEVER), count=10, theory="euler")
    fractions = np.array(excitation(modes)) ** 2
    worst = np.abs(fractions / cantilever_fractions(10) - 1.0).max()
    record("effective masses of a cantilever, modes 1-10", "closed form, mpmath", worst, 1e-7)
    # Printed values (Wijker, from memory): 0.613, 0.188, 0.0647, 0.0331.
    assert fractions[:4] == pytest.approx([0.6131, 0.1883, 0.0647, 0.0331], abs=6e-5)


def test_effective_masses_sum_to_the_whole_mass():
    modes = find_modes(read_specimen(CANTILEVER), count=60, theory="euler")
    total = float(np.sum(np.array(excitation(modes)) ** 2))
    assert 0.99 < total < 1.0


def test_a_pinned_plate_is_driven_in_modes_odd_by_odd_alone():
    """Effective mass of mode (m, n): (8/pi^2)^2/(m n)^2 for odd m, n, else nothing (textbook)."""
    text = SQUARE.replace("EDGE", "pinned").replace("DRIVE", "{through: boundary}")
    shares = excitation(find_modes(read_specimen(text), count=6))
    expected = 8.0 / np.pi**2
    assert shares[0] == pytest.approx(expected, rel=1e-9)
    assert all(share < NOT_EXCITED for share in shares[1:4])
    assert max(shares[4:6]) == pytest.approx(expected / 3.0, rel=1e-6)


def test_a_force_at_the_centre_drives_only_what_is_even_about_it():
    text = SQUARE.replace("EDGE", "free").replace("DRIVE", "{through: point, at: [100 mm, 100 mm]}")
    shares = excitation(find_modes(read_specimen(text), count=8))
    # The cross, the X and the two pairs have a node at the centre; ring and # have not.
    assert [share > NOT_EXCITED for share in shares] == [
        False, False, True, False, False, False, False, True,
    ]  # fmt: skip


def test_a_disc_driven_at_its_centre_shows_circles_alone():
    text = (
        MATERIAL
        + """
kind: disc
geometry: {diameter: 200 mm, thickness: 2 mm}
boundary: {rim: free}
drive: {through: point}
"""
    )
    modes = find_modes(read_specimen(text), count=8)
    for mode, share in zip(modes.modes, excitation(modes), strict=True):
        assert (share > NOT_EXCITED) == (mode.labels["diameters"] == 0)


def test_without_a_drive_nothing_is_said():
    assert excitation(find_modes(read_specimen(CANTILEVER.replace("drive:", "# drive:")))) is None


def test_check_explains_a_mode_that_the_drive_cannot_excite():
    text = (
        MATERIAL
        + """
kind: beam
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: pinned, end: pinned}
drive: {through: boundary}
"""
    )
    specimen = read_specimen(text)
    hz = [mode.frequency_hz for mode in find_modes(specimen, count=5).modes]
    outcome = check(specimen, [Measured(hz[k]) for k in (0, 2, 4)])
    within = [u for u in outcome.unseen if u.mode.frequency_hz < hz[4]]
    assert [u.mode.order for u in within] == [2, 4]
    assert all("excite" in u.why for u in within)
