"""Peaks over noise, at every width."""

import numpy as np
import pytest

from saltline.sweeps.curve import curve_of
from saltline.sweeps.peaks import (
    contrasts,
    first_peaks,
    half_power_points,
    half_power_width,
    left_over,
    prominence,
)

HZ = np.linspace(20.0, 400.0, 6000)


def resonance(f, bandwidth, height=1.0):
    return height / (1.0 + 2j * (HZ - f) / bandwidth)


def noise(deviation, rng):
    return deviation * (rng.standard_normal(HZ.size) + 1j * rng.standard_normal(HZ.size))


@pytest.mark.parametrize("bandwidth", [0.3, 2.0, 12.0])
def test_a_clear_peak_is_found_once_with_its_width(bandwidth, rng):
    for response in (
        resonance(151.0, bandwidth) + noise(0.01, rng),
        np.abs(resonance(151.0, bandwidth)),
    ):
        (peak,) = first_peaks(curve_of(HZ, response))
        assert peak.hz == pytest.approx(151.0, abs=0.15 * bandwidth)
        assert peak.width_hz == pytest.approx(bandwidth, rel=0.3)
        assert peak.height == pytest.approx(1.0, rel=0.1)


def test_noise_has_no_clear_peaks(rng):
    assert first_peaks(curve_of(HZ, noise(1.0, rng))) == []
    assert first_peaks(curve_of(HZ, np.abs(noise(1.0, rng)))) == []


def test_a_wide_peak_in_the_noise_is_found_by_taking_readings_together(rng):
    """Its height is 1.4 of the noise, so that no reading shows it; two hundred together do."""
    curve = curve_of(HZ, resonance(200.0, 20.0) + noise(0.5, rng))
    found = [p for p in left_over(curve, np.zeros(HZ.size), 0.0) if abs(p.hz - 200.0) < 10.0]
    assert found


def test_what_a_fit_leaves_is_found_on_the_flank_of_what_it_explains(rng):
    strong = resonance(150.0, 3.0, 100.0)
    response = strong + resonance(160.0, 2.0, 3.0) + noise(0.05, rng)
    curve = curve_of(HZ, response)
    explained = strong * (HZ / curve.pivot) ** curve.power
    first = left_over(curve, explained, 0.0)[0]
    assert first.hz == pytest.approx(160.0, abs=1.5)


def test_contrasts_of_noise_are_those_of_a_complex_normal_deviate(rng):
    for values in (rng.standard_normal(100_000), noise(1.0, rng)[:6000]):
        found, _ = contrasts(values, np.ones(values.size))
        inner = found[8:-8]
        assert np.median(inner) == pytest.approx(np.sqrt(2.0 * np.log(2.0)), rel=0.03)


def test_contrasts_do_not_see_what_is_smooth():
    x = np.linspace(-1.0, 1.0, 300)
    found, _ = contrasts(5.0 + 3.0 * x - 2.0 * x**2 + x**3, np.ones(300))
    assert found.max() < 1e-10


def test_half_power_points_of_a_resonance_are_its_bandwidth_apart():
    a = np.abs(resonance(150.0, 8.0))
    top = int(np.argmax(a))
    low, high = half_power_points(HZ, a, top, 0, HZ.size - 1)
    assert high - low == pytest.approx(8.0, rel=1e-3)
    assert half_power_width(HZ, a, top, top - 100, HZ.size - 1) == pytest.approx(8.0, rel=0.05)
    assert half_power_points(HZ, a, top, top - 2, top + 2) == (None, None)
    assert half_power_width(HZ, a, top, top - 2, top + 2) == pytest.approx(4 * (HZ[1] - HZ[0]))


def test_prominence_is_the_rise_above_the_higher_trough():
    a = np.array([0.0, 5.0, 2.0, 4.0, 1.0, 9.0, 0.0])
    assert prominence(a, 3) == (2.0, 2, 4)
    assert prominence(a, 1) == (4.0, 0, 4)
    assert prominence(a, 5)[0] == 9.0
