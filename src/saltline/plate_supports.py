"""What holds a plate away from its edges, and what is attached to it.

A support at a point in deflection calls for functions like r^2 ln r. One that also holds the slope
is a stud or a washer: a rigid patch, the plate beginning at its rim. The patch moves as
A + B x + C y, which is read off the rim; a rim that is not so bent is tied to be.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from saltline.arrays import Values
from saltline.basis import gauss
from saltline.cubature import Rule, Spot, disc_rule
from saltline.functional import Functional
from saltline.plate_space import Space
from saltline.potentials import (
    Roots,
    Source,
    edge_source,
    line_end_source,
    patch_source,
    point_source,
)
from saltline.singular import Blend, Singular, make_blend
from saltline.specimen import Attachment, Hold, Specimen, Support

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
    """The rigid patches by which the plate's slope is held."""
    return [
        Patch(_place(s), s.diameter.value / 2.0, s.hold.word == "clamped")
        for s in specimen.supports
        if s.diameter is not None
    ]


def spots(specimen: Specimen) -> list[Spot]:
    """Where functions are singular: patches, points but for those in corners, ends of lines.

    In a corner the plate bends smoothly: it converges with polynomials alone.
    """
    found = [Spot(*patch.at, patch.radius) for patch in patches(specimen)]
    points = [s for s in specimen.supports if s.diameter is None and not s.to]
    found += [Spot(*_place(s)) for s in points if len(_edges_under(specimen, _place(s))) < 2]
    return found + [Spot(*at) for s in specimen.supports for at, _ in _line_ends(specimen, s)]


def _line_ends(specimen: Specimen, support: Support) -> list[tuple[tuple[float, float], complex]]:
    """The ends of a rigid support along a line within the plate, with the direction onward.

    An end on an edge across the line is as smooth as the corner of a pinned plate. A line on an
    edge that also holds the slope has other powers than those known here: graded elements serve.
    """
    stiffnesses = (support.hold.deflection.value, support.hold.rotation.value)
    if not support.to or not any(map(math.isinf, stiffnesses)):
        return []
    start, end = _place(support), (support.to[0].value, support.to[1].value)
    under = [_edges_under(specimen, place) for place in (start, end)]
    if _is_on_an_edge(specimen, support) and stiffnesses[1] > 0.0:
        return []
    onward = complex(end[0] - start[0], end[1] - start[1])
    onward /= abs(onward)
    return [
        (place, ahead)
        for place, ahead, edges in ((start, -onward, under[0]), (end, onward, under[1]))
        if -ahead not in edges
    ]


def _place(thing: Support | Attachment) -> tuple[float, float]:
    return thing.at[0].value, thing.at[1].value


def _edges_under(specimen: Specimen, at: tuple[float, float]) -> list[complex]:
    """The direction into the plate from each edge on which a place lies."""
    found = []
    for axis, (place, size) in enumerate(zip(at, specimen.geometry.size, strict=True)):
        inward = 1j if axis else 1.0 + 0j
        found += [inward] if place <= SAME * size else []
        found += [-inward] if place >= size * (1.0 - SAME) else []
    return found


def _is_on_an_edge(specimen: Specimen, support: Support) -> bool:
    """Whether a support along a line lies on an edge with the whole of it."""
    start = _edges_under(specimen, _place(support))
    end = _edges_under(specimen, (support.to[0].value, support.to[1].value))
    return any(edge in end for edge in start)


def clamped_ends(specimen: Specimen) -> list[tuple[float, float]]:
    """The ends of supports along an edge that also hold the slope, on that edge."""
    found = []
    for support in specimen.supports:
        if support.to and support.hold.rotation.value > 0.0:
            ends = [_place(support), (support.to[0].value, support.to[1].value)]
            found += ends if _is_on_an_edge(specimen, support) else []
    return found


# -- the singular functions -----------------------------------------------------------------------


def singular_functions(
    specimen: Specimen, mu: Roots, mirrored: tuple[bool, bool]
) -> Singular | None:
    """The singular functions that the supports call for, all even; None where there are none.

    mu:       roots of the plate's characteristic equation (`potentials.roots`).
    mirrored: whether the plate is its own mirror image along x and along y.
    """
    middles = [size * (0.5 + SAME) for size in specimen.geometry.size]

    def counts(at: tuple[float, float]) -> bool:
        """Whether it is the one of a set of mirror images that has functions of its own."""
        places = zip(at, middles, mirrored, strict=True)
        return all(place <= middle or not is_mirrored for place, middle, is_mirrored in places)

    sources = tuple(
        source
        for support in specimen.supports
        for at, found in _sources(specimen, support, mu)
        if counts(at)
        for source in found
    )
    if not sources:
        return None
    blends = (_blend(specimen, 0), _blend(specimen, 1))
    return Singular(sources, blends, (int(mirrored[0]), int(mirrored[1])))


