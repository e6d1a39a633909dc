"""What readings scatter by, and to what they are rounded."""

import numpy as np
import pytest

from saltline.sweeps.noise import (
    block_means,
    last_digits,
    running_median,
    scatter,
    smoothed_by,
    step_of,
)


def test_scatter_is_the_noise_about_a_course_whatever_the_course(rng):
    x = np.linspace(0.0, 6.0, 40_000)
    noise = rng.standard_normal(x.size)
    for course in (0.0 * x, 300.0 * np.sin(x), 1000.0 * x**2):
        assert scatter(course + 0.7 * noise).mean() == pytest.approx(0.7, rel=0.05)


def test_scatter_of_complex_readings_is_that_of_one_part(rng):
    parts = rng.standard_normal((2, 4000))
    found = scatter(0.3 * (parts[0] + 1j * parts[1]))
    assert found.mean() == pytest.approx(0.3, rel=0.05)


def test_scatter_follows_noise_that_grows(rng):
    noise = rng.standard_normal(8000) * np.linspace(1.0, 5.0, 8000)
    found = scatter(noise)
    assert found[500] == pytest.approx(1.25, rel=0.2)
    assert found[7500] == pytest.approx(4.75, rel=0.2)


def test_a_few_readings_have_no_scatter():
    assert scatter(np.arange(5.0)).tolist() == [0.0] * 5


def test_rounded_readings_are_known_by_their_step():
    course = np.sin(np.linspace(0.0, 3.0, 3000))
    assert step_of(course).max() == 0.0
    rounded = np.round(course, 2)
    assert step_of(rounded) == pytest.approx(0.01)
    assert scatter(rounded).min() >= 0.0099
    assert step_of(rounded + 1j * course) == pytest.approx(0.01)
    assert step_of(np.full(600, 2.0)).max() == 0.0


def test_a_running_median_leaves_out_what_stands_out():
    values = np.full(1000, 3.0)
    values[::9] = 50.0
    assert running_median(values, 50).tolist() == [3.0] * 1000
    assert running_median(np.arange(1000.0), 50)[500] == pytest.approx(500.0, abs=1.0)


def test_block_means_drop_the_rest():
    assert block_means(np.arange(7.0), 3).tolist() == [1.0, 4.0]
    assert block_means(np.arange(3.0), 1).tolist() == [0.0, 1.0, 2.0]


def test_readings_that_an_instrument_has_smoothed_are_told_from_others():
    rng = np.random.default_rng(8)
    noise = rng.standard_normal(6000)
    assert smoothed_by(noise) == 1
    assert smoothed_by(np.convolve(noise, np.full(3, 1 / 3), mode="valid")) in (2, 4)
    assert smoothed_by(np.convolve(noise, np.full(6, 1 / 6), mode="valid")) in (4, 8)
    assert smoothed_by(np.sin(np.linspace(0.0, 9.0, 6000))) == 1


def test_the_last_digit_of_readings_is_known(rng):
    """As Python writes them with so many significant digits."""
    values = np.exp(np.linspace(-3.0, 6.0, 999)) * (1.0 + 0.1 * rng.standard_normal(999))
    for digits in (2, 3, 4):
        rounded = np.array([float(f"{v:.{digits}g}") for v in values])
        worth = np.array([10.0 ** (int(f"{v:.9e}".split("e")[1]) - digits + 1) for v in rounded])
        assert last_digits(rounded) == pytest.approx(worth, rel=1e-9)
    assert last_digits(values).max() == 0.0
    assert last_digits(np.zeros(9)).max() == 0.0


def test_a_reading_of_next_to_nothing_spoils_no_digits():
    """A number so small that ten to its power is none; the warning would be an error here."""
    values = np.array([1e-308, *np.round(np.linspace(1.0, 3.0, 400), 2)])
    assert last_digits(values)[1:] == pytest.approx(0.01)
