"""Write beam_roots.csv: the roots beta*L of uniform Euler-Bernoulli beams with classic ends."""

from collections.abc import Callable

from mpmath import cos, exp, mp, mpf, pi, sin
from tables import digits, polish, write_table

MODES = 60

HEADER = """
Roots beta*L of the uniform Euler-Bernoulli beam, omega = (beta L)^2/L^2 sqrt(E I/(rho A)).
Source: characteristic equations of Bishop and Johnson, The Mechanics of Vibration (1960),
Blevins, Formulas for Natural Frequency and Mode Shape (1979), Table 8-1: both from memory.
Values: recomputed with mpmath at 50 digits by generate/beam_roots.py, 30 digits printed.
ends: start-end (order does not matter); mode counts elastic modes only, rigid ones are left out
(free-free has two, pinned-free, guided-free and guided-guided have one each).
"""


def clamped_free(x: mpf) -> mpf:
    """Return cos x cosh x + 1, divided by exp(x)."""
    return cos(x) * (1 + exp(-2 * x)) / 2 + exp(-x)


def free_free(x: mpf) -> mpf:
    """Return cos x cosh x - 1, divided by exp(x); clamped-clamped has the same roots."""
    return cos(x) * (1 + exp(-2 * x)) / 2 - exp(-x)


def clamped_pinned(x: mpf) -> mpf:
    """Return sin x cosh x - cos x sinh x, divided by exp(x)/2; also pinned-free."""
    return sin(x) * (1 + exp(-2 * x)) - cos(x) * (1 - exp(-2 * x))


def clamped_guided(x: mpf) -> mpf:
    """Return sin x cosh x + cos x sinh x, divided by exp(x)/2; also guided-free."""
    return sin(x) * (1 + exp(-2 * x)) + cos(x) * (1 - exp(-2 * x))


# For each pair: its equation, and the interval (in units of pi, less the mode number) which holds
# exactly one root: |sech x| < 1 and 0 < tanh x < 1 settle the branch of cos or tan.
EQUATIONS: dict[str, tuple[Callable[[mpf], mpf], float, float]] = {
    "clamped-clamped": (free_free, 0, 1),
    "clamped-pinned": (clamped_pinned, 0, 0.5),
    "clamped-guided": (clamped_guided, -0.5, 0),
    "clamped-free": (clamped_free, -1, 0),
    "pinned-free": (clamped_pinned, 0, 0.5),
    "guided-free": (clamped_guided, -0.5, 0),
    "free-free": (free_free, 0, 1),
}
# sin x = 0 or cos x = 0: the root is (mode - shift) pi.
CLOSED_FORMS = {"pinned-pinned": 0, "pinned-guided": mpf(1) / 2, "guided-guided": 0}
ENDS = [
    "clamped-clamped", "clamped-pinned", "clamped-guided", "clamped-free", "pinned-pinned",
    "pinned-guided", "pinned-free", "guided-guided", "guided-free", "free-free",
]  # fmt: skip


def root(ends: str, mode: int) -> mpf:
    """Return beta*L of one elastic mode."""
    if ends in CLOSED_FORMS:
        return (mode - CLOSED_FORMS[ends]) * pi
    equation, low, high = EQUATIONS[ends]
    return polish(equation, (mode + low) * pi, (mode + high) * pi)


def main() -> None:
    """Write the table."""
    mp.dps = 50
    rows = [
        (ends, mode, digits(root(ends, mode), 30)) for ends in ENDS for mode in range(1, MODES + 1)
    ]
    write_table("beam_roots.csv", HEADER, ("ends", "mode", "beta_l"), rows)


if __name__ == "__main__":
    main()
