"""What a drive makes of two modes of one frequency: the mixture it excites and the one it cannot.

A force works on a pair's two shapes by their deflections where it acts; the mixture in proportion
to those takes all of the force, and the mixture at right angles to it none. Grains on the plate
show the first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Values
from saltline.modes import Mode, Modes
from saltline.solver import find_modes
from saltline.specimen import Specimen

if TYPE_CHECKING:
    from saltline.plates.plate_shape import PlateShape


def as_driven(modes: Modes) -> Modes:
    """The modes with each pair of one frequency turned to what the specimen's drive makes of it.

    Without a drive, or where the drive moves neither of a pair, nothing changes.
    """
    if modes.specimen.drive is None:
        return modes
    from saltline.turning import ONE_FREQUENCY  # without a drive nothing waits for it

    turned = list(modes.modes)
    for i, (one, other) in enumerate(pairwise(modes.modes)):
        if other.frequency_hz <= (1.0 + ONE_FREQUENCY) * one.frequency_hz:
            turned[i : i + 2] = _turned(modes, turned[i], other)
    return replace(modes, modes=tuple(turned))


def listed_modes(
    specimen: Specimen,
    *,
    count: int | None,
    below_hz: float | None,
    theory: str | None,
    families: Sequence[str] | None,
) -> tuple[Modes, Modes]:
    """The modes asked for as they are driven, and the same with one more of a plate's.

    The further one may be the partner of the last. See `find_modes` for the arguments; count is 8
    where neither it nor below_hz is given.
    """
    more = 1 if specimen.kind == "plate" else 0
    wanted = count or 8
    known = as_driven(
        find_modes(
            specimen,
            count=wanted + more,
            below_hz=below_hz,
            beyond=more,
            theory=theory,
            families=families,
        )
    )
    inside = sum(m.frequency_hz <= below_hz for m in known.modes) if below_hz else wanted
    return replace(known, modes=known.modes[:inside]), known


def _turned(modes: Modes, one: Mode, other: Mode) -> list[Mode]:
    """The excited mixture and the one that is not, in place of two plate modes."""
    from saltline.forced.drive import driving_work
    from saltline.mixed_shape import MixedShape
    from saltline.plates.plate_shape import PlateShape

    u, v = one.shape, other.shape
    if not (isinstance(u, PlateShape) and isinstance(v, PlateShape)):
        return [one, other]
    works = np.array([driving_work(mode, modes.specimen) for mode in (one, other)])
    size = float(np.linalg.norm(works))
    if size < 1e-6 * max(float(np.abs(shape.at(*_grid(shape))).max()) for shape in (u, v)):
        return [one, other]
    a, b = (float(work) for work in works / size)
    first, second = MixedShape(((u, a), (v, b))), MixedShape(((u, -b), (v, a)))
    return [replace(one, shape=first), replace(other, shape=second)]


def _grid(shape: PlateShape) -> tuple[Values, Values]:
    return (
        np.linspace(0.0, shape.x.breaks[-1], 31),
        np.linspace(0.0, shape.y.breaks[-1], 31),
    )
