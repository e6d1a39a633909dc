"""Lines that are perhaps no mode: the mains and its multiples, harmonics of a distorted drive.

Of a list alone, whatever the specimen is.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values
from saltline.measured_list import Measured
from saltline.record import record

MAINS_HZ = (50.0, 60.0)
MOST_MULTIPLE = 6
"""Hum is looked for at the mains frequency and its multiples up to this one."""

NEAR = 0.003
"""How near (relative) a line must be to be called a multiple."""

HARMONICS = (2, 3)
"""Multiples that a distorted drive holds most of (common practice, no source)."""

MAINS_ODDS, HARMONIC_ODDS = 5.0, 3.0
"""By how much a line is more likely to be no mode where it is such a multiple."""


@record
class Suspicion:
    """What else than a mode a line may be.

    hum:      in words, "" where it is no multiple of the mains frequency.
    harmonic: in words, "" where it is no multiple or part of another line.
    other:    number of that other line, from 0; ratio: how many times its frequency this one is.
    """

    hum: str = ""
    harmonic: str = ""
    other: int = 0
    ratio: float = 0.0

    @property
    def odds(self) -> float:
        """By how much the line is more likely to be no mode than another one."""
        return max(MAINS_ODDS if self.hum else 1.0, HARMONIC_ODDS if self.harmonic else 1.0)


def suspicions(measured: Sequence[Measured]) -> list[Suspicion]:
    """What else each line of a list may be."""
    hz = np.array([line.frequency_hz for line in measured])
    return [
        Suspicion(_hum(line.frequency_hz), *_harmonic(i, hz)) for i, line in enumerate(measured)
    ]


def _hum(hz: float) -> str:
    for mains in MAINS_HZ:
        multiple = round(hz / mains)
        if 1 <= multiple <= MOST_MULTIPLE and abs(hz / (multiple * mains) - 1.0) <= NEAR:
            times = "" if multiple == 1 else f"{multiple} times "
            return (
                f"{times}the mains frequency of {mains:.0f} Hz: it may be hum; look whether it "
                "stays when the drive is off"
            )
    return ""


def _harmonic(i: int, hz: Values) -> tuple[str, int, float]:
    """What is said of it, the other line, and the ratio to that."""
    for factor in HARMONICS:
        of = _first(hz / hz[i] * factor)
        if of is not None:
            words = (
                f"{factor} times row {of + 1} ({hz[of]:.7g} Hz): it may be a harmonic of that "
                "one, by distortion of the drive"
            )
            return words, of, float(factor)
        of = _first(hz / hz[i] / factor)
        if of is not None:
            part = {2: "half", 3: "a third"}[factor]
            words = (
                f"{part} of row {of + 1} ({hz[of]:.7g} Hz): a distorted drive may excite that one "
                "from here"
            )
            return words, of, 1.0 / factor
    return "", 0, 0.0


def _first(ratios: Values) -> int | None:
    """The ratio that is nearest to one, None where none is near."""
    nearest = int(np.argmin(np.abs(ratios - 1.0)))
    return nearest if abs(float(ratios[nearest]) - 1.0) <= NEAR else None
