"""Where a plate's shape is singular, and which singular functions its supports and masses call for.

A force at a point, be it of a support or of a mass, calls for functions like r^2 ln r. A stud that
also holds the slope, or the foot of a thing that turns, is a rigid patch: the plate begins at its
rim. Near an edge images count.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import product

from saltline.corners import Ray, corner_source
from saltline.cubature import Rule, Spot, disc_rule
from saltline.potentials import Roots, Source, roots
from saltline.singular import Blend, Singular, make_blend
from saltline.sources import edge_source, line_end_source, patch_source, point_source
from saltline.specimen import Attachment, Hold, Specimen, Support
from saltline.stiffness import Stiffness

AXIS_EDGES = (("left", "right"), ("bottom", "top"))
"""The edges that close each axis."""

SAME = 1e-9
"""Two places nearer than this fraction of the plate are one."""


NEAR = 0.2
"""Nearer to an edge than this fraction of the shortest side, a support is mirrored in it."""


@dataclass(frozen=True, slots=True)
class Patch:
    """A rigid patch on a plate: its centre and radius, m, and whether it stands still."""

    at: tuple[float, float]
    radius: float
    is_still: bool


def patches(specimen: Specimen) -> list[Patch]:
    """The rigid patches by which the plate's slope is held, or on which a thing stands."""
    things: list[Support | Attachment] = [*specimen.supports, *specimen.attached]
    return [
        Patch(
            place_of(thing),
            thing.diameter.value / 2.0,
            isinstance(thing, Support) and thing.hold.word == "clamped",
        )
        for thing in things
        if thing.diameter is not None
    ]


def patch_under(specimen: Specimen, at: tuple[float, float]) -> Patch | None:
    """The rigid patch on which a place lies; None where the plate bends."""
    found = (p for p in patches(specimen) if math.dist(p.at, at) < p.radius)
    return next(found, None)


def _points(specimen: Specimen) -> list[tuple[float, float]]:
    """Where a force acts on a point at which the plate bends and is not held already."""
    places = [place_of(s) for s in specimen.supports if s.diameter is None and not s.to]
    places += [
        place_of(thing)
        for thing in specimen.attached
        if patch_under(specimen, place_of(thing)) is None and not _is_held(specimen, thing)
    ]
    scale = min(specimen.geometry.size)
    apart: list[tuple[float, float]] = []
    for place in places:
        if all(math.dist(place, other) > SAME * scale for other in apart):
            apart.append(place)
    return apart


def is_pressed(specimen: Specimen) -> bool:
    """Whether a force acts at a point or on a patch of the plate."""
    return bool(patches(specimen) or _points(specimen))


def _is_held(specimen: Specimen, thing: Attachment) -> bool:
    """Whether a thing stands on an edge that does not move."""
    return any(
        math.isinf(specimen.boundary[edge].deflection.value)
        for edge in edges_at(specimen, place_of(thing))
    )


def spots(specimen: Specimen) -> list[Spot]:
    """Where functions are singular: patches, points, corners and the ends of lines.

    A force in a free corner bends the plate smoothly: it converges with polynomials alone.
    """
    found = [Spot(*patch.at, patch.radius) for patch in patches(specimen)]
    found += [Spot(*at) for at in _points(specimen) if len(edges_at(specimen, at)) < 2]
    found += [Spot(*corner.at) for corner in corners(specimen)]
    found += [Spot(*at) for s in specimen.supports for at, _ in _inner_line_ends(specimen, s)]
    scale = SAME * min(specimen.geometry.size)
    apart: list[Spot] = []
    for spot in found:
        if all(math.dist((spot.x, spot.y), (other.x, other.y)) > scale for other in apart):
            apart.append(spot)
    return apart


def _line_ends(specimen: Specimen, support: Support) -> list[tuple[tuple[float, float], complex]]:
    """The ends of a rigid support along a line, with the direction onward."""
    stiffnesses = (support.hold.deflection.value, support.hold.rotation.value)
    if not support.to or not any(map(math.isinf, stiffnesses)):
        return []
    start, end = place_of(support), (support.to[0].value, support.to[1].value)
    onward = complex(end[0] - start[0], end[1] - start[1])
    onward /= abs(onward)
    return [(start, -onward), (end, onward)]


def _inner_line_ends(
    specimen: Specimen, support: Support
) -> list[tuple[tuple[float, float], complex]]:
    """Those within the plate."""
    if _edge_along(specimen, support) is not None:
        return []
    ends = _line_ends(specimen, support)
    return [(at, ahead) for at, ahead in ends if -ahead not in _edges_under(specimen, at)]


def place_of(thing: Support | Attachment) -> tuple[float, float]:
    return thing.at[0].value, thing.at[1].value


