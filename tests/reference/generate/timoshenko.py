"""Write timoshenko.csv: exact frequencies of uniform Timoshenko beams of square section.

With L = 1, r2 = I/(A L^2), s2 = E I/(kappa G A L^2) and b = omega L^2 sqrt(rho A/(E I)):

    s2 psi'' + w' - psi + b^2 r2 s2 psi = 0,    w'' - psi' + b^2 s2 w = 0.

Both are solved by exp(x sqrt(m)) where m^2 + b^2 (r2 + s2) m - b^2 (1 - b^2 r2 s2) = 0. Written
with cosh(x sqrt(m)) and sinh(x sqrt(m))/sqrt(m), which are entire in m, the solutions need no
case for frequencies above the cut-off, where both m are negative.
"""

from collections.abc import Callable

import numpy as np
from mpmath import cos, cosh, mp, mpf, sin, sinh, sqrt
from numpy.polynomial import legendre
from scipy.linalg import eigh, null_space
from tables import digits, roots, write_table

KAPPA = mpf(5) / 6
NU = mpf(3) / 10
SLENDERNESS = (5, 10, 20, 50)
ENDS = ("clamped-free", "free-free", "clamped-clamped", "clamped-pinned", "pinned-pinned")
MODES = 10

HEADER = """
Timoshenko beam, square section h x h, kappa = 5/6, nu = 0.3: lambda = omega L^2 sqrt(rho A/(E I)).
Source: frequency equations as in Huang, J. Appl. Mech. 28 (1961) 579-584 (from memory).
Values: recomputed with mpmath at 40 digits by generate/timoshenko.py from the exact 2x2
determinant, 20 digits printed; count and values confirmed there by a degree-40 Legendre-Ritz
calculation to 1e-7.
ends: start-end; slenderness: L/h; mode counts elastic modes only, in order of frequency.
The printed table of Lee and Schultz, J. Sound Vib. 269 (2004) 609-621 (from memory; it gives
sqrt(lambda) for pinned-pinned, free-free and clamped-clamped), agrees to all its digits.
Pinned-pinned: left out of the count is the pure shear mode w = 0, psi = const, exactly at the
cut-off lambda = 1/sqrt(r2 s2): """

Vector = tuple[mpf, mpf, mpf, mpf]


def stiffness_ratios(slenderness: int) -> tuple[mpf, mpf]:
    """Return r2 = 1/(12 (L/h)^2) and s2 = r2 E/(kappa G)."""
    r2 = 1 / mpf(12 * slenderness**2)
    return r2, r2 * 2 * (1 + NU) / KAPPA


def cut_off(slenderness: int) -> mpf:
    """Return the frequency of uniform shear, 1/sqrt(r2 s2)."""
    r2, s2 = stiffness_ratios(slenderness)
    return 1 / sqrt(r2 * s2)


def even_and_odd(m: mpf, x: mpf) -> tuple[mpf, mpf]:
    """Return cosh(x sqrt(m)) and sinh(x sqrt(m))/sqrt(m)."""
    if m == 0:
        return mpf(1), x
    root = sqrt(abs(m))
    return (
        (cosh(root * x), sinh(root * x) / root) if m > 0 else (cos(root * x), sin(root * x) / root)
    )


def end_state(b: mpf, r2: mpf, s2: mpf, *, start: str) -> tuple[Vector, Vector]:
    """Return (w, psi, psi', w' - psi) at x = 1 of the two solutions that fit the start."""
    half = b**2 * (r2 + s2) / 2
    spread = sqrt(b**4 * (r2 - s2) ** 2 / 4 + b**2)
    symmetric, antisymmetric = [], []
    for m in (-half + spread, -half - spread):
        even, odd = even_and_odd(m, mpf(1))
        p = m + b**2 * s2  # psi of the solution whose w is even
        q = 1 - b**2 * r2 * s2 - s2 * m  # w of the solution whose psi is even
        symmetric.append((p, (even, p * odd, p * even, (m - p) * odd)))
        antisymmetric.append((q, (q * odd, even, m * odd, (q - 1) * even)))
    # The value to cancel at x = 0, for the even and for the odd pair of solutions.
    if start == "pinned":
        return antisymmetric[0][1], antisymmetric[1][1]
    if start == "clamped":
        return (
            difference(symmetric[0][1], symmetric[1][1]),
            difference(antisymmetric[0][1], antisymmetric[1][1]),
        )
    (p1, s1), (p2, s2_) = symmetric
    (q1, a1), (q2, a2) = antisymmetric
    return (
        difference(scaled(s1, 1 / p1), scaled(s2_, 1 / p2)),
        difference(scaled(a1, 1 / (q1 - 1)), scaled(a2, 1 / (q2 - 1))),
    )


