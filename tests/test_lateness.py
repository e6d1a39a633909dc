"""How late a response is, against delays that were put in."""

import math

import numpy as np
import pytest

from saltline.sweeps.lateness import Lateness, lateness
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording

F = (27.0, 169.2, 473.9, 928.6, 1535.1)
SIGNS = (1, -1, 1, 1, -1)


def residues(delay_s, quarter=-0.5 * math.pi, spread=0.0):
    rng = np.random.default_rng(2)
    return [
        sign * np.exp(1j * (quarter - 2.0 * math.pi * f * delay_s + spread * rng.standard_normal()))
        for f, sign in zip(F, SIGNS, strict=True)
    ]


@pytest.mark.parametrize("delay", [-1.3e-3, 0.4e-3, 2.0e-3])
@pytest.mark.parametrize("quarter", [0.0, -0.5 * math.pi])
def test_a_delay_is_told_to_microseconds(delay, quarter):
    found = lateness(F, residues(delay, quarter, spread=0.02))
    assert found.is_known
    assert found.delay_s == pytest.approx(delay, abs=2e-5)


def test_phases_that_agree_are_left_alone():
    assert lateness(F, residues(0.0, spread=0.05)) == Lateness()


def test_what_no_delay_brings_together_is_not_known():
    rng = np.random.default_rng(5)
    turned = [np.exp(1j * angle) for angle in rng.uniform(0.0, math.pi, len(F))]
    assert not lateness(F, turned).is_known
    assert not lateness(F[:2], residues(1e-3)[:2]).is_known


def test_a_late_channel_is_picked_as_if_it_were_not():
    hz = np.geomspace(15.0, 2000.0, 8000)
    still = sum(
        sign * hz**2 / (f**2 - hz**2 + 2j * 0.003 * f * hz)
        for f, sign in zip(F, SIGNS, strict=True)
    )
    rng = np.random.default_rng(1)
    still = still + 0.02 * (rng.standard_normal(hz.size) + 1j * rng.standard_normal(hz.size))
    late = still * np.exp(-2j * np.pi * hz * 2e-3)
    found = pick(Recording("late.csv", hz, late))
    assert found.delay_s == pytest.approx(2e-3, abs=2e-5)
    assert [one.frequency_hz for one in found.picks] == pytest.approx(F, rel=1e-4)
    signs = [1 if one.residue.imag < 0 else -1 for one in found.picks]
    assert signs in ([*SIGNS], [-s for s in SIGNS])
