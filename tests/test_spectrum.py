"""Records over time as frequency responses, of a system that scipy simulates."""

import math

import numpy as np
import pytest
from scipy.signal import cont2discrete, lfilter

from saltline.sweeps.picks import pick
from saltline.sweeps.spectrum import SpectrumError, response_of
from saltline.sweeps.sweep import Recording

F, ZETA, R = (40.0, 131.0, 138.0, 300.0), (0.008, 0.004, 0.005, 0.003), (1.0, -0.8, 0.9, 0.7)
RATE = 2000.0


def simulated(drive, *, noise=0.003):
    """What second-order systems of unit gain at rest, times R, answer to a drive.

    The drive runs straight from reading to reading, which lowers the gain by sinc^2 (f / RATE).
    """
    answer = np.zeros(drive.size)
    for f, zeta, r in zip(F, ZETA, R, strict=True):
        w = 2.0 * math.pi * f
        b, a, _ = cont2discrete(([r * w * w], [1.0, 2 * zeta * w, w * w]), 1.0 / RATE, "foh")
        answer += lfilter(b.ravel(), a, drive)
    rng = np.random.default_rng(2)
    return answer + noise * answer.std() * rng.standard_normal(drive.size)


def picked(drive, noise=0.003):
    found = response_of(RATE, drive, simulated(drive, noise=noise))
    recording = Recording(
        "record", found.hz, found.response, smeared_hz=found.smeared_hz, added_hz=found.added_hz
    )
    return found, pick(recording).picks


def swept(seconds, low=20.0, high=500.0):
    t = np.arange(0.0, seconds, 1.0 / RATE)
    return np.sin(2.0 * math.pi * (low * t + (high - low) / seconds * t**2 / 2.0))


def struck(seconds, every):
    drive = np.zeros(int(seconds * RATE))
    for k, start in enumerate(np.arange(0.3, seconds - 0.1, every)):
        i = int(start * RATE)
        drive[i : i + 6] += (1.0 + 0.1 * k) * np.sin(np.pi * np.arange(6) / 6)
    return drive


def stepped(low, high, step, dwell):
    phase, pieces = 0.0, []
    for f in np.arange(low, high, step):
        turn = phase + 2.0 * math.pi * f * np.arange(1, int(RATE * dwell) + 1) / RATE
        pieces.append(np.sin(turn))
        phase = turn[-1]
    return np.concatenate(pieces)


def agrees(picks, rel_damping, modes=range(4)):
    assert [p.frequency_hz for p in picks] == pytest.approx([F[k] for k in modes], rel=1e-4)
    due = [ZETA[k] for k in modes]
    assert [p.damping_ratio for p in picks] == pytest.approx(due, rel=rel_damping)


def test_a_fast_sweep_loses_nothing_in_a_record_over_time():
    """12 Hz/s is 30 times the limit at 40 Hz for reading amplitudes off; here it falls out."""
    found, picks = picked(swept(40.0))
    assert "swept sine" in found.how
    assert "no average" in found.how
    agrees(picks, 0.01)
    due = [abs(r) / 2 / z * np.sinc(f / RATE) ** 2 for f, z, r in zip(F, ZETA, R, strict=True)]
    assert [p.amplitude for p in picks] == pytest.approx(due, rel=0.01)


def test_noise_is_averaged_and_its_window_widens_what_is_narrow():
    rng = np.random.default_rng(7)
    found, picks = picked(rng.standard_normal(120_000))
    assert "15 segments of 7.5 s" in found.how
    assert "Hann" in found.how
    agrees(picks, 0.08)
    assert all(p.damping_ratio > z for p, z in zip(picks, ZETA, strict=True))
    assert "the window of the spectra widens it" in picks[0].warnings[0]
    assert picks[3].warnings == ()


def test_impacts_that_ring_out_need_no_window():
    found, picks = picked(struck(24.0, 8.0), noise=0.0003)
    assert "3 impacts" in found.how
    assert "no window" in found.how
    agrees(picks, 0.01)


def test_the_damping_of_an_exponential_window_is_taken_off_again():
    found, picks = picked(struck(8.0, 1.6), noise=0.0)
    assert "exponential window" in found.how
    assert found.added_hz > 0.1
    agrees(picks, 0.06)


@pytest.mark.parametrize(("step", "dwell", "word"), [(0.5, 8.0, "steps"), (0.2, 1.2, "swept")])
def test_steps_are_told_by_the_gaps_between_them(step, dwell, word):
    found, picks = picked(stepped(128.0, 141.5, step, dwell))
    assert word in found.how
    agrees(picks, 0.02, modes=(1, 2))
    if word == "steps":
        assert found.hz == pytest.approx(np.arange(128.0, 141.5, 0.5), abs=0.02)


def test_what_cannot_be_a_record_is_refused():
    with pytest.raises(SpectrumError, match="the drive is constant"):
        response_of(RATE, np.ones(1000), np.zeros(1000))
    drive = np.zeros(3000)
    drive[::90] = 1.0
    with pytest.raises(SpectrumError, match="follow each other too fast"):
        response_of(RATE, drive, drive)
