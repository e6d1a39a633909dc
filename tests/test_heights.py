"""Heights of close resonances in a magnitude, against those that made it."""

import numpy as np
import pytest

from saltline.sweeps.group_fit import Resonance
from saltline.sweeps.heights import heights
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording

HZ = np.linspace(100.0, 300.0, 4001)


def response(modes, far=0.0):
    """Modes (Hz, damping ratio, signed height) as scipy.signal has a transfer function."""
    total = np.full(HZ.size, far, dtype=complex)
    for f, zeta, height in modes:
        total = total + height * 2.0 * zeta * f**2 / (f**2 - HZ**2 + 2j * zeta * f * HZ)
    return total


@pytest.mark.parametrize("apart", [0.7, 1.0, 2.0, 3.5])
@pytest.mark.parametrize("second", [0.7, -0.7, -1.5])
def test_two_that_are_close_have_their_own_heights(apart, second):
    """Bandwidths of 2.2 Hz, so many of them apart, in phase and in antiphase, beside a constant."""
    zeta = 0.006
    modes = [(180.0, zeta, 80.0), (180.0 * (1.0 + 2.0 * zeta * apart), zeta, 80.0 * second)]
    found = pick(Recording("a.csv", HZ, np.abs(response(modes, far=1.0)))).picks
    due = [80.0, 80.0 * abs(second)]
    assert [p.amplitude for p in found] == pytest.approx(due, rel=0.02)


def test_the_residues_of_a_square_tell_the_heights():
    """Partial fractions of |sum G/(f - z)|^2 by hand, of three poles."""
    h, G = np.array([1.0, 1.4, 0.8]), np.array([3.0, -2.0, 1.1])
    z = np.array([100.0, 103.0, 105.0]) + 1j * h
    r = np.array([G[k] * np.sum(G / (z[k] - z.conj())) for k in range(3)])
    f = np.linspace(90.0, 115.0, 11)
    square = np.abs(np.sum(G / (f[:, None] - z), axis=1)) ** 2
    assert square == pytest.approx(2.0 * np.sum(r / (f[:, None] - z), axis=1).real)
    found = heights(
        [Resonance(p.real, p.imag, 2.0 * c / p.imag) for p, c in zip(z, r, strict=True)]
    )
    assert found == pytest.approx(np.abs(G) / h, rel=1e-6)


def test_those_that_stand_by_themselves_are_left_alone():
    far = [Resonance(100.0, 1.0, -4j), Resonance(140.0, 1.0, -1j)]
    assert np.isnan(heights(far)).all()
    assert heights([]) == []
