"""A measured list against a specimen: as many modes as the list needs, and the identification."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from saltline.drive import NOT_EXCITED, excitation
from saltline.identify import LARGEST_SCALE, Identification, identify
from saltline.measured import Measured
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
    highest = max(line.frequency_hz for line in measured) * LARGEST_SCALE
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
    return identify(measured, modes.modes, counts=counts, tolerance=tolerance, unexcited=unexcited)
