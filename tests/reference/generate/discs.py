"""Write discs.csv, annuli.csv and disc_nodal_circles.csv: thin circular plates, nu = 0.3.

w = W(r) cos(n theta), R = 1, lambda = k^2. W is a sum of J_n, Y_n, I_n, K_n of k r. With
sign = -1 for J, Y and +1 for I, K the Laplacian of w is sign k^2 w, and (Leissa, NASA SP-160)

    M_r ~ W'' + nu (W'/r - n^2 W/r^2),
    V_r ~ sign k^2 W' - (1 - nu) n^2/r^2 (W' - W/r).
"""

from collections.abc import Callable, Iterator
from functools import cache

import disc_ritz
import numpy as np
from mpmath import besseli, besselj, besselk, bessely, exp, matrix, mp, mpf, sqrt
from tables import digits, polish, write_table

NU = mpf(3) / 10
RIMS = ("free", "pinned", "clamped", "guided")
CLASSIC = ("free", "pinned", "clamped")
RATIOS = tuple(f"0.{tenth}" for tenth in range(1, 10))

COMMON = """
lambda = omega R^2 sqrt(rho h/D), R the outer radius, D = E h^3/(12(1-nu^2)), nu = 0.3.
diameters: nodal diameters n. index: s = 0, 1, ... counts the ELASTIC modes of that n from the
lowest.
circles: the true number of nodal circles strictly between the edges (a held edge is not counted);
for a free rim it is not the index: the free disc has index + 1 circles for n = 0 and n = 1.
Source: Bessel-function frequency equations as in A. W. Leissa, Vibration of Plates, NASA SP-160
(1969), ch. 2 (from memory). Values: recomputed with mpmath at 30 digits by generate/discs.py, 15
digits printed;
count and values confirmed there by a polynomial Ritz calculation in r.
"""
DISCS = f"""
Solid discs. rim: the outer edge. centre: solid, or held (deflection and slope zero at the centre
point; n = 0 only: for n = 1 a slope held at a point has no answer in thin-plate theory).
{COMMON.strip()} Published values to be wary of (from memory): SP-160 pinned rim "nu = 0.3" 4.977
29.76 74.20 belong to nu = 0.33; SP-160 free rim "nu = 0.33" 5.253 9.084 12.23 fit nu = 1/3. Itao
and Crandall (1979), free, nu = 0.33: 5.2620 9.0689 12.244. Leissa and Narita, J. Sound Vib. 70
(1980) 221, pinned: 4.93515. Held centre, free rim (Southwell 1922, SP-160): 3.752 20.91 60.68
119.7; the last two are 0.06 and 0.1 % off.
"""
ANNULI = f"""
Annuli. rim: outer edge, hole: inner edge, hole_ratio: inner over outer radius.
{COMMON.strip()}
Published values to be wary of (SP-160, Vogel and Skinner 1965, Blevins Table 11-2; from memory):
hole clamped, rim free, n = 1: 3.14 at 0.1 and 6.33 at 0.3, true 3.478 and 6.552;
both clamped, n = 0, 0.3: 45.2, true 45.35.
"""
CIRCLES = """
Radii of the nodal circles of the solid disc with a free rim, r/R, nu = 0.3.
diameters, index: the mode as in discs.csv; circle counts from the centre.
Values: zeros of A J_n + B I_n, recomputed with mpmath at 30 digits by generate/discs.py, 15
printed.
Published (Leissa, NASA SP-160, nu = 0.33, from memory): 0.680; 0.391, 0.841; n = 1: 0.781.
"""

Bessel = Callable[[mpf], mpf]


def solution(kind: str, n: int, k: mpf, r: mpf, *, at: mpf) -> tuple[mpf, mpf]:
    """Return W and W' at r of one Bessel function, I and K divided by their size at ``at``."""
    x = k * r
    if kind == "J":
        value, below = besselj(n, x), besselj(n - 1, x)
        slope = below - n / x * value
    elif kind == "Y":
        value, below = bessely(n, x), bessely(n - 1, x)
        slope = below - n / x * value
    elif kind == "I":
        scale = exp(-k * at)
        value, below = scale * besseli(n, x), scale * besseli(n - 1, x)
        slope = below - n / x * value
    else:
        scale = exp(k * at)
        value, below = scale * besselk(n, x), scale * besselk(n - 1, x)
        slope = -below - n / x * value
    return value, k * slope


def edge_values(
    edge: str, n: int, k: mpf, r: mpf, sign: int, shape: tuple[mpf, mpf]
) -> tuple[mpf, mpf]:
    """Return the two quantities an edge holds at zero, in units that keep them of one size."""
    w, slope = shape
    curvature = sign * k**2 * w - slope / r + n**2 * w / r**2
    moment = (curvature + NU * (slope / r - n**2 * w / r**2)) / k**2
    shear = (sign * k**2 * slope - (1 - NU) * n**2 / r**2 * (slope - w / r)) / k**3
    return {
        "free": (moment, shear),
        "pinned": (w, moment),
        "clamped": (w, slope / k),
        "guided": (slope / k, shear),
    }[edge]


