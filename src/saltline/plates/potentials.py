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
from dataclasses import replace

import numpy as np

from saltline.arrays import Flags, Values
from saltline.record import record

Order = tuple[int, int]
"""(derivatives along x, along y)."""

ALIKE = 1e-5
"""Roots nearer to each other than this are one."""

Roots = tuple[complex, complex]


@record
class Potential:
    """Some functions Re(conj(z)^c F(z)), F a sum of (plain + logs ln z) z^j, z = x + mu y - centre.

    conjugate:   whether the factor conj(z) stands before F (c is 1, else 0).
    turn:        the direction of z, of size 1, away from the cut of the logarithm.
    lowest:      the exponent j of the tables' first row; of the next ones it is 1, 2 ... more.
    plain, logs: complex, shape (number of exponents, number of functions).
    focus2:      0, or the square of the foci of the ellipse into which a circle turns in z: the
                 powers are then those that belong to its outside (see `_outside_derivatives`).
    """

    mu: complex
    conjugate: bool
    centre: complex
    turn: complex
    lowest: complex
    plain: Values
    logs: Values
    focus2: complex = 0.0


@record
class Source:
    """Functions that are singular at one point.

    unit:   the length that z is measured in, m.
    radius: within it, m, nothing is asked and the functions are not to overflow.
    obeys:  the lines (0, x) or (1, y) on which the functions vanish as the edge there demands.
    fold:   (axis, place, parity) of a line over which the functions on the side of larger
            coordinates go on as in a mirror, even (1) or odd (-1); None for no line.
    own:    for x and for y, of each function whether it is even (1) or odd (-1) about the middle
            of the plate; None where its mirror image is another function.
    """

    unit: float
    radius: float
    potentials: tuple[Potential, ...]
    obeys: tuple[tuple[int, float], ...] = ()
    fold: tuple[int, float, int] | None = None
    own: tuple[Values | None, Values | None] = (None, None)

    @property
    def size(self) -> int:
        """The number of functions."""
        return int(self.potentials[0].plain.shape[1])

    def some(self, which: Flags) -> Source:
        """Those of the functions alone; which: shape (size,)."""
        along, across = (None if own is None else own[which] for own in self.own)
        return replace(
            self,
            potentials=tuple(
                replace(p, plain=p.plain[:, which], logs=p.logs[:, which]) for p in self.potentials
            ),
            own=(along, across),
        )

    def combined(self, c: Values) -> Source:
        """The sum of the functions times c, shape (size,), as one function; `own` is not known."""
        c = c[:, None]
        return replace(
            self,
            potentials=tuple(
                replace(p, plain=p.plain @ c, logs=p.logs @ c) for p in self.potentials
            ),
            own=(None, None),
        )

    def jets(self, x: Values, y: Values, orders: Sequence[Order]) -> list[Values]:
        """Derivatives of every function at the points (x[i], y[i]): a (len(x), size) an order."""
        if self.fold is not None:
            return self._folded(x, y, orders, *self.fold)
        totals = [np.zeros((len(x), self.size)) for _ in orders]
        highest = max(a + b for a, b in orders)
        least = max(1e-100, 0.5 * self.radius / self.unit)
        seen: dict[tuple[complex, complex, complex], tuple[Values, Values]] = {}
        tables: dict[tuple[object, ...], Values] = {}
        for p in self.potentials:
            key = (p.mu, p.centre, p.turn)
            if key not in seen:
                z = (x + p.mu * y - p.centre) / self.unit
                near = np.abs(z) < least
                if np.any(near):
                    z = np.where(near, least * p.turn, z)
                seen[key] = z, _logarithm(z if p.turn == 1.0 else z / p.turn)
            z, log = seen[key]
            if p.focus2:
                derivatives = _outside_derivatives(p, z, highest)
            else:
                of_table = (*key, p.lowest, len(p.plain))
                if of_table not in tables:
                    tables[of_table] = _powers(p, z, log, highest)
                derivatives = _derivatives(p, tables[of_table], log, highest)
            for total, (a, b) in zip(totals, orders, strict=True):
                total += _read(p, z, derivatives, a, b) / self.unit ** (a + b)
        return totals

    def _folded(
        self, x: Values, y: Values, orders: Sequence[Order], axis: int, place: float, parity: int
    ) -> list[Values]:
        side = np.where((x, y)[axis] < place, -1.0, 1.0)
        X, Y = (
            place + np.abs(v - place) if number == axis else v for number, v in enumerate((x, y))
        )
        found = replace(self, fold=None).jets(X, Y, orders)
        odd = int(parity < 0)
        return [
            values * (side ** (order[axis] + odd))[:, None]
            for values, order in zip(found, orders, strict=True)
        ]


def _logarithm(z: Values) -> Values:
    """ln z; on the cut the value from above, whatever the rounding: both potentials need one."""
    on_cut = (z.real < 0.0) & (np.abs(z.imag) < 1e-13 * np.abs(z.real))
    return np.log(np.where(on_cut, z.real + 0j, z))


def _powers(p: Potential, z: Values, log: Values, highest: int) -> Values:
    """The powers of z in F and in so many derivatives, the lowest first, a row each.

    log: of z / turn, cut away from the turn; the powers are cut as it is.
    """
    powers = np.empty((len(p.plain) + highest, len(z)), dtype=complex)
    first = p.lowest - highest
    powers[0] = np.exp(first * log) * p.turn**first
    for row in range(1, len(powers)):
        np.multiply(powers[row - 1], z, out=powers[row])
    return powers


def _derivatives(p: Potential, powers: Values, log: Values, highest: int) -> list[Values]:
    """F and its derivatives, shape (number of places, size) each, from the table of powers."""
    count = p.plain.shape[0]
    exponents = (p.lowest + np.arange(count))[:, None]
    plain, logs = p.plain, p.logs
    with_log = np.flatnonzero(np.any(logs != 0.0, axis=0))
    found = []
    for order in range(highest + 1):
        table = powers[highest - order : highest - order + count].T
        values = table @ plain
        if with_log.size:
            values[:, with_log] += log[:, None] * (table @ logs[:, with_log])
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
    m = -np.arange(p.lowest.real, 0)
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
