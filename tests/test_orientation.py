"""A phase that turns the other way, and a response that is late."""

import numpy as np
import pytest

from saltline.sweeps.curve import curve_of
from saltline.sweeps.orientation import oriented
from saltline.sweeps.peaks import first_peaks
from saltline.sweeps.resonance_fit import find_resonances

HZ = np.geomspace(20.0, 2000.0, 3000)
F, ZETA = np.array([40.0, 210.0, 640.0, 1500.0]), 0.006


def response(delay_s=0.0):
    rng = np.random.default_rng(6)
    clean = sum(HZ**2 / (f**2 - HZ**2 + 2j * ZETA * f * HZ) for f in F)
    noise = 0.05 * (rng.standard_normal(HZ.size) + 1j * rng.standard_normal(HZ.size))
    return (clean + noise) * np.exp(-2j * np.pi * HZ * delay_s)


@pytest.mark.parametrize("delay_s", [0.0, 0.004, -0.003])
@pytest.mark.parametrize("is_turned", [False, True])
def test_a_phase_is_read_as_it_was_meant(delay_s, is_turned):
    given = response(delay_s)
    curve = curve_of(HZ, given.conj() if is_turned else given)
    straight, how = oriented(curve, first_peaks(curve))
    assert how.is_turned == is_turned
    assert how.delay_s == pytest.approx(delay_s, abs=3e-4)
    found = find_resonances(straight)
    assert [r.frequency_hz for r in found] == pytest.approx(F, rel=1e-3)
    assert [r.damping_ratio for r in found] == pytest.approx([ZETA] * 4, rel=0.03)


def test_without_a_peak_nothing_is_turned():
    curve = curve_of(HZ, np.ones(HZ.size, complex))
    straight, how = oriented(curve, [])
    assert straight is curve
    assert (how.is_turned, how.delay_s) == (False, 0.0)
