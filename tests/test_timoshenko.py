"""Timoshenko's beam: exact frequencies, both spectra, and its limits in Euler and Bernoulli's."""

from __future__ import annotations

import math

import numpy as np
import pytest

from outside import record
from saltline.arrays import Values
from saltline.beam import critical_frequency
from saltline.nodes import pattern_of
from saltline.solver import find_modes
from saltline.specimen import PredictionError
from specimens import beam, euler, grouped, lambdas, omegas, section, worst

TABLE = grouped("timoshenko.csv", "ends", "slenderness")

ROUNDING = 1e-9
"""What rounding may leave; the worst measured is 5e-14 over the table."""

SHEAR = 2.6 / (5 / 6)
"""E/(kappa G), nu = 0.3 and kappa = 5/6."""


def cut_off(slenderness: float) -> float:
    """lambda of the critical frequency sqrt(kappa G A/(rho I)), r^2 = 1/(12 slenderness^2)."""
    r2 = 1.0 / (12.0 * slenderness**2)
    return 1.0 / (r2 * math.sqrt(SHEAR))


def both_spectra(slenderness: float, count: int) -> tuple[Values, Values]:
    """lambda of the first modes of the pinned beam in either spectrum, from the closed form.

    With w = sin k x/L and psi = cos k x/L, k = n pi, r^2 = I/(A L^2), s^2 = r^2 E/(kappa G):
    lambda^4 r^2 s^2 - lambda^2 (1 + k^2 (r^2 + s^2)) + k^4 = 0 (Timoshenko 1921; textbook).
    """
    r2 = 1.0 / (12.0 * slenderness**2)
    s2 = r2 * SHEAR
    k = np.arange(1, count + 1) * math.pi
    b = 1.0 + k**2 * (r2 + s2)
    root = np.sqrt(b**2 - 4.0 * r2 * s2 * k**4)
    upper = (b + root) / (2.0 * r2 * s2)
    lower = k**4 / (r2 * s2) / upper  # the product of the roots: nothing cancels
    return np.sqrt(lower), np.sqrt(upper)


def without_pure_shear(found: Values, slenderness: float) -> Values:
    """The modes of a pinned beam but that of w = 0, psi constant, exactly at the cut-off.

    Nobody sees it: neither the table nor the closed form's n = 1, 2, 3 ... has it.
    """
    return found[np.abs(found / cut_off(slenderness) - 1.0) > ROUNDING]


# -- exact frequencies ----------------------------------------------------------------------------


@pytest.mark.parametrize(("ends", "slenderness"), TABLE)
def test_frequencies_match_determinants_recomputed_with_mpmath(ends: str, slenderness: str) -> None:
    true = np.array([float(row["lambda"]) for row in TABLE[ends, slenderness]])
    found = lambdas(beam(ends, slenderness=float(slenderness)), len(true) + 1)
    if ends == "pinned-pinned":
        found = without_pure_shear(found, float(slenderness))
    record(
        "Timoshenko beam, five pairs of ends, L/h = 5 to 50, modes 1 to 10",
        "exact determinants, mpmath",
        worst(found[: len(true)], true),
        ROUNDING,
    )


def test_sixty_modes_of_a_slender_pinned_beam_match_the_closed_form() -> None:
    slenderness = 100.0
    bending, _ = both_spectra(slenderness, 60)
    assert bending[-1] < cut_off(slenderness)
    found = lambdas(beam("pinned-pinned", slenderness=slenderness), 60)
    record("Timoshenko beam, pinned, modes 1 to 60", "closed form", worst(found, bending), ROUNDING)


def test_both_spectra_of_a_stubby_pinned_beam_are_complete() -> None:
    # 40 modes, a third of them of the second spectrum: none is lost, none is spurious.
    slenderness = 8.0
    bending, shearing = both_spectra(slenderness, 60)
    true = np.sort(np.concatenate([bending, shearing]))[:40]
    assert np.count_nonzero(shearing < true[-1]) > 12
    found = lambdas(beam("pinned-pinned", slenderness=slenderness), 41)
    found = without_pure_shear(found, slenderness)[:40]
    record("Timoshenko beam, both spectra", "closed form", worst(found, true), ROUNDING)


@pytest.mark.parametrize("slenderness", [1e3, 2e4])
def test_however_slender_the_beam_nothing_locks(slenderness: float) -> None:
    bending, _ = both_spectra(slenderness, 8)
    assert worst(lambdas(beam("pinned-pinned", slenderness=slenderness), 8), bending) < ROUNDING


# -- beside Euler and Bernoulli -------------------------------------------------------------------


