"""Resonances of curves, against transfer functions whose poles are known."""

import numpy as np
import pytest
from scipy import signal

from outside import record
from saltline.sweeps.curve import curve_of
from saltline.sweeps.resonance_fit import find_resonances

F = np.array([26.0, 163.0, 456.0, 894.0, 903.0, 1476.0])
ZETA = np.array([0.02, 0.004, 0.006, 0.003, 0.004, 0.008])
R = np.array([1.0, -0.8, 0.6, 0.5, -0.5, 0.4])
HZ = np.geomspace(10.0, 2000.0, 5000)


def transfer():
    """A sum of second-order systems as one of scipy's, in rad/s: numerator and denominator."""
    w = 2.0 * np.pi * F
    poles = -ZETA * w + 1j * w * np.sqrt(1.0 - ZETA**2)
    numerator = np.zeros(1)
    for k in range(F.size):
        rest = np.delete(poles, k)
        others = np.poly(np.concatenate([rest, rest.conj()])).real
        numerator = np.polyadd(numerator, R[k] * others)
    return signal.lti(numerator, np.poly(np.concatenate([poles, poles.conj()])).real)


def scipys_response(order=0):
    """Its frequency response by scipy, differentiated `order` times."""
    w, H = signal.freqresp(transfer(), 2.0 * np.pi * HZ)
    return H * (1j * w) ** order


def noisy(response, decibels, seed):
    rng = np.random.default_rng(seed)
    size = np.sqrt(np.mean(np.abs(response) ** 2)) * 10.0 ** (-decibels / 20.0) / np.sqrt(2.0)
    return response + size * (rng.standard_normal(HZ.size) + 1j * rng.standard_normal(HZ.size))


@pytest.mark.parametrize("of", [np.asarray, np.abs])
@pytest.mark.parametrize("order", [0, 1, 2])
def test_the_poles_of_scipys_response_are_found(of, order):
    """A displacement, a velocity and an acceleration; with its phase and by amplitude alone."""
    found = find_resonances(curve_of(HZ, of(scipys_response(order))))
    assert len(found) == F.size
    poles = np.sort_complex(transfer().poles[transfer().poles.imag > 0] * -1j)
    frequency = np.abs(poles) / (2.0 * np.pi)
    damping = poles.imag / np.abs(poles)
    assert frequency == pytest.approx(F, rel=1e-6)  # that the reference itself is right
    worst = max(abs(r.frequency_hz / f - 1.0) for r, f in zip(found, frequency, strict=True))
    record("picked frequencies of a clean response", "scipy.signal.freqresp", worst, 2e-5)
    worst = max(abs(r.damping_ratio / z - 1.0) for r, z in zip(found, damping, strict=True))
    record("picked damping of a clean response", "scipy.signal.freqresp", worst, 5e-3)


def test_structural_damping_is_half_a_loss_factor():
    eta = 0.012
    response = sum(-r * HZ**2 / (f**2 * (1 + 1j * eta) - HZ**2) for r, f in zip(R, F, strict=True))
    for r, f in zip(find_resonances(curve_of(HZ, response)), F, strict=True):
        assert r.damping_ratio == pytest.approx(eta / 2.0, rel=1e-3)
        assert r.frequency_hz == pytest.approx(f, rel=1e-4)


def test_errors_by_noise_are_as_large_as_stated():
    """Over many sweeps of 40 dB the errors are normal with the stated standard errors."""
    clean = scipys_response(2)
    pulls = []
    for seed in range(4):
        found = find_resonances(curve_of(HZ, noisy(clean, 40.0, seed)))
        assert len(found) == F.size
        for r, f, z in zip(found, F, ZETA, strict=True):
            pulls.append((r.frequency_hz - f) / r.place_error_hz)
            pulls.append((r.damping_ratio / z - 1.0) / r.width_error)
    assert np.std(pulls) == pytest.approx(1.0, abs=0.35)
    assert np.mean(np.abs(pulls) < 2.0) > 0.88


def test_two_modes_a_bandwidth_apart_are_told_apart_by_amplitude_alone():
    f, zeta = np.array([100.0, 101.0]), np.array([0.005, 0.005])
    hz = np.linspace(80.0, 120.0, 800)
    for sign in (1.0, -1.0):
        one, other = (
            1.0 / (fk**2 - hz**2 + 2j * z * fk * hz) for fk, z in zip(f, zeta, strict=True)
        )
        rng = np.random.default_rng(2)
        response = np.abs(one + sign * other)
        response += 0.005 * response.max() * rng.standard_normal(hz.size)
        found = find_resonances(curve_of(hz, response))
        assert [r.frequency_hz for r in found] == pytest.approx(f, abs=0.05)


def test_noise_that_grows_with_the_response_makes_no_resonances():
    clean = scipys_response(2)
    rng = np.random.default_rng(9)
    gain = 1.0 + 0.02 * np.sin(np.linspace(0.0, 9.0, HZ.size))
    gain += 0.005 * rng.standard_normal(HZ.size)
    for response in (clean * gain, np.abs(clean * gain)):
        found = find_resonances(curve_of(HZ, response))
        assert [r.frequency_hz for r in found] == pytest.approx(F, rel=1e-3)


def test_rounded_readings_make_no_resonances():
    clean = np.abs(scipys_response(2))
    found = find_resonances(curve_of(HZ, np.round(clean / clean.max(), 4)))
    assert [r.frequency_hz for r in found] == pytest.approx(F, rel=1e-4)


def test_nothing_is_found_in_noise():
    rng = np.random.default_rng(12)
    for _ in range(5):
        parts = rng.standard_normal((2, 4000))
        hz = np.geomspace(10.0, 1000.0, 4000)
        assert find_resonances(curve_of(hz, parts[0] + 1j * parts[1])) == []
        assert find_resonances(curve_of(hz, np.hypot(*parts))) == []


def test_a_resonance_that_is_wide_against_the_sweep_is_background():
    hz = np.linspace(90.0, 110.0, 500)
    response = 1.0 / (1.0 + 2j * (hz - 100.0) / 80.0)
    assert find_resonances(curve_of(hz, response)) == []
