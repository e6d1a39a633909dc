"""Regions at rest on a grid take the sign of what is around them."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import find_objects, label

from saltline.arrays import Values
from saltline.tracing.shape_grid import AT_REST, _without_rest


def with_labels(level: Values, w: Values) -> Values:
    """The same by scipy's labels of regions."""
    level = level.copy()
    limit = AT_REST * float(np.abs(w).max())
    for sign in (1.0, -1.0):
        regions, _ = label(sign * level > 0.0)
        for number, box in enumerate(find_objects(regions), start=1):
            here = regions[box] == number
            if np.abs(w[box])[here].max() < limit:
                level[box][here] *= -1.0
    return level


@pytest.mark.parametrize("seed", range(8))
def test_regions_at_rest_are_those_of_scipys_labels(seed: int) -> None:
    random = np.random.default_rng(seed)
    size = 40
    level = random.normal(size=(size, size))
    for _ in range(seed % 4):  # neighbours alike, so that regions are large
        level += np.roll(level, 1, 0) + np.roll(level, 1, 1)
    w = level * 10.0 ** random.uniform(-6.0, 0.0, (size, size))
    found = _without_rest(level, w)
    np.testing.assert_array_equal(found, with_labels(level, w))
    assert np.any(found != level), "otherwise nothing was at rest"
