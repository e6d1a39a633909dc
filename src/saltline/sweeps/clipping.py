"""Readings that stop at a ceiling, as those of an overloaded channel do."""

from __future__ import annotations

import numpy as np

from saltline.arrays import Values
from saltline.sweeps.noise import last_digits, scatter

CLIPPED = 4
"""So many highest readings in a row that are equal are no top of a resonance."""

DROPS = 2.0
"""From a clipped top the readings fall by more than so many of the steps to which they are rounded,
and so many times what they scatter by."""


def clipped(values: Values, path: str, what: str) -> list[str]:
    """Whether readings stop at a ceiling, as those of an overloaded channel do.

    values: in the order in which they were recorded, of either sign; what: "amplitude" ...
    """
    size = np.abs(values)
    top = float(size.max())
    at = np.flatnonzero(size == top)
    runs = np.split(at, np.flatnonzero(np.diff(at) > 1) + 1)
    ceilings = [run for run in runs if run.size >= CLIPPED]
    if not ceilings:
        return []
    ends = [int(i) for run in ceilings for i in (run[0] - 1, run[-1] + 1)]
    beside = [i for i in ends if 0 <= i < size.size]
    below = scatter(values[size < top])
    digit = float(last_digits(size)[at[0]])  # about a wide top rounded readings are equal too
    least = DROPS * max(float(np.median(below)) if below.size else 0.0, digit)
    if max((top - float(size[i]) for i in beside), default=0.0) <= least:
        return []
    return [
        f"{path}: {sum(run.size for run in runs)} readings of the {what} are exactly {top:.6g}, "
        f"up to {max(run.size for run in ceilings)} in a row: the channel was overloaded, and what "
        "it clipped is neither as low nor as wide as it looks; record again with a wider range"
    ]