SIGN = {"J": -1, "Y": -1, "I": 1, "K": 1}


def disc_columns(rim: str, n: int, k: mpf) -> list[tuple[mpf, mpf]]:
    """Return the rim values of J and I."""
    one = mpf(1)
    return [
        edge_values(rim, n, k, one, SIGN[kind], solution(kind, n, k, one, at=one)) for kind in "JI"
    ]


def disc_equation(rim: str, n: int) -> Bessel:
    """Return the 2x2 determinant of the solid disc as a function of k."""

    def determinant(k: mpf) -> mpf:
        (a, b), (c, d) = disc_columns(rim, n, k)
        return a * d - b * c

    return determinant


def held_centre_equation(rim: str) -> Bessel:
    """Return the determinant for W(0) = 0, n = 0: shapes J - I and Y + (2/pi) K.

    Both vanish at the centre, with their slopes; the second is the r^2 log r of a point force.
    """

    def determinant(k: mpf) -> mpf:
        one = mpf(1)
        j, y, i, second = (
            edge_values(rim, 0, k, one, SIGN[kind], solution(kind, 0, k, one, at=mpf(0)))
            for kind in "JYIK"
        )
        size = exp(-k)
        u = [size * (p - q) for p, q in zip(j, i, strict=True)]
        v = [p + 2 / mp.pi * q for p, q in zip(y, second, strict=True)]
        return u[0] * v[1] - u[1] * v[0]

    return determinant


def annulus_equation(rim: str, hole: str, n: int, ratio: mpf) -> Bessel:
    """Return the 4x4 determinant; I is scaled at the rim and K at the hole, so none overflows."""

    def determinant(k: mpf) -> mpf:
        rows = matrix(4, 4)
        for column, kind in enumerate("JYIK"):
            at = ratio if kind == "K" else mpf(1)
            for row, (edge, r) in enumerate(((rim, mpf(1)), (hole, ratio))):
                shape = solution(kind, n, k, r, at=at)
                values = edge_values(edge, n, k, r, SIGN[kind], shape)
                rows[2 * row, column], rows[2 * row + 1, column] = values
        # Y alone grows without limit at the hole as k r falls.
        return mp.det(rows) / (1 + abs(rows[2, 1]) + abs(rows[3, 1]))

    return determinant


def near(equation: Bessel, guesses: np.ndarray) -> list[mpf]:
    """Return lambda of the roots k that the independent values bracket to 1e-6, one each."""
    found = []
    for guess in guesses:
        k = sqrt(mpf(float(guess)))
        found.append(polish(equation, k * (1 - mpf("1e-6")), k * (1 + mpf("1e-6"))) ** 2)
    return found


def expect_no_more(equation: Bessel, found: list[mpf], *, width: mpf) -> None:
    """Raise if a walk in k meets a root besides those found; they lie about pi/width apart."""
    edges = [mpf("0.3")]
    for lam in found:
        k = sqrt(lam)
        edges += [k * (1 - mpf("1e-5")), k * (1 + mpf("1e-5"))]
    with mp.workdps(20):
        for low, high in zip(edges[0::2], edges[1::2], strict=False):
            steps = max(2, int((high - low) * width * 12))
            signs = {equation(low + (high - low) * i / steps) > 0 for i in range(steps + 1)}
            if len(signs) != 1:
                raise ValueError(f"a root was lost between k = {low} and {high}")


def solid_roots(rim: str, n: int, count: int) -> list[mpf]:
    """Return lambda of the first elastic modes of a solid disc."""
    equation = disc_equation(rim, n)
    found = near(equation, disc_ritz.solid(rim, n, count=count))
    expect_no_more(equation, found, width=mpf(1))
    return found


def held_centre_roots(rim: str, count: int) -> list[mpf]:
    """Return lambda of the axisymmetric modes of a disc held at its centre."""
    equation = held_centre_equation(rim)
    found, low, step = [], mpf("0.5"), mpf("0.05")
    while len(found) < count:
        if equation(low) * equation(low + step) < 0:
            found.append(polish(equation, low, low + step) ** 2)
        low += step
    others = disc_ritz.held_centre(rim, count=count)
    if max(abs(others / np.array([float(lam) for lam in found]) - 1)) > 1e-5:
        raise ValueError(f"held centre, {rim}: {found} but Ritz {others}")
    return found


def annulus_roots(rim: str, hole: str, n: int, ratio: mpf, count: int) -> list[mpf]:
    """Return lambda of the first elastic modes of an annulus."""
    equation = annulus_equation(rim, hole, n, ratio)
    found = near(equation, disc_ritz.annulus(rim, hole, n, float(ratio), count=count))
    expect_no_more(equation, found, width=1 - ratio)
    return found


def solid_shape(rim: str, n: int, lam: mpf) -> Bessel:
    """Return W(r) of a mode of the solid disc."""
    k, one = sqrt(lam), mpf(1)
    (a, b), (c, d) = disc_columns(rim, n, k)
    p, q = (a, c) if abs(a) + abs(c) > abs(b) + abs(d) else (b, d)
    return lambda r: q * solution("J", n, k, r, at=one)[0] - p * solution("I", n, k, r, at=one)[0]


