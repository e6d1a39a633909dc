"""The names that the rooms share for arrays."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Values = NDArray[Any]
"""Real numbers. (NDArray[np.float64] says more, but numpy's own functions do not return it.)"""

Indices = NDArray[np.intp]
Flags = NDArray[np.bool_]
