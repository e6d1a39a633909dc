"""Where a plate's shape is singular, and which singular functions its supports and masses call for.

A force at a point, be it of a support or of a mass, calls for functions like r^2 ln r. A stud that
also holds the slope, or the foot of a thing that turns, is a rigid patch: the plate begins at its
rim. Near an edge images count.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.plates.corners import corner_source
from saltline.plates.cubature import Rule, Spot, disc_rule
from saltline.plates.plate_corners import corners, rigid_holds
from saltline.plates.plate_places import (
    AXIS_EDGES,
    SAME,
    directions_in,
    edges_at,
    force_points,
    inner_line_ends,
    patches,
)
from saltline.plates.potentials import Roots, Source, roots
from saltline.plates.singular import Blend, Singular, make_blend
from saltline.plates.sources import edge_source, line_end_source, patch_source, point_source
from saltline.plates.stiffness import Stiffness
from saltline.specimen import Specimen

SOME_PLACES = np.array([[0.11, 0.23, 0.37, -0.08], [-0.31, 0.17, 0.29, -0.12]])
"""Places, from the middle in parts of the sides: a function that is even or odd at all of them is
so everywhere."""

NEAR = 0.2
"""Nearer to an edge than this fraction of the shortest side, a support is mirrored in it."""


def spots(specimen: Specimen) -> list[Spot]:
    """Where functions are singular: patches, points, corners and the ends of lines.

    A force in a free corner bends the plate smoothly: it converges with polynomials alone.
    """
    found = [Spot(*patch.at, patch.radius) for patch in patches(specimen)]
    found += [Spot(*at) for at in force_points(specimen) if len(edges_at(specimen, at)) < 2]
    found += [Spot(*corner.at) for corner in corners(specimen)]
    found += [Spot(*at) for s in specimen.supports for at, _ in inner_line_ends(specimen, s)]
    scale = SAME * min(specimen.geometry.size)
    apart: list[Spot] = []
    for spot in found:
        if all(math.dist((spot.x, spot.y), (other.x, other.y)) > scale for other in apart):
            apart.append(spot)
    return apart


def singular_functions(
    specimen: Specimen, medium: Stiffness, mirrored: tuple[bool, bool]
) -> Singular | None:
    """The singular functions that supports and masses call for, all even; None without any.

    medium:   the plate's stiffnesses, that set their angles and powers.
    mirrored: whether the plate is its own mirror image along x and along y.
    """
    middles = [size * (0.5 + SAME) for size in specimen.geometry.size]

    def counts(at: tuple[float, float]) -> bool:
        """Whether it is the one of a set of mirror images that has functions of its own."""
        places = zip(at, middles, mirrored, strict=True)
        return all(place <= middle or not is_mirrored for place, middle, is_mirrored in places)

    sources = tuple(
        _with_parities(source, specimen, mirrored)
        for at, found in _sources(specimen, medium)
        if counts(at)
        for source in found
    )
    if not sources:
        return None
    blends = (_blend(specimen, 0), _blend(specimen, 1))
    return Singular(sources, blends, (int(mirrored[0]), int(mirrored[1])))


def _with_parities(source: Source, specimen: Specimen, mirrored: tuple[bool, bool]) -> Source:
    """The source with what its functions are about those middles in which the plate is mirrored."""
    a, b = specimen.geometry.size
    x, y = a * (0.5 + SOME_PLACES[0]), b * (0.5 + SOME_PLACES[1])
    values = source.jets(x, y, [(0, 0)])[0]
    found: list[Values | None] = [None, None]
    for axis, is_mirrored in enumerate(mirrored):
        if is_mirrored:
            there = (a - x, y) if axis == 0 else (x, b - y)
            image = source.jets(*there, [(0, 0)])[0]
            sign = np.sign(np.einsum("pi,pi->i", image, values))
            apart = np.abs(image - sign * values).max(axis=0)
            if np.all(apart < 1e-9 * np.abs(values).max(axis=0)):
                found[axis] = sign
    return replace(source, own=(found[0], found[1]))


def _sources(
    specimen: Specimen, medium: Stiffness
) -> list[tuple[tuple[float, float], list[Source]]]:
    """The functions of each support, mass and corner, by place."""
    shortest = min(specimen.geometry.size)
    mu = roots(medium.Dx, medium.H, medium.Dy)
    found: list[tuple[tuple[float, float], list[Source]]] = []
    for corner in corners(specimen):
        own = corner_source(corner.at, shortest, medium, mu, corner.rays, corner.inward)
        found.append((corner.at, [replace(own, fold=corner.fold)]))
    for support in specimen.supports:
        for end, ahead in inner_line_ends(specimen, support):
            holds = rigid_holds(support.hold)
            found.append((end, [line_end_source(end, shortest, mu, ahead, holds=holds)]))
    for patch in patches(specimen):
        order = highest_order(specimen, patch.radius)
        rim = patch_source(patch.at, patch.radius, mu, order)
        found.append((patch.at, [rim, *_images(specimen, patch.at, mu)]))
    for at in force_points(specimen):
        edges = directions_in(specimen, at)
        if len(edges) < 2:
            source = (
                edge_source(at, shortest, mu, edges[0]) if edges else point_source(at, shortest, mu)
            )
            found.append((at, [source, *_images(specimen, at, mu)]))
    return found


def _images(specimen: Specimen, at: tuple[float, float], mu: Roots) -> list[Source]:
    """The images of a place in the edges near by."""
    shortest = min(specimen.geometry.size)
    found = []
    for axis, size in enumerate(specimen.geometry.size):
        for edge, inward in ((0.0, 1.0 + 0j), (size, -1.0 + 0j)):
            if SAME * size < abs(at[axis] - edge) < NEAR * shortest:
                beyond = 2.0 * edge - at[axis]
                place = (at[0], beyond) if axis else (beyond, at[1])
                turned = inward * (1j if axis else 1.0)
                found.append(edge_source(place, shortest, mu, turned, is_image=True))
    return found


def highest_order(specimen: Specimen, radius: float) -> int:
    """The order of cos(n theta) up to which a patch's rim is followed."""
    return 4 + math.ceil(8.0 * radius / min(specimen.geometry.size))


def _blend(specimen: Specimen, axis: int) -> Blend:
    held = []
    for end, edge in enumerate(AXIS_EDGES[axis]):
        hold = specimen.boundary[edge]
        for order, stiffness in enumerate((hold.deflection, hold.rotation)):
            held += [(end, order)] if math.isinf(stiffness.value) else []
    return make_blend(specimen.geometry.size[axis], held)


def left_out(specimen: Specimen, degrees: float) -> list[Rule]:
    """A rule over each patch; degrees: the polynomials' over the plate's shortest side."""
    shortest = min(specimen.geometry.size)
    return [
        disc_rule(spot, degrees * spot.radius / shortest)
        for spot in spots(specimen)
        if spot.radius > 0.0
    ]
