"""The shape of a disc's mode: how it moves at any place."""

from __future__ import annotations

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.record import record


@record
class DiscShape:
    """The shape of a disc mode, W(r) cos(n theta); its twin has sin in place of cos.

    n:            number of nodal diameters.
    line, q:      W as the field "w" of a line of elements from the inner radius to the rim.
    inner_radius: of the hole or of the hub, m; 0 where the disc is solid and has no hub.
    rim_radius:   m.
    has_hole:     whether there is nothing inside the inner radius, rather than a rigid hub.
    held:         radii at which this motion is held rigidly, m.
    """

    n: int
    line: Line
    q: Values
    inner_radius: float
    rim_radius: float
    has_hole: bool
    held: tuple[float, ...]

    def radial(self, r: Values, derivative: int = 0) -> Values:
        """W or its derivative at radii in m, from the inner radius to the rim."""
        return np.asarray(self.line.rows("w", r, derivative) @ self.q)

    def at_points(self, x: Values, y: Values) -> Values:
        """The deflection at the points (x[i], y[i]) in m, the origin at the centre.

        A hub moves as a rigid body; inside a hole the deflection is nan. Points beyond the rim are
        taken to lie on it.
        """
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        r = np.hypot(x, y)
        w = self.radial(np.clip(r, self.inner_radius, self.rim_radius).ravel()).reshape(r.shape)
        inside = r < self.inner_radius * (1.0 - 1e-9)
        if np.any(inside):
            within = np.nan if self.has_hole else r / self.inner_radius if self.n == 1 else 1.0
            w = np.where(inside, w * within, w)
        return np.asarray(w * np.cos(self.n * np.arctan2(y, x)))
