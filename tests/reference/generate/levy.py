"""Exact frequencies of rectangular plates with the edges x = 0 and x = a simply supported.

w = Y(y) sin(m pi x/a); with a = 1 and alpha = m pi, Y is made of exp(p y), p^2 = alpha^2 +- lambda.
Edge y = const: C: Y = Y' = 0; S: Y = Y'' = 0;
F: Y'' - nu alpha^2 Y = 0 and Y''' - (2 - nu) alpha^2 Y' = 0 (Leissa, J. Sound Vib. 31 (1973) 257).
"""

from collections.abc import Callable

from mpmath import cos, cosh, mp, mpf, pi, sin, sinh, sqrt
from tables import roots

NU = mpf(3) / 10
Values = tuple[mpf, mpf, mpf, mpf]


def even_and_odd(square: mpf, y: mpf) -> tuple[Values, Values]:
    """Return Y, Y', Y'', Y''' of cosh(p y) and of sinh(p y)/p, where p^2 may be negative."""
    p = sqrt(abs(square))
    if square > 0:
        c, s = cosh(p * y), sinh(p * y) / p
    elif square < 0:
        c, s = cos(p * y), sin(p * y) / p
    else:
        c, s = mpf(1), y
    return (c, square * s, square * c, square**2 * s), (s, c, square * s, square * c)


def edge_values(values: Values, letter: str, alpha: mpf) -> tuple[mpf, mpf]:
    """Return the two quantities that an edge holds at zero."""
    w, slope, bend, third = values
    if letter == "C":
        return w, slope
    moment = bend - NU * alpha**2 * w
    return (w, moment) if letter == "S" else (moment, third - (2 - NU) * alpha**2 * slope)


def frequency_equation(edges: str, *, aspect: mpf, m: int) -> Callable[[mpf], mpf]:
    """Return the determinant in lambda for m half waves along x."""
    alpha, width = m * pi, 1 / aspect

    def determinant(lam: mpf) -> mpf:
        squares = (alpha**2 + lam, alpha**2 - lam)
        at_start = [even_and_odd(square, mpf(0)) for square in squares]
        at_end = [even_and_odd(square, width) for square in squares]
        starts = [[edge_values(y, edges[1], alpha) for y in pair] for pair in at_start]
        ends = [[edge_values(y, edges[3], alpha) for y in pair] for pair in at_end]
        if edges[1] == "S":  # the odd solutions fit as they are
            (a, b), (c, d) = ends[0][1], ends[1][1]
        else:  # of the two even solutions, and of the two odd ones, one sum fits
            (a, b), (c, d) = (fitting(starts, ends, parity) for parity in (0, 1))
        return (a * d - b * c) / lam

    return determinant


def fitting(starts: list, ends: list, parity: int) -> tuple[mpf, mpf]:
    """Return the end values of that sum of two solutions whose value at the start is zero."""
    f, g = (sum(solution[parity]) for solution in starts)  # one of the two terms is zero
    return tuple(g * u - f * v for u, v in zip(ends[0][parity], ends[1][parity], strict=True))


def frequencies(edges: str, *, aspect: mpf, below: float, digits: int = 30) -> list[mpf]:
    """Return every lambda up to ``below`` (and a few above it), in order."""
    if edges[0] != "S" or edges[2] != "S":
        raise ValueError(f"{edges} is no Levy case")
    found: list[mpf] = []
    with mp.workdps(digits):
        m = 1
        # Even a free strip with m half waves lies above 0.8 alpha^2 at nu = 0.3.
        while mpf("0.8") * (m * pi) ** 2 < below:
            found += roots_below(frequency_equation(edges, aspect=aspect, m=m), m, below)
            m += 1
    return sorted(found)


def roots_below(equation: Callable[[mpf], mpf], m: int, below: float) -> list[mpf]:
    """Return the roots for one m, one by one until they pass the limit."""
    start, found = mpf("0.8") * (m * pi) ** 2, []
    while not found or found[-1] < below:
        found += roots(equation, start, 0.25, count=1)
        start = found[-1] + mpf("1e-9")
    return found
