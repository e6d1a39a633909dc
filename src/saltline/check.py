"""A measured list against a specimen: as many modes as the list needs, and the identification."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from saltline.document import Log
from saltline.drive import NOT_EXCITED, excitation
from saltline.identify import LARGEST_SCALE, WIDE_SCALE, Identification, identify
from saltline.measured import Measured, MeasuredList
from saltline.modes import Mode, find_modes
from saltline.nodes import pattern_of
from saltline.specimen import Specimen

BEYOND = 3
"""So many modes above the reach of the list are known too, to name the mode of a wrong count."""


def check(
    specimen: Specimen,
    measured: Sequence[Measured],
    *,
    tolerance: float = 0.03,
    theory: str | None = None,
    count: int | None = None,
    families: Sequence[str] | None = None,
) -> Identification:
    """Name every measured line of a specimen.

    measured:  at least one line, in any order.
    tolerance: relative difference from the scaled prediction that still agrees.
    count:     how many modes to compare with; by default all that the list can reach.
    families:  of a beam; default flatwise bending.

    Raises PredictionError where the specimen cannot be predicted.
    """
    outcome = _checked(specimen, measured, tolerance, theory, count, families, LARGEST_SCALE)
    counted = sum(bool(line.counts) for line in measured)
    if counted >= 3 and _left_over(outcome) > len(measured) / 2:
        wide = _checked(specimen, measured, tolerance, theory, count, families, WIDE_SCALE)
        if _left_over(wide) < len(measured) / 2:
            return wide
    return outcome


def _left_over(outcome: Identification) -> int:
    return sum(match.mode is None for match in outcome.matches)


def _checked(
    specimen: Specimen,
    measured: Sequence[Measured],
    tolerance: float,
    theory: str | None,
    count: int | None,
    families: Sequence[str] | None,
    largest_scale: float,
) -> Identification:
    """The identification with the common factor within a range."""
    highest = max(line.frequency_hz for line in measured) * largest_scale
    modes = (
        find_modes(specimen, below_hz=highest, beyond=BEYOND, theory=theory, families=families)
        if count is None
        else find_modes(specimen, count=count, theory=theory, families=families)
    )
    known: dict[int, Mapping[str, int | None]] = {}

    def counts(mode: Mode) -> Mapping[str, int | None]:
        if mode.rank not in known:
            known[mode.rank] = pattern_of(mode.shape).counts
        return known[mode.rank]

    shares = excitation(modes) or []
    unexcited = {
        mode.rank for mode, share in zip(modes.modes, shares, strict=False) if share < NOT_EXCITED
    }
    return identify(
        measured,
        modes.modes,
        counts=counts,
        tolerance=tolerance,
        unexcited=unexcited,
        largest_scale=largest_scale,
    )


COUNTED = {
    "beam": ("nodes",),
    "plate": ("lines_x", "lines_y"),
    "disc": ("diameters", "circles"),
}
"""What is counted on each kind of specimen."""


def refuse_foreign_counts(specimen: Specimen, measured: MeasuredList) -> None:
    """Complain about counts that do not belong to this kind of specimen; raises InputError."""
    due = COUNTED[specimen.kind]
    log = Log(measured.path)
    for row in measured.rows:
        for key in row.counts:
            if key not in due:
                log.add(
                    row.place,
                    f"{key} is not counted on a {specimen.kind}; there it is {' and '.join(due)}",
                )
    log.raise_if_any()
