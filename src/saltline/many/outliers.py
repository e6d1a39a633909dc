"""Which of several like values stand out: Rosner's test for several outliers at once."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values

SEVERAL_FROM = 20
"""Of fewer values one outlier alone is looked for (the test is then Grubbs's, which is exact):
Rosner's critical values for several hold from about 25 values on, and at 20 are reached by chance
a tenth more often than stated (at 15 a quarter), as random samples show."""

PART = 5
"""Of more values up to one in so many may be outliers,"""

MOST = 10
"""... and never more than this."""


def outliers(values: Sequence[float] | Values, *, level: float) -> tuple[int, ...]:
    """The places of the values that stand out from a normal distribution of all the others.

    level: the probability that any is told where none is.

    Generalized extreme Studentized deviate test, B. Rosner (1983), Technometrics 25, 165: R_i is
    the largest |x - mean|/s once i - 1 of the most extreme are taken away; the outliers are as many
    as the largest i with R_i > lambda_i. Unlike one test after another it is not misled where two
    outliers hide each other.
    """
    x = np.asarray(values, dtype=float)
    left = list(range(x.size))
    most = 1 if x.size < SEVERAL_FROM else min(x.size // PART, MOST)
    taken: list[int] = []
    found = 0
    for i in range(1, most + 1):
        rest = x[left]
        s = float(np.std(rest, ddof=1)) if rest.size > 2 else 0.0
        if s <= 1e-12 * float(np.max(np.abs(rest), initial=0.0)):
            break  # all that is left is one value, but for rounding
        deviations = np.abs(rest - rest.mean()) / s
        extreme = int(np.argmax(deviations))
        if deviations[extreme] > critical(x.size, i, level=level):
            found = i
        taken.append(left.pop(extreme))
    return tuple(sorted(taken[:found]))


def critical(n: int, i: int, *, level: float) -> float:
    """Rosner's lambda_i for n values, 1983, eq. 2.5 (from memory):

    (n - i) t / sqrt((n - i - 1 + t^2) (n - i + 1)), t the quantile of Student's distribution with
    n - i - 1 degrees of freedom at 1 - level/(2 (n - i + 1)).
    """
    from scipy.special import stdtrit  # only a lot needs it

    t = float(stdtrit(n - i - 1, 1.0 - level / (2.0 * (n - i + 1))))
    return (n - i) * t / math.sqrt((n - i - 1 + t**2) * (n - i + 1))