def held_centre_shape(rim: str, lam: mpf) -> Bessel:
    """Return W(r) of a mode of the disc held at its centre."""
    k, one, zero = sqrt(lam), mpf(1), mpf(0)

    def parts(r: mpf) -> tuple[mpf, mpf]:
        j, y, i, second = (solution(kind, 0, k, r, at=zero)[0] for kind in "JYIK")
        return j - i, y + 2 / mp.pi * second

    values = {
        kind: edge_values(rim, 0, k, one, SIGN[kind], solution(kind, 0, k, one, at=zero))
        for kind in "JYIK"
    }
    p = values["J"][0] - values["I"][0]
    q = values["Y"][0] + 2 / mp.pi * values["K"][0]
    return lambda r: q * parts(r)[0] - p * parts(r)[1]


def annulus_shape(rim: str, hole: str, n: int, ratio: mpf, lam: mpf) -> Bessel:
    """Return W(r) of a mode of an annulus."""
    k = sqrt(lam)
    scales = {"J": mpf(1), "Y": mpf(1), "I": mpf(1), "K": ratio}
    rows = matrix(4, 4)
    for column, kind in enumerate("JYIK"):
        for row, (edge, r) in enumerate(((rim, mpf(1)), (hole, ratio))):
            shape = solution(kind, n, k, r, at=scales[kind])
            values = edge_values(edge, n, k, r, SIGN[kind], shape)
            rows[2 * row, column], rows[2 * row + 1, column] = values
    weights = null_vector(rows)
    return lambda r: sum(
        weight * solution(kind, n, k, r, at=scales[kind])[0]
        for weight, kind in zip(weights, "JYIK", strict=True)
    )


def null_vector(rows: matrix) -> list[mpf]:
    """Return the right singular vector of the least singular value."""
    _, _, v = mp.svd_r(rows)
    return [v[3, column] for column in range(4)]


@cache
def grid(low: mpf, high: mpf) -> tuple[mpf, ...]:
    """Return places strictly between two radii."""
    return tuple(low + (high - low) * (i + mpf("0.37")) / 60 for i in range(60))


def turns(shape: Bessel, low: mpf, high: mpf) -> list[tuple[mpf, mpf]]:
    """Return the grid steps in which W changes its sign."""
    places = grid(low, high)
    values = [shape(r) for r in places]
    return [(places[i], places[i + 1]) for i in range(59) if values[i] * values[i + 1] < 0]


def circle_count(shape: Bessel, low: mpf, high: mpf) -> int:
    """Return the number of nodal circles strictly between two radii."""
    with mp.workdps(20):
        return len(turns(shape, low, high))


def disc_rows() -> Iterator[tuple[object, ...]]:
    """Yield the rows of discs.csv."""
    for rim in RIMS:
        for n in range(7):
            for index, lam in enumerate(solid_roots(rim, n, 5)):
                circles = circle_count(solid_shape(rim, n, lam), mpf(0), mpf(1))
                yield rim, "solid", n, index, circles, digits(lam, 15)
    for rim in CLASSIC:
        for index, lam in enumerate(held_centre_roots(rim, 5)):
            circles = circle_count(held_centre_shape(rim, lam), mpf(0), mpf(1))
            yield rim, "held", 0, index, circles, digits(lam, 15)


def annulus_rows() -> Iterator[tuple[object, ...]]:
    """Yield the rows of annuli.csv."""
    for rim in CLASSIC:
        for hole in CLASSIC:
            for ratio in RATIOS:
                for n in range(5):
                    for index, lam in enumerate(annulus_roots(rim, hole, n, mpf(ratio), 3)):
                        shape = annulus_shape(rim, hole, n, mpf(ratio), lam)
                        circles = circle_count(shape, mpf(ratio), mpf(1))
                        yield rim, hole, ratio, n, index, circles, digits(lam, 15)


def circle_rows() -> Iterator[tuple[object, ...]]:
    """Yield the rows of disc_nodal_circles.csv."""
    for n in range(7):
        for index, lam in enumerate(solid_roots("free", n, 5)):
            shape = solid_shape("free", n, lam)
            for circle, step in enumerate(turns(shape, mpf(0), mpf(1)), start=1):
                yield n, index, circle, digits(polish(shape, *step), 15)


def main() -> None:
    """Write the three tables."""
    mp.dps = 30
    columns = ("rim", "centre", "diameters", "index", "circles", "lambda")
    write_table("discs.csv", DISCS, columns, disc_rows())
    columns = ("diameters", "index", "circle", "radius")
    write_table("disc_nodal_circles.csv", CIRCLES, columns, circle_rows())
    columns = ("rim", "hole", "hole_ratio", "diameters", "index", "circles", "lambda")
    write_table("annuli.csv", ANNULI, columns, annulus_rows())


if __name__ == "__main__":
    main()
