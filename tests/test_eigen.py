"""The eigenproblem: chains of masses and springs with closed forms, and what is no mode."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.linalg

from saltline.arrays import Values
from saltline.eigen import BuckledError, largest_modes, lowest_modes


def chain(n: int, *, held: int) -> Values:
    """The stiffness of n unit masses in line on unit springs, with 0, 1 or 2 ends held."""
    K = 2.0 * np.eye(n) - np.eye(n, k=1) - np.eye(n, k=-1)
    K[-1, -1] -= float(held < 2)
    K[0, 0] -= float(held < 1)
    return K


def closed_form(n: int, *, held: int) -> Values:
    """omega^2 = 4 sin^2(theta/2) of the same chain, the rigid motion included."""
    if held == 0:
        theta = np.arange(n) * np.pi / n
    elif held == 1:
        theta = (2 * np.arange(1, n + 1) - 1) * np.pi / (2 * n + 1)
    else:
        theta = np.arange(1, n + 1) * np.pi / (n + 1)
    return 4.0 * np.sin(theta / 2.0) ** 2


@pytest.mark.parametrize("held", [0, 1, 2])
@pytest.mark.parametrize("count", [1, 5, 40])
def test_chain_has_the_closed_form_of_its_frequencies(held: int, count: int) -> None:
    n, rigid = 40, int(held == 0)
    exact = closed_form(n, held=held)[rigid : rigid + count]
    K, M = chain(n, held=held), np.eye(n)
    omega2, q = lowest_modes(K, M, count, rigid=rigid, highest=float(exact[-1]))
    # Fewer come back where there are fewer.
    assert omega2.size == min(count, n - rigid) == q.shape[1]
    # Rounding of the inverse problem: epsilon times the spread of omega^2 + shift, about 1e3.
    np.testing.assert_allclose(omega2, exact, rtol=1e-11)
    np.testing.assert_allclose(q.T @ M @ q, np.eye(omega2.size), rtol=0, atol=1e-12)
    np.testing.assert_allclose(q.T @ K @ q, np.diag(omega2), rtol=0, atol=1e-12)


def test_vectors_are_normal_in_the_mass_matrix_whatever_it_is() -> None:
    rng = np.random.default_rng(3)
    root = rng.normal(size=(12, 12))
    M = root @ root.T + np.eye(12)
    K = chain(12, held=2)
    omega2, q = lowest_modes(K, M, 4, rigid=0, highest=1.0)
    np.testing.assert_allclose(q.T @ M @ q, np.eye(4), rtol=0, atol=1e-11)
    np.testing.assert_allclose(K @ q, M @ q * omega2, rtol=0, atol=1e-11)
    assert np.all(np.diff(omega2) > 0.0)


def test_a_direction_without_mass_is_no_mode() -> None:
    # Two masses, the middle one of three massless: springs 1 and 1 in series on either side.
    M = np.diag([1.0, 0.0, 1.0])
    omega2, q = lowest_modes(chain(3, held=2), M, 3, rigid=0, highest=2.0)
    np.testing.assert_allclose(omega2, [1.0, 2.0], rtol=1e-13)
    assert q.shape == (3, 2)


def test_rigid_motions_are_left_out_even_where_they_are_rounding_off_zero() -> None:
    K = np.zeros((4, 4))
    K[2:, 2:] = chain(2, held=2)
    for wobble in (0.0, 1e-14, -1e-14):
        K[0, 0] = wobble
        omega2, _ = lowest_modes(K, np.eye(4), 2, rigid=2, highest=3.0)
        np.testing.assert_allclose(omega2, [1.0, 3.0], rtol=1e-12)


@pytest.mark.parametrize("below", [1e-6, 1.0, 1e6])
def test_a_negative_stiffness_is_buckling(below: float) -> None:
    # Two kinds of failure: K + shift M positive still, or no longer.
    K = np.diag([-below, 1.0, 2.0])
    with pytest.raises(BuckledError):
        lowest_modes(K, np.eye(3), 2, rigid=0, highest=2.0)


def test_a_large_mass_matrix_gives_the_modes_that_lapack_finds_in_the_pair(
    rng: np.random.Generator,
) -> None:
    n, count = 130, 12
    A, B = (x @ x.T + np.eye(n) for x in rng.normal(size=(2, n, n)))
    mu, v = largest_modes(A, B, count)
    expected = scipy.linalg.eigh(A, B, eigvals_only=True)[-count:]
    np.testing.assert_allclose(mu, expected, rtol=1e-11)
    np.testing.assert_allclose(v.T @ B @ v, np.eye(count), atol=1e-11)
    np.testing.assert_allclose(A @ v, B @ v * mu, atol=1e-9 * np.abs(A).max())
