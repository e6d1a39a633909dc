"""Recordings of several sensors along a specimen side by side: one list, and how often the motion
changes its sign from the first sensor to the last.

Between two sensors that move against each other lies a node, or three. So a count is a least
number, and it is taken for the true one only where the sensors are close enough to see every
half-wave.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from saltline.record import record
from saltline.sweeps.one_pick import Pick
from saltline.sweeps.picks import Picked

SAME = 0.5
"""Picks of two recordings are one resonance where they lie within so many bandwidths,"""

SURELY_SAME = 3.0
"""... or within so many standard errors, whichever is more."""

STILL = 0.05
"""A sensor that moves less than this part of the largest motion stands near a node."""

FEWEST_SENSORS = 4

HARDLY = 0.2
"""... and one that finds no resonance where others do, less than this part of it."""

CLEAR = 0.7
"""Of a sensor that moves with or against the others, the cosine of the phase is at least this."""

A_HALF_WAVE = 1.5
"""So many sensors a stretch of one sign are needed for a count that is taken for the true one."""


@record
class Seen:
    """What one sensor saw of a resonance: place, height, and the motion's sign.

    sign: 1 or -1 against the sensor that moves most; 0 near a node; None where the phase is not
          known or is neither.
    """

    at_m: float
    amplitude: float
    sign: int | None


@record
class Shared:
    """One resonance of the specimen.

    pick:    of the sensor that moves most, its frequency and damping averaged over all of them.
    row:     number of that recording, from 0.
    seen:    by each sensor that found it, in the order of places.
    changes: how often the sign changes; None where the phases tell nothing.
    nodes:   the same where every half-wave is seen; else None.
    """

    pick: Pick
    row: int
    seen: tuple[Seen, ...]
    changes: int | None = None
    nodes: int | None = None


def lined_up(picked: Sequence[Picked], places_m: Sequence[float]) -> list[Shared]:
    """The resonances of several recordings as one list, by frequency.

    places_m: where along the specimen each was recorded; none for recordings whose places are not
              known.
    """
    shared = [_shared(picked, group, places_m) for group in _groups(picked)]
    if reversed_sensors(shared):
        return [replace(one, nodes=None) for one in shared]
    return _without_doubtful(shared)


def reversed_sensors(shared: Sequence[Shared]) -> list[float]:
    """Places, m, of sensors without whose sign the motion would change it less often.

    A sensor between two others that is against both of them in several resonances, and with both in
    none, is turned round, or its cable is. Told from `FEWEST_SENSORS` moving ones on.
    """
    gains: dict[float, list[int]] = {}
    for one in shared:
        moving = [sensor for sensor in one.seen if sensor.sign]
        if len(moving) < FEWEST_SENSORS:
            continue
        for before, sensor, after in zip(moving, moving[1:], moving[2:], strict=False):
            against = (sensor.sign != before.sign) + (sensor.sign != after.sign)
            gains.setdefault(sensor.at_m, []).append(against - 1)
    return sorted(at for at, found in gains.items() if min(found) >= 0 and sum(found) > 1)


def _groups(picked: Sequence[Picked]) -> list[dict[int, Pick]]:
    """Picks that are one resonance, by recording."""
    every = [(row, pick) for row, one in enumerate(picked) for pick in one.picks]
    groups: list[dict[int, Pick]] = []
    # The sharpest know best where they lie.
    for row, pick in sorted(every, key=lambda entry: entry[1].frequency_error_hz):
        near = [
            (abs(pick.frequency_hz - _middle(group)), group)
            for group in groups
            if row not in group and _is_same(pick, group)
        ]
        if near:
            min(near, key=lambda entry: entry[0])[1][row] = pick
        else:
            groups.append({row: pick})
    return sorted(groups, key=_middle)


def _middle(group: dict[int, Pick]) -> float:
    return _average([(p.frequency_hz, p.frequency_error_hz) for p in group.values()])[0]


def _is_same(pick: Pick, group: dict[int, Pick]) -> bool:
    for other in group.values():
        apart = abs(pick.frequency_hz - other.frequency_hz)
        errors = math.hypot(pick.frequency_error_hz, other.frequency_error_hz)
        width = min(pick.bandwidth_hz, other.bandwidth_hz)
        if apart > max(SAME * width, SURELY_SAME * errors):
            return False
    return True


def _average(values: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """The mean weighted by the standard errors, and its own."""
    weights = np.array([1.0 / max(error, 1e-12) ** 2 for _, error in values])
    mean = float(np.average([value for value, _ in values], weights=weights))
    return mean, 1.0 / math.sqrt(float(weights.sum()))


def _still(
    picked: Sequence[Picked], group: dict[int, Pick], places_m: Sequence[float], most: Pick
) -> list[Seen]:
    """The sensors that found nothing since they hardly move there: they stand near a node."""
    still = []
    for i, one in enumerate(picked):
        hz = one.recording.hz
        if i in group or not hz[0] < most.frequency_hz < hz[-1]:
            continue
        there = float(np.interp(most.frequency_hz, hz, one.recording.magnitude))
        if there < HARDLY * most.amplitude:
            still.append(Seen(places_m[i], there, 0))
    return still


def _shared(picked: Sequence[Picked], group: dict[int, Pick], places_m: Sequence[float]) -> Shared:
    row = max(group, key=lambda row: group[row].amplitude)
    most = group[row]
    frequency, error = _average([(p.frequency_hz, p.frequency_error_hz) for p in group.values()])
    damping, damping_error = _average([(p.damping_ratio, p.damping_error) for p in group.values()])
    pick = _with(most, frequency, error, damping, damping_error)
    if not places_m:
        return Shared(pick, row, ())
    seen = [Seen(places_m[i], p.amplitude, _sign(p, most)) for i, p in group.items()]
    seen += _still(picked, group, places_m, most)
    seen.sort(key=lambda one: one.at_m)
    signs = [one.sign for one in seen if one.sign]
    if len(signs) < 2 or any(one.sign is None for one in seen) or len(seen) < len(places_m):
        return Shared(pick, row, tuple(seen))
    changes = sum(a != b for a, b in pairwise(signs))
    enough = len(signs) >= A_HALF_WAVE * (changes + 1)
    return Shared(pick, row, tuple(seen), changes, changes if enough else None)


def _with(pick: Pick, frequency: float, error: float, damping: float, damping_error: float) -> Pick:
    return replace(
        pick,
        frequency_hz=frequency,
        frequency_error_hz=error,
        damping_ratio=damping,
        damping_error=damping_error,
    )


def _sign(pick: Pick, most: Pick) -> int | None:
    if pick.residue is None or most.residue is None:
        return None
    if pick.amplitude < STILL * most.amplitude:
        return 0
    turn = pick.residue * most.residue.conjugate()
    cosine = turn.real / abs(turn)
    return None if abs(cosine) < CLEAR else int(math.copysign(1.0, cosine))


def _without_doubtful(shared: list[Shared]) -> list[Shared]:
    """The list without counts from where on half-waves are missed.

    The higher the frequency, the shorter they are: once there are too few sensors for them, or a
    count does not rise, all counts above are doubtful.
    """
    kept: list[Shared] = []
    highest = -1
    for one in shared:
        if one.changes is not None and (one.nodes is None or one.nodes <= highest):
            break
        highest = highest if one.nodes is None else one.nodes
        kept.append(one)
    return kept + [replace(one, nodes=None) for one in shared[len(kept) :]]
