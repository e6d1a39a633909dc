"""Rayleigh-Ritz of thin discs and annuli in polynomials of r: the second opinion on discs.

For w = W(r) cos(n theta), nu = 0.3, lambda^2 is the energy

    (W'' + W'/r - n^2 W/r^2)^2 - 2 (1 - nu) [ W'' (W'/r - n^2 W/r^2) - n^2 (W'/r - W/r^2)^2 ]

over W^2, both integrated with the weight r.
"""

import numpy as np
from numpy.polynomial import legendre
from plate_ritz import elastic
from scipy.linalg import null_space

NU = 0.3
HELD = {"free": (), "pinned": (0,), "clamped": (0, 1), "guided": (1,)}

Table = np.ndarray  # [order of derivative, place, function]


def solid(rim: str, n: int, *, count: int, size: int = 24) -> np.ndarray:
    """Return lambda of a solid disc; W = r^n times Legendre polynomials of 2 r^2 - 1."""
    r, weights = gauss(0.0, 1.0, 2 * size + n + 4)
    return frequencies(
        even_powers(r, n, size), r, weights, n, even_powers(1.0, n, size), rim, count
    )


def even_powers(r: np.ndarray | float, n: int, size: int) -> Table:
    """Return W, W', W'' of r^n P_j(2 r^2 - 1)."""
    r = np.atleast_1d(np.asarray(r, dtype=float))[:, None]
    eye = np.eye(size)
    s = 2 * r[:, 0] ** 2 - 1
    p, dp, ddp = (legendre.legval(s, legendre.legder(eye, m) if m else eye).T for m in range(3))
    first = 4 * r * dp  # derivatives with respect to r
    second = 4 * dp + 16 * r**2 * ddp
    power, slope = r**n, n * r ** max(n - 1, 0)
    bend = n * (n - 1) * r ** max(n - 2, 0)
    return np.array(
        [power * p, slope * p + power * first, bend * p + 2 * slope * first + power * second]
    )


def annulus(rim: str, hole: str, n: int, ratio: float, *, count: int, size: int = 36) -> np.ndarray:
    """Return lambda of an annulus; W = Legendre polynomials between the edges."""
    r, weights = gauss(ratio, 1.0, 2 * size)
    table, ends = (polynomials(x, ratio, size) for x in (r, np.array([1.0, ratio])))
    return frequencies(table, r, weights, n, ends, f"{rim}-{hole}", count)


def polynomials(r: np.ndarray, ratio: float, size: int) -> Table:
    """Return W, W', W'' of the Legendre polynomials on [ratio, 1]."""
    stretch = 2 / (1 - ratio)
    eye = np.eye(size)
    x = stretch * (r - ratio) - 1
    return np.array(
        [stretch**m * legendre.legval(x, legendre.legder(eye, m) if m else eye).T for m in range(3)]
    )


def held_centre(rim: str, *, count: int, size: int = 30) -> np.ndarray:
    """Return lambda of the axisymmetric disc held at its centre, by r^2 and r^2 ln r of r^2j."""
    # With r = t^3 the logarithm is smooth enough at 0 for Gauss points in t.
    t, weights = gauss(0.0, 1.0, 200)
    r, weights = t**3, weights * 3 * t**2
    table, end = (with_logarithm(x, size) for x in (r, np.array([1.0])))
    return frequencies(table, r, weights, 0, end, rim, count)


def with_logarithm(r: np.ndarray, size: int) -> Table:
    """Return W, W', W'' of even functions that vanish at 0, and of r^2 ln r."""
    even = even_powers(r, 0, size)
    at_centre = even_powers(0.0, 0, size)[0]
    even = even @ null_space(at_centre)
    log = np.log(r)
    extra = np.array([r**2 * log, 2 * r * log + r, 2 * log + 3])[:, :, None]
    more = np.array([r**4 * log, 4 * r**3 * log + r**3, 12 * r**2 * log + 7 * r**2])[:, :, None]
    return np.concatenate([even, extra, more], axis=2)


def gauss(low: float, high: float, points: int) -> tuple[np.ndarray, np.ndarray]:
    """Return Gauss points and weights between two radii."""
    x, weights = legendre.leggauss(points)
    return low + (high - low) * (x + 1) / 2, weights * (high - low) / 2


def frequencies(
    table: Table, r: np.ndarray, weights: np.ndarray, n: int, ends: Table, edges: str, count: int
) -> np.ndarray:
    """Return the first elastic lambda; ``ends`` holds the functions at the edges named."""
    w, slope, bend = table
    r = r[:, None]
    around = slope / r - n**2 * w / r**2
    twist = n * (slope / r - w / r**2)
    weight = (weights * r[:, 0])[:, None]

    def product(f: np.ndarray, g: np.ndarray) -> np.ndarray:
        return f.T @ (weight * g)

    cross = product(bend, around)
    energy = product(bend + around, bend + around) - (1 - NU) * (cross + cross.T)
    energy += 2 * (1 - NU) * product(twist, twist)
    mass = product(w, w)
    scale = 1 / np.sqrt(np.diag(energy + mass))
    energy, mass = (scale[:, None] * both * scale for both in (energy, mass))
    rows = [
        ends[order, place] * scale
        for place, edge in enumerate(edges.split("-"))
        for order in HELD[edge]
    ]
    if rows:
        free = null_space(np.array([row / np.linalg.norm(row) for row in rows]))
        energy, mass = free.T @ energy @ free, free.T @ mass @ free
    return elastic(energy, mass, count)
