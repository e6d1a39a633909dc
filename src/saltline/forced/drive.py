"""How strongly the exciter drives each mode: through a point, or through the supports.

A force at a point does work on a mode in proportion to the mode's deflection there; supports that
move together do so in proportion to the mode's participation, the mass-weighted integral of its
shape.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.facts import facts
from saltline.forced.inertia import inertia, rough_inertia
from saltline.forced.shapes import RigidShape, deflections_of, largest
from saltline.modes import Mode, Modes, Shape
from saltline.specimen import Specimen

NOT_EXCITED = 1e-3
"""Below this a mode is not excited by the drive; symmetry makes it nothing but for rounding."""


def excitation(modes: Modes) -> list[float] | None:
    """How strongly the specimen's drive excites each mode, 0 to 1; None where no drive is stated.

    Through a point: the deflection there over the largest. Through the boundary: the root of the
    effective mass over the whole mass.
    """
    drive = modes.specimen.drive
    if drive is None:
        return None
    works = np.abs(driving_works(modes.modes, modes.specimen))
    if drive.through == "point":
        return [
            float(work) / largest(mode.shape) for work, mode in zip(works, modes.modes, strict=True)
        ]
    return [float(work) for work in works / facts(modes.specimen).mass_kg ** 0.5]


def driving_work(mode: Mode, specimen: Specimen) -> float:
    """What the drive works on a mass-normalised mode, with its sign; see `driving_works`."""
    return float(driving_works([mode], specimen)[0])


def driving_works(modes: Sequence[Mode], specimen: Specimen) -> Values:
    """What the drive works on mass-normalised modes, with signs, shape (modes,).

    Through a point: the deflection there, per root of kg. Through the boundary, also where no drive
    is stated: the participation, root of kg.
    """
    drive = specimen.drive
    if drive is None or drive.through == "boundary":
        return inertia(modes, specimen)[:, 0]
    return pushed([mode.shape for mode in modes], driving_place(specimen))


def rough_driving_works(modes: Sequence[Mode], specimen: Specimen) -> Values:
    """The same in haste; see `rough_inertia`."""
    drive = specimen.drive
    if drive is None or drive.through == "boundary":
        return rough_inertia(modes, specimen)[:, 0]
    return driving_works(modes, specimen)


def driving_place(specimen: Specimen) -> Values:
    """Where a drive through a point pushes, shape (1, dimensions), m; a disc's at its centre."""
    assert specimen.drive is not None
    return np.array([[place.value for place in specimen.drive.at] or [0.0]])


def pushed(shapes: Sequence[Shape | RigidShape], at: Values) -> Values:
    """The deflections at one place in the direction of the force: out of the wide face."""
    found = deflections_of(shapes, at)[:, 0]
    for n, shape in enumerate(shapes):
        if isinstance(shape, BeamShape) and shape.family != "flatwise":
            found[n] = 0.0
    return np.asarray(found)
