"""The motions of a specimen without strain that its supports leave free, mass-normalised."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import scipy.linalg

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.facts import facts
from saltline.forced.inertia import beam_rigid_inertia, own_mass
from saltline.forced.shapes import RigidShape
from saltline.modes import Modes
from saltline.record import record
from saltline.specimen import BeamGeometry, Hold, PlateGeometry, Specimen


@record
class RigidMotion:
    """One rigid-body mode: its shape, mass-normalised, and its inertia as in `inertia`."""

    shape: RigidShape
    inertia: Values


def rigid_motions(modes: Modes) -> tuple[RigidMotion, ...]:
    """The rigid-body modes out of the wide face.

    Of a disc only the even motion: what drives it at its centre turns it no more than it bends it.
    A beam under an axial preload has no free rotation.
    """
    specimen = modes.specimen
    M = _mass_matrix(modes)
    if M is None:
        return ()
    rows = [row[: len(M)] for row in _held(specimen)]
    if isinstance(specimen.geometry, BeamGeometry) and specimen.geometry.tension.value != 0.0:
        rows.append(np.array([0.0, 1.0]))
    scale = np.array([1.0, *(1.0 / size for size in specimen.geometry.size)])[: len(M)]
    free = scale[:, None] * np.eye(len(M))
    if rows:
        free = free @ scipy.linalg.null_space(np.vstack(rows) @ free, rcond=1e-9)
    factor = np.linalg.cholesky(free.T @ M @ free)
    coefficients = scipy.linalg.solve_triangular(factor, free.T, lower=True)
    return tuple(_motion(c, M) for c in coefficients)


def _motion(c: Values, M: Values) -> RigidMotion:
    padded, moments = np.zeros(3), np.zeros(3)
    padded[: c.size], moments[: c.size] = c, M @ c
    return RigidMotion(RigidShape((float(padded[0]), float(padded[1]), float(padded[2]))), moments)


def _mass_matrix(modes: Modes) -> Values | None:
    """Of the motions 1, x and y as far as the specimen has them; None where none is driven."""
    specimen = modes.specimen
    if isinstance(specimen.geometry, BeamGeometry):
        for mode in modes.modes:
            if mode.family == "flatwise" and isinstance(mode.shape, BeamShape):
                assert mode.problem is not None
                return beam_rigid_inertia(mode.problem, mode.shape.line)
        return None
    if isinstance(specimen.geometry, PlateGeometry):
        return _plate_mass_matrix(specimen)
    return np.array([[facts(specimen).mass_kg]])


def _plate_mass_matrix(specimen: Specimen) -> Values:
    a, b = specimen.geometry.size
    even = np.array([1.0, a / 2.0, b / 2.0])
    M = own_mass(specimen) * (np.outer(even, even) + np.diag([0.0, a**2 / 12.0, b**2 / 12.0]))
    for thing in specimen.attached:
        x, y = (place.value for place in thing.at)
        row = np.array([1.0, x, y])
        M += thing.mass.value * np.outer(row, row)
        M += thing.rotary_inertia.value * np.diag([0.0, 1.0, 1.0])
    return np.asarray(M)


# -- what is held ---------------------------------------------------------------------------------


def _held(specimen: Specimen) -> Iterator[Values]:
    """What the holds read of the motions 1, x and y: every row must vanish."""
    size = specimen.geometry.size
    if len(size) == 1:
        ends = {"start": (0.0,), "end": (size[0],)}
        for name, at in ends.items():
            yield from _reads(specimen.boundary[name], [at], [0])
    elif len(size) == 2:
        yield from _plate_edges(specimen, *size)
    else:
        for hold in specimen.boundary.values():
            yield from _reads(hold, [()], [])
    for support in specimen.supports:
        places = [tuple(q.value for q in place) for place in (support.at, support.to) if place]
        slopes = list(range(len(size)))
        if support.to:  # it holds the slope across its line
            slopes = [n for n in slopes if places[0][n] == places[1][n]]
        yield from _reads(support.hold, places or [()], slopes)


def _plate_edges(specimen: Specimen, a: float, b: float) -> Iterator[Values]:
    edges = {
        "left": ([(0.0, 0.0), (0.0, b)], 0),
        "right": ([(a, 0.0), (a, b)], 0),
        "bottom": ([(0.0, 0.0), (a, 0.0)], 1),
        "top": ([(0.0, b), (a, b)], 1),
    }
    for name, (ends, across) in edges.items():
        yield from _reads(specimen.boundary[name], ends, [across])


def _reads(
    hold: Hold, places: Sequence[tuple[float, ...]], slopes: Sequence[int]
) -> Iterator[Values]:
    """Rows of a hold at some places, and of the slopes along the axes that it holds."""
    if hold.deflection.value > 0.0:
        for place in places:
            yield np.array([1.0, *place, 0.0, 0.0])[:3]
    if hold.rotation.value > 0.0:
        for axis in slopes:
            yield np.eye(3)[axis + 1]
