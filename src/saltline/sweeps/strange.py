"""What in a recording is perhaps no resonance: mains hum, harmonics of the drive, its notches.

Of these nothing is left out of a list: it is pointed out, and the user decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from saltline.arrays import Indices
from saltline.measured_list import Measured
from saltline.naming.suspects import HARMONICS, MAINS_HZ, MOST_MULTIPLE, NEAR, suspicions
from saltline.record import record
from saltline.sweeps.sweep import Recording

HUM, SPIKE, HARMONIC, NOTCH = "mains hum", "spike", "harmonic", "drive notch"
WANDER = "wandering gain"

AS_NARROW = 4
"""Hum is a line: so many readings wide at most in its half-power band."""

FAMILY, AS_WIDE = 3, 0.6
"""Wider lines are hum where so many multiples of the mains frequency have one within so many Hz."""

FILTER_HZ, LIKE = 8.0, 3.0
"""A filter that follows the drive is no wider than this, and makes all lines of hum as wide, within
this factor."""

WEAKER = 0.5
"""What a harmonic of the drive excites is less than this part of what the drive itself does."""

ALIKE = 2.0
"""It has the damping of the resonance itself, within this factor."""

AS_FLAT = 3.0
"""A swell has more than so many times the damping that is usual among the others."""

NOTCH_DEPTH = 2.0
"""A drive that falls by this factor and rises again has a notch (6 dB)."""


class Line(Protocol):
    """What is asked of a resonance."""

    @property
    def frequency_hz(self) -> float:
        """Hz."""

    @property
    def damping_ratio(self) -> float:
        """A number."""

    @property
    def amplitude(self) -> float:
        """Its height."""

    @property
    def bandwidth_hz(self) -> float:
        """Between its half-power points."""

    @property
    def half_power(self) -> float | None:
        """The damping ratio by recorded half-power points, None where there are none."""

    @property
    def in_band(self) -> int:
        """How many readings lie there."""


@record
class Strange:
    """kind: one of those above; row: of the list, from 0, where it is one; why: a sentence."""

    kind: str
    frequency_hz: float
    row: int | None
    why: str


def lone_readings(recording: Recording, at: Indices) -> list[Strange]:
    """Spikes, which are not in the list."""
    found = []
    for i in at:
        hz = float(recording.hz[i])
        hum = _hum(hz)
        what = "a reading that stands alone, sharper than any resonance; it is not in the list"
        if hum:
            what = f"a reading that stands alone, not in the list, at {hum}"
        found.append(Strange(HUM if hum else SPIKE, hz, None, what))
    return found


def may_be(lines: Sequence[Line]) -> list[Strange]:
    """What else the resonances of a list may be."""
    found = []
    family = _family(lines)
    for row, line in enumerate(lines):
        hum = _hum(line.frequency_hz) if line.in_band <= AS_NARROW else family.get(row, "")
        if hum:
            found.append(Strange(HUM, line.frequency_hz, row, hum))
        why = _excited_by_harmonic(line, lines)
        if why:
            found.append(Strange(HARMONIC, line.frequency_hz, row, why))
    return found


def swells(lines: Sequence[Line]) -> list[Strange]:
    """Resonances in a magnitude far wider than the others and without half-power points."""
    peaks = [line.damping_ratio for line in lines if line.half_power is not None]
    if not peaks:
        return []
    usual = float(np.median(peaks))
    found: list[Strange] = []
    for row, line in enumerate(lines):
        if line.half_power is None and line.damping_ratio > AS_FLAT * usual:
            what = f"low swell, {line.damping_ratio / usual:.0f} times as damped as the peaks"
            why = (
                f"another {what}"
                if found
                else f"a {what} and without half-power points: a drive or a channel whose gain "
                "changes slowly with frequency makes such ones; divide by the drive's own level, "
                "or record the phase"
            )
            found.append(Strange(WANDER, line.frequency_hz, row, why))
    return found


def _family(lines: Sequence[Line]) -> dict[int, str]:
    """Rows of wide hum, as a filter that follows the drive records it: several multiples."""
    for mains in MAINS_HZ:
        multiples = {}
        for row, line in enumerate(lines):
            multiple = round(line.frequency_hz / mains)
            off = abs(line.frequency_hz - multiple * mains)
            near = max(AS_WIDE, min(line.bandwidth_hz, FILTER_HZ) / 2.0)
            if 1 <= multiple <= MOST_MULTIPLE and off < near and line.bandwidth_hz < FILTER_HZ:
                multiples[row] = multiple
        widths = [lines[row].bandwidth_hz for row in multiples]
        if len(set(multiples.values())) >= FAMILY and max(widths) < LIKE * min(widths):
            return {
                row: f"near {multiple * mains:g} Hz, with others at multiples of {mains:g} Hz: hum "
                "that the instrument's filter widens; look whether it stays when the drive is off"
                for row, multiple in multiples.items()
            }
    return {}


def _hum(hz: float) -> str:
    return suspicions([Measured(hz)])[0].hum


def _excited_by_harmonic(line: Line, lines: Sequence[Line]) -> str:
    for factor in HARMONICS:
        for number, other in enumerate(lines, start=1):
            near = max(NEAR * other.frequency_hz, other.bandwidth_hz / 2.0)
            if (
                abs(factor * line.frequency_hz - other.frequency_hz) < near
                and line.amplitude < WEAKER * other.amplitude
                and 1.0 / ALIKE < line.damping_ratio / other.damping_ratio < ALIKE
            ):
                part = {2: "half", 3: "a third"}[factor]
                return (
                    f"{part} of row {number} ({other.frequency_hz:.5g} Hz), as sharp and weaker: "
                    "a distorted drive may excite that one from here; look whether the response is "
                    f"at {factor} times the drive's frequency"
                )
    return ""


def drive_notches(recording: Recording) -> list[Strange]:
    """Where the drive falls off and rises again, most often because a resonance takes it."""
    if recording.drive is None or recording.drive.size < 32:
        return []
    from scipy.signal import find_peaks, peak_prominences

    size = max(recording.drive.size // 500, 1)
    n = recording.drive.size // size * size
    hz = recording.hz[:n].reshape(-1, size).mean(axis=1)
    level = np.log(np.sqrt((recording.drive[:n].reshape(-1, size) ** 2).mean(axis=1)) + 1e-300)
    at, _ = find_peaks(-level, prominence=np.log(NOTCH_DEPTH))
    return [
        Strange(
            NOTCH,
            float(hz[i]),
            None,
            f"the drive falls to {100 * np.exp(-depth):.0f} % here: what is measured about it is "
            "less sure; a resonance in its way takes the force, and a controller may overshoot",
        )
        for i, depth in zip(at, peak_prominences(-level, at)[0], strict=True)
    ]