INWARD = {"left": 1.0 + 0j, "right": -1.0 + 0j, "bottom": 1j, "top": -1j}
"""The direction into the plate from each edge."""


def edges_at(specimen: Specimen, at: tuple[float, float]) -> list[str]:
    """The edges on which a place lies."""
    found = []
    for (low, high), place, size in zip(AXIS_EDGES, at, specimen.geometry.size, strict=True):
        found += [low] if place <= SAME * size else []
        found += [high] if place >= size * (1.0 - SAME) else []
    return found


def _edges_under(specimen: Specimen, at: tuple[float, float]) -> list[complex]:
    """The direction into the plate from each edge on which a place lies."""
    return [INWARD[edge] for edge in edges_at(specimen, at)]


def _edge_along(specimen: Specimen, support: Support) -> str | None:
    """The edge on which a support along a line lies with the whole of it."""
    if not support.to:
        return None
    start = edges_at(specimen, place_of(support))
    end = edges_at(specimen, (support.to[0].value, support.to[1].value))
    return next((edge for edge in start if edge in end), None)


# -- corners --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Corner:
    """Where two ways of holding an edge meet: the edges on either side, and a way inward.

    fold: where a held line takes the place of one of the edges, the line and how the plate beyond
          it moves (see `Source`).
    """

    at: tuple[float, float]
    rays: tuple[Ray, Ray]
    inward: complex
    fold: tuple[int, float, int] | None = None


def corners(specimen: Specimen) -> list[Corner]:
    """Where the moments are singular: clamped edges meeting free ones, ends of held parts."""
    a, b = specimen.geometry.size
    found = []
    for x_edge, y_edge in product(*AXIS_EDGES):
        at = (a if x_edge == "right" else 0.0, b if y_edge == "top" else 0.0)
        holds = [_rigid(specimen.boundary[edge]) for edge in (x_edge, y_edge)]
        along, across = INWARD[y_edge], INWARD[x_edge]
        found.append(Corner(at, (Ray(along, holds[0]), Ray(across, holds[1])), along + across))
    for support in specimen.supports:
        edge = _edge_along(specimen, support)
        for at, ahead in _line_ends(specimen, support) if edge else []:
            assert edge is not None
            other = next((e for e in edges_at(specimen, at) if e != edge), None)
            beyond = (
                Ray(ahead, _rigid(specimen.boundary[edge]))
                if other is None
                else Ray(INWARD[edge], _rigid(specimen.boundary[other]))
            )
            inward = INWARD[edge] - (0.0 if other is None else ahead)
            found.append(Corner(at, (Ray(-ahead, _rigid(support.hold)), beyond), inward))
        found += _line_corners(specimen, support) if edge is None else []
    return [corner for corner in found if _is_singular(*corner.rays)]


def _line_corners(specimen: Specimen, support: Support) -> list[Corner]:
    """Where a held line within the plate runs into an edge.

    Motions that the line mirrors meet it as a clamped edge where it holds the deflection; those
    that it mirrors with the sign turned do where it holds the slope.
    """
    found = []
    for at, ahead in _line_ends(specimen, support):
        axis, across = (0, 1.0 + 0j) if ahead.real == 0.0 else (1, 1j)
        edge = next((e for e in edges_at(specimen, at) if INWARD[e] == -ahead), None)
        if edge is None:
            continue
        rays = (Ray(-ahead, (True, True)), Ray(across, _rigid(specimen.boundary[edge])))
        for parity, is_held in zip((1, -1), _rigid(support.hold), strict=True):
            if is_held:
                found.append(Corner(at, rays, across - ahead, (axis, at[axis], parity)))
    return found


def _rigid(hold: Hold) -> tuple[bool, bool]:
    return math.isinf(hold.deflection.value), math.isinf(hold.rotation.value)


def _is_singular(one: Ray, other: Ray) -> bool:
    """Whether the moments are: where edges in one line differ, or a clamped corner is half free."""
    if one.direction == -other.direction:
        return one.holds != other.holds
    return {one.holds, other.holds} == {(True, True), (False, False)}


# -- the singular functions -----------------------------------------------------------------------


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
        source for at, found in _sources(specimen, medium) if counts(at) for source in found
    )
    if not sources:
        return None
    blends = (_blend(specimen, 0), _blend(specimen, 1))
    return Singular(sources, blends, (int(mirrored[0]), int(mirrored[1])))


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
        for end, ahead in _inner_line_ends(specimen, support):
            holds = _rigid(support.hold)
            found.append((end, [line_end_source(end, shortest, mu, ahead, holds=holds)]))
    for patch in patches(specimen):
        order = highest_order(specimen, patch.radius)
        rim = patch_source(patch.at, patch.radius, mu, order)
        found.append((patch.at, [rim, *_images(specimen, patch.at, mu)]))
    for at in _points(specimen):
        edges = _edges_under(specimen, at)
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
