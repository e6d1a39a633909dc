"""Forced responses in closed form, in complex arithmetic: what `response` is checked against.

Damping is a complex modulus E (1 + i eta), eta = 2 zeta. Unit specimens as in `specimens`: E I or D
is 1000, the mass per length or area 1000, the length 1. Everything is per unit of base displacement
(absolute displacement, which is also absolute acceleration per base acceleration), or per N.
Textbook solutions of the equations of Euler and Bernoulli, Timoshenko and Kirchhoff; none of them
uses a mode.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import mpmath as mp
import numpy as np
import scipy.linalg

UNIT = 1000.0

Complex = np.ndarray


def krylov(k: mp.mpc, x: float) -> mp.matrix:
    """(w, w', w'', w''') at x out of those at 0, for w'''' = k^4 w (Krylov's functions)."""
    z = k * x
    S, T = (mp.cosh(z) + mp.cos(z)) / 2, (mp.sinh(z) + mp.sin(z)) / 2
    U, V = (mp.cosh(z) - mp.cos(z)) / 2, (mp.sinh(z) - mp.sin(z)) / 2
    return mp.matrix(
        [
            [S, T / k, U / k**2, V / k**3],
            [k * V, S, T / k, U / k**2],
            [k**2 * U, k * V, S, T / k],
            [k**3 * T, k**2 * U, k * V, S],
        ]
    )


ROWS: Mapping[str, tuple[tuple[int, float], tuple[int, float]]] = {
    "clamped": ((0, 1.0), (1, 0.0)),
    "pinned": ((0, 1.0), (2, 0.0)),
    "guided": ((1, 0.0), (3, 0.0)),
    "free": ((2, 0.0), (3, 0.0)),
}
"""Hold -> (derivative that is given, its value on a base that moves by 1) twice."""


def euler_beam(
    ends: str,
    omega: float,
    zeta: float,
    places: Sequence[float],
    *,
    force_at: float | None = None,
    tip_mass: float = 0.0,
    start_spring: float = 0.0,
) -> Complex:
    """w and its three derivatives at places, shape (len(places), 4).

    force_at:     a force of 1 N there, and then the base stands still.
    tip_mass:     at the end, in the beam's mass; start_spring: against the base, in E I/L^3.
    """
    EI = mp.mpc(UNIT) * (1 + 2j * mp.mpf(zeta))
    k = mp.power(UNIT * mp.mpf(omega) ** 2 / EI, mp.mpf(1) / 4)
    moved = 0.0 if force_at is not None else 1.0
    jump = mp.matrix([0, 0, 0, 1 / EI])
    whole = krylov(k, 1.0)
    extra = krylov(k, 1.0 - force_at) * jump if force_at is not None else mp.zeros(4, 1)
    rows, due = mp.zeros(4, 4), mp.zeros(4, 1)
    start, end = ends.split("-")
    for n, (order, value) in enumerate(ROWS[start]):
        rows[n, order] = 1
        due[n] = value * moved
        if order == 3:  # E I w''' = -k (w - base)
            spring = start_spring * UNIT * (1 + 2j * mp.mpf(zeta))
            rows[n, 0] += spring / EI
            due[n] += spring / EI * moved
    for n, (order, value) in enumerate(ROWS[end]):
        reading = mp.zeros(1, 4)
        reading[order] = 1
        if order == 3:  # E I w''' = -M omega^2 w
            reading[0] += tip_mass * UNIT * mp.mpf(omega) ** 2 / EI
        rows[2 + n, :] = reading * whole
        due[2 + n] = value * moved - (reading * extra)[0]
    first = mp.lu_solve(rows, due)
    found = []
    for x in places:
        state = krylov(k, x) * first
        if force_at is not None and x > force_at:
            state += krylov(k, x - force_at) * jump
        found.append([complex(v) for v in state])
    return np.array(found)


