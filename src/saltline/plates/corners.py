"""How a plate bends at a corner where a clamped edge meets a free one, or where a held part ends.

About such a place the static deflection is a sum of r^s times functions of the angle, with
exponents s for which both edges' conditions can be met at once (Williams 1952, Proc. First U.S.
Nat. Congr. Appl. Mech., 325, for isotropic sectors). They are complex, the lowest near 2, so that
the moments swing or grow without bound, and no polynomial follows. Here each term is

    c1 f1(z1) + d1 f1~(z1) + c2 f2(z2) + d2 f2~(z2),    z_k = x + mu_k y

with f = z^s, or conj(z) z^(s - 1) for the first of two equal roots, and f~ the same with z and
conj(z) exchanged; four conditions, two an edge, leave determinants whose zeros are the exponents.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np

from saltline.arrays import Values
from saltline.plates.potentials import Potential, Roots, Source
from saltline.plates.stiffness import Stiffness
from saltline.record import record

SMOOTH = 5.5
"""Terms of a higher power than this are left to the polynomials."""

LOWEST = 1.05
"""No term of finite energy has a lower power; s = 1 is a rigid motion."""


@record
class Ray:
    """An edge as seen from the corner.

    direction: 1, -1, 1j or -1j. holds: whether it holds the deflection, and the slope across it.
    """

    direction: complex
    holds: tuple[bool, bool]


Rays = tuple[Ray, Ray]


def corner_source(
    at: tuple[float, float], unit: float, medium: Stiffness, mu: Roots, rays: Rays, inward: complex
) -> Source:
    """The functions that the corner calls for, two for each exponent.

    unit:   a length of the plate, m.
    inward: a direction from the corner into the plate, between the edges.
    """
    turns = [_direction(m, inward) for m in mu]
    centres = [at[0] + m * at[1] for m in mu]
    powers = exponents(medium, mu, *_first_quadrant(rays, inward))
    axes = [(1 if ray.direction.imag == 0.0 else 0, ray) for ray in rays]
    obeys = tuple((axis, at[axis]) for axis, ray in axes if any(ray.holds))
    potentials = []
    for number, s in enumerate(powers):
        c, d = _coefficients(s, medium, mu, rays, turns)
        for k, (m, centre, turn) in enumerate(zip(mu, centres, turns, strict=True)):
            conjugate = mu[0] == mu[1] and k == 0
            for power, real, imaginary in (
                (s, c[k], -1j * c[k]),
                (s.conjugate(), np.conj(d[k]), np.conj(-1j * d[k])),
            ):
                plain = np.zeros((1, 2 * len(powers)), dtype=complex)
                plain[0, 2 * number : 2 * number + 2] = real, imaginary
                lowest = power - 1.0 if conjugate else power
                potentials.append(
                    Potential(m, conjugate, centre, turn, lowest, plain, np.zeros_like(plain))
                )
    return Source(unit, 0.0, tuple(potentials), obeys)


@lru_cache(maxsize=64)
def exponents(medium: Stiffness, mu: Roots, rays: Rays, inward: complex) -> tuple[complex, ...]:
    """The powers s with 1 < Re s < `SMOOTH`, Im s >= 0 that a sector allows, but for whole ones.

    Secants from a lattice of beginnings: a root that none of them finds costs accuracy alone, which
    the rise of the degree shows.
    """
    turns = [_direction(m, inward) for m in mu]

    def determinant(s: Values) -> Values:
        rows = _conditions(s, medium, mu, rays, turns)
        return np.asarray(np.linalg.det(rows / np.linalg.norm(rows, axis=2, keepdims=True)))

    real, imaginary = np.meshgrid(np.arange(1.2, SMOOTH, 0.4), [0.02, 0.4, 1.0])
    found = _secants(determinant, (real + 1j * imaginary).ravel())
    distinct: list[complex] = []
    for s in sorted(found, key=lambda s: (s.real, s.imag)):
        s = complex(s.real, abs(s.imag) if abs(s.imag) > 1e-7 else 0.0)
        if abs(s - round(s.real)) < 1e-4:
            continue  # a polynomial
        if LOWEST < s.real < SMOOTH and all(abs(s - other) > 1e-6 for other in distinct):
            distinct.append(s)
    return tuple(distinct)


def _first_quadrant(rays: Rays, inward: complex) -> tuple[Rays, complex]:
    """The same corner mirrored so that it opens up and to the right: it has the same powers."""
    signs = (-1.0 if inward.real < 0.0 else 1.0, -1.0 if inward.imag < 0.0 else 1.0)

    def mirrored(z: complex) -> complex:
        return complex(signs[0] * z.real, signs[1] * z.imag)

    one, other = (Ray(mirrored(ray.direction), ray.holds) for ray in rays)
    first, second = sorted((one, other), key=lambda ray: (ray.direction.real, ray.direction.imag))
    return (first, second), mirrored(inward)


def _secants(function: Callable[[Values], Values], start: Values) -> list[complex]:
    """Zeros that the secant method reaches from some beginnings."""
    before, here = start, start + 1e-3
    f_before, f_here = function(before), function(here)
    for _ in range(20):
        rise = np.where(f_here == f_before, 1.0, f_here - f_before)
        step = -f_here * (here - before) / rise
        step /= np.maximum(np.abs(step) / 0.3, 1.0)
        before, f_before = here, f_here
        here = here + step
        f_here = function(here)
    settled = (np.abs(here - before) < 1e-9) & (np.abs(f_here) < 1e-9)
    return [complex(s) for s in here[settled]]


def _coefficients(
    s: complex, medium: Stiffness, mu: Roots, rays: Rays, turns: Sequence[complex]
) -> tuple[Values, Values]:
    """c and d of the term with this exponent, each for both potentials."""
    rows = _conditions(np.array([s]), medium, mu, rays, turns)[0]
    vector = np.linalg.svd(rows / np.linalg.norm(rows, axis=1, keepdims=True))[2][-1].conj()
    return vector[0::2], vector[1::2]


def _conditions(
    s: Values, medium: Stiffness, mu: Roots, rays: Rays, turns: Sequence[complex]
) -> Values:
    """What each edge demands of c1, d1, c2, d2 at unit distance, shape (len(s), 4, 4).

    Held: w or its slope vanishes; free: the shear force Dn w_nnn + (D1 + 4 Dk) w_ntt or the bending
    moment does (Leissa, NASA SP-160, 1969, ch. 9).
    """
    rows = []
    for ray in rays:
        along_x = ray.direction.imag == 0.0
        Dn = medium.Dy if along_x else medium.Dx

        def read(n: int, t: int, ray: Ray = ray, along_x: bool = along_x) -> Values:
            a, b = (t, n) if along_x else (n, t)
            return _readings(s, mu, ray.direction, turns, a, b)

        is_held, is_level = ray.holds
        shear = Dn * read(3, 0) + (medium.D1 + 4.0 * medium.Dk) * read(1, 2)
        rows.append(read(0, 0) if is_held else shear)
        moment = Dn * read(2, 0) + medium.D1 * read(0, 2)
        rows.append(read(1, 0) if is_level else moment)
    return np.stack(rows, axis=1)


def _readings(
    s: Values, mu: Roots, direction: complex, turns: Sequence[complex], a: int, b: int
) -> Values:
    """d^a/dx^a d^b/dy^b of the four functions on an edge, shape (len(s), 4)."""
    columns = []
    for k, (m, turn) in enumerate(zip(mu, turns, strict=True)):
        z = direction.real + m * direction.imag
        log = np.log(z / turn) + np.log(turn)
        is_double = k == 0 and mu[0] == mu[1]
        for zeta, power_log, nu in ((z, log, m), (np.conj(z), np.conj(log), np.conj(m))):
            if not is_double:
                columns.append(nu**b * _power(s, power_log, a + b))
                continue
            # Leibniz: conj(zeta) gives itself up to one derivative.
            value = np.conj(zeta) * nu**b * _power(s - 1.0, power_log, a + b)
            if a > 0:
                value = value + a * nu**b * _power(s - 1.0, power_log, a + b - 1)
            if b > 0:
                other = b * np.conj(nu) * nu ** (b - 1)
                value = value + other * _power(s - 1.0, power_log, a + b - 1)
            columns.append(value)
    return np.stack(columns, axis=1)


def _power(s: Values, log: complex, order: int) -> Values:
    """The derivative of zeta^s, log being ln zeta."""
    factors = [s - n for n in range(order)]
    return np.asarray(math.prod(factors, start=np.ones_like(s)) * np.exp((s - order) * log))


def _direction(mu: complex, inward: complex) -> complex:
    """A direction in the plane becomes one in that of z."""
    z = inward.real + mu * inward.imag
    return z / abs(z)
