"""What a measured list is: resonances, each with what was counted on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from saltline.quantity import Place
from saltline.record import record

COUNTS = ("nodes", "lines_x", "lines_y", "diameters", "circles")
"""What an observer may count."""

FAMILIES = ("flatwise", "edgewise", "torsion", "axial", "plate", "disc")


@record
class Measured:
    """One resonance as it was measured.

    frequency_hz:   Hz.
    counts:         what was counted, by names in COUNTS; only those that were given.
    family:         one of FAMILIES, None where it was not given.
    note:           the observer's remark.
    uncertainty_hz: half-width of the 95 % interval (k = 2), Hz; 0 where it was not given.
    place:          where in the file the row begins; None where it comes from no file.
    """

    frequency_hz: float
    counts: Mapping[str, int] = field(default_factory=dict, hash=False)
    family: str | None = None
    note: str = ""
    uncertainty_hz: float = 0.0
    place: Place | None = field(default=None, compare=False)


@record
class MeasuredList:
    """The resonances of one file, in its order; path: the file as messages name it."""

    path: str
    rows: tuple[Measured, ...]
