"""What was counted against what is due: how ill they go together, and both in words."""

from __future__ import annotations

from collections.abc import Mapping

COUNT_OFF = (0.0, 2.0, 4.5)
"""Cost of a count that is right, a little off, far off, in natural logarithms: one count in seven
is wrong (common practice, no source)."""

LITTLE_OFF = 0.2
"""A count is a little off by one, or by this part of what is due: long rows are hard to count."""

COUNT_TELLS = 1.7
"""How much a right count speaks for a mode against a line that is none, in natural logarithms: the
latter has any count by a chance of some 15 %."""


def count_cost(seen: Mapping[str, int], due: Mapping[str, int | None]) -> float:
    """The cost of what was counted against what is due; nothing where nothing can be compared."""
    cost = 0.0
    for key, count in seen.items():
        expected = due.get(key, count)
        if expected is None:  # lines were counted on a pattern that has no such count
            return COUNT_OFF[1]
        off = abs(count - expected)
        little = max(1.0, LITTLE_OFF * expected)
        cost += COUNT_OFF[0 if off == 0 else 1 if off <= little else 2]
    return cost


def count_evidence(seen: Mapping[str, int], due: Mapping[str, int | None]) -> float:
    """How much a count speaks for a mode, ln of the odds against a line that is no mode."""
    compared = sum(key in due for key in seen)
    return COUNT_TELLS * compared - count_cost(seen, due)


def counts_in_words(counts: Mapping[str, int | None]) -> str:
    """ "3 nodes", "1 line across x and 2 across y", "2 diameters and 0 circles"."""
    if counts.get("nodes") is not None:
        return f"{counts['nodes']} node" + ("" if counts["nodes"] == 1 else "s")
    words = {
        "lines_x": "across x",
        "lines_y": "across y",
        "diameters": "nodal diameters",
        "circles": "nodal circles",
    }
    parts = [f"{counts[key]} {word}" for key, word in words.items() if counts.get(key) is not None]
    return " and ".join(parts) if parts else "no such lines"
