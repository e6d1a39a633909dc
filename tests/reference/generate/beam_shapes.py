"""Write beam_nodes.csv and beam_antinodes.csv: where the classic beam modes stand still or peak."""

from collections.abc import Callable, Iterator

from beam_roots import ENDS, root
from mpmath import cos, cosh, mp, mpf, sin, sinh
from tables import digits, polish, write_table

MODES = 20
RIGID_MODES = {"pinned-free": 1, "guided-guided": 1, "guided-free": 1, "free-free": 2}

SOURCE = """
Source: exact mode shapes of the uniform Euler-Bernoulli beam, recomputed with mpmath at 80 digits
by generate/beam_shapes.py; 15 digits printed.
ends: start-end, x_over_l is measured from the start (the first-named end).
mode counts elastic modes only; index counts the positions of a mode from 1, in order of x.
Published for comparison (from memory): free-free mode 1 at 0.224 and 0.776 (ASTM E1876, ISO
6721-3).
Several handbook figures print the clamped-free nodes as 0.774 (mode 2), 0.500/0.868 (mode 3) and
0.356/0.644/0.906 (mode 4), from memory: the true ones are 0.7834, 0.5035/0.8677,
0.3583/0.6441/0.9056.
"""
NODES = """
Nodes: positions strictly inside the span where w = 0. Held ends are not counted.
"""
ANTINODES = """
Antinodes: positions where |w| has a local maximum, inside the span or at a free or guided end.
"""

Shape = Callable[[mpf, int], mpf]

# Two shapes that obey the conditions at x = 0: each is the sign of (cosh, sinh, cos, sin).
START_PAIRS = {
    "clamped": ((1, 0, -1, 0), (0, 1, 0, -1)),
    "pinned": ((0, 1, 0, 0), (0, 0, 0, 1)),
    "guided": ((1, 0, 0, 0), (0, 0, 1, 0)),
    "free": ((1, 0, 1, 0), (0, 1, 0, 1)),
}
# The two derivatives of w that vanish at an end.
VANISHING = {"clamped": (0, 1), "pinned": (0, 2), "guided": (1, 3), "free": (2, 3)}


def derivative(weights: tuple[int, ...], x: mpf, order: int) -> mpf:
    """Return the ``order``-th derivative of a weighted sum of cosh, sinh, cos, sin."""
    c, s, cc, ss = weights
    hyperbolic = (c * cosh(x) + s * sinh(x), c * sinh(x) + s * cosh(x))[order % 2]
    circular = (
        cc * cos(x) + ss * sin(x),
        -cc * sin(x) + ss * cos(x),
        -cc * cos(x) - ss * sin(x),
        cc * sin(x) - ss * cos(x),
    )[order % 4]
    return hyperbolic + circular


def mode_shape(ends: str, mode: int) -> Shape:
    """Return w(x/L, order of derivative), up to its size, derivatives being divided by beta."""
    start, end = ends.split("-")
    beta = root(ends, mode)
    first, second = START_PAIRS[start]
    rows = [
        (derivative(first, beta, order), derivative(second, beta, order))
        for order in VANISHING[end]
    ]
    # Both rows say the same at a root; the larger one says it without loss of digits.
    a, b = max(rows, key=lambda row: abs(row[0]) + abs(row[1]))

    def shape(x: mpf, order: int = 0) -> mpf:
        return b * derivative(first, beta * x, order) - a * derivative(second, beta * x, order)

    return shape


def inner_roots(shape: Shape, mode: int, order: int) -> list[mpf]:
    """Return the zeros of a derivative of the shape, strictly inside the span."""
    steps = 24 * (mode + 1)
    margin = mpf(1) / (1000 * steps)
    grid = [margin + (1 - 2 * margin) * i / steps for i in range(steps + 1)]
    values = [shape(x, order) for x in grid]
    # The grid is shifted by a margin that no symmetric position shares, so no value is exactly 0.
    return [
        polish(lambda x: shape(x, order), grid[i], grid[i + 1])
        for i in range(steps)
        if values[i] * values[i + 1] <= 0 and values[i] != 0
    ]


def nodes(ends: str, mode: int) -> list[mpf]:
    """Return the nodes; by Sturm, each earlier mode (rigid ones too) adds one."""
    found = inner_roots(mode_shape(ends, mode), mode, 0)
    if len(found) != mode - 1 + RIGID_MODES.get(ends, 0):
        raise ValueError(f"{ends} mode {mode}: {len(found)} nodes")
    return found


def antinodes(ends: str, mode: int) -> list[mpf]:
    """Return the antinodes: one between neighbouring zeros of w, and the free or guided ends."""
    shape = mode_shape(ends, mode)
    found = inner_roots(shape, mode, 1)
    if any(shape(x, 0) * shape(x, 2) >= 0 for x in found):
        raise ValueError(f"{ends} mode {mode}: an extremum that is no maximum of |w|")
    start, end = ends.split("-")
    if start in ("guided", "free") and is_peak(shape, at=mpf(0), inward=1):
        found.insert(0, mpf(0))
    if end in ("guided", "free") and is_peak(shape, at=mpf(1), inward=-1):
        found.append(mpf(1))
    held_ends = sum(word in ("clamped", "pinned") for word in (start, end))
    if len(found) != len(nodes(ends, mode)) + held_ends - 1 + (2 - held_ends):
        raise ValueError(f"{ends} mode {mode}: {len(found)} antinodes")
    return found


def is_peak(shape: Shape, *, at: mpf, inward: int) -> bool:
    """Tell whether |w| falls on the way inward from an end."""
    return abs(shape(at, 0)) > abs(shape(at + inward * mpf("1e-12"), 0))


def rows(positions: Callable[[str, int], list[mpf]]) -> Iterator[tuple[str, int, int, str]]:
    """Yield the rows of one table."""
    for ends in ENDS:
        for mode in range(1, MODES + 1):
            for index, x in enumerate(positions(ends, mode), start=1):
                yield ends, mode, index, digits(x, 15)


def main() -> None:
    """Write both tables."""
    mp.dps = 80
    columns = ("ends", "mode", "index", "x_over_l")
    write_table("beam_nodes.csv", NODES.strip() + SOURCE, columns, rows(nodes))
    write_table("beam_antinodes.csv", ANTINODES.strip() + SOURCE, columns, rows(antinodes))


if __name__ == "__main__":
    main()
