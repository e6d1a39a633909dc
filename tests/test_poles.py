"""Poles of rational functions, against functions whose poles are stated."""

import numpy as np
import pytest

from saltline.sweeps.poles import Stretch, fit_poles, misfit_without

X = np.linspace(-12.0, 14.0, 400)
POLES = np.array([-2.0 + 0.8j, 1.0 + 1.3j, 4.0 + 0.5j])
G = np.array([2.0 - 1.0j, -1.5 + 0.3j, 0.7 + 0.9j])


def response(x=X):
    return (G * POLES.imag / (x[:, None] - POLES)).sum(axis=1) + 0.3 - 0.1j + (0.02 + 0.01j) * x


def fitted(y, degree):
    stretch = Stretch(X, y, np.ones(X.size), degree)
    start = np.array([-2.3, 1.4, 3.8]), np.array([1.0, 1.0, 1.0])
    return stretch, fit_poles(stretch, *start)


@pytest.mark.parametrize(("of", "degree"), [(lambda y: y, 1), (lambda y: np.abs(y) ** 2, 2)])
def test_poles_of_a_rational_function_are_found_exactly(of, degree):
    """The squared magnitude of a response is of the same form: partial fractions."""
    _, found = fitted(of(response()), degree)
    assert found.x == pytest.approx(POLES.real, abs=1e-5)
    assert found.s == pytest.approx(POLES.imag, rel=1e-5)
    if degree == 1:
        assert found.g == pytest.approx(G, abs=1e-5)


def test_a_magnitude_alone_hides_the_constant_power_of_noise():
    _, found = fitted(np.abs(response()) ** 2 + 0.37, 2)
    assert found.x == pytest.approx(POLES.real, abs=1e-5)


def test_standard_errors_are_what_repeated_noise_shows():
    rng = np.random.default_rng(5)
    clean, deviation = response(), 0.02
    found = []
    for _ in range(60):
        parts = rng.standard_normal((2, X.size)) * deviation
        stretch = Stretch(X, clean + parts[0] + 1j * parts[1], np.full(X.size, 1 / deviation), 1)
        found.append(fit_poles(stretch, POLES.real, POLES.imag))
    stated = np.sqrt(np.diag(found[0].covariance))
    seen = np.std([np.concatenate([one.x, np.log(one.s)]) for one in found], axis=0)
    assert seen == pytest.approx(stated, rel=0.35)
    assert np.mean([one.misfit / one.freedom for one in found]) == pytest.approx(1.0, abs=0.05)


def test_a_pole_that_is_left_out_is_missed():
    stretch, found = fitted(response(), 1)
    assert misfit_without(stretch, found, 1) > 1.0
    assert found.misfit < 1e-8


def test_two_poles_on_one_have_no_covariance():
    stretch = Stretch(X, 1.0 / (X - 1j), np.ones(X.size), 1)
    found = fit_poles(stretch, np.array([0.0, 0.0]), np.array([1.0, 1.0]))
    assert np.all(np.isfinite(found.residual))


@pytest.mark.parametrize("readings", [2, 3])
def test_fewer_readings_than_unknowns_are_met_and_determine_nothing(readings):
    x = np.linspace(-0.4, 0.9, readings)
    stretch = Stretch(x, 1.0 / (x - 1j), np.ones(readings), 1)
    found = fit_poles(stretch, np.array([0.1]), np.array([0.8]))
    assert found.misfit == pytest.approx(0.0, abs=1e-20)
    assert found.covariance is None
    assert np.all(np.isfinite([*found.x, *found.s, *found.g]))
