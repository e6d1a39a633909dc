"""The Python interface: one specimen and what can be asked about it, in the commands' words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from saltline.check import check
from saltline.identify import Identification
from saltline.measured import Measured
from saltline.modes import Mode, Modes, find_modes
from saltline.nodes import Pattern, pattern_of
from saltline.specimen import Specimen


@dataclass(frozen=True, slots=True)
class Study:
    """A specimen under study."""

    specimen: Specimen

    def modes(
        self, *, count: int = 8, below_hz: float | None = None, theory: str | None = None
    ) -> Modes:
        """The lowest modes; see `saltline.modes.find_modes`."""
        return find_modes(self.specimen, count=count, below_hz=below_hz, theory=theory)

    def pattern(self, mode: Mode) -> Pattern:
        """Where a mode stands still and where it moves most; see `saltline.nodes`."""
        return pattern_of(mode.shape)

    def check(self, measured: Sequence[Measured], *, tolerance: float = 0.03) -> Identification:
        """Which mode each measured line is; see `saltline.check.check`."""
        return check(self.specimen, measured, tolerance=tolerance)
