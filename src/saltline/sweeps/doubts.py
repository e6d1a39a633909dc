"""What may be wrong with several resonances of a recording at once, or is missing between them.

One resonance that leans, that a channel has clipped, or that was swept past fast is not shaped like
one; in a magnitude it is then explained as two or three that are sharper. And a resonance whose top
lies where nothing was recorded is not in the list at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from saltline.sweeps.noise import block_means, scatter
from saltline.sweeps.strange import Line, Strange
from saltline.sweeps.sweep import Recording

CROWDED = 0.75
"""Resonances in a magnitude are in doubt that are nearer than so many mean bandwidths,"""

CROWD = 3
"""... and with phases from so many in a row on."""

STEEP = 10.0
"""A response that changes so fast, as a power of the frequency, is within a tenth of a resonance:
beside one at f0 the power is 2 f^2/(f0^2 - f^2)."""

LOOKED_AT = 24
"""So many readings beside an end are looked at, as means of four."""

CUT_OFF = "cut off"


# -- crowds ---------------------------------------------------------------------------------------


def crowds(lines: Sequence[Line], *, has_phase: bool) -> dict[int, str]:
    """Number of a line, from 0 -> what is said of those that stand too close to be believed.

    lines: by frequency.
    """
    said: dict[int, str] = {}
    for first, last in _crowds(lines):
        if last - first + 1 < (CROWD if has_phase else 2):
            continue
        span = lines[last].frequency_hz - lines[first].frequency_hz
        text = (
            f"{last - first + 1} rows within {span:.2g} Hz, nearer than their bandwidths: this may "
            "be ONE resonance that leans (a loose clamp, too strong a drive), that was clipped, or "
            "that was swept past too fast; repeat at half the level and half the pace"
        )
        said.update(dict.fromkeys(range(first, last + 1), text))
    return said


def _crowds(lines: Sequence[Line]) -> Iterator[tuple[int, int]]:
    """The first and the last of each row of lines that are close to each other."""
    start = 0
    for number, (one, other) in enumerate(pairwise(lines)):
        width = (one.bandwidth_hz + other.bandwidth_hz) / 2.0
        if other.frequency_hz - one.frequency_hz >= CROWDED * width:
            yield start, number
            start = number + 1
    if lines:
        yield start, len(lines) - 1


# -- what is cut off ------------------------------------------------------------------------------


def cut_off(
    recording: Recording, lines: Sequence[Line], gaps: Sequence[tuple[float, float]]
) -> list[Strange]:
    """Ends of what was recorded towards which the response rises as it does beside a resonance."""
    hz = recording.hz
    edges = [(0, 1, float(hz[0])), (hz.size - 1, -1, float(hz[-1]))]
    for low, high in gaps:
        first = int(np.searchsorted(hz, low))
        edges += [(first, -1, low), (first + 1, 1, high)]
    found = []
    for i, inward, at in edges:
        known = any(abs(line.frequency_hz - at) < 4.0 * line.bandwidth_hz for line in lines)
        if not known and _rises(recording, i, inward):
            beyond = "below" if inward > 0 else "above"
            found.append(
                Strange(
                    CUT_OFF,
                    at,
                    None,
                    f"the response rises steeply towards {at:.5g} Hz, where the readings end: "
                    f"there may be a resonance just {beyond} it; record beyond",
                )
            )
    return found


def _rises(recording: Recording, i: int, inward: int) -> bool:
    """Whether the response rises to the reading i as it would beside a resonance."""
    reach = slice(i, i + LOOKED_AT) if inward > 0 else slice(max(i - LOOKED_AT + 1, 0), i + 1)
    hz, size = recording.hz[reach], recording.magnitude[reach]
    if hz.size < LOOKED_AT:
        return False
    hz, size = (block_means(values, 4)[::inward] for values in (hz, size))
    noise = float(scatter(recording.magnitude[reach]).max())
    if size.min() <= 0.0 or np.any(np.diff(size) >= 0.0) or size[0] - size[-1] < 6.0 * noise:
        return False
    powers = np.abs(np.diff(np.log(size)) / np.diff(np.log(hz)))
    # Towards a resonance the power itself rises as the distance falls.
    return bool(powers[0] > STEEP and powers[0] >= powers[-1] and math.isfinite(powers[0]))
