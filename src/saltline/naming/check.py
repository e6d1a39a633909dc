"""A measured list against a specimen: as many modes as the list needs, and the identification."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import cache, partial

from saltline.forced.drive import NOT_EXCITED, excitation
from saltline.measured_list import Measured
from saltline.modes import Modes
from saltline.naming.identify import LARGEST_SCALE, WIDE_SCALE, Identification, identify
from saltline.naming.unseen import unseen
from saltline.nodes import pattern_of
from saltline.planning.rig import Rig
from saltline.solver import find_modes
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
    rig: Rig | None = None,
) -> Identification:
    """Name every measured line of a specimen.

    measured:  at least one line, in any order.
    tolerance: relative difference from the scaled prediction that still agrees.
    count:     how many modes to compare with; by default all that the list can reach.
    families:  of a beam; default flatwise bending.
    rig:       where the sensor sits and what the exciter reaches, to explain what was not seen.

    Raises PredictionError where the specimen cannot be predicted.
    """
    within = partial(
        named,
        specimen,
        measured,
        tolerance=tolerance,
        theory=theory,
        count=count,
        families=families,
    )
    outcome = within(LARGEST_SCALE)
    counted = sum(bool(line.counts) for line in measured)
    if counted >= 3 and _left_over(outcome) > len(measured) / 2:
        wide = within(WIDE_SCALE)
        if _left_over(wide) < len(measured) / 2:
            outcome = wide
    assert outcome.modes is not None
    return replace(outcome, unseen=unseen(outcome.modes, outcome, rig=rig))


def named(
    specimen: Specimen,
    measured: Sequence[Measured],
    largest_scale: float,
    *,
    tolerance: float,
    theory: str | None,
    count: int | None,
    families: Sequence[str] | None,
) -> Identification:
    """The lines with the common factor within one range, and nothing said of what was not seen.

    largest_scale: how far the factor may lie from 1; the rest as for `check`.
    """
    highest = max(line.frequency_hz for line in measured)
    below = {"below_hz": highest * largest_scale, "beyond": BEYOND}
    asked = below if count is None else {"count": count}
    modes = find_modes(specimen, theory=theory, families=families, **asked)
    return _identified(measured, modes, tolerance, largest_scale)


def _left_over(outcome: Identification) -> int:
    return sum(match.mode is None for match in outcome.matches)


def _identified(
    measured: Sequence[Measured], modes: Modes, tolerance: float, largest_scale: float
) -> Identification:
    """The identification with the common factor within a range."""

    @cache
    def counts(rank: int) -> Mapping[str, int | None]:
        return pattern_of(by_rank[rank].shape).counts

    by_rank = {mode.rank: mode for mode in modes.modes}
    shares = excitation(modes) or []
    unexcited = {
        mode.rank for mode, share in zip(modes.modes, shares, strict=False) if share < NOT_EXCITED
    }
    outcome = identify(
        measured,
        modes.modes,
        counts=lambda mode: counts(mode.rank),
        tolerance=tolerance,
        unexcited=unexcited,
        largest_scale=largest_scale,
    )
    return replace(outcome, modes=modes)
