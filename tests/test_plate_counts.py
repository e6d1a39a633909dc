"""No plate mode is lost and none invented: frequencies counted by inertia, in another basis."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache
from itertools import product

import mpmath
import numpy as np
import pytest
import scipy.linalg
from numpy.polynomial import legendre

from outside import record
from saltline.arrays import Values
from saltline.modes import Modes
from saltline.plates.plate_shape import PlateShape
from saltline.solver import find_modes
from specimens import omegas, plate, worst

NU = 0.3
MANY = 100
ASPECTS = (1.0, 2.5, 6.0, 15.0, 40.0)
GAP = 1e-3
"""Shifts stand in gaps this wide, beyond what either basis errs at a clamped-free corner."""


@cache
def modes_of(edges: str, aspect: float) -> Modes:
    return find_modes(plate(edges, width=1.0 / aspect), count=MANY)


# -- another basis: Legendre polynomials that fit the edges ---------------------------------------


def derivative(degree: int) -> Values:
    """The matrix of d/dxi over orthonormal Legendre polynomials."""
    raw = np.zeros((degree + 1, degree + 1))
    raw[:-1] = legendre.legder(np.eye(degree + 1))
    norm = np.sqrt(np.arange(degree + 1) + 0.5)
    return raw / norm[:, None] * norm


def strips(edges: str, degree: int) -> list[Values]:
    """Orthonormal polynomials on [-1, 1] that fit the edges, as columns of coefficients.

    edges: the letters of the holds at -1 and at 1; alike, the even and the odd ones stand apart.
    """
    n = np.arange(degree + 1)
    rows = []
    for letter, end in zip(edges, (-1.0, 1.0), strict=True):
        at_end = end**n * np.sqrt(n + 0.5)
        rows += [at_end] if letter in "CS" else []
        rows += [at_end @ derivative(degree)] if letter in "CG" else []
    eye = np.eye(degree + 1)
    found = []
    for kept in [eye[:, ::2], eye[:, 1::2]] if edges[0] == edges[1] else [eye]:
        held = np.array(rows).reshape(-1, degree + 1) @ kept
        found.append(kept @ scipy.linalg.null_space(held) if held.size else kept)
    return found


def stiffnesses(edges: str, aspect: float, degrees: tuple[int, int]) -> Iterator[Values]:
    """K of each symmetry class of the unit plate, a/b = aspect; M is the identity.

    edges: in the order left, bottom, right, top.
    """

    def integrals(part: Values) -> tuple[Values, Values, Values]:
        D = derivative(part.shape[0] - 1)
        first, second = D @ part, D @ D @ part
        return first.T @ first, second.T @ second, second.T @ part

    along = [integrals(part) for part in strips(edges[0] + edges[2], degrees[0])]
    across = [integrals(part) for part in strips(edges[1] + edges[3], degrees[1])]
    x, y = 4.0, 4.0 * aspect**2  # (2/a)^2 and (2/b)^2
    for (A1, A2, A20), (B1, B2, B20) in product(along, across):
        K = x**2 * np.kron(A2, np.eye(len(B2))) + y**2 * np.kron(np.eye(len(A2)), B2)
        K += NU * x * y * (np.kron(A20, B20.T) + np.kron(A20.T, B20))
        K += 2.0 * (1.0 - NU) * x * y * np.kron(A1, B1)
        yield K


def count_below(K: Values, shift: float) -> int:
    """How many eigenvalues of K lie below the shift: the inertia of K - shift, from L D L'.

    By Sylvester's law scaling rows and columns alike does not change it.
    """
    scale = 1.0 / np.sqrt(np.diag(K) + shift)
    D = scipy.linalg.ldl(scale[:, None] * (K - shift * np.eye(len(K))) * scale)[1]
    return int(np.sum(scipy.linalg.eigvalsh_tridiagonal(np.diag(D), np.diag(D, 1)) < 0.0))


# -- the counts -----------------------------------------------------------------------------------


def degrees_used(modes: Modes) -> list[int]:
    """The highest degree of any element along x and along y."""
    shape = modes.modes[0].shape
    assert isinstance(shape, PlateShape)
    return [
        max(element.series("w").shape[1] - 1 for element in line.elements)
        for line in (shape.x, shape.y)
    ]


def shifts(lam: Values, parts: int) -> list[float]:
    """lambda^2 in the widest gap of each of some equal parts of a list."""
    gaps = np.diff(lam) / lam[1:]
    widest = [part[np.argmax(gaps[part])] for part in np.array_split(np.arange(gaps.size), parts)]
    assert all(gaps[i] > GAP for i in widest)
    return [float(lam[i] + lam[i + 1]) ** 2 / 4.0 for i in widest]


CASES = [
    *(("FFFF", aspect) for aspect in ASPECTS),
    *(("CFFF", aspect) for aspect in (1.0, 2.5, 40.0)),
    *(("CCCC", aspect) for aspect in (1.0, 40.0)),
    *(("GCGF", aspect) for aspect in (1.0, 15.0)),
    ("SSSS", 1.0),  # the closed form below has all
    ("GCSF", 1.0),
    ("FFFF", 1 / 6),
]


@pytest.mark.parametrize(("edges", "aspect"), CASES)
def test_a_hundred_modes_are_as_many_as_inertia_counts_at_a_higher_degree(
    edges: str, aspect: float
) -> None:
    modes = modes_of(edges, aspect)
    lam = omegas(modes)
    x, y = (degree + 2 for degree in degrees_used(modes))
    matrices = list(stiffnesses(edges, aspect, (x, y)))
    for shift in shifts(lam, 2):
        below = sum(count_below(K, shift) for K in matrices)
        assert below == modes.rigid + int(np.sum(lam**2 < shift))


def test_a_lost_mode_would_be_noticed() -> None:
    modes = modes_of("FFFF", 1.0)
    lam = omegas(modes)
    shift = shifts(lam, 2)[-1]
    below = sum(count_below(K, shift) for K in stiffnesses("FFFF", 1.0, (38, 38)))
    for wrong in (np.delete(lam, 3), np.insert(lam, 3, lam[3])):
        assert below != modes.rigid + int(np.sum(wrong**2 < shift))


@pytest.mark.parametrize("aspect", ASPECTS)
def test_a_hundred_modes_of_a_pinned_plate_match_the_closed_form(aspect: float) -> None:
    n = np.arange(1, MANY + 1) * math.pi
    exact = np.sort((n[:, None] ** 2 + (n * aspect) ** 2).ravel())[:MANY]
    record(
        "pinned plate, 1 to 100, aspect ratios from 1 to 40",
        "closed form",
        worst(omegas(modes_of("SSSS", aspect)), exact),
        1e-9,
    )


# -- digits of the lowest mode --------------------------------------------------------------------


def exact_derivative(size: int) -> list[list[mpmath.mpf]]:
    """d/dxi over orthonormal Legendre polynomials: P'_n = sum (2k + 1) P_k, k = n - 1, n - 3 ..."""
    D = [[mpmath.mpf(0)] * size for _ in range(size)]
    for n in range(size):
        for k in range(n - 1, -1, -2):
            D[k][n] = mpmath.sqrt((2 * k + 1) * (2 * n + 1))
    return D


