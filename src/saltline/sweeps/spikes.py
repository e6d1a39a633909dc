"""Single readings that stand alone: no resonance is as sharp as that, but mains hum is.

A resonance whose half-power bandwidth is half of the step between readings still lifts the
neighbours of its highest reading to a quarter of its height, and theirs to an eighth.
"""

from __future__ import annotations

import numpy as np

from saltline.arrays import Indices, Values
from saltline.sweeps.noise import scatter

STANDS_OUT = 12.0
"""A spike stands out by so many times the scatter of the readings,"""

NEIGHBOURS = 0.12
"""... and its neighbours by no more than this part of that; both above the next ones."""


def spikes(response: Values) -> Indices:
    """Which readings are spikes; of complex readings or magnitudes."""
    n = response.size
    if n < 8:
        return np.array([], dtype=np.intp)
    around = (response[:-4] + response[4:]) / 2.0
    own = np.abs(response[2:-2] - around)
    beside = np.maximum(np.abs(response[1:-3] - around), np.abs(response[3:-1] - around))
    noise = scatter(response)[2:-2]
    allowed = NEIGHBOURS * own + 3.0 * noise
    stands_out = (own > STANDS_OUT * noise) & (beside < allowed) & (own > 0.1 * np.abs(around))
    return np.flatnonzero(stands_out) + 2


def without_spikes(response: Values, at: Indices) -> Values:
    """The response with each spike as the mean of its neighbours."""
    smooth = response.copy()
    smooth[at] = (response[at - 1] + response[at + 1]) / 2.0
    return smooth
