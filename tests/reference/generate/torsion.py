"""Write torsion.csv: torsion constants, shear coefficients, bars with an end mass or inertia."""

from collections.abc import Callable, Iterator

from mpmath import cos, inf, mp, mpf, nsum, pi, sin, sqrt, tanh
from tables import digits, polish, write_table

MODES = 6

HEADER = """
Torsion constants, shear coefficients, axial and torsional bars with an end mass or inertia.
parameters: name=value pairs, joined by ";"; mode is empty where there is none.
Values: recomputed with mpmath at 30 digits by generate/torsion.py, 15 digits printed.
  k: Saint-Venant constant of a rectangle, J = k b t^3, ratio = b/t >= 1: k = 1/3 [1 -
    (192/pi^5)(t/b) sum over odd n of tanh(n pi b/(2 t))/n^5] (Timoshenko and Goodier, from
    memory). Printed (seen in lecture notes): 0.141 0.196 0.229 0.263 0.281 0.298 0.307 0.31 at
    b/t = 1, 1.5, 2, 3, 4, 6, 8, 10. Timoshenko and Goodier (from memory): 0.1406 0.166 0.196
    0.229 0.249 0.263 0.281 0.291 0.312.
  speed: sqrt(J/Ip) of the same rectangle, Ip = b t (b^2 + t^2)/12: torsional wave speed over
    sqrt(G/rho).
  kappa-...: shear coefficients, G. R. Cowper, J. Appl. Mech. 33 (1966) 335-340 (formulas from
    memory, limits checked against each other: hollow to solid and thin, ellipse to circle, I to
    rectangle).
    hollow: inner = inner over outer radius; ellipse: aspect = semi-axis along the shear over the
    other; thin I: m = 2 b t_f/(h t_w), n = b/h. Also by other authors (from memory): circle and
    rectangle of Timoshenko (1922), 6 (1+nu)^2/(7+12 nu+4 nu^2) and 5 (1+nu)/(6+5 nu).
  end-mass: bar held at one end, r = end mass over bar mass (axial) or end inertia over bar
    inertia (torsion): roots z of cot z = r z; f = z c/(2 pi L), c = sqrt(E/rho) or sqrt(G J/(rho
    Ip)).
"""

RATIOS = ("1", "1.2", "1.5", "2", "2.5", "3", "4", "5", "6", "8", "10", "20", "50", "100")
NU = ("0", "0.25", "0.3", "0.33", "0.5")


def rectangle(ratio: mpf) -> mpf:
    """Return k; tanh is split off as 1 - small, so that the rest is a zeta value."""
    small = nsum(lambda j: (1 - tanh((2 * j + 1) * pi * ratio / 2)) / (2 * j + 1) ** 5, [0, inf])
    odd = mpf(31) / 32 * mp.zeta(5)
    return (1 - 192 / pi**5 / ratio * (odd - small)) / 3


def torsion_rows() -> Iterator[tuple[object, ...]]:
    """Yield the constants of rectangles."""
    for label in RATIOS:
        ratio = mpf(label)
        k = rectangle(ratio)
        yield "k", f"ratio={label}", "", digits(k, 15)
        speed = sqrt(12 * k / (1 + ratio**2))
        yield "speed", f"ratio={label}", "", digits(speed, 15)


def hollow(nu: mpf, inner: mpf) -> mpf:
    """Return Cowper's coefficient of a hollow circle."""
    square = (1 + inner**2) ** 2
    return 6 * (1 + nu) * square / ((7 + 6 * nu) * square + (20 + 12 * nu) * inner**2)


def ellipse(nu: mpf, aspect: mpf) -> mpf:
    """Return Cowper's coefficient of an ellipse, semi-axes ``aspect`` (along the shear) and 1."""
    a2 = aspect**2
    below = (40 + 37 * nu) * a2**2 + (16 + 10 * nu) * a2 + nu
    return 12 * (1 + nu) * a2 * (3 * a2 + 1) / below


def thin_i(nu: mpf, m: mpf, n: mpf) -> mpf:
    """Return Cowper's coefficient of a thin-walled I section."""
    below = 12 + 72 * m + 150 * m**2 + 90 * m**3
    below += nu * (11 + 66 * m + 135 * m**2 + 90 * m**3)
    below += 30 * n**2 * (m + m**2) + 5 * nu * n**2 * (8 * m + 9 * m**2)
    return 10 * (1 + nu) * (1 + 3 * m) ** 2 / below


SECTIONS: dict[str, Callable[[mpf], mpf]] = {
    "kappa-rectangle": lambda nu: 10 * (1 + nu) / (12 + 11 * nu),
    "kappa-circle": lambda nu: 6 * (1 + nu) / (7 + 6 * nu),
    "kappa-thin-round-tube": lambda nu: 2 * (1 + nu) / (4 + 3 * nu),
    "kappa-thin-square-tube": lambda nu: 20 * (1 + nu) / (48 + 39 * nu),
    "kappa-semicircle": lambda nu: (1 + nu) / (mpf("1.305") + mpf("1.273") * nu),
}


def shear_rows() -> Iterator[tuple[object, ...]]:
    """Yield the shear coefficients."""
    for nu in NU:
        for case, formula in SECTIONS.items():
            yield case, f"nu={nu}", "", digits(formula(mpf(nu)), 15)
        for inner in ("0.5", "0.8"):
            value = hollow(mpf(nu), mpf(inner))
            yield "kappa-hollow-circle", f"nu={nu};inner={inner}", "", digits(value, 15)
        for aspect in ("0.5", "2"):
            value = ellipse(mpf(nu), mpf(aspect))
            yield "kappa-ellipse", f"nu={nu};aspect={aspect}", "", digits(value, 15)
        value = thin_i(mpf(nu), mpf(1), mpf("0.5"))
        yield "kappa-thin-i", f"nu={nu};m=1;n=0.5", "", digits(value, 15)


def end_mass(r: mpf, mode: int) -> mpf:
    """Return the root of cos z = r z sin z between (mode - 1) pi and (mode - 1/2) pi."""
    return polish(lambda z: cos(z) - r * z * sin(z), (mode - 1) * pi, (mode - mpf(1) / 2) * pi)


def end_mass_rows() -> Iterator[tuple[object, ...]]:
    """Yield the bars with an end mass or inertia."""
    for r in ("0", "0.1", "0.5", "1", "2", "10"):
        for mode in range(1, MODES + 1):
            root = end_mass(mpf(r), mode) if mpf(r) else (mode - mpf(1) / 2) * pi
            yield "end-mass", f"r={r}", mode, digits(root, 15)


def check_limits() -> None:
    """Raise unless the formulas meet where one section turns into another."""
    for text in NU:
        nu = mpf(text)
        pairs = [
            (hollow(nu, mpf(0)), SECTIONS["kappa-circle"](nu)),
            (hollow(nu, mpf(1)), SECTIONS["kappa-thin-round-tube"](nu)),
            (ellipse(nu, mpf(1)), SECTIONS["kappa-circle"](nu)),
            (thin_i(nu, mpf(0), mpf(1)), SECTIONS["kappa-rectangle"](nu)),
        ]
        if any(abs(a - b) > mpf("1e-25") for a, b in pairs):
            raise ValueError(f"limits at nu = {nu}: {pairs}")


def main() -> None:
    """Write the table."""
    mp.dps = 30
    check_limits()
    rows = [*torsion_rows(), *shear_rows(), *end_mass_rows()]
    write_table("torsion.csv", HEADER, ("case", "parameters", "mode", "value"), rows)


if __name__ == "__main__":
    main()
