"""Flash rates, against a simulation of flashes: sample the motion, count what is seen."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from outside import record
from saltline.planning.strobe import MOST_CYCLES, apparent, complaint, flashes


def counted(frequency_hz, flash_hz, *, number=20_000, phase=0.3):
    """The rate seen and its direction, by counting: the motion is looked at at the flashes alone.

    A passage through the middle between two flashes is a change of sign; two of them are a cycle.
    It runs forward where the specimen seems to go up while it truly goes up.
    """
    turn = 2.0 * math.pi * frequency_hz * np.arange(number) / flash_hz + phase
    place, speed = np.sin(turn), np.cos(turn)
    changes = np.flatnonzero((place[:-1] < 0.0) != (place[1:] < 0.0))
    seen_up = np.sign(place[changes + 1] - place[changes])
    truly_up = np.sign(speed[changes] + speed[changes + 1])
    rate = changes.size / 2.0 / ((number - 1) / flash_hz)
    return rate * (1.0 if np.sum(seen_up * truly_up) >= 0.0 else -1.0)


def images(frequency_hz, flash_hz, *, number=400):
    """At how many phases of the motion the flashes find the specimen."""
    phases = (frequency_hz * np.arange(number) / flash_hz) % 1.0
    return len({round(float(phase), 6) % 1.0 for phase in phases})


def test_apparent_rates_are_what_a_simulation_of_flashes_counts():
    random = np.random.default_rng(7)
    worst = 0.0
    for _ in range(300):
        f = float(random.uniform(10.0, 4000.0))
        F = float(random.uniform(5.0, 1000.0))
        seen, found = counted(f, F), apparent(f, F)
        # One passage more or less in the time, relative to the flash rate: 1/20000.
        worst = max(worst, abs(seen - found) / F)
    record("apparent rate under a strobe", "simulated flashes, counted", worst, 1e-4)


def test_a_strobe_a_little_slow_shows_the_motion_forward_and_a_little_fast_backward():
    assert apparent(100.0, 99.0) == pytest.approx(1.0)
    assert apparent(100.0, 101.0) == pytest.approx(-1.0)
    assert counted(100.0, 99.0) == pytest.approx(1.0, abs=0.01)
    assert counted(100.0, 101.0) == pytest.approx(-1.0, abs=0.01)
    assert apparent(100.0, 33.0) == pytest.approx(1.0)


@given(st.floats(5.0, 5000.0), st.floats(1.0, 100.0), st.floats(1.0, 100.0), st.floats(0.2, 3.0))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_every_setting_shows_what_it_says_and_lies_in_the_range(f, low, times, slow):
    high = low * times
    found = flashes(f, low_hz=low, high_hz=high, slow_hz=slow, most=6)
    for setting in (*found.frozen, *found.slowed, *found.misleading):
        assert max(low, 3.0) <= setting.flash_hz <= high
        assert setting.cycles <= MOST_CYCLES
    for setting in found.frozen:
        assert apparent(f, setting.flash_hz) == pytest.approx(0.0, abs=1e-9 * f)
        assert images(f, setting.flash_hz) == setting.images == 1
    for setting in found.slowed:
        assert apparent(f, setting.flash_hz) == pytest.approx(slow, abs=1e-9 * f)
        assert setting.flash_hz == pytest.approx((f - slow) / setting.cycles)
    for setting in found.misleading:
        assert images(f, setting.flash_hz) == setting.images >= 2


def test_settings_are_ranked_by_safety_then_by_light():
    found = flashes(150.0, low_hz=1.0, high_hz=400.0, most=5)
    assert [s.flash_hz for s in found.frozen] == [150.0, 75.0, 50.0, 37.5, 30.0]
    assert [s.is_flicker for s in found.frozen] == [False, False, True, True, True]
    assert [(s.flash_hz, s.images) for s in found.misleading[:3]] == [
        (300.0, 2), (225.0, 3), (100.0, 2),
    ]  # fmt: skip


def test_a_setting_in_the_band_of_flicker_comes_last():
    """3 f at 78 Hz before 2 f at 52 Hz, though the latter shows fewer images."""
    found = flashes(26.0, low_hz=1.0, high_hz=500.0)
    assert [(s.flash_hz, s.is_flicker) for s in found.misleading[:2]] == [
        (78.0, False), (52.0, True),
    ]  # fmt: skip


def test_a_rate_a_little_above_the_band_counts_as_inside():
    rates = flashes(213.0, low_hz=1.0, high_hz=80.0, most=2).frozen
    assert [(s.flash_hz, s.is_flicker) for s in rates] == [(71.0, True), (53.25, True)]
    assert not flashes(144.0, low_hz=1.0, high_hz=80.0).frozen[0].is_flicker


@given(st.floats(5.0, 20000.0), st.floats(1.0, 100.0), st.floats(1.0, 100.0))
@settings(max_examples=100, deadline=None, derandomize=True)
def test_a_stated_rate_shows_what_it_says_to_a_tenth(f, low, times):
    """f - n F of the rate as printed is off by less than 0.1 Hz, a tenth of the creeping 1 Hz."""
    found = flashes(f, low_hz=low, high_hz=low * times, most=6)
    for setting in (*found.frozen, *found.slowed):
        printed = float(f"{setting.flash_hz:.{setting.decimals}f}")
        assert abs(f - setting.cycles * printed - setting.apparent_hz) < 0.1 + 1e-9 * f


def test_more_cycles_between_flashes_ask_for_more_digits():
    found = flashes(1541.0, low_hz=14.0, high_hz=2000.0, most=110).frozen
    digits = {flash.cycles: flash.decimals for flash in found}
    assert (digits[1], digits[2], digits[19], digits[20], digits[100]) == (1, 2, 2, 3, 3)


def test_twice_and_three_times_the_frequency_mislead():
    found = flashes(100.0, low_hz=1.0, high_hz=1000.0)
    assert [(s.flash_hz, s.images) for s in found.misleading] == [
        (200.0, 2),
        (300.0, 3),
        (150.0, 3),
    ]
    assert images(100.0, 200.0) == 2
    assert images(100.0, 150.0) == 3


@pytest.mark.parametrize(
    ("f", "low", "high", "sentence"),
    [
        (
            26.0, 1.0, 2.5,
            "the strobe ends at 2.5 Hz: single flashes, and no picture that stands",
        ),
        (500.0, 10.0, 300.0, ""),
        (26.0, 40.0, 300.0, "the strobe begins at 40 Hz, above this mode: its images double"),
        (
            5000.0, 5.0, 20.0,
            "the strobe ends at 20 Hz, too slow for this mode: more than 100 cycles pass between "
            "two flashes",
        ),
        (
            100.0, 60.0, 90.0,
            "no whole fraction of this frequency lies within the strobe's 60 to 90 Hz",
        ),
        (
            26.0, 5.0, 300.0,
            "every setting lies in or near the 3 to 65 Hz that can trigger seizures; watch this "
            "mode without the strobe",
        ),
    ],
)  # fmt: skip
def test_a_strobe_that_does_not_serve_says_why(f, low, high, sentence):
    found = flashes(f, low_hz=low, high_hz=high)
    assert complaint(found, low_hz=low, high_hz=high) == sentence