def exact_count(aspect: float, parity: tuple[int, int], sizes: tuple[int, int], lam: float) -> int:
    """How many frequencies of one symmetry class of a free plate lie below lambda.

    The inertia of K - lambda^2 by an L D L' in forty digits, all integrals in closed form.
    """
    nu, r2 = mpmath.mpf("0.3"), mpmath.mpf(aspect) ** 2
    parts = []
    for odd, size in zip(parity, sizes, strict=True):
        D = mpmath.matrix(exact_derivative(2 * size))
        kept = range(odd, 2 * size, 2)
        two = D * D
        pick = [
            mpmath.matrix([[m[i, j] for j in kept] for i in kept])
            for m in (D.T * D, two.T * two, two.T)
        ]
        parts.append(pick)
    (A1, A2, A20), (B1, B2, B20) = parts
    pairs = list(product(range(sizes[0]), range(sizes[1])))
    K = [[mpmath.mpf(0)] * len(pairs) for _ in pairs]
    for row, (i, j) in enumerate(pairs):
        for column, (k, l) in enumerate(pairs):
            value = nu * r2 * (A20[i, k] * B20[l, j] + A20[k, i] * B20[j, l])
            value += 2 * (1 - nu) * r2 * A1[i, k] * B1[j, l]
            value += A2[i, k] if j == l else 0
            value += r2**2 * B2[j, l] if i == k else 0
            K[row][column] = 16 * value - (mpmath.mpf(lam) ** 2 if row == column else 0)
    return negative_pivots(K)


def negative_pivots(A: list[list[mpmath.mpf]]) -> int:
    """Gauss's elimination without exchanges, which forty digits can afford; A is used up."""
    count = 0
    for k, pivot_row in enumerate(A):
        count += pivot_row[k] < 0
        for row in A[k + 1 :]:
            factor = row[k] / pivot_row[k]
            if factor:
                for j in range(k, len(A)):
                    row[j] -= factor * pivot_row[j]
    return count


@pytest.mark.parametrize("aspect", ASPECTS)
def test_the_lowest_mode_of_a_free_plate_loses_no_digits(aspect: float) -> None:
    lam = omegas(modes_of("FFFF", aspect))[0]
    if aspect == 1.0:  # a twist, odd both ways
        parity, sizes, rigid = (1, 1), (7, 7), 0
    else:  # bending along the length, even both ways like the rigid rise
        parity, sizes, rigid = (0, 0), (7, 4), 1
    allowed = 1e-7
    with mpmath.workdps(40):
        below, above = (
            exact_count(aspect, parity, sizes, lam * (1.0 + side * allowed)) for side in (-1, 1)
        )
    error = allowed if (below, above) == (rigid, rigid + 1) else math.inf
    record("free plate, mode 1, aspect 1 to 40", "Legendre-Ritz in 40 digits", error, allowed)