def scaled(vector: Vector, factor: mpf) -> Vector:
    """Return the vector times a factor."""
    return tuple(factor * entry for entry in vector)


def difference(first: Vector, second: Vector) -> Vector:
    """Return first - second."""
    return tuple(a - b for a, b in zip(first, second, strict=True))


VANISHING = {"clamped": (0, 1), "pinned": (0, 2), "free": (2, 3)}


def frequency_equation(ends: str, slenderness: int) -> Callable[[mpf], mpf]:
    """Return the determinant whose roots are b."""
    start, end = ends.split("-")
    r2, s2 = stiffness_ratios(slenderness)
    i, j = VANISHING[end]

    def determinant(b: mpf) -> mpf:
        u, v = end_state(b, r2, s2, start=start)
        return (u[i] * v[j] - u[j] * v[i]) / b

    return determinant


def pinned_pinned(slenderness: int) -> list[mpf]:
    """Return both branches of b^4 r2 s2 - b^2 (1 + k^2 (r2 + s2)) + k^4 = 0, k = n pi."""
    r2, s2 = stiffness_ratios(slenderness)
    found = []
    for n in range(1, MODES + 1):
        k = n * mp.pi
        half = (1 + k**2 * (r2 + s2)) / 2
        spread = sqrt(half**2 - k**4 * r2 * s2)
        found += [sqrt((half - spread) / (r2 * s2)), sqrt((half + spread) / (r2 * s2))]
    return sorted(found)[:MODES]


def exact(ends: str, slenderness: int) -> list[mpf]:
    """Return the first frequencies of a beam."""
    if ends == "pinned-pinned":
        return pinned_pinned(slenderness)
    equation = frequency_equation(ends, slenderness)
    return roots(equation, 1, 0.5, count=MODES)


def ritz(ends: str, slenderness: int, *, degree: int = 40) -> np.ndarray:
    """Return all elastic b of a Legendre-Ritz expansion of w and psi on [0, 1]."""
    r2, s2 = (float(value) for value in stiffness_ratios(slenderness))
    points, weights = legendre.leggauss(degree + 2)
    weights = weights / 2
    values = legendre.legvander(points, degree)
    slopes = 2 * legendre.legval(points, legendre.legder(np.eye(degree + 1))).T
    none = np.zeros_like(values)
    w, psi = np.hstack([values, none]), np.hstack([none, values])
    dw, dpsi = np.hstack([slopes, none]), np.hstack([none, slopes])
    stiffness = product(dpsi, weights) + product(dw - psi, weights) / s2
    mass = product(w, weights) + r2 * product(psi, weights)
    free = null_space(held_rows(ends, degree)) if ends != "free-free" else np.eye(len(mass))
    squares = eigh(free.T @ stiffness @ free, free.T @ mass @ free, eigvals_only=True)
    return np.sqrt(squares[squares > 1e-3])


def product(rows: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Return the Gram matrix of the columns under the weights."""
    return rows.T @ (weights[:, None] * rows)


def held_rows(ends: str, degree: int) -> np.ndarray:
    """Return the rows (over the coefficients of w, psi) that an end holds at zero."""
    rows = []
    for end, x in zip(ends.split("-"), (-1, 1), strict=True):
        row = legendre.legvander(np.array([x]), degree)[0]
        zero = np.zeros(degree + 1)
        if end in ("clamped", "pinned"):
            rows.append(np.concatenate([row, zero]))
        if end == "clamped":
            rows.append(np.concatenate([zero, row]))
    return np.array(rows)


def confirm(ends: str, slenderness: int, found: list[mpf]) -> None:
    """Raise unless the Ritz calculation finds the same modes, no more and no fewer."""
    others = ritz(ends, slenderness)
    if ends == "pinned-pinned":
        shear = float(cut_off(slenderness))
        others = others[abs(others / shear - 1) > 1e-9]
    values = np.array([float(b) for b in found])
    worst = max(abs(others[:MODES] / values - 1))
    if worst > 1e-7:
        raise ValueError(f"{ends}, L/h = {slenderness}: Ritz differs by {worst}")


def main() -> None:
    """Write the table."""
    mp.dps = 40
    rows = []
    for ends in ENDS:
        for slenderness in SLENDERNESS:
            found = exact(ends, slenderness)
            confirm(ends, slenderness, found)
            rows += [
                (ends, slenderness, mode, digits(b, 20)) for mode, b in enumerate(found, start=1)
            ]
    shear = ", ".join(f"{digits(cut_off(ratio), 12)} at L/h = {ratio}" for ratio in SLENDERNESS)
    columns = ("ends", "slenderness", "mode", "lambda")
    write_table("timoshenko.csv", HEADER.strip() + "\n" + shear + ".", columns, rows)


if __name__ == "__main__":
    main()
