"""Write beam_details.csv: beams with masses, springs, supports, tension, steps and tapers.

The state (w, w', M, V) obeys, in units of L and of E I and rho A of the reference section,

    w'' = M/e,    M' = tau w' + V,    V' = m beta^4 w,

with e and m the stiffness and mass ratios of a piece and tau = T L^2/(E I). Over a uniform piece
it is multiplied by a 4x4 matrix, at a mass or spring it jumps; the ends choose two rows and two
columns of the product, whose determinant is the frequency equation.
"""

from collections.abc import Callable, Iterator, Sequence

from beam_roots import root as classic_root
from beam_shapes import nodes
from mpmath import besseli, besselj, besselk, bessely, cos, cosh, eye, matrix, mp, mpf, sin, sinh
from mpmath import sqrt as root_of
from tables import digits, roots, write_table

MODES = 5
ZERO, ONE = mpf(0), mpf(1)

HEADER = """
Uniform, stepped and tapered Euler-Bernoulli beams, beyond the classic ends.
quantity: beta_l = beta L with beta^4 = omega^2 rho A/(E I); lambda = omega L^2 sqrt(rho A/(E I))
= beta_l^2.
mode counts elastic modes only. parameters: name=value pairs, joined by ";".
Values: recomputed with mpmath at 50 digits by generate/beam_details.py from transfer matrices
(Bessel functions for the tapers), 15 digits printed; they agree with an earlier independent
calculation.
Ends are start-end. m = rho A, L the whole length; positions are measured from the start.
  tip-mass: clamped-free, mass M at the free end, mu = M/(m L). Karnovsky and Lebed, Formulas for
    Structural Dynamics, sec. 7.5: 1 + cos x cosh x + mu x (cos x sinh x - sin x cosh x) = 0
    (equation seen). Printed for mu = 1 (lambda): 1.557298 16.25009 50.89584 105.1983 179.2320,
    Math. Probl. Eng. 2017, article 1568019, table 1 (seen). Its columns WITH rotary inertia have
    the wrong sign of J: do not use them.
  tip-mass-inertia: the same with rotary inertia J of the mass about the tip, eta = J/(m L^3).
  free-end-mass: free-free, mass mu m L at one end.
  root-spring: rotational spring k_r at the root, no deflection, other end free, t = k_r L/(E I);
    the same roots as the tip mass mu = 1/t.
  tip-spring: clamped, translational spring at the other end, k = k_t L^3/(E I).
  rotational-springs: no deflection at both ends, equal rotational springs t.
  translational-springs: free-free on equal translational springs k at both ends.
  support: rigid support (w = 0) at x/L = at; two equal pinned spans: Blevins (1979), Table 8-3
    (from memory) 3.1416 3.9266 6.2832 7.0686 per span. Clamped-free with the support at the node
    of mode 2: the root is that of mode 2, the highest possible (Akesson and Olhoff, J. Sound Vib.
    120 (1988) 457, from memory).
  tension: tau = T L^2/(E I), the force keeps its direction; lambda. Shaker, NASA TN D-8109
    (1975); Bokaian (1990); Blevins (1979), eq. 8.20: from memory.
  step: two halves; e = (E I)_2/(E I)_1, m = m_2/m_1; beta_l on the first half. Kinds after Jang
    and Bert, J. Sound Vib. 130 (1989) 342 and 132 (1989) 164 (their print is not remembered).
  wedge, cone: clamped at the thick end, free at the tip; A ~ x, I ~ x^3 and A ~ x^2, I ~ x^4 with
    x from the sharp tip; tip = tip thickness over root thickness; lambda on the root section, L
    the actual length. Sharp: Kirchhoff (1879) 5.315 15.207 30.020 and 8.719 21.146 38.454 (from
    memory).
"""

Equation = Callable[[mpf], mpf]

# Which of the state (w, w', M, V) an end holds at zero.
HELD = {"clamped": (0, 1), "pinned": (0, 2), "guided": (1, 3), "free": (2, 3)}


def piece(beta: mpf, length: mpf, *, e: mpf = ONE, m: mpf = ONE, tau: mpf = ZERO) -> matrix:
    """Return exp(A length), a cubic in A because A^4 = (p^2 - q^2) A^2 + p^2 q^2."""
    a = matrix([[0, 1, 0, 0], [0, 0, 1 / e, 0], [0, tau, 0, 1], [m * beta**4, 0, 0, 0]])
    half = tau / (2 * e)
    middle = root_of(half**2 + m * beta**4 / e)
    p, q = root_of(middle + half), root_of(middle - half)
    ch, sh = cosh(p * length), sinh(p * length) / p
    c, s = cos(q * length), sin(q * length) / q
    square = a * a
    even = eye(4) * (q**2 * ch + p**2 * c) + square * (ch - c)
    odd = eye(4) * (q**2 * sh + p**2 * s) + square * (sh - s)
    return (even + a * odd) / (p**2 + q**2)