def _sources(
    specimen: Specimen, support: Support, mu: Roots
) -> list[tuple[tuple[float, float], list[Source]]]:
    """The functions of one support, by place."""
    at, shortest = _place(support), min(specimen.geometry.size)
    if support.to:
        hold = support.hold
        holds = (math.isinf(hold.deflection.value), math.isinf(hold.rotation.value))
        on_edge = _is_on_an_edge(specimen, support)
        return [
            (end, [line_end_source(end, shortest, mu, ahead, holds=holds, on_edge=on_edge)])
            for end, ahead in _line_ends(specimen, support)
        ]
    edges = _edges_under(specimen, at)
    if support.diameter is not None:
        radius = support.diameter.value / 2.0
        found = [patch_source(at, radius, mu, highest_order(specimen, radius))]
    elif len(edges) == 2:
        return []
    elif edges:
        found = [edge_source(at, shortest, mu, edges[0])]
    else:
        found = [point_source(at, shortest, mu)]
    return [(at, found + _images(specimen, at, mu))]


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


# -- functionals ----------------------------------------------------------------------------------


def plate_functionals(specimen: Specimen, space: Space, mass: float) -> list[Functional]:
    """Elastic edges, supports and attached masses as functionals over the plate's functions.

    mass: of the plate per area, kg/m2. A rigidly held edge needs none: the functions that move
    there are absent.
    """
    functionals = _elastic_edges(specimen, space)
    for support in specimen.supports:
        if support.diameter is not None:
            functionals += _on_a_patch(specimen, support, space, mass)
        elif support.to:
            functionals += _along_a_line(support, space)
        elif support.hold.deflection.value > 0.0:
            row = _point(space, support)
            functionals.append(Functional(row, stiffness=support.hold.deflection.value))
    for thing in specimen.attached:
        functionals.append(Functional(_point(space, thing), mass=thing.mass.value))
        if thing.rotary_inertia.value > 0.0:
            slopes = [_point(space, thing, order) for order in ((1, 0), (0, 1))]
            functionals.append(Functional(np.vstack(slopes), mass=thing.rotary_inertia.value))
    return functionals


def _point(space: Space, thing: Support | Attachment, order: tuple[int, int] = (0, 0)) -> Values:
    x, y = _place(thing)
    return space.reading(np.array([x]), np.array([y]), {order: np.ones((1, 1))})


def _elastic_edges(specimen: Specimen, space: Space) -> list[Functional]:
    a, b = specimen.geometry.size
    ends = {
        "left": ((0.0, 0.0), (0.0, b)),
        "right": ((a, 0.0), (a, b)),
        "bottom": ((0.0, 0.0), (a, 0.0)),
        "top": ((0.0, b), (a, b)),
    }
    found = []
    for edge, (start, end) in ends.items():
        hold = specimen.boundary[edge]
        soft = [
            (normal, stiffness.value)
            for normal, stiffness in ((0, hold.deflection), (1, hold.rotation))
            if 0.0 < stiffness.value < math.inf
        ]
        found += [
            Functional(line_rows(space, start, end, normal), stiffness=stiffness)
            for normal, stiffness in soft
        ]
    return found


def line_rows(
    space: Space, start: tuple[float, float], end: tuple[float, float], normal: int
) -> Values:
    """Rows at Gauss points along a line parallel to an axis, scaled by the weights' roots.

    normal: 0 reads the deflection, 1 the slope across the line.
    """
    along = 0 if start[1] == end[1] else 1
    line = (space.x, space.y)[along]
    low, high = sorted((start[along], end[along]))
    tolerance = SAME * (line.breaks[-1] - line.breaks[0])
    places, weights = [], []
    for element in line.elements:
        first, last = max(element.start, low), min(element.start + 2.0 * element.half, high)
        if last - first > tolerance:
            xi, w = gauss(element.fields["w"].shape[1] + 8 * (space.singular is not None))
            places.append(first + (last - first) * (xi + 1.0) / 2.0)
            weights.append(w * (last - first) / 2.0)
    t, root = np.concatenate(places), np.sqrt(np.concatenate(weights))
    across = np.full_like(t, start[1 - along])
    x, y = (t, across) if along == 0 else (across, t)
    order = (0, normal) if along == 0 else (normal, 0)
    return np.asarray(root[:, None] * space.rows(x, y, order))


