"""The names that the rooms share for arrays."""

from __future__ import annotations

from typing import Any

import numpy as np

# What numpy.typing calls NDArray, without the time that it takes to load.
Shape = tuple[Any, ...]

Values = np.ndarray[Shape, np.dtype[Any]]
"""Real numbers. (np.float64 says more than Any, but numpy's own functions do not return it.)"""

Indices = np.ndarray[Shape, np.dtype[np.intp]]
Flags = np.ndarray[Shape, np.dtype[np.bool_]]
