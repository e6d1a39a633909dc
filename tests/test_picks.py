"""Picks and what is said of them: steps, pace, edges, gaps, phases that are none."""

import math

import numpy as np
import pytest
import scipy.signal

from saltline.planning.pace import pace
from saltline.sweeps.hurried import NARROWEST
from saltline.sweeps.peaks import half_power_points
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording, at_rate
from saltline.sweeps.swept import envelope, swept_peak

F, ZETA = 100.0, 0.005
WIDTH = 2.0 * ZETA * F


def resonance(hz, f=F, zeta=ZETA, gain=1.0):
    return gain * hz**2 / (f**2 - hz**2 + 2j * zeta * f * hz)


def recorded(hz, response=None, noise=1e-3, **more):
    response = resonance(hz) if response is None else response
    rng = np.random.default_rng(1)
    if np.iscomplexobj(response):
        response = response + noise * 1j * rng.standard_normal(hz.size)
    return Recording("a.csv", hz, response + noise * rng.standard_normal(hz.size), **more)


def test_a_pick_states_what_its_resonance_is():
    for response, tolerance in (
        (None, 1e-3),
        (np.abs(resonance(np.linspace(80, 120, 2001))), 0.01),
    ):
        hz = np.linspace(80.0, 120.0, 2001)
        (one,) = pick(recorded(hz, response)).picks
        assert one.frequency_hz == pytest.approx(F, abs=1e-3)
        assert one.damping_ratio == pytest.approx(ZETA, rel=2e-3)
        assert one.quality_factor == pytest.approx(100.0, rel=2e-3)
        assert one.amplitude == pytest.approx(100.0, rel=tolerance)
        assert one.bandwidth_hz == pytest.approx(WIDTH, rel=2e-3)
        assert one.half_power == pytest.approx(ZETA, rel=0.03)
        assert one.in_band == pytest.approx(50, abs=1)
        assert one.warnings == ()
        assert one.swept is None
    assert one.residue is None


def test_the_residue_has_the_phase_at_resonance():
    (one,) = pick(recorded(np.linspace(80.0, 120.0, 2001))).picks
    assert abs(one.residue + 100j) < 2.0


def test_too_few_readings_are_said_with_the_step_that_would_do():
    (one,) = pick(recorded(np.arange(80.0, 120.0, 0.6))).picks
    assert one.in_band == 2
    assert one.frequency_hz == pytest.approx(F, abs=0.01)
    assert one.warnings == (
        "2 readings in the half-power band: the damping is not to be trusted; step by "
        f"{pace(F, ZETA).step_hz:.2g} Hz or less",
    )
    (one,) = pick(recorded(np.arange(80.0, 120.0, 0.3))).picks
    assert one.warnings == ("steps of 0.3 Hz: the highest reading may be 4 % low",)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_sweep_that_is_too_fast_is_said_to_have_moved_and_lowered_the_peak(way):
    """A resonance swept at twice the limit, as the integrated envelope says it is recorded."""
    rate = way * 2.0 * pace(F, ZETA).sweep_hz_per_s
    hz = np.linspace(90.0, 110.0, 801)
    size = 100.0 * np.abs(envelope(way * (hz - F) / WIDTH, abs(rate) / WIDTH**2))
    (one,) = pick(at_rate(recorded(hz, size), hz_per_s=rate)).picks[:1]
    peak = swept_peak(abs(rate) / WIDTH**2)
    assert one.swept.rate_part == pytest.approx(2.0, rel=0.1)
    assert one.swept.slow_hz == pytest.approx(WIDTH, rel=0.05)
    assert one.swept.height == pytest.approx(peak.height, abs=0.02)
    assert one.swept.shift_hz == pytest.approx(way * peak.shift * WIDTH, rel=0.1)
    (warning,) = [w for w in one.warnings if w.startswith("swept at")]
    assert "recorded 11 % low" in warning
    assert f"too far {'up' if way > 0 else 'down'}" in warning
    assert "or slower" in warning


def test_a_sweep_below_the_limit_still_widens_and_a_slow_one_does_not():
    limit = pace(F, ZETA).sweep_hz_per_s
    hz = np.linspace(90.0, 110.0, 801)
    size = 100.0 * np.abs(envelope((hz - F) / WIDTH, 0.6 * limit / WIDTH**2))
    one = pick(at_rate(recorded(hz, size), hz_per_s=0.6 * limit)).picks[0]
    assert one.swept.rate_part == pytest.approx(0.6, rel=0.1)
    assert "which widens it by" in one.warnings[0]
    (slow,) = pick(at_rate(recorded(hz), hz_per_s=limit / 20.0)).picks
    assert slow.swept.rate_part == pytest.approx(0.05, rel=0.02)
    assert slow.warnings == ()


def test_a_width_that_the_sweep_alone_makes_is_no_clue():
    hz = np.linspace(90.0, 110.0, 801)
    one = pick(at_rate(recorded(hz), hz_per_s=30.0)).picks[0]
    assert one.swept.slow_hz is None
    assert "neither width nor height is its own" in one.warnings[0]


