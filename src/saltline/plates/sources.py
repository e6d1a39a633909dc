"""Which singular functions a support of a plate calls for: of a point, a patch, a line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.plates.potentials import ALIKE, Potential, Roots, Source

Column = Sequence[tuple[int, float, complex]]
"""One function: (number of the potential, exponent j, coefficient) of each of its terms."""


def point_source(at: tuple[float, float], unit: float, mu: Roots) -> Source:
    """What a force inside of a plate brings: r^2 ln r, or its like.

    unit: a length of the plate, m.
    """
    logs: list[Column] = [[(0, 1, 1.0)]]
    if mu[0] != mu[1]:
        logs = [[(0, 2, one), (1, 2, other)] for one, other in _closing(mu, 2)]
    centres = [(at[0] + m * at[1], m) for m in mu]
    return Source(unit, 0.0, _potentials(centres, mu[0] == mu[1], [1.0, 1.0], [], logs))


def edge_source(
    at: tuple[float, float], unit: float, mu: Roots, inward: complex, *, is_image: bool = False
) -> Source:
    """What a force at an edge brings, or the image in an edge of a force inside of it.

    inward:   the direction into the plate: 1, -1, 1j or -1j. On that side alone the functions are
              smooth; the angle need not close.
    is_image: whether `at` is the mirror image, beyond the edge, of where the force is.
    """
    turns = [_turn(m, inward) for m in mu]
    centres = [(at[0] + m * at[1], m) for m in mu]
    if mu[0] == mu[1]:
        # Even about the normal, in z turned so that it is the real axis.
        back = np.conj(inward)
        logs: list[Column] = [[(0, 1, 1.0)], [(1, 2, back**2)]]
        if is_image:
            logs += [[(0, 0, inward)], [(1, 1, back)], [(1, 0, 1.0)]]
        return Source(unit, 0.0, _potentials(centres, True, turns, [], logs))
    if is_image:
        centres, turns = _image_centres(at, mu, inward)
    logs = [[(k, 2, c)] for k in range(len(centres)) for c in (1.0, 1.0j)]
    return Source(unit, 0.0, _potentials(centres, False, turns, [], logs))


def _turn(mu: complex, inward: complex) -> complex:
    """The direction of z from an edge into the plate, at right angles to what the edge becomes."""
    return inward if inward.imag else -1j * mu / abs(mu) * inward.real


def _image_centres(
    at: tuple[float, float], mu: Roots, inward: complex
) -> tuple[list[tuple[complex, complex]], list[complex]]:
    """(centre, mu) where either potential is singular when the other, or it, is at the true place.

    On the edge both potentials are functions of the same real variable; each has the singularities
    of both, conjugate in it.
    """
    centres, turns = [], []
    for one in mu:
        for other in mu:
            if inward.imag:
                place = at[0] + np.conj(other) * -at[1]
            else:
                place = one * np.conj(at[1] - at[0] / other)
            centres.append((complex(place), one))
            turns.append(_turn(one, inward))
    return centres, turns


def line_end_source(
    at: tuple[float, float],
    unit: float,
    mu: Roots,
    ahead: complex,
    *,
    holds: tuple[bool, bool],
) -> Source:
    """What the end of a rigid support along a line within a plate brings: r^(3/2) and r^(5/2).

    ahead: the direction from the line's end onward: 1, -1, 1j or -1j; the cut is the line.
    holds: whether the line holds the deflection, and the slope across it.

    Each function obeys what the line holds and is otherwise as smooth across it as the plate is.
    """
    along_y = ahead.imag != 0.0
    turns = [ahead.imag * m / abs(m) if along_y else ahead for m in mu]
    is_double = mu[0] == mu[1]
    columns: list[Column] = []
    for power in (1.5, 2.5):
        exponents = (power - 1.0, power) if is_double else (power, power)
        sides = [
            [
                _at_cut(m, is_double and k == 0, turns[k], exponents[k], side, along_y)
                for k, m in enumerate(mu)
            ]
            for side in (1.0, -1.0)
        ]
        for c in _obeying(np.array(sides), holds):
            columns.append([(k, exponents[k], c[k]) for k in (0, 1)])
    centres = [(at[0] + m * at[1], m) for m in mu]
    return Source(unit, 0.0, _potentials(centres, is_double, turns, columns, []))


def _obeying(sides: Values, holds: tuple[bool, bool]) -> list[Roots]:
    """The coefficients of two potentials with which what a line holds vanishes, or has no jump.

    sides: on either side, of either potential, deflection and slope; shape (2, 2, 2).
    """
    held: list[Values] = []
    for reading, is_held in enumerate(holds):
        above, below = sides[0, :, reading], sides[1, :, reading]
        if is_held:
            held += [above, below]
        else:
            held.append(above - below)
    # Re(c f) = Re c Re f - Im c Im f
    matrix = np.array([np.column_stack([f.real, -f.imag]).ravel() for f in held])
    _, sizes, vectors = np.linalg.svd(matrix)
    rank = int(np.sum(sizes > 1e-9 * sizes[0]))
    return [(complex(v[0], v[1]), complex(v[2], v[3])) for v in vectors[rank:]]


def _at_cut(
    mu: complex, conjugate: bool, turn: complex, power: float, side: float, along_y: bool
) -> tuple[complex, complex]:
    """conj(z)^c z^power and its derivative across a line, on one side of the line, at |z| = 1."""
    z = -turn
    value = turn**power * np.exp(1j * np.pi * side * power)
    derivative = power * turn ** (power - 1.0) * np.exp(1j * np.pi * side * (power - 1.0))
    across = 1.0 if along_y else mu
    if not conjugate:
        return value, across * derivative
    back = np.conj(z)
    return back * value, across * back * derivative + np.conj(across) * value


def patch_source(at: tuple[float, float], radius: float, mu: Roots, highest: int) -> Source:
    """What a held circle brings to the plate outside of it.

    highest: the order n of cos(n theta) up to which the functions are complete.
    """
    if mu[0] == mu[1]:
        logs: list[Column] = [[(0, 1, 1.0)], [(1, 0, 1.0)]]  # r^2 ln r, ln r
        logs += [[(0, 0, 1.0), (1, 1, 1.0)], [(0, 0, 1j), (1, 1, -1j)]]  # x ln r, y ln r
        plain: list[Column] = [[(1, -n, c)] for n in range(1, highest + 1) for c in (1.0, 1j)]
        plain += [[(0, 1 - n, c)] for n in range(2, highest + 1) for c in (1.0, 1j)]
    else:
        logs = [
            [(0, power, one), (1, power, other)]
            for power in (2, 1, 0)
            for one, other in _closing(mu, power)
        ]
        plain = [[(k, -n, c)] for n in range(1, highest + 1) for k in (0, 1) for c in (1.0, 1j)]
    centres = [(at[0] + m * at[1], m) for m in mu]
    found = _potentials(centres, mu[0] == mu[1], [1.0, 1.0], plain, logs)
    if max(abs(m - 1j) for m in mu) > ALIKE:
        found = tuple(replace(p, focus2=1.0 + p.mu**2) for p in found)
    return Source(radius, radius, found)


def _potentials(
    centres: Sequence[tuple[complex, complex]],
    is_double: bool,
    turns: Sequence[complex],
    plain: Sequence[Column],
    logs: Sequence[Column],
) -> tuple[Potential, ...]:
    """The tables of the functions; centres: (centre, mu) of each potential."""
    exponents = [j for column in (*plain, *logs) for _, j, _ in column]
    lowest, count = min(exponents), round(max(exponents) - min(exponents)) + 1
    tables = np.zeros((2, len(centres), count, len(plain) + len(logs)), dtype=complex)
    for number, column in enumerate((*plain, *logs)):
        for which, exponent, c in column:
            tables[int(number >= len(plain)), which, round(exponent - lowest), number] = c
    return tuple(
        Potential(mu, is_double and k == 0, centre, turns[k], lowest, tables[0, k], tables[1, k])
        for k, (centre, mu) in enumerate(centres)
    )


def _closing(mu: Roots, power: int) -> list[Roots]:
    """The coefficients c of sum c_k z_k^power ln z_k that closes on going round.

    Round the point ln z grows by 2 pi i, so Im(sum c_k mu_k^m) must vanish for m = 0 .. power.
    """
    rows = []
    for m in range(power + 1):
        factors = [mu[0] ** m, mu[1] ** m]
        # Im(c f) = Re c Im f + Im c Re f
        rows.append([part for f in factors for part in (f.imag, f.real)])
    _, _, vectors = np.linalg.svd(np.array(rows))
    return [(complex(v[0], v[1]), complex(v[2], v[3])) for v in vectors[power + 1 :]]
