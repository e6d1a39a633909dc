"""Sweep, dwell and step, against the standards' figures and simulated resonances."""

import math
from itertools import pairwise

import numpy as np
import pytest

from outside import record
from saltline.planning.pace import (
    FOR_DAMPING,
    STEP_LOSS,
    octaves,
    pace,
    stretches,
    sweep_cycles,
    sweep_seconds,
)


def test_sweep_limits_are_those_of_the_standard():
    """ISO 7626-2, 54 f^2/Q^2 Hz/min and 77.6 f/Q^2 octave/min (from memory), at 100 Hz and Q 50."""
    found = pace(100.0, 1.0 / 100.0)
    assert found.sweep_hz_per_s * 60.0 == pytest.approx(216.0)
    assert found.sweep_octave_per_min == pytest.approx(3.104)
    # The two are one limit, but for the rounding of the printed factors: 54/ln 2 = 77.9.
    same = found.sweep_hz_per_s * 60.0 / (100.0 * math.log(2.0))
    assert found.sweep_octave_per_min == pytest.approx(same, rel=0.005)
    worst = max(abs(found.sweep_hz_per_s * 60.0 / 216.0 - 1), abs(same / 3.104 - 1))
    record("sweep limits at 100 Hz, Q = 50", "ISO 7626-2, from memory", worst, 0.005)


def test_sweep_limit_is_0_9_of_the_squared_bandwidth_a_second():
    found = pace(437.0, 0.0021)
    assert found.sweep_hz_per_s == pytest.approx(0.9 * found.bandwidth_hz**2)


def swept_envelope(rate):
    """Peak and half-power width of a resonance of 1 Hz bandwidth that is swept at `rate` Hz/s.

    The envelope of a lightly damped oscillator: A' = -pi A + pi exp(i pi rate t^2).
    """
    from scipy.integrate import solve_ivp

    t = np.linspace(-15.0, 15.0, 6001)
    done = solve_ivp(
        lambda t, a: -np.pi * a + np.pi * np.exp(1j * np.pi * rate * t**2),
        (t[0], t[-1]),
        np.array([0j]),
        t_eval=t,
        rtol=1e-8,
        atol=1e-10,
    )
    size = np.abs(done.y[0])
    above = np.flatnonzero(size >= size.max() / math.sqrt(2.0))
    return size.max(), rate * (t[above[-1]] - t[above[0]])


def test_at_the_limit_a_swept_peak_is_a_twentieth_low_and_for_damping_nearly_true():
    limit = pace(100.0, 0.005).sweep_hz_per_s  # 1 Hz wide
    peak, width = swept_envelope(limit)
    assert peak == pytest.approx(0.945, abs=0.002)
    assert width == pytest.approx(1.226, abs=0.01)
    peak, width = swept_envelope(limit * FOR_DAMPING)
    assert peak == pytest.approx(0.998, abs=0.001)
    assert width == pytest.approx(1.004, abs=0.005)


def test_a_whole_oscillator_swept_at_the_limit_reaches_what_the_envelope_says():
    """Time integration of x'' + 2 zeta w x' + w^2 x = w^2 sin(phase), 100 Hz and Q 50."""
    from scipy.signal import lsim

    f, zeta = 100.0, 0.01
    w, rate = 2.0 * math.pi * f, pace(f, zeta).sweep_hz_per_s
    t = np.arange(0.0, 12.0, 2e-4)
    phase = 2.0 * math.pi * ((f - 6.0 * rate) * t + rate * t**2 / 2.0)
    _, x, _ = lsim(([w**2], [1.0, 2.0 * zeta * w, w**2]), np.sin(phase), t)
    assert np.abs(x).max() * 2.0 * zeta == pytest.approx(0.945, abs=0.01)


@pytest.mark.parametrize(("f", "zeta"), [(26.0, 0.003), (100.0, 0.01), (1500.0, 0.001)])
def test_dwell_builds_up_95_percent_of_a_driven_oscillator(f, zeta):
    from scipy.signal import lsim

    found = pace(f, zeta)
    w = 2.0 * math.pi * f
    t = np.arange(0.0, found.dwell_s, 1.0 / f / 60.0)
    _, x, _ = lsim(([w**2], [1.0, 2.0 * zeta * w, w**2]), np.sin(w * t), t)
    reached = np.abs(x[-120:]).max() * 2.0 * zeta
    error = abs(reached - 0.95)
    record("amplitude after the dwell", "time integration of one oscillator", error, 0.005)
    assert found.dwell_cycles == pytest.approx(math.log(20.0) / math.pi / (2.0 * zeta))


@pytest.mark.parametrize("zeta", [0.0005, 0.003, 0.01])
def test_half_a_step_off_the_peak_loses_no_more_than_it_says(zeta):
    f = 300.0
    found = pace(f, zeta)

    def response(frequency):
        r = frequency / f
        return 1.0 / math.hypot(1.0 - r**2, 2.0 * zeta * r)

    worst = min(response(f + found.step_hz / 2.0), response(f - found.step_hz / 2.0))
    assert worst / response(f) == pytest.approx(1.0 - STEP_LOSS, abs=0.002)


def test_octaves_and_cycles_of_sweeps_are_those_of_the_standard():
    """IEC 60068-2-6: the ranges' octaves and the closed form of the cycles."""
    for low, high, due in ((10, 55, 2.459), (10, 150, 3.907), (10, 500, 5.644), (10, 2000, 7.644)):
        assert octaves(low, high) == pytest.approx(due, abs=6e-4)
        assert sweep_seconds(low, high, 1.0) == pytest.approx(60.0 * due, abs=0.04)
    assert sweep_cycles(10.0, 500.0, 1.0) == pytest.approx(60.0 * 490.0 / math.log(2.0))


def test_cycles_of_a_sweep_are_the_integral_of_its_frequency():
    t = np.linspace(0.0, sweep_seconds(20.0, 700.0, 0.7), 200_001)
    f = 20.0 * 2.0 ** (0.7 * t / 60.0)
    assert sweep_cycles(20.0, 700.0, 0.7) == pytest.approx(np.trapezoid(f, t), rel=1e-8)


def test_stretches_cover_the_range_and_none_is_too_fast():
    f = [26.0, 163.0, 456.0]
    found = stretches(f, 0.0005, low_hz=10.0, high_hz=1000.0)
    assert [s.number for s in found] == [0, 1, 2]
    assert [found[0].low_hz, found[-1].high_hz] == [10.0, 1000.0]
    for one, other in pairwise(found):
        assert one.high_hz == other.low_hz
    for stretch in found:
        limit = pace(f[stretch.number], 0.0005).sweep_octave_per_min
        assert stretch.octave_per_min == min(1.0, limit)
        assert stretch.low_hz < f[stretch.number] < stretch.high_hz


def test_a_range_without_a_resonance_is_one_stretch():
    (found,) = stretches([], 0.01, low_hz=10.0, high_hz=20.0)
    assert (found.number, found.seconds) == (None, 60.0)