def _along_a_line(support: Support, space: Space) -> list[Functional]:
    end = (support.to[0].value, support.to[1].value)
    return [
        Functional(line_rows(space, _place(support), end, normal), stiffness=stiffness)
        for normal, stiffness in enumerate(
            (support.hold.deflection.value, support.hold.rotation.value)
        )
        if stiffness > 0.0
    ]


# -- patches --------------------------------------------------------------------------------------


def patch_motion(space: Space, at: tuple[float, float], radius: float) -> Values:
    """Rows that read A, B and C of a patch's motion A + B (x - x0) + C (y - y0), (3, size)."""
    theta, x, y = _rim(at, radius, 0)
    cos, sin = np.cos(theta), np.sin(theta)
    even = np.full((1, theta.size), 1.0 / theta.size)
    mean = space.reading(x, y, {(0, 0): even})
    tilts = 2.0 * even * np.vstack([cos, sin])
    return np.vstack([mean, space.reading(x, y, {(1, 0): tilts * cos, (0, 1): tilts * sin})])


def _rim(at: tuple[float, float], radius: float, highest: int) -> tuple[Values, Values, Values]:
    count = 4 * (max(highest, 4) + 4)
    theta = 2.0 * math.pi * (np.arange(count) + 0.5) / count
    return theta, at[0] + radius * np.cos(theta), at[1] + radius * np.sin(theta)


def _on_a_patch(
    specimen: Specimen, support: Support, space: Space, mass: float
) -> list[Functional]:
    assert support.diameter is not None
    at, radius = _place(support), support.diameter.value / 2.0
    highest = highest_order(specimen, radius)
    own = mass * math.pi * radius**2
    motion = patch_motion(space, at, radius)
    found = [Functional(_ties(space, at, radius, highest), stiffness=math.inf)]
    for rows, stiffness, inertia in (
        (motion[:1], support.hold.deflection.value, own),
        (motion[1:], support.hold.rotation.value, own * radius**2 / 4.0),
    ):
        is_still = math.isinf(stiffness)
        found.append(Functional(rows, stiffness, 0.0 if is_still else inertia))
    return found


def _ties(space: Space, at: tuple[float, float], radius: float, highest: int) -> Values:
    """Rows that vanish when the rim moves as a rigid patch lets it, up to cos(highest theta)."""
    theta, x, y = _rim(at, radius, highest)
    cos, sin = radius * np.cos(theta), radius * np.sin(theta)
    none = np.zeros((1, theta.size))
    deflection, slope = [], []
    for n in range(highest + 1):
        waves = [np.cos(n * theta)[None, :]] + ([np.sin(n * theta)[None, :]] if n else [])
        for wave in waves:
            if n == 1:  # w = B x on the rim goes with r dw/dr = B x
                deflection.append(wave)
                slope.append(-wave)
            else:
                deflection += [none, wave] if n else [none]
                slope += [wave, none] if n else [wave]
    w, w_r = np.vstack(deflection) / theta.size, np.vstack(slope) / theta.size
    return space.reading(x, y, {(0, 0): w, (1, 0): w_r * cos, (0, 1): w_r * sin})


# -- symmetry -------------------------------------------------------------------------------------


def is_symmetric(specimen: Specimen, axis: int) -> bool:
    """Whether the plate is its own mirror image about the middle of this axis."""
    low, high = AXIS_EDGES[axis]
    length = specimen.geometry.size[axis]
    if _stands(specimen.boundary[low]) != _stands(specimen.boundary[high]):
        return False
    things: list[tuple[tuple[tuple[float, ...], ...], tuple[float, ...]]] = []
    for s in specimen.supports:
        diameter = s.diameter.value if s.diameter else 0.0
        ends = tuple(tuple(v.value for v in place) for place in (s.at, s.to) if place)
        things.append((ends, (*_stands(s.hold), diameter)))
    for t in specimen.attached:
        things.append((((*_place(t),),), (t.mass.value, t.rotary_inertia.value)))
    return all(_has_twin(thing, things, axis, length) for thing in things)


def _stands(hold: Hold) -> tuple[float, float]:
    return hold.deflection.value, hold.rotation.value


def _has_twin(
    thing: tuple[tuple[tuple[float, ...], ...], tuple[float, ...]],
    things: Sequence[tuple[tuple[tuple[float, ...], ...], tuple[float, ...]]],
    axis: int,
    length: float,
) -> bool:
    ends, what = thing
    mirrored = [[length - v if n == axis else v for n, v in enumerate(at)] for at in ends]

    def meets(others: Sequence[Sequence[float]]) -> bool:
        pairs = zip(mirrored, others, strict=True)
        return all(math.dist(one, other) < SAME * length for one, other in pairs)

    return any(
        what == other and len(places) == len(ends) and (meets(places) or meets(places[::-1]))
        for places, other in things
    )
