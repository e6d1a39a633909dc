"""Functionals: rows removed as constraints, rows added as springs and masses, rigid motions."""

from __future__ import annotations

import numpy as np
import pytest

from saltline.arrays import Values
from saltline.functional import Functional, count_unheld, freedom
from saltline.problem import Problem, attach


def spans_the_null_space(lift: Values, rows: Values) -> bool:
    """Whether the columns are orthonormal, all read as zero, and none is missing."""
    size = rows.shape[1]
    return bool(
        lift.shape == (size, size - np.linalg.matrix_rank(rows))
        and np.allclose(lift.T @ lift, np.eye(lift.shape[1]), rtol=0, atol=1e-13)
        and np.all(
            np.linalg.norm(rows @ lift, axis=1) <= 1e-14 * size * np.linalg.norm(rows, axis=1)
        )
    )


# -- constraints ----------------------------------------------------------------------------------


def lift_of(constraints: list[Values], size: int) -> Values:
    """The free motions as columns."""
    free = freedom(constraints, size)
    return free.expanded(np.eye(free.kept.size - free.V.shape[1]))


def test_without_constraints_every_motion_is_free() -> None:
    np.testing.assert_array_equal(lift_of([], 4), np.eye(4))


def test_a_row_that_reads_one_coefficient_just_drops_it() -> None:
    row = np.zeros((1, 5))
    row[0, 2] = -3.0
    np.testing.assert_array_equal(lift_of([row], 5), np.delete(np.eye(5), 2, axis=1))


@pytest.mark.parametrize("scale", [1e-9, 1.0, 1e9])
def test_any_rows_leave_their_orthonormal_null_space_whatever_their_size(scale: float, rng) -> None:
    single = np.zeros((2, 8))
    single[[0, 1], [1, 6]] = 1.0
    general = rng.normal(size=(3, 8)) * scale
    assert spans_the_null_space(lift_of([single, general], 8), np.vstack([single, general]))


def test_a_matrix_over_the_free_motions_is_that_seen_through_them(rng) -> None:
    rows, A = rng.normal(size=(3, 9)), rng.normal(size=(9, 9))
    A += A.T
    lift = lift_of([rows], 9)
    np.testing.assert_allclose(freedom([rows], 9).reduced(A), lift.T @ A @ lift, atol=1e-13)


def test_a_constraint_said_twice_counts_once(rng) -> None:
    row = rng.normal(size=(1, 6))
    assert spans_the_null_space(lift_of([row, 5.0 * row], 6), row)


def test_a_row_that_another_has_already_emptied_counts_for_nothing() -> None:
    one = np.array([[0.0, 1.0, 0.0, 0.0]])
    both = np.array([[0.0, 1.0, 0.0, 2.0]])
    lift = lift_of([one, both, np.zeros((1, 4))], 4)
    assert spans_the_null_space(lift, np.vstack([one, both]))


# -- rigid motions --------------------------------------------------------------------------------

LINES = np.column_stack([np.ones(3), [0.0, 0.5, 1.0]])
"""A constant and a slope, read at three places."""


def reading(*weights: float) -> Values:
    return np.array([weights])


@pytest.mark.parametrize(
    ("standing", "unheld"),
    [
        ([], 2),
        ([reading(1.0, 0.0, 0.0)], 1),
        ([reading(-1.0, 0.0, 1.0)], 1),
        ([reading(1.0, 0.0, 0.0), reading(0.0, 0.0, 1.0)], 0),
        ([reading(1.0, 0.0, 0.0), reading(2.0, 0.0, 0.0)], 1),
        ([reading(1.0, -2.0, 1.0)], 2),
        ([reading(1.0, 0.0, 0.0), reading(1.0, -2.0, 1.0)], 1),
        ([reading(1e-12, 0.0, 0.0)], 1),
    ],
    ids=[
        "nothing", "one end", "the slope alone", "both ends", "one end twice", "curvature alone",
        "one end and curvature", "one soft end",
    ],
)  # fmt: skip
def test_rigid_motions_that_nothing_reads_stay(standing: list[Values], unheld: int) -> None:
    assert count_unheld(standing, LINES) == unheld


def test_where_there_is_no_rigid_motion_none_stays() -> None:
    assert count_unheld([reading(1.0, 0.0, 0.0)], np.zeros((3, 0))) == 0


# -- springs and masses ---------------------------------------------------------------------------


def test_springs_and_masses_add_their_outer_products_and_rigid_holds_add_nothing() -> None:
    K, M = np.diag([1.0, 2.0, 3.0]), np.eye(3)
    f, g = np.array([[1.0, 2.0, 0.0]]), np.array([[0.0, 1.0, -1.0], [1.0, 0.0, 0.0]])
    problem = Problem(
        family="flatwise",
        K=K,
        M=M,
        functionals=[
            Functional(f, stiffness=4.0),
            Functional(g, stiffness=np.inf),
            Functional(g, mass=0.5),
        ],
        rigid_motions=np.zeros((3, 0)),
        highest=1.0,
        shape_of=lambda q: q,
        rebuild=lambda specimen: problem,
    )
    with_springs, with_masses = attach(problem)
    np.testing.assert_allclose(with_springs, K + 4.0 * np.outer(f, f), rtol=1e-15)
    np.testing.assert_allclose(
        with_masses, M + 0.5 * (np.outer(g[0], g[0]) + np.outer(g[1], g[1])), rtol=1e-15
    )
    np.testing.assert_array_equal(K, np.diag([1.0, 2.0, 3.0]))
    np.testing.assert_array_equal(M, np.eye(3))