def jump(*, force: mpf = ZERO, couple: mpf = ZERO) -> matrix:
    """Return the change at a place: V falls by force w, M rises by couple w'.

    A spring has force k or couple t; a mass force -mu beta^4, its inertia couple -eta beta^4.
    """
    change = eye(4)
    change[3, 0], change[2, 1] = -force, couple
    return change


def ends_fit(transfer: matrix, ends: str) -> mpf:
    """Return the determinant of the rows the end holds and the columns the start leaves."""
    start, end = ends.split("-")
    i, j = HELD[end]
    a, b = (column for column in range(4) if column not in HELD[start])
    return transfer[i, a] * transfer[j, b] - transfer[i, b] * transfer[j, a]


def with_jumps(ends: str, start: Callable[[mpf], matrix], end: Callable[[mpf], matrix]) -> Equation:
    """Return the equation of a uniform beam with something at its ends."""
    return lambda beta: ends_fit(end(beta) * piece(beta, mpf(1)) * start(beta), ends)


def nothing(_: mpf) -> matrix:
    """Return no change."""
    return eye(4)


def mass(mu: mpf, eta: mpf = ZERO) -> Callable[[mpf], matrix]:
    """Return the jump at a mass mu m L with rotary inertia eta m L^3."""
    return lambda beta: jump(force=-mu * beta**4, couple=-eta * beta**4)


def spring(k: mpf = ZERO, t: mpf = ZERO) -> Callable[[mpf], matrix]:
    """Return the jump at a translational spring k and a rotational one t."""
    return lambda _: jump(force=k, couple=t)


def supported(ends: str, at: mpf) -> Equation:
    """Return the equation with w = 0 at a place, where an unknown reaction adds to V."""

    def determinant(beta: mpf) -> mpf:
        before, after = piece(beta, at), piece(beta, 1 - at)
        whole = after * before
        start, end = ends.split("-")
        a, b = (column for column in range(4) if column not in HELD[start])
        rows = [[before[0, a], before[0, b], 0]]
        rows += [[whole[i, a], whole[i, b], after[i, 3]] for i in HELD[end]]
        return mp.det(matrix(rows))

    return determinant


def tensioned(ends: str, tau: mpf) -> Equation:
    """Return the equation of a uniform beam under tension."""
    return lambda beta: ends_fit(piece(beta, mpf(1), tau=tau), ends)


def stepped(ends: str, e: mpf, m: mpf) -> Equation:
    """Return the equation of two halves, the second with stiffness e and mass m."""
    half = mpf(1) / 2
    return lambda beta: ends_fit(piece(beta, half, e=e, m=m) * piece(beta, half), ends)


def taper_column(kind: str, order: int, k: mpf, x: mpf) -> list[mpf]:
    """Return w, w', M, V at x of x^(-order/2) Z_order(2 k sqrt x), in units of powers of k.

    order 1 is the wedge, (x^3 w'')'' = k^4 x w, order 2 the cone, (x^4 w'')'' = k^4 x^2 w; then
    w' ~ Z_(order+1), w'' ~ Z_(order+2), and M = x^(order+2) w'' has M' ~ Z_(order+1) again.
    """
    function = {"J": besselj, "Y": bessely, "I": besseli, "K": besselk}[kind]
    z0, z1, z2 = (function(order + i, 2 * k * root_of(x)) for i in range(3))
    down = 1 if kind == "I" else -1  # of x^(-order/2) Z_order
    up = -1 if kind == "K" else 1  # of x^(order/2) Z_order
    half = mpf(order) / 2
    power = [x**-half, x ** (-half - mpf(1) / 2), x ** (half + 1), x ** (half + mpf(1) / 2)]
    return [power[0] * z0, down * power[1] * z1, power[2] * z2, up * power[3] * z1]


def tapered(order: int, tip: mpf) -> Equation:
    """Return the equation in k of a cantilever that tapers in line to ``tip`` of its root.

    x runs from the vertex to 1 at the root; a sharp tip leaves only the regular J and I.
    """
    kinds = "JI" if tip == 0 else "JIYK"

    def determinant(k: mpf) -> mpf:
        columns = []
        for kind in kinds:
            column = taper_column(kind, order, k, mpf(1))[:2]
            column += taper_column(kind, order, k, tip)[2:] if tip else []
            columns.append(column)
        return mp.det(matrix(columns))

    return determinant


Case = tuple[str, str, str, str, Sequence[mpf]]


def beta_case(case: str, ends: str, parameters: str, equation: Equation) -> Case:
    """Return the first roots beta L of one case."""
    return case, ends, parameters, "beta_l", roots(equation, 0.2, 0.1, count=MODES)


