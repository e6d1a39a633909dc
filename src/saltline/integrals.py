"""Integrals over a line whose weights are one number on each element: looked up and scaled."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, lru_cache

import numpy as np

from saltline.arrays import Values
from saltline.basis import Element, Functions, Line

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


def uniform_energies(
    line: Line, integral: tuple[tuple[str, int], tuple[str, int]], Q: Values, halves: Values
) -> Values:
    """An integral with weight 1 on each element, for columns of coefficients, (elements, k).

    halves: half the length of each element, which may be others than those of the line.
    """
    left, right = integral
    found = np.zeros((len(halves), Q.shape[1]))
    for number, (element, h) in enumerate(zip(line.elements, halves, strict=True)):
        assert element.make is not None
        known, left_powers, right_powers = _reference(*element.make, left, right)
        q = Q[element.dofs]
        a, b = q * (h**left_powers)[:, None], q * (h**right_powers)[:, None]
        scale = h ** (1 - left[1] - right[1])
        found[number] = scale * np.einsum("ik,ik->k", a, known @ b)
    return found


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
    a, b = element.series(*left), element.series(*right)
    # Legendre polynomials are orthogonal, and the square of each has the integral 2 / (2 k + 1).
    squares = 2.0 / (2.0 * np.arange(a.shape[1]) + 1.0)
    return (a * squares) @ b.T, known[left[0]][1], known[right[0]][1]
