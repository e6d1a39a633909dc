"""What every generator here shares: writing a table with its header, and finding roots safely."""

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

import mpmath
from mpmath import mpf

FOLDER = Path(__file__).resolve().parent.parent


def write_table(
    name: str, header: str, columns: Sequence[str], rows: Iterable[Sequence[object]]
) -> None:
    """Write ``name`` beside the generators: the header as ``#`` lines, then plain CSV."""
    lines = [f"# {line}".rstrip() for line in header.strip().splitlines()]
    lines.append(",".join(columns))
    lines.extend(",".join(str(cell) for cell in row) for row in rows)
    (FOLDER / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


def digits(value: mpf, count: int) -> str:
    """Print ``value`` to ``count`` significant digits, never with an exponent."""
    return mpmath.nstr(value, count, strip_zeros=False, min_fixed=-mpmath.inf, max_fixed=mpmath.inf)


def polish(f: Callable[[mpf], mpf], low: mpf, high: mpf) -> mpf:
    """Return the root of ``f`` between ``low`` and ``high``, where it must change its sign.

    Regula falsi of the Illinois kind: the bracket never opens, so it cannot leave for another root.
    """
    f_low, f_high = f(low), f(high)
    if f_low * f_high > 0:
        raise ValueError(f"no change of sign between {low} and {high}")
    if f_low == 0:
        return low
    tolerance = abs(high) * mpf(10) ** (8 - mpmath.mp.dps)
    middle = high
    while f_high != 0:
        previous, middle = middle, high - f_high * (high - low) / (f_high - f_low)
        f_middle = f(middle)
        if f_middle == 0 or abs(middle - previous) < tolerance:
            return middle
        if f_middle * f_high < 0:
            low, f_low = high, f_high
        else:
            f_low /= 2
        high, f_high = middle, f_middle
    return high


def crossings(
    f: Callable[[mpf], mpf], start: mpf, step: mpf, *, count: int
) -> list[tuple[mpf, mpf]]:
    """Return the first ``count`` steps upward from ``start`` in which ``f`` turns its sign."""
    found = []
    low, f_low = start, f(start)
    while len(found) < count:
        high = low + step
        f_high = f(high)
        if f_low * f_high <= 0:
            found.append((low, high))
            # A root exactly on the grid must not be met twice.
            if f_high == 0:
                high += step / 7
                f_high = f(high)
        low, f_low = high, f_high
    return found


def roots(f: Callable[[mpf], mpf], start: float, step: float, *, count: int) -> list[mpf]:
    """Return the first ``count`` roots of ``f`` above ``start`` that a grid of ``step`` shows."""
    brackets = crossings(f, mpf(start), mpf(step), count=count)
    return [polish(f, low, high) for low, high in brackets]
