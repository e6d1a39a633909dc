"""The Python interface: one specimen and what can be asked about it."""

from __future__ import annotations

from collections.abc import Sequence

from saltline.fitting.adjustable import adjustables
from saltline.fitting.fit import Fit, fit
from saltline.fitting.fittable import default_names
from saltline.forced.response import Driven, driven, for_drive
from saltline.measured_list import Measured
from saltline.modes import Mode, Modes
from saltline.naming.check import check
from saltline.naming.identify import Identification
from saltline.nodes import Pattern, pattern_of
from saltline.planning.envelope import parse_level
from saltline.planning.plan import Plan, plan
from saltline.planning.rig import Rig
from saltline.record import record
from saltline.solver import find_modes
from saltline.specimen import Drive, Specimen


@record
class Study:
    """A specimen under study."""

    specimen: Specimen

    def modes(
        self, *, count: int = 8, below_hz: float | None = None, theory: str | None = None
    ) -> Modes:
        """The lowest modes; see `saltline.solver.find_modes`."""
        return find_modes(self.specimen, count=count, below_hz=below_hz, theory=theory)

    def pattern(self, mode: Mode) -> Pattern:
        """Where a mode stands still and where it moves most; see `saltline.nodes`."""
        return pattern_of(mode.shape)

    def check(self, measured: Sequence[Measured], *, tolerance: float = 0.03) -> Identification:
        """Which mode each measured line is; see `saltline.naming.check.check`."""
        return check(self.specimen, measured, tolerance=tolerance)

    def fit(self, measured: Sequence[Measured], *paths: str, tolerance: float = 0.03) -> Fit:
        """The quantities, by default the modulus, that best explain a list.

        See `saltline.fitting.fit`.
        """
        chosen = adjustables(self.specimen, paths or default_names(self.specimen))
        return fit(self.specimen, measured, chosen, tolerance=tolerance)

    def plan(
        self,
        rig: Rig | None = None,
        *,
        count: int = 8,
        below_hz: float | None = None,
        level: str | None = None,
        damping_ratio: float | None = None,
    ) -> Plan:
        """The run sheet on a rig, which `saltline.files.rig_file.load_rig` reads.

        See `saltline.planning.plan`.

        level: "0.5 g", "20 mm/s" or "0.1 mm", amplitudes of the base, on a point "2 N"; None for as
               strongly as no limit forbids. damping_ratio: as a number, 0.003 for 0.3 %.
        Raises LevelError, PredictionError and DriveError, each with a sentence for the user.
        """
        through = (self.specimen.drive or Drive()).through
        return plan(
            self.specimen,
            rig=rig,
            count=count,
            below_hz=below_hz,
            level=None if level is None else parse_level(level, through=through),
            damping_ratio=damping_ratio,
        )

    def response(self, *, below_hz: float, damping_ratio: float | None = None) -> Driven:
        """The forced response as a sum over the modes, good up to a frequency.

        Hand it to the functions of `saltline.forced.response`: `absolute_acceleration(known, hz,
        places)` and the like give complex amplitudes per m/s2 of the base, or per N on a point.
        Raises PredictionError, and DriveError where nothing that is held can be driven.
        """
        modes = find_modes(for_drive(self.specimen), below_hz=below_hz, beyond=4)
        return driven(modes, damping_ratio=damping_ratio)
