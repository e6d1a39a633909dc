"""What a sweep does to a peak, against time integration and the figures that follow from it."""

import math

import numpy as np
import pytest

from outside import record
from saltline.sweeps.swept import envelope, swept_peak, true_bandwidth

# rate over bandwidth squared -> height, shift, width; time integration of the envelope equation.
INTEGRATED = {
    0.1: ("0.99813", "0.062", "1.004"),
    0.3: ("0.98752", "0.17", "1.039"),
    0.9: ("0.94496", "0.42", "1.226"),
    1.8: ("0.88802", "0.70", "1.480"),
    math.pi: ("0.82287", "1.03", "1.79"),
}


@pytest.mark.parametrize("x", INTEGRATED)
def test_swept_peaks_are_those_of_the_integrated_envelope(x):
    found = swept_peak(x)
    for value, printed in zip((found.height, found.shift, found.width), INTEGRATED[x], strict=True):
        unit = 10.0 ** -len(printed.partition(".")[2])
        assert value == pytest.approx(float(printed), abs=unit)


def test_the_envelope_is_that_of_a_whole_oscillator():
    """Time integration of x'' + 2 zeta w x' + w^2 x = w^2 cos(phase), 80 Hz, swept at 3 Hz/s."""
    from scipy.signal import cont2discrete, hilbert, lfilter

    f, zeta, rate = 80.0, 0.01, 3.0
    w, b = 2.0 * math.pi * f, 2.0 * zeta * f
    t = np.arange(0.0, 14.0, 5e-4)
    phase = 2.0 * math.pi * ((f - 20.0) * t + rate * t**2 / 2.0)
    b_z, a_z, _ = cont2discrete(([w**2], [1.0, 2.0 * zeta * w, w**2]), t[1], "foh")
    x = lfilter(b_z.ravel(), a_z, np.cos(phase))
    measured = np.abs(hilbert(x)) * 2.0 * zeta
    u = (f - 20.0 + rate * t - f) / b
    near = np.abs(u) < 3.0
    worst = np.max(np.abs(measured - np.abs(envelope(u, rate / b**2)))[near])
    record("envelope of a swept resonance", "time integration of one oscillator", worst, 0.02)


def test_a_sweep_at_rest_is_the_response_itself():
    u = np.array([-0.5, 0.0, 0.5])
    assert np.abs(envelope(u, 0.0)) == pytest.approx([2**-0.5, 1.0, 2**-0.5])
    assert np.abs(envelope(u, 1e-5)) == pytest.approx([2**-0.5, 1.0, 2**-0.5], abs=1e-4)


@pytest.mark.parametrize("x", [1e6, 1e7, 1e12])
def test_a_very_fast_sweep_goes_as_fresnels_integrals(x):
    """It passes before it can decay: a Cornu spiral, then a ringing falling by exp(-pi u / x)."""
    from scipy.special import fresnel

    s, c = fresnel(np.linspace(0.0, 3.0, 30001))
    overshoot = float(np.max(np.hypot(c + 0.5, s + 0.5))) / math.sqrt(2.0)
    found = swept_peak(x)
    height = math.pi * overshoot / math.sqrt(x)
    width = math.log(math.sqrt(2.0) / overshoot) / math.pi * x
    worst = max(abs(found.height / height - 1.0), abs(found.width / width - 1.0))
    record("peak of a very fast sweep", "Fresnel integrals of scipy", worst, 0.05)


@pytest.mark.parametrize("x", [50.0, 1e3, 1e4, 1e5])
def test_a_faster_sweep_makes_a_lower_and_wider_peak(x):
    slow, fast = swept_peak(x), swept_peak(3.0 * x)
    assert fast.height < slow.height
    assert fast.width > slow.width
    assert fast.shift > slow.shift


@pytest.mark.parametrize("x", [0.05, 0.5, 2.0, 4.0])
def test_the_true_bandwidth_is_found_from_the_recorded_one(x):
    bandwidth = 1.7
    recorded = bandwidth * swept_peak(x).width
    assert true_bandwidth(recorded, -x * bandwidth**2) == pytest.approx(bandwidth, rel=0.02)


def test_a_width_that_the_sweep_alone_makes_says_nothing():
    assert true_bandwidth(0.1, 1.0) is None
    assert true_bandwidth(1.0, 0.0) == pytest.approx(1.0, rel=1e-3)
