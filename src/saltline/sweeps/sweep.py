"""What a recorded sweep is: a response over frequency, and how it was recorded."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from saltline.arrays import Values
from saltline.record import record
from saltline.sweeps.noise import running_median

FEWEST_READINGS = 16
"""Fewer are no sweep."""

GAP, NEIGHBOURS = 8.0, 10
"""A step between readings that is so many times the usual one of so many neighbours on either side
is a gap."""


@record
class Recording:
    """A response over frequency, shape (n,) each.

    path:     the file as messages name it.
    hz:       ascending, distinct, above zero.
    response: complex where the phase was recorded, else magnitudes.
    unit:     of the response as the file states it; "" where it does not.
    hz_per_s: the sweep's rate at each reading, above zero upward; None where it is not known, or
              does not matter.
    smeared_hz: over which a window spreads what is at one frequency; 0 for none.
    drive:    the magnitude of the drive; None where it was not recorded.
    added_hz: by how much a window has widened every resonance, half-width.
    how:      how the response came about, in words; "" where it stands in the file.
    remarks:  on what was met while it was read.
    """

    path: str
    hz: Values
    response: Values
    unit: str = ""
    hz_per_s: Values | None = None
    smeared_hz: float = 0.0
    drive: Values | None = None
    added_hz: float = 0.0
    how: str = ""
    remarks: tuple[str, ...] = ()

    @property
    def has_phase(self) -> bool:
        """Whether the phase was recorded."""
        return bool(np.iscomplexobj(self.response))

    @property
    def magnitude(self) -> Values:
        """The response without its phase."""
        return np.abs(self.response)


def remarked(recording: Recording, said: str) -> Recording:
    """The recording with one more remark, which names its file."""
    return replace(recording, remarks=(*recording.remarks, f"{recording.path}: {said}"))


def within(recording: Recording, low_hz: float, high_hz: float) -> Recording:
    """The part of a recording between two frequencies."""
    first, last = (int(i) for i in np.searchsorted(recording.hz, [low_hz, high_hz]))
    cut = slice(first, last)

    def part(values: Values | None) -> Values | None:
        return None if values is None else values[cut]

    return replace(
        recording,
        hz=recording.hz[cut],
        response=recording.response[cut],
        hz_per_s=part(recording.hz_per_s),
        drive=part(recording.drive),
    )


def at_rate(recording: Recording, *, octave_per_s: float = 0.0, hz_per_s: float = 0.0) -> Recording:
    """The recording of a sweep whose rate is stated: logarithmic or linear, one of the two."""
    rate = hz_per_s + octave_per_s * np.log(2.0) * recording.hz
    return replace(recording, hz_per_s=rate)


def gaps(recording: Recording) -> list[tuple[float, float]]:
    """Where nothing was recorded: from and to, Hz."""
    steps = np.diff(recording.hz)
    relative = np.diff(np.log(recording.hz))
    # A sweep has even steps or even ratios of them; a gap is one by either measure.
    wide = steps > GAP * running_median(steps, NEIGHBOURS)
    wide &= relative > GAP * running_median(relative, NEIGHBOURS)
    return [(float(recording.hz[i]), float(recording.hz[i + 1])) for i in np.flatnonzero(wide)]


def in_order(columns: Sequence[Values]) -> tuple[list[Values], int | None]:
    """Columns in ascending order of the first, readings at one frequency as their mean.

    Where the first turns (a sweep up and down again), only the longest way is kept. Returns the
    columns and, where some was left out, at which reading it turns.
    """
    first = columns[0]
    start, stop = _longest_way(first)
    turn = None if stop - start == first.size else (start or stop)
    kept = [column[start:stop] for column in columns]
    order = np.argsort(kept[0], kind="stable")
    kept = [column[order] for column in kept]
    starts = np.flatnonzero(np.diff(kept[0], prepend=-np.inf) > 0.0)
    if starts.size < kept[0].size:
        counts = np.diff(starts, append=kept[0].size)
        kept = [np.add.reduceat(column, starts) / counts for column in kept]
    return kept, turn


def _longest_way(values: Values) -> tuple[int, int]:
    """The longest stretch that runs one way, but for jitter; the whole of what has no order."""
    n = values.size
    span = float(values.max() - values.min())
    high, low = int(np.argmax(values)), int(np.argmin(values))
    ends = sorted({0, high, low, n - 1})
    pieces = list(pairwise(ends))
    runs = [abs(float(values[b] - values[a])) for a, b in pieces]
    travelled = float(np.sum(np.abs(np.diff(values))))
    if travelled < 1.05 * span or travelled > 1.2 * sum(runs):
        return 0, n  # one way; or no order at all
    longest = int(np.argmax([b - a for a, b in pieces]))
    return pieces[longest][0], pieces[longest][1] + 1
