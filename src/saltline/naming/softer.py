"""Whether a clamp that gives explains a list that a rigid one does not."""

from __future__ import annotations

import math
from collections.abc import Mapping

from saltline.modes import Modes
from saltline.naming.check import named
from saltline.naming.identify import LARGEST_SCALE, Identification, Match
from saltline.quantities_of import with_values
from saltline.record import record
from saltline.section import section_properties
from saltline.specimen import BeamGeometry, PredictionError, Specimen

RATIOS = (100.0, 56.0, 32.0, 18.0, 10.0, 5.6, 3.2, 1.8, 1.0)
"""Rotational stiffnesses of a clamp that are tried first, in E I / L, ..."""

FINER = (0.75, 0.87, 1.15, 1.33)
"""... then so many times the best of them, ..."""

FINEST = (0.94, 1.07)
"""... and so many times the best of those."""

ENOUGH = 4
"""So many lines at least must be explained."""

MORE = 2
"""So many lines more than with the rigid clamp must be explained, or else all of them."""

UNTOLD = 0.2
"""... and no more than this part of the list may be left."""

EVEN = 0.01
"""How far the lines may scatter about it, root of the mean square: it has two things to choose."""

LOWEST = 3
"""Of the lowest so many lines one at least is not explained: a soft clamp moves these most."""

MOST_LINES = 30
"""A longer list is not looked at: it is no list of resonances that were found one by one."""


@record
class SoftClamp:
    """A clamp that gives and explains a list.

    ends:      which ends are clamped by the file; stiffness: of each against rotation, N m/rad.
    ranks:     of each row the rank that it then has, None where it has none.
    explained: how many rows then have a sure name and agree; before: how many with the rigid one.
    """

    ends: tuple[str, ...]
    stiffness: float
    ranks: tuple[int | None, ...]
    explained: int
    before: int


def soft_clamp(outcome: Identification) -> SoftClamp | None:
    """The softness of a beam's clamps that explains a list best, where a rigid clamp does not.

    None where it is no beam in a clamp, where the lowest lines agree anyway, or where no softness
    explains most of them.
    """
    modes, rows = outcome.modes, len(outcome.matches)
    if modes is None or not isinstance(modes.specimen.geometry, BeamGeometry):
        return None
    ends = tuple(name for name, hold in modes.specimen.boundary.items() if hold.word == "clamped")
    if not ends or not ENOUGH <= rows <= MOST_LINES or not _lowest_miss(outcome):
        return None
    before = _explained(outcome)
    unit = _stiffness_of(modes.specimen, ends[0])
    tried: dict[float, Identification] = {}

    def scored(ratio: float) -> tuple[int, float]:
        if ratio not in tried:
            tried[ratio] = _with_clamp(outcome, modes, dict.fromkeys(ends, ratio * unit))
        return _explained(tried[ratio]), -_scatter(tried[ratio])

    try:
        best = max(RATIOS, key=scored)
        if scored(best)[0] <= before:
            return None
        for factors in (FINER, FINEST):
            best = max(best, *(factor * best for factor in factors), key=scored)
    except PredictionError:  # so soft a clamp lets a compressed beam buckle
        return None
    explained, scatter = scored(best)
    enough = explained == rows or explained >= before + MORE
    if not enough or explained < (1.0 - UNTOLD) * rows or -scatter > EVEN:
        return None
    ranks = [None if match.mode is None else match.mode.rank for match in tried[best].matches]
    return SoftClamp(ends, best * unit, tuple(ranks), explained, before)


def _with_clamp(
    outcome: Identification, modes: Modes, stiffness: Mapping[str, float]
) -> Identification:
    """The same list with clamps that give.

    stiffness: end -> N m/rad.
    """
    changed = {f"boundary.{end}.rotation": value for end, value in stiffness.items()}
    return named(
        with_values(modes.specimen, changed),
        outcome.measured,
        LARGEST_SCALE,
        tolerance=outcome.tolerance,
        theory=modes.theory,
        count=None,
        families=tuple(dict.fromkeys(mode.family for mode in modes.modes)),
    )


def soft_clamp_words(found: SoftClamp, rows: int) -> str:
    """What was found, and what to write into the file.

    rows: how many the list has.
    """
    stiffness = f"{float(f'{found.stiffness:.1e}'):g} N m/rad"
    holds = ", ".join(f"{end}: {{deflection: rigid, rotation: {stiffness}}}" for end in found.ends)
    names = " ".join(f"--quantity boundary.{end}.rotation" for end in found.ends)
    who = f"all {rows}" if found.explained == rows else f"{found.explained} of {rows}"
    return (
        f"a clamp that gives, some {stiffness}, would explain {who} rows, where the rigid one "
        f"explains {found.before}: write {holds} under boundary, and let saltline fit {names} find "
        "the stiffness"
    )


def _explained(outcome: Identification) -> int:
    return sum(_is_explained(match) for match in outcome.matches)


def _is_explained(match: Match) -> bool:
    return match.finding == "agrees" and match.is_sure


def _lowest_miss(outcome: Identification) -> bool:
    matches = sorted(outcome.matches, key=lambda match: match.measured.frequency_hz)
    return not all(_is_explained(match) for match in matches[:LOWEST])


def _scatter(outcome: Identification) -> float:
    squares = [match.residual**2 for match in outcome.matches if match.mode is not None]
    return math.sqrt(sum(squares) / len(squares)) if squares else math.inf


def _stiffness_of(specimen: Specimen, end: str) -> float:
    """E I / L of a beam at one of its ends, N m/rad."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    first, last = geometry.segments[0], geometry.segments[-1]
    section = first.section_start if end == "start" else last.section_end
    I = float(section_properties(section, specimen.material.poisson_ratio.value).I)
    return specimen.material.youngs_modulus.value * I / geometry.length