@pytest.mark.parametrize("ends", ["clamped-free", "free-free", "clamped-clamped", "pinned-pinned"])
def test_the_difference_from_euler_falls_as_the_square_of_the_thickness(ends: str) -> None:
    simple = euler(beam(ends), 3)
    differences = np.array(
        [1.0 - lambdas(beam(ends, slenderness=s), 3) / simple for s in (100.0, 200.0, 400.0)]
    )
    assert np.all(differences > 0.0)
    # The next term of the series is about k^2/(12 s^2) of the first: 2 % at s = 100, mode 3.
    assert differences[:-1] / differences[1:] == pytest.approx(4.0, rel=0.02)


def test_euler_hz_is_eulers_frequency_of_the_same_order_and_lies_above() -> None:
    stubby = beam("free-free", slenderness=10.0)
    modes = find_modes(stubby, count=10).modes
    simple = find_modes(stubby, count=10, theory="euler").modes
    for mode, other in zip(modes, simple, strict=True):
        assert mode.euler_hz == pytest.approx(other.frequency_hz, rel=ROUNDING)
        assert other.euler_hz is None
        assert mode.frequency_hz < other.frequency_hz


def test_euler_hz_is_missing_above_the_critical_frequency() -> None:
    stubby = beam("clamped-free", slenderness=5.0)
    critical = critical_frequency(stubby, "flatwise")
    assert 2.0 * math.pi * critical == pytest.approx(cut_off(5.0), rel=1e-12)
    modes = find_modes(stubby, count=12).modes
    above = [mode.frequency_hz > critical for mode in modes]
    assert 0 < sum(above) < len(modes)
    assert [mode.euler_hz is None for mode in modes] == above


def test_the_critical_frequency_is_the_least_along_the_beam() -> None:
    thick, thin = section(slenderness=5.0), section(slenderness=5.0, stiffness=0.25)
    for segments in ([(0.5, thick), (0.5, thin)], [(0.5, thin), (0.5, thick)]):
        specimen = beam("free-free", slenderness=5.0, segments=segments)
        found = 2.0 * math.pi * critical_frequency(specimen, "flatwise")
        assert found == pytest.approx(cut_off(5.0), rel=1e-12)
    assert critical_frequency(beam(), "axial") == math.inf


def test_the_mode_of_pure_shear_has_neither_nodes_nor_a_frequency_by_euler() -> None:
    # w = 0 all along: what is left of it is rounding, and its zeros are no nodes.
    for mode in find_modes(beam("pinned-pinned", slenderness=5.0), count=8).modes:
        if abs(2.0 * math.pi * mode.frequency_hz / cut_off(5.0) - 1.0) < ROUNDING:
            assert pattern_of(mode.shape).counts == {"nodes": 0}
            assert mode.euler_hz is None


# -- preload --------------------------------------------------------------------------------------


@pytest.mark.parametrize("slenderness", [5.0, 20.0])
def test_shear_lowers_the_buckling_load_as_engesser_says(slenderness: float) -> None:
    # P = P_E/(1 + P_E/(kappa G A)) (Engesser 1891; textbook).
    plain = math.pi**2
    critical = plain / (1.0 + plain * SHEAR / (12.0 * slenderness**2))
    below, beyond = (
        beam("pinned-pinned", slenderness=slenderness, tension=-critical * (1.0 + side * 1e-6))
        for side in (-1, 1)
    )
    assert 0.0 < (lambdas(below, 1)[0] / plain) ** 2 < 2e-6
    with pytest.raises(PredictionError):
        find_modes(beyond, count=1)


def test_a_pulled_pinned_beam_has_its_closed_form() -> None:
    # w = sin, psi = cos: with p = tau the pull adds tau k^2 to k^4 as a spring does, and in full
    # lambda^2 is the lower root of det([[S k^2 + tau k^2 - L, -S k], [-S k, k^2 + S - r^2 L]]),
    # S = 1/s^2, L = lambda^2.
    slenderness, tau = 10.0, 30.0
    r2 = 1.0 / (12.0 * slenderness**2)
    S = 1.0 / (r2 * SHEAR)
    true = []
    for n in range(1, 9):
        k = n * math.pi
        K = np.array([[(S + tau) * k**2, -S * k], [-S * k, k**2 + S]])
        true.append(math.sqrt(np.linalg.eigvals(np.diag([1.0, 1.0 / r2]) @ K).real.min()))
    found = lambdas(beam("pinned-pinned", slenderness=slenderness, tension=tau), 8)
    assert worst(found, np.array(true)) < ROUNDING


# -- what the theory needs ------------------------------------------------------------------------


def test_without_a_shear_coefficient_the_cure_is_said_and_euler_still_answers() -> None:
    bare = {k: v for k, v in section().items() if k != "shear_coefficient"}
    specimen = beam(segments=[(1.0, bare)])
    with pytest.raises(PredictionError) as caught:
        find_modes(specimen, count=2)
    assert str(caught.value) == (
        "this needs the shear_coefficient of the custom section (about 0.85 for a compact solid "
        "one), or --theory euler"
    )
    assert omegas(find_modes(specimen, count=2, theory="euler")).size == 2
