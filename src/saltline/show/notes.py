"""What is remarked on a list of predicted modes: shear, other motions, soft ends, odd units."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from saltline.facts import doubts
from saltline.modes import Modes
from saltline.show.table import significant
from saltline.specimen import BeamGeometry, Specimen

SHEAR_SEEN = 0.01
"""Where there is no band, an effect of shear larger than this is pointed out."""


def shear_note(modes: Modes, data: Sequence[dict[str, Any]]) -> tuple[str, ...]:
    """From which mode on the simpler theory is off by more than the tolerances explain."""
    first: dict[str, str] = {}
    for mode, row in zip(modes.modes, data, strict=True):
        euler = row.get("euler_hz")
        if euler is None or mode.family in first:
            continue
        high = row["high_hz"]
        limit = high if high is not None else (1.0 + SHEAR_SEEN) * mode.frequency_hz
        if euler > limit:
            than = "the band" if high is not None else f"{100.0 * SHEAR_SEEN:g} %"
            first[mode.family] = f"{mode.family} {mode.order}"
    if not first:
        return ()
    return (
        f"from {' and '.join(first.values())} on, Euler\u2013Bernoulli's frequency is too high "
        f"by more than {than}",
    )


def other_families(modes: Modes, others: Mapping[str, float]) -> tuple[str, ...]:
    """What else lies in the range of the list."""
    highest = max((mode.frequency_hz for mode in modes.modes), default=0.0)
    inside = {family: hz for family, hz in others.items() if hz <= highest}
    is_round = _is_round(modes.specimen)
    if is_round:
        inside.pop("edgewise", None)
    said = ", ".join(
        f"{family} from {significant(4)(hz)} Hz"
        for family, hz in sorted(inside.items(), key=lambda item: item[1])
    )
    notes = []
    if is_round and any(mode.family in ("flatwise", "edgewise") for mode in modes.modes):
        notes.append("the section is round: each bending mode occurs in two directions")
    if said:
        notes.append(f"in this range the beam also moves in other ways: {said}; --all lists them")
    return tuple(notes)


def soft_ends_note(modes: Modes, others: Mapping[str, float]) -> tuple[str, ...]:
    """That an elastic end turns as easily in one plane as in the other, which a clamp does not."""
    soft = [
        name
        for name, hold in modes.specimen.boundary.items()
        if 0.0 < hold.rotation.value < math.inf
    ]
    highest = max((mode.frequency_hz for mode in modes.modes), default=0.0)
    listed = any(mode.family == "edgewise" for mode in modes.modes)
    if not soft or not (listed or others.get("edgewise", math.inf) <= highest):
        return ()
    return (
        f"the rotation stiffness at {' and '.join(soft)} counts for edgewise bending too; a real "
        "clamp is mostly stiffer in that plane, and edgewise frequencies are then higher",
    )


def unit_note(modes: Modes) -> tuple[str, ...]:
    """A question where a specimen is like none that stands on an exciter."""
    odd = doubts(modes)
    return (f"{'; '.join(odd)}: are all units as you mean them?",) if odd else ()


def _is_round(specimen: Specimen) -> bool:
    """Whether a beam is a rod or a tube throughout."""
    geometry = specimen.geometry
    return isinstance(geometry, BeamGeometry) and all(
        segment.section_start.shape in ("rod", "tube") for segment in geometry.segments
    )
