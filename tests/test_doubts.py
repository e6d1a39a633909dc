"""What is said of crowds of rows, of clipped channels, and of peaks that were not recorded."""

import numpy as np
import pytest

from saltline.sweeps.clipping import clipped
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording

HZ = np.linspace(80.0, 120.0, 1601)


def resonance(hz, f=100.0, zeta=0.005):
    return hz**2 / (f**2 - hz**2 + 2j * zeta * f * hz)


def noisy(values, seed=3, part=1e-3):
    return values + part * np.abs(values).max() * np.random.default_rng(seed).standard_normal(
        values.size
    )


def leaning(hz, lean):
    """The larger amplitude of a hardening oscillator: a (f0^2 + lean a^2 - f^2 ...) = 1 (Duffing).

    Its curve is that of a resonance whose frequency rises with the amplitude squared; read off as
    f(a) on both flanks (harmonic balance, common textbook).
    """
    a = np.linspace(1e-3, 1.0, 20001)
    middle = 100.0 + lean * a**2
    half = 0.5 * np.sqrt(1.0 / a**2 - 1.0)  # bandwidth 1 Hz
    right = np.interp(hz, (middle + half)[::-1], a[::-1])
    left = np.interp(hz, middle - half, a)
    return np.where(hz < 100.0 + lean, left, right)


def test_a_peak_that_leans_is_called_one_that_may_lean():
    found = pick(Recording("a.csv", HZ, noisy(leaning(HZ, 0.5))))
    assert len(found.picks) > 1
    for one in found.picks:
        assert any("may be ONE resonance that leans" in text for text in one.warnings)


def test_two_resonances_a_bandwidth_apart_are_not_doubted():
    two = resonance(HZ) + resonance(HZ, 101.3)
    found = pick(Recording("a.csv", HZ, noisy(np.abs(two))))
    assert [one.frequency_hz for one in found.picks] == pytest.approx([100.0, 101.3], abs=0.02)
    assert not any("ONE" in text for one in found.picks for text in one.warnings)


def test_a_channel_that_was_overloaded_is_told_by_its_ceiling():
    size = noisy(np.abs(resonance(HZ)))
    assert clipped(size, "a.csv", "amplitude") == []
    (said,) = clipped(np.minimum(size, 40.0), "a.csv", "amplitude")
    assert "exactly 40" in said
    assert "overloaded" in said
    time = np.arange(4000) / 4000.0
    wave = np.sin(2 * np.pi * 37.0 * time)
    assert clipped(np.clip(wave, -0.6, 0.6), "a.csv", "response")
    assert clipped(wave, "a.csv", "response") == []


def test_a_top_of_readings_of_two_digits_is_not_clipped():
    hz = np.linspace(20.0, 400.0, 191)
    size = np.abs(240.0**2 / (240.0**2 - hz**2 + 2j * 0.01 * 240.0 * hz))
    rounded = np.array([float(f"{v:.2g}") for v in size])
    assert clipped(rounded, "a.csv", "amplitude") == []
    assert clipped(np.minimum(rounded, 14.0), "a.csv", "amplitude")


def test_a_top_that_is_flat_by_rounding_is_not_clipped():
    size = np.round(np.abs(resonance(np.linspace(99.0, 101.0, 4001))), 0)
    assert np.count_nonzero(size == size.max()) > 4
    assert clipped(size, "a.csv", "amplitude") == []


@pytest.mark.parametrize(
    ("kept", "at", "word"),
    [(HZ < 99.0, 99.0, "above"), (HZ > 101.0, 101.0, "below")],
)
def test_a_response_that_rises_to_where_it_ends_is_said_to_be_cut_off(kept, at, word):
    hz = HZ[kept]
    found = pick(Recording("a.csv", hz, noisy(np.abs(resonance(hz)))))
    (cut,) = [one for one in found.strange if one.kind == "cut off"]
    assert cut.frequency_hz == pytest.approx(at, abs=0.1)
    assert word in cut.why


def test_a_whole_sweep_is_not_cut_off():
    hz = np.geomspace(20.0, 500.0, 4000)
    found = pick(Recording("a.csv", hz, noisy(np.abs(resonance(hz)))))
    assert not [one for one in found.strange if one.kind == "cut off"]


def test_hum_that_a_filter_widens_is_told_by_its_multiples():
    hz = np.linspace(20.0, 260.0, 9601)
    size = np.abs(resonance(hz, 180.0)) + sum(
        20.0 * np.exp(-0.5 * ((hz - k * 50.0) / 0.2) ** 2) for k in (1, 2, 3)
    )
    found = pick(Recording("a.csv", hz, noisy(size)))
    hum = {one.row for one in found.strange if one.kind == "mains hum"}
    near = {
        row
        for row, one in enumerate(found.picks)
        if min(abs(one.frequency_hz - k * 50.0) for k in (1, 2, 3)) < 0.6
    }
    assert near
    assert near <= hum
    assert not any(abs(found.picks[row].frequency_hz - 180.0) < 1.0 for row in hum)
