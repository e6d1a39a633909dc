"""Recordings: their order, their gaps, their rate."""

import numpy as np
import pytest

from saltline.sweeps.sweep import Recording, at_rate, gaps, in_order, within


def recording(hz):
    hz = np.asarray(hz, dtype=float)
    return Recording("a.csv", hz, np.arange(hz.size) + 1.0, drive=np.ones(hz.size))


def test_a_gap_is_a_step_out_of_proportion_in_even_steps_and_in_even_ratios():
    even = np.arange(10.0, 100.0, 0.5)
    assert gaps(recording(even)) == []
    assert gaps(recording(np.geomspace(5.0, 2000.0, 400))) == []
    assert gaps(recording(even[(even < 40) | (even > 50)])) == [(39.5, 50.5)]
    fine_about_a_peak = np.concatenate([even, np.arange(60.0, 61.0, 0.01)])
    assert gaps(recording(np.unique(fine_about_a_peak))) == []


def test_columns_are_put_in_order_and_readings_at_one_frequency_averaged():
    hz = np.random.default_rng(1).permutation(np.repeat(np.arange(40.0), 2))
    (f, a), turn = in_order([hz, 10.0 * hz + np.arange(80.0) * 0.0])
    assert f.tolist() == list(range(40))
    assert a.tolist() == [10.0 * k for k in range(40)]
    assert turn is None


def test_of_a_sweep_up_and_down_the_longer_way_is_kept():
    up = np.arange(10.0, 60.0)
    hz = np.concatenate([up, up[::-1][:20]])
    (f, number), turn = in_order([hz, np.arange(70.0)])
    assert f.tolist() == up.tolist()
    assert number.tolist() == list(range(50))
    assert turn == 50
    (f, _), turn = in_order([up[::-1], up])
    assert f.tolist() == up.tolist()
    assert turn is None


def test_a_part_of_a_recording():
    part = within(at_rate(recording(np.arange(1.0, 11.0)), hz_per_s=2.0), 3.0, 6.5)
    assert part.hz.tolist() == [3.0, 4.0, 5.0, 6.0]
    assert part.magnitude.tolist() == [3.0, 4.0, 5.0, 6.0]
    assert part.hz_per_s.tolist() == [2.0] * 4
    assert part.drive.size == 4


def test_a_logarithmic_rate_grows_with_the_frequency():
    swept = at_rate(recording([10.0, 20.0]), octave_per_s=1.0 / 60.0)
    assert swept.hz_per_s == pytest.approx(np.array([10.0, 20.0]) * np.log(2.0) / 60.0)


def test_a_gap_after_next_to_nothing_is_a_gap():
    """The ratio over such a step is larger than any number; its logarithm is not."""
    assert gaps(recording([1e-308, *np.linspace(15.0, 25.0, 40)])) == [(1e-308, 15.0)]
