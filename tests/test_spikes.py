"""Single readings, against resonances and lines of noise."""

import numpy as np

from saltline.sweeps.spikes import spikes, without_spikes

HZ = np.linspace(20.0, 120.0, 2001)


def resonance(bandwidth):
    return 1.0 / (1.0 + 2j * (HZ - 70.0) / bandwidth)


def test_a_line_of_hum_is_a_spike_and_is_taken_out(rng):
    response = np.abs(resonance(2.0)) + 0.002 * rng.standard_normal(HZ.size)
    response[600] += 0.4
    assert spikes(response).tolist() == [600]
    assert abs(without_spikes(response, np.array([600]))[600] - response[599]) < 0.02


def test_a_resonance_is_no_spike_however_few_readings_it_has():
    for readings in (0.5, 1.0, 3.0, 10.0):
        response = resonance(readings * (HZ[1] - HZ[0]))
        assert spikes(np.abs(response)).size == 0
        assert spikes(response).size == 0


def test_noise_has_no_spikes(rng):
    assert spikes(np.abs(rng.standard_normal(20_000))).size == 0
    assert spikes(np.ones(4)).size == 0
