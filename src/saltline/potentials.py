"""Singular solutions of the bending of a plate: what a polynomial cannot follow near a support.

Every solution of the static equation of an isotropic plate is Re(conj(z) phi(z) + chi(z)) with
z = x + iy (Goursat), and of an orthotropic one Re(F1(x + mu1 y) + F2(x + mu2 y)), mu the roots of
Dy mu^4 + 2 H mu^2 + Dx = 0 with positive imaginary part (Lekhnitskii, Anisotropic Plates, 1968,
ch. 10). Where these are one root, the first form holds with z = x + mu y. Here the potentials are
sums of z^j and z^j ln z about some point, so that one table of powers gives every derivative of
every function.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from saltline.arrays import Values

Order = tuple[int, int]
"""(derivatives along x, along y)."""

ALIKE = 1e-5
"""Roots nearer to each other than this are one."""

Roots = tuple[complex, complex]


@dataclass(frozen=True, slots=True)
class Potential:
    """Some functions Re(conj(z)^c F(z)), F a sum of (plain + logs ln z) z^j, z = x + mu y - centre.

    conjugate:   whether the factor conj(z) stands before F (c is 1, else 0).
    turn:        the direction of z, of size 1, away from the cut of the logarithm.
    lowest:      the exponent j of the tables' first row; whole, or a half more.
    plain, logs: complex, shape (number of exponents, number of functions).
    focus2:      0, or the square of the foci of the ellipse into which a circle turns in z: the
                 powers are then those that belong to its outside (see `_outside_derivatives`).
    """

    mu: complex
    conjugate: bool
    centre: complex
    turn: complex
    lowest: float
    plain: Values
    logs: Values
    focus2: complex = 0.0


@dataclass(frozen=True, slots=True)
class Source:
    """Functions that are singular at one point.

    unit:   the length that z is measured in, m.
    radius: within it, m, nothing is asked and the functions are not to overflow.
    """

    unit: float
    radius: float
    potentials: tuple[Potential, ...]

    @property
    def size(self) -> int:
        """The number of functions."""
        return int(self.potentials[0].plain.shape[1])

    def combined(self, c: Values) -> Source:
        """The sum of the functions times c, shape (size,), as one function."""
        c = c[:, None]
        return replace(
            self,
            potentials=tuple(
                replace(p, plain=p.plain @ c, logs=p.logs @ c) for p in self.potentials
            ),
        )

    def jets(self, x: Values, y: Values, orders: Sequence[Order]) -> list[Values]:
        """Derivatives of every function at the points (x[i], y[i]): a (len(x), size) an order."""
        totals = [np.zeros((len(x), self.size)) for _ in orders]
        highest = max(a + b for a, b in orders)
        for p in self.potentials:
            z = (
                (x - p.centre.real) + p.mu.real * y + 1j * (p.mu.imag * y - p.centre.imag)
            ) / self.unit
            least = max(1e-100, 0.5 * self.radius / self.unit)
            z = np.where(np.abs(z) < least, least * p.turn, z)
            find = _outside_derivatives if p.focus2 else _derivatives
            derivatives = find(p, z, highest)
            for total, (a, b) in zip(totals, orders, strict=True):
                total += _read(p, z, derivatives, a, b) / self.unit ** (a + b)
        return totals


def _derivatives(p: Potential, z: Values, highest: int) -> list[Values]:
    """F and its derivatives at z, shape (len(z), size) each, from one table of powers."""
    count = p.plain.shape[0]
    log = np.log(z / p.turn)[:, None]
    powers = np.empty((len(z), count + highest), dtype=complex)
    first = p.lowest - highest
    powers[:, 0] = (z / p.turn) ** first * p.turn**first  # cut as the logarithm is
    for column in range(1, count + highest):
        powers[:, column] = powers[:, column - 1] * z
    exponents = np.arange(p.lowest, p.lowest + count)[:, None]
    plain, logs = p.plain, p.logs
    with_log = np.flatnonzero(np.any(logs != 0.0, axis=0))
    found = []
    for order in range(highest + 1):
        table = powers[:, highest - order : highest - order + count]
        values = table @ plain
        values[:, with_log] += log * (table @ logs[:, with_log])
        found.append(values)
        plain, logs = (exponents - order) * plain + logs, (exponents - order) * logs
    return found


def _outside_derivatives(p: Potential, z: Values, highest: int) -> list[Values]:
    """The same with what stands for z^-m and z^j ln z outside of an ellipse with foci +-c.

    With zeta the map of its outside onto that of a circle, S = sqrt(z^2 - c^2), zeta ~ z + S,
    they are zeta^-m, and ln zeta with its first and second integral in z. Every zeta^-m obeys
    S^2 G'' + z G' - m^2 G = 0, which gives the higher derivatives.
    """
    c2 = p.focus2
    root = np.sqrt(1.0 - c2 / z**2)
    S, ratio = z * root, (1.0 + root) / (1.0 + np.sqrt(1.0 - c2))
    zeta = z * ratio
    log = np.log(z) + np.log(1.0 + root)  # cut where y = 0, x < 0, whatever mu
    logs = [log, z * log - S, (z**2 / 2.0 + c2 / 4.0) * log - 0.75 * z * S]
    m = -np.arange(p.lowest, 0)
    tables = [zeta[:, None] ** -m]
    rows = [tables[0], -m * tables[0] / S[:, None]]
    for n in range(highest - 1):
        rows.append(
            -((2 * n + 1) * z[:, None] * rows[-1] + (n**2 - m**2) * rows[-2]) / (S**2)[:, None]
        )
    down = [log, 1.0 / S]
    for n in range(1, highest):
        down.append(
            -((2 * n - 1) * z * down[-1] + ((n - 1) ** 2) * (down[-2] if n > 1 else 0.0)) / S**2
        )
    chain = [*logs[:0:-1], *down]  # each is the derivative of the one before it
    found = []
    for order in range(highest + 1):
        powers = range(p.plain.shape[0] - m.size)
        integrals = np.stack([chain[2 - j + order] for j in powers], axis=1)
        found.append(rows[order] @ p.plain[: m.size] + integrals @ p.logs[m.size :])
    return found


def _read(p: Potential, z: Values, F: Sequence[Values], a: int, b: int) -> Values:
    """d^a/dx^a d^b/dy^b of Re(conj(z)^c F(z)); conj(z) gives itself up to one derivative."""
    if not p.conjugate:
        return np.asarray((p.mu**b * F[a + b]).real)
    value = np.conj(z)[:, None] * p.mu**b * F[a + b]
    if a > 0:
        value += a * p.mu**b * F[a + b - 1]
    if b > 0:
        value += b * np.conj(p.mu) * p.mu ** (b - 1) * F[a + b - 1]
    return np.asarray(value.real)


def roots(Dx: float, H: float, Dy: float) -> Roots:
    """mu1 and mu2 of a plate with these stiffnesses; i and i where it is isotropic."""
    rest = np.sqrt(complex(H**2 - Dx * Dy))
    found = [np.sqrt((-H + sign * rest) / Dy) for sign in (1.0, -1.0)]
    one, other = (complex(mu if mu.imag > 0.0 else -mu) for mu in found)
    if abs(one - other) < ALIKE * abs(one):
        # An isotropic plate, or one stretched one way.
        stretch = (Dx / Dy) ** 0.25
        return (1j, 1j) if abs(stretch - 1.0) < ALIKE else (1j * stretch, 1j * stretch)
    return one, other


# -- which functions ------------------------------------------------------------------------------

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
    on_edge: bool,
) -> Source:
    """What the end of a rigid support along a line brings: r^(3/2) and r^(5/2).

    ahead: the direction from the line's end onward: 1, -1, 1j or -1j; the cut is the line.
    holds: whether the line holds the deflection, and the slope across it.

    Each function obeys what the line holds and, where the line is not on an edge, is as smooth
    across it as the plate is.
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
        held = []
        for above, below, is_held in zip(*(np.array(s).T for s in sides), holds, strict=True):
            held += [above, below] if is_held else []
            held += [] if is_held or on_edge else [above - below]
        # Re(c f) = Re c Re f - Im c Im f
        matrix = np.array([np.column_stack([f.real, -f.imag]).ravel() for f in held])
        _, sizes, vectors = np.linalg.svd(matrix)
        rank = int(np.sum(sizes > 1e-9 * sizes[0]))
        columns += [
            [(k, exponents[k], complex(v[2 * k], v[2 * k + 1])) for k in (0, 1)]
            for v in vectors[rank:]
        ]
    centres = [(at[0] + m * at[1], m) for m in mu]
    return Source(unit, 0.0, _potentials(centres, is_double, turns, columns, []))


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
