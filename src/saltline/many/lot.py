"""A lot of specimens of one make: how each mode scatters, which one stands out, what drifts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from saltline.arrays import Values
from saltline.many.outliers import outliers
from saltline.naming.identify import Identification
from saltline.record import record

FALSE_ALARMS = 0.01
"""So likely an outlier is told of a lot that has none, and as likely a drift. (All modes of a lot
share it evenly, after Bonferroni, so that many modes do not make many false alarms.)"""

FEWEST = 6
"""Of fewer lists neither is told: even six in strict order come so by chance once in 360 times."""

MOST_LISTS = 3_000
"""A lot holds no more: the median slope is that of every pair of them."""

Key = tuple[str, int]
"""Family and order of a mode."""


@record
class Listed:
    """One list of a lot.

    number:  its place among the lists of the lot, from 1, also where some could not be read.
    label:   its file.
    found:   mode -> measured frequency, Hz; the mean where two lines are twins of one mode.
    predicted: the same modes -> rank and predicted frequency, Hz.
    """

    number: int
    label: str
    lines: int
    explained: int
    scale: float
    fits: bool
    found: Mapping[Key, float]
    predicted: Mapping[Key, tuple[int, float]]


@record
class Drift:
    """The trend of a mode over the order of the lists.

    relative: change of the frequency from a list to the next; p: how likely as strong a trend is
    where there is none; is_told: whether that is too unlikely for chance.
    """

    relative: float
    p: float
    is_told: bool


@record
class LotMode:
    """One mode over the lists in which it was found.

    numbers, hz: of those lists, and its frequency in each; outliers: numbers of lists.
    drift:       None of fewer than `FEWEST` lists.
    """

    rank: int
    family: str
    order: int
    predicted_hz: float
    numbers: tuple[int, ...]
    hz: tuple[float, ...]
    outliers: tuple[int, ...]
    drift: Drift | None

    @property
    def mean_hz(self) -> float:
        """Hz."""
        return float(np.mean(self.hz))

    @property
    def median_hz(self) -> float:
        """Hz."""
        return float(np.median(self.hz))

    @property
    def deviation_hz(self) -> float:
        """The sample's standard deviation, Hz; NaN of a single list."""
        return float(np.std(self.hz, ddof=1)) if len(self.hz) > 1 else math.nan


@record
class Lot:
    """What is known of a lot.

    modes: those found in any list, by rank.
    """

    lists: tuple[Listed, ...]
    modes: tuple[LotMode, ...]

    @property
    def is_alike(self) -> bool:
        """Whether no list stands out and no mode drifts."""
        return not any(m.outliers or (m.drift and m.drift.is_told) for m in self.modes)

    @property
    def is_judged(self) -> bool:
        """Whether any mode is in lists enough to tell."""
        return any(mode.drift is not None for mode in self.modes)


def listed(number: int, label: str, found: Identification) -> Listed:
    """One list as it was identified."""
    hz: dict[Key, list[float]] = {}
    predicted: dict[Key, tuple[int, float]] = {}
    for match in found.matches:
        if match.mode is not None:
            key = (match.mode.family, match.mode.order)
            hz.setdefault(key, []).append(match.measured.frequency_hz)
            predicted[key] = (match.mode.rank, match.mode.frequency_hz)
    return Listed(
        number,
        label,
        len(found.matches),
        sum(match.mode is not None for match in found.matches),
        found.scale,
        found.fits,
        {key: float(np.mean(values)) for key, values in hz.items()},
        predicted,
    )


def lot_of(lists: Sequence[Listed]) -> Lot:
    """The lot that lists of one specimen are, compared with the same families of modes."""
    predicted = {key: known for one in lists for key, known in one.predicted.items()}
    keys = sorted(predicted, key=lambda key: predicted[key])
    level = FALSE_ALARMS / max(len(keys), 1)
    modes = tuple(_lot_mode(key, predicted[key], lists, level) for key in keys)
    return Lot(tuple(lists), modes)


def _lot_mode(
    key: Key, predicted: tuple[int, float], lists: Sequence[Listed], level: float
) -> LotMode:
    there = [one for one in lists if key in one.found]
    numbers = tuple(one.number for one in there)
    hz = tuple(one.found[key] for one in there)
    drift, out = judged(np.array(numbers, dtype=float), np.log(hz), level)
    rank, predicted_hz = predicted
    outliers_of = tuple(numbers[i] for i in out)
    return LotMode(rank, *key, predicted_hz, numbers, hz, outliers_of, drift)


def judged(number: Values, log_hz: Values, level: float) -> tuple[Drift | None, tuple[int, ...]]:
    """The drift of ln f over the lists' numbers, and the places of the outliers.

    level: the probability of telling a drift, and that of telling an outlier, where none is.

    The drift is told by Mann and Kendall's test of rank correlation, which asks nothing of the
    distribution and which one outlier hardly moves (Mann 1945, Econometrica 13, 245; Kendall 1938,
    Biometrika 30, 81), and its size by the median slope of Theil and Sen (Sen 1968, J. Am. Stat.
    Assoc. 63, 1379); all from memory. What drifts is freed of it before outliers are sought.
    """
    if number.size < FEWEST:
        return None, ()
    from scipy.stats import kendalltau, theilslopes  # half a second that only a lot needs

    slope = theilslopes(log_hz, number)[0]
    is_level = float(np.ptp(log_hz)) == 0.0
    p = 1.0 if is_level else float(kendalltau(number, log_hz).pvalue)
    drift = Drift(math.expm1(float(slope)), p, p < level)
    rest = log_hz - slope * number if drift.is_told else log_hz
    return drift, outliers(rest, level=level)
