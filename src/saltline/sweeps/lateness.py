"""How late a response is, by the phases of its resonances.

Between two half-power points a delay of a millisecond turns the phase by a few degrees alone, so
that the fit of one peak hardly tells it. But the resonances of a lightly damped specimen are in
phase with each other, or against: whatever turns them evenly with their frequencies is a delay.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values
from saltline.record import record

WITNESSES = 3
"""So many resonances are needed to tell it."""

REACH_S = 3e-3
"""It is looked for so far to either side of a first guess."""

ALIKE, ALIKE_OF_FEW = 0.03, 0.006
"""Mean square of the sines of what is left, up to which the phases agree (10 and 4.5 degrees); of
as few as can tell it, the smaller one."""

OTHERS, OTHERS_TIMES = 0.04, 8.0
"""Any other delay must leave so much at least, and so many times as much."""

QUARTER = math.pi / 2.0


@record
class Lateness:
    """delay_s: what is still to be taken off; is_known: whether the phases agree with it."""

    delay_s: float = 0.0
    is_known: bool = True


def lateness(frequencies_hz: Sequence[float], residues: Sequence[complex]) -> Lateness:
    """The delay that is left in resonances, by their residues.

    Not known where no delay, or more than one, brings their phases together.
    """
    if len(residues) < WITNESSES:
        return Lateness(is_known=not residues)
    f, angle = np.array(frequencies_hz), np.angle(np.array(residues))
    least = ALIKE if len(residues) > WITNESSES else ALIKE_OF_FEW
    tried = np.arange(-REACH_S, REACH_S, 1.0 / (60.0 * float(f.max())))
    left = _left(f, angle, tried)
    if float(_left(f, angle, np.zeros(1))[0]) < least:
        return Lateness()
    best = int(np.argmin(left))
    apart = np.abs(tried - tried[best]) > 1.0 / (4.0 * float(f.max()))
    # Another hollow as deep would do as well; the slopes of this one are no other.
    hollows = apart & (left < np.roll(left, 1)) & (left < np.roll(left, -1))
    others = float(left[hollows].min()) if np.any(hollows) else 1.0
    if left[best] > least or others < max(OTHERS, OTHERS_TIMES * float(left[best])):
        return Lateness(is_known=False)
    return Lateness(float(tried[best]))


def _left(f: Values, angle: Values, delays: Values) -> Values:
    """Mean square sine of the phases about a whole number of quarter turns, for each delay.

    All of them about the same quarter, or about that and its opposite.
    """
    turned = angle[None, :] + 2.0 * math.pi * f[None, :] * delays[:, None]
    squares = [np.mean(np.sin(turned - quarter) ** 2, axis=1) for quarter in (0.0, QUARTER)]
    return np.asarray(np.minimum(*squares))