def masses_and_springs() -> Iterator[Case]:
    """Yield beams with something at an end."""
    for mu in ("0.01", "0.1", "0.2", "0.25", "0.5", "1", "2", "5", "10", "100"):
        equation = with_jumps("clamped-free", nothing, mass(mpf(mu)))
        yield beta_case("tip-mass", "clamped-free", f"mu={mu}", equation)
    for mu, eta in (("1", "0.001"), ("1", "0.01"), ("1", "0.1"), ("1", "1"), ("0.5", "0.05")):
        equation = with_jumps("clamped-free", nothing, mass(mpf(mu), mpf(eta)))
        yield beta_case("tip-mass-inertia", "clamped-free", f"mu={mu};eta={eta}", equation)
    for mu in ("0.1", "1", "10"):
        equation = with_jumps("free-free", nothing, mass(mpf(mu)))
        yield beta_case("free-end-mass", "free-free", f"mu={mu}", equation)
    for t in ("1", "5", "10", "20", "50", "100", "1000"):
        equation = with_jumps("pinned-free", spring(t=mpf(t)), nothing)
        yield beta_case("root-spring", "pinned-free", f"t={t}", equation)
    for k in ("1", "10", "100", "1000"):
        equation = with_jumps("clamped-free", nothing, spring(k=mpf(k)))
        yield beta_case("tip-spring", "clamped-free", f"k={k}", equation)
    for t in ("1", "10", "100"):
        equation = with_jumps("pinned-pinned", spring(t=mpf(t)), spring(t=mpf(t)))
        yield beta_case("rotational-springs", "pinned-pinned", f"t={t}", equation)
    for k in ("1", "10", "100", "1000"):
        equation = with_jumps("free-free", spring(k=mpf(k)), spring(k=mpf(k)))
        yield beta_case("translational-springs", "free-free", f"k={k}", equation)


def supports() -> Iterator[Case]:
    """Yield beams on a rigid support between the ends."""
    node = nodes("clamped-free", 2)[0]
    places = [
        ("pinned-pinned", "1/2", mpf(1) / 2),
        ("pinned-pinned", "1/3", mpf(1) / 3),
        ("clamped-clamped", "1/2", mpf(1) / 2),
        ("clamped-pinned", "1/2", mpf(1) / 2),
        *(("clamped-free", at, mpf(at)) for at in ("0.5", "0.6", "0.75", "0.8", "0.9")),
        ("clamped-free", digits(node, 20), node),
        ("pinned-free", "1/2", mpf(1) / 2),
        ("pinned-free", "0.75", mpf("0.75")),
    ]
    for ends, label, at in places:
        yield beta_case("support", ends, f"at={label}", supported(ends, at))


def tensions() -> Iterator[Case]:
    """Yield beams under tension, as lambda."""
    cases = {
        "pinned-pinned": ("10",),
        "clamped-clamped": ("-20", "1", "10", "100", "1000"),
        "clamped-pinned": ("10", "100"),
        "clamped-free": ("-1", "1", "10", "100", "1000"),
    }
    for ends, values in cases.items():
        for tau in values:
            found = roots(tensioned(ends, mpf(tau)), 0.2, 0.1, count=MODES)
            yield "tension", ends, f"tau={tau}", "lambda", [beta**2 for beta in found]


def steps() -> Iterator[Case]:
    """Yield beams of two halves."""
    kinds = [
        ("thickness-half", mpf(1) / 8, mpf(1) / 2),
        ("width-half", mpf(1) / 2, mpf(1) / 2),
        ("thickness-double", mpf(8), mpf(2)),
        *((f"circular-{e}", mpf(e), root_of(mpf(e))) for e in (5, 10, 20, 40)),
    ]
    for ends in ("clamped-free", "pinned-pinned", "clamped-clamped", "free-free"):
        for kind, e, m in kinds:
            parameters = f"kind={kind};e={digits(e, 15)};m={digits(m, 15)}"
            yield beta_case("step", ends, parameters, stepped(ends, e, m))


def tapers() -> Iterator[Case]:
    """Yield cantilevers with a straight taper, as lambda."""
    for case, order in (("wedge", 1), ("cone", 2)):
        for tip in ("0", "0.2", "0.5"):
            found = roots(tapered(order, mpf(tip)), 0.5, 0.1, count=MODES)
            # k^4 is per distance from vertex to root; the beam is shorter by the part cut off.
            values = [(k * (1 - mpf(tip))) ** 2 for k in found]
            yield case, "clamped-free", f"tip={tip}", "lambda", values


def rows() -> Iterator[tuple[object, ...]]:
    """Yield every row of the table."""
    for generator in (masses_and_springs, supports, tensions, steps, tapers):
        for case, ends, parameters, quantity, values in generator():
            for mode, value in enumerate(values, start=1):
                yield case, ends, parameters, mode, quantity, digits(value, 15)


def main() -> None:
    """Write the table, after a look at the method where the answer is known."""
    mp.dps = 50
    plain = roots(tensioned("clamped-free", mpf(0)), 0.2, 0.1, count=MODES)
    for mode, beta in enumerate(plain, start=1):
        if abs(beta - classic_root("clamped-free", mode)) > mpf("1e-30"):
            raise ValueError(f"clamped-free mode {mode}: {beta}")
    columns = ("case", "ends", "parameters", "mode", "quantity", "value")
    write_table("beam_details.csv", HEADER, columns, rows())


if __name__ == "__main__":
    main()
