"""Integrals over a line whose weights are one number on each element: looked up and scaled."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, lru_cache

import numpy as np

from saltline.arrays import Indices, Values
from saltline.basis import Element, Functions, Line
from saltline.legendre import series_products

Integral = tuple[tuple[str, int], tuple[str, int], Sequence[float]]
"""Left and right, each a (field, derivative), and the weight on each element."""


def uniform_gram(line: Line, integrals: Sequence[Integral]) -> Values:
    """The sum of some matrices as `gram` makes them, their weights one number on each element.

    An element's integrals are then those over an element of half-length 1, which are looked up,
    but for powers of its half-length. The line must be one of those made here.
    """
    matrix = np.zeros((line.size, line.size))
    for number, element in enumerate(line.elements):
        assert element.make is not None
        look_up = _on_element if element.dofs.size <= KEPT_SIZE else _on_element.__wrapped__
        local = np.zeros((element.dofs.size, element.dofs.size))
        for left, right, weights in integrals:
            if weights[number] != 0.0:
                known = look_up(*element.make, left, right, element.half)
                local += weights[number] * known
        matrix[element.dofs[:, None], element.dofs] += local
    return matrix


KEPT_SIZE = 160
"""The integrals of an element of more functions than this are not kept: they take megabytes."""


EXPONENTS = np.arange(-5, 4)
"""Powers of an element's half-length that occur in integrals of two functions, up to their second
derivatives."""


def energies_by_power(
    line: Line, integral: tuple[tuple[str, int], tuple[str, int]], Q: Values
) -> Values:
    """What goes with each power of an element's half-length in the integral, weight 1.

    Q: columns of coefficients, shape (size, k). Returns shape (elements, len(EXPONENTS), k): summed
    with the powers they are the integral on each element, for any lengths.
    """
    left, right = integral
    found = np.zeros((len(line.elements), EXPONENTS.size, Q.shape[1]))
    for number, element in enumerate(line.elements):
        assert element.make is not None
        q = Q[element.dofs]
        for place, rows, columns, known in _blocks(*element.make, left, right):
            found[number, place] += np.einsum("ik,ik->k", q[rows], known @ q[columns])
    return found


@cache
def _blocks(
    functions: Callable[[int], Functions],
    degree: int,
    left: tuple[str, int],
    right: tuple[str, int],
) -> list[tuple[int, Indices, Indices, Values]]:
    """The reference integrals in blocks of one power of the half-length.

    Each has the place of its power in EXPONENTS, its rows and columns, and the integrals.
    """
    known, left_powers, right_powers = _reference(functions, degree, left, right)
    blocks = []
    for a in sorted(set(left_powers.tolist())):
        for b in sorted(set(right_powers.tolist())):
            rows, columns = np.flatnonzero(left_powers == a), np.flatnonzero(right_powers == b)
            place = int(a + b) + 1 - left[1] - right[1] - int(EXPONENTS[0])
            assert 0 <= place < EXPONENTS.size
            block = np.ascontiguousarray(known[np.ix_(rows, columns)])
            if np.any(block):
                blocks.append((place, rows, columns, block))
    return blocks


@lru_cache(maxsize=64)
def _on_element(
    functions: Callable[[int], Functions],
    degree: int,
    left: tuple[str, int],
    right: tuple[str, int],
    half: float,
) -> Values:
    """The integrals over an element of this half-length, weight 1.

    They are kept: a tolerance of anything but a length asks for the same ones again.
    """
    known, left_powers, right_powers = _reference(functions, degree, left, right)
    scale = half ** (1 - left[1] - right[1]) * half**left_powers
    return np.asarray(known * np.multiply.outer(scale, half**right_powers))


@cache
def _reference(
    functions: Callable[[int], Functions],
    degree: int,
    left: tuple[str, int],
    right: tuple[str, int],
) -> tuple[Values, Values, Values]:
    """The integrals over an element of half-length 1, and each function's power of it."""
    known = functions(degree)
    fields = {name: table for name, (table, _) in known.items()}
    dofs = np.arange(len(known[left[0]][0]), dtype=np.intp)
    element = Element(-1.0, 1.0, dofs, fields)
    products = series_products(element.series(*left), element.series(*right))
    return products, known[left[0]][1], known[right[0]][1]