def timoshenko_beam(
    omega: float, zeta: float, places: Sequence[float], *, slenderness: float
) -> Complex:
    """(w, psi, M, Q) of a base-driven cantilever of square section, kappa 5/6, nu 0.3."""
    EI = UNIT * (1.0 + 2j * zeta)
    r2 = 1.0 / (12.0 * slenderness**2)
    shear = EI / r2 / 2.6 * 5.0 / 6.0
    A = np.array(
        [
            [0.0, 1.0, 0.0, 1.0 / shear],
            [0.0, 0.0, 1.0 / EI, 0.0],
            [0.0, -UNIT * r2 * omega**2, 0.0, -1.0],
            [-UNIT * omega**2, 0.0, 0.0, 0.0],
        ],
        dtype=complex,
    )
    whole = scipy.linalg.expm(A)
    M0_Q0 = np.linalg.solve(whole[2:, 2:], -whole[2:, 0])
    first = np.array([1.0, 0.0, *M0_Q0])
    return np.array([scipy.linalg.expm(A * x) @ first for x in places])


def pinned_plate(
    omega: float, zeta: float, places: Sequence[tuple[float, float]], *, terms: int = 150
) -> Complex:
    """Of a square plate on a base that moves by 1: a single series (Levy's)."""
    k2 = omega * np.sqrt(1.0 / (1.0 + 2j * zeta))  # k^2 = omega sqrt(m/D)
    found = np.ones(len(places), dtype=complex)
    for n in range(1, 2 * terms, 2):
        alpha2 = (n * math.pi) ** 2
        one, two = np.sqrt(alpha2 + k2), np.sqrt(alpha2 - k2)
        level = 4.0 / (n * math.pi) * k2**2 / (alpha2**2 - k2**2)
        for i, (x, y) in enumerate(places):
            eta = y - 0.5
            a, b = (np.cosh(q * eta) / np.cosh(q / 2.0) for q in (one, two))
            part = 1.0 - (two**2 * a - one**2 * b) / (two**2 - one**2)
            found[i] += level * part * math.sin(n * math.pi * x)
    return found


def clamped_disc(omega: float, zeta: float, radii: Sequence[float]) -> Complex:
    """Of a disc of radius 1 whose clamped rim moves by 1."""
    k = mp.sqrt(mp.mpf(omega)) / mp.power(1 + 2j * mp.mpf(zeta), mp.mpf(1) / 4)
    J0, I0 = mp.besselj(0, k), mp.besseli(0, k)
    J1, I1 = -k * mp.besselj(1, k), k * mp.besseli(1, k)
    A, B = mp.lu_solve(mp.matrix([[J0, I0], [J1, I1]]), mp.matrix([1, 0]))
    return np.array([complex(A * mp.besselj(0, k * r) + B * mp.besseli(0, k * r)) for r in radii])


def pushed_disc(omega: float, zeta: float, nu: float, radii: Sequence[float]) -> Complex:
    """Of a free disc of radius 1 under 1 N at its centre, per N.

    The infinite plate's -(1/(8 k^2 D)) (Y0 + 2 K0/pi)(k r) and what makes the rim free.
    """
    D = mp.mpc(UNIT) * (1 + 2j * mp.mpf(zeta))
    k = mp.power(UNIT * mp.mpf(omega) ** 2 / D, mp.mpf(1) / 4)

    def source(r: mp.mpf) -> mp.mpc:
        return -(mp.bessely(0, k * r) + 2 / mp.pi * mp.besselk(0, k * r)) / (8 * k**2 * D)

    functions: list[Callable[[mp.mpf], mp.mpc]] = [
        source,
        lambda r: mp.besselj(0, k * r),
        lambda r: mp.besseli(0, k * r),
    ]

    def rim(w: Callable[[mp.mpf], mp.mpc]) -> tuple[mp.mpc, mp.mpc]:
        w1, w2, w3 = (mp.diff(w, 1, n) for n in (1, 2, 3))
        return w2 + nu * w1, w3 + w2 - w1  # moment and shear at r = 1, over -D

    (m0, v0), (m1, v1), (m2, v2) = (rim(w) for w in functions)
    A, B = mp.lu_solve(mp.matrix([[m1, m2], [v1, v2]]), mp.matrix([-m0, -v0]))
    return np.array(
        [
            complex(source(mp.mpf(r)) + A * functions[1](mp.mpf(r)) + B * functions[2](mp.mpf(r)))
            for r in radii
        ]
    )