def test_a_resonance_at_the_edge_or_across_a_gap_is_said_to_be():
    hz = np.linspace(99.8, 120.0, 2001)
    (one,) = pick(recorded(hz)).picks
    assert one.warnings == ("it lies at the edge of the sweep: begin or end farther from it",)
    hz = np.linspace(80.0, 120.0, 2001)
    hz = hz[(hz < 99.8) | (hz > 100.4)]
    found = pick(recorded(hz))
    assert found.gaps == ((pytest.approx(99.78), pytest.approx(100.42)),)
    assert "nothing was recorded from 99.78 to 100.42 Hz, across it" in found.picks[0].warnings


def test_a_peak_that_leans_is_said_to_be_badly_fitted():
    """A resonance whose frequency falls as it grows, as that of a loose joint does."""
    hz = np.linspace(80.0, 120.0, 2001)
    amplitude = np.abs(resonance(hz))
    for _ in range(300):
        amplitude += 0.05 * (np.abs(resonance(hz, F * (1 - 7e-5 * amplitude))) - amplitude)
    found = pick(recorded(hz, amplitude)).picks
    assert any("left unexplained" in w for one in found for w in one.warnings) or len(found) > 1


def test_phases_that_fit_no_peak_are_not_used():
    hz = np.linspace(80.0, 120.0, 2001)
    phase = np.random.default_rng(3).uniform(-math.pi, math.pi, hz.size)
    found = pick(recorded(hz, np.abs(resonance(hz)) * np.exp(1j * phase)))
    (one,) = found.picks
    assert one.frequency_hz == pytest.approx(F, abs=0.01)
    assert one.residue is None
    assert found.recording.remarks == ("a.csv: its phases do not fit its peaks, and are not used",)


def test_the_damping_that_a_window_added_is_taken_off():
    hz = np.linspace(80.0, 120.0, 2001)
    (one,) = pick(recorded(hz, added_hz=0.1)).picks
    assert one.bandwidth_hz == pytest.approx(WIDTH - 0.2, rel=0.01)


def test_noise_alone_gives_nothing():
    rng = np.random.default_rng(5)
    hz = np.geomspace(10.0, 1000.0, 3000)
    found = pick(Recording("a.csv", hz, np.abs(rng.standard_normal(hz.size))))
    assert found.picks == ()
    assert found.noise.size == hz.size


@pytest.mark.parametrize("digits", [2, 3])
def test_amplitudes_of_few_digits_show_the_resonances_and_no_others(digits):
    hz = np.linspace(10.0, 2000.0, 8000)
    true = (52.0, 320.0, 890.0, 1750.0)
    size = np.abs(sum(f**2 / (f**2 - hz**2 + 2j * 0.01 * f * hz) for f in true))
    rounded = np.array([float(f"{v:.{digits}g}") for v in size])
    found = pick(Recording("a.csv", hz, rounded)).picks
    assert [p.frequency_hz for p in found] == pytest.approx(true, rel=1e-4)
    assert [p.damping_ratio for p in found] == pytest.approx([0.01] * 4, rel=0.02)


def test_no_resonance_is_recorded_narrower_than_its_pace_allows():
    """The least half-power width of a swept resonance over the root of the rate, of any damping."""
    widths = []
    for x in np.geomspace(0.1, 1000.0, 13):  # rate over bandwidth squared
        u = np.linspace(-30.0 * x**0.5 - 30.0, 60.0 * x**0.5 + 30.0 * x, 100_001)
        size = np.abs(envelope(u, x))
        left, right = half_power_points(u, size, int(np.argmax(size)), 0, u.size - 1)
        widths.append((right - left) / x**0.5)
    assert min(widths) == pytest.approx(0.87, abs=0.01)
    assert min(widths) > 1.3 * NARROWEST


def test_what_rings_in_a_fast_sweep_is_not_listed():
    """Two resonances swept at 4 octaves a minute, by a recursive filter, and the level read off."""
    rate, fs = 4.0 / 60.0, 4000.0
    t = np.arange(0.0, math.log2(120.0 / 30.0) / rate, 1.0 / fs)
    phase = 2.0 * np.pi * 30.0 / (rate * math.log(2.0)) * np.expm1(rate * math.log(2.0) * t)
    response = 0.0
    for f, zeta in ((50.0, 0.003), (80.0, 0.006)):
        pole = np.exp(2.0 * np.pi * f * (-zeta + 1j * math.sqrt(1.0 - zeta**2)) / fs)
        step = 2.0 * np.pi * f / fs
        response = response + scipy.signal.lfilter([1.0], [1.0, -pole], np.exp(1j * phase)) * step
    hz = 30.0 * 2.0 ** (rate * t)
    every = slice(100, None, 80)
    read = Recording("a.csv", hz[every], np.abs(response[every]))
    found = pick(at_rate(read, octave_per_s=rate)).picks
    assert [round(one.frequency_hz) for one in found] == pytest.approx([50, 80], abs=2)
