"""What holds a plate away from its edges, and what is attached to it, as functionals.

A rigid patch moves as A + B x + C y, which is read off its rim; a rim that is not so bent is tied
to be.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import field

import numpy as np

from saltline.arrays import Values
from saltline.functional import Functional
from saltline.legendre import gauss, legendre_values
from saltline.plates.plate_places import AXIS_EDGES, SAME, Patch, patch_under, patches, place_of
from saltline.plates.plate_singular import highest_order
from saltline.plates.plate_space import ROUNDING, Space
from saltline.record import record
from saltline.specimen import Hold, Specimen, Support

# -- functionals ----------------------------------------------------------------------------------


@record
class Readings:
    """What is read off a space at points and patches, each once: a changed specimen asks again."""

    space: Space
    found: dict[tuple[object, ...], Values] = field(default_factory=dict)

    def deflection(self, at: tuple[float, float]) -> Values:
        """The row that reads the deflection at a place, (1, size)."""
        x, y = np.array([at[0]]), np.array([at[1]])
        return self._once(
            ("deflection", at), lambda: self.space.reading(x, y, {(0, 0): np.ones((1, 1))})
        )

    def motion(self, patch: Patch) -> Values:
        """Rows that read A, B and C of a patch's motion A + B (x - x0) + C (y - y0), (3, size)."""
        key = ("motion", patch.at, patch.radius)
        return self._once(key, lambda: patch_motion(self.space, patch.at, patch.radius))

    def ties(self, patch: Patch, highest: int) -> Values:
        """Rows that vanish when a patch's rim moves rigidly, up to cos(highest theta)."""
        key = ("ties", patch.at, patch.radius, highest)
        return self._once(key, lambda: _ties(self.space, patch.at, patch.radius, highest))

    def _once(self, key: tuple[object, ...], find: Callable[[], Values]) -> Values:
        if key not in self.found:
            self.found[key] = find()
        return self.found[key]


def plate_functionals(specimen: Specimen, read: Readings, mass: float) -> list[Functional]:
    """Elastic edges, supports and attached masses as functionals over the plate's functions.

    mass: of the plate per area, kg/m2. A rigidly held edge needs none: the functions that move
    there are absent.
    """
    functionals = _elastic_edges(specimen, read.space)
    for patch in patches(specimen):
        functionals += _patch(specimen, patch, read, mass)
    for support in specimen.supports:
        if support.to:
            functionals += _along_a_line(support, read.space)
        else:
            deflection, slopes = _motion_at(specimen, read, place_of(support))
            functionals.append(Functional(deflection, stiffness=support.hold.deflection.value))
            functionals.append(Functional(slopes, stiffness=support.hold.rotation.value))
    for thing in specimen.attached:
        deflection, slopes = _motion_at(specimen, read, place_of(thing))
        functionals.append(Functional(deflection, mass=thing.mass.value))
        functionals.append(Functional(slopes, mass=thing.rotary_inertia.value))
    return [f for f in functionals if f.stiffness > 0.0 or f.mass > 0.0]


def _motion_at(
    specimen: Specimen, read: Readings, at: tuple[float, float]
) -> tuple[Values, Values]:
    """Rows that read the deflection (1, size) and both slopes (2, size) at a place.

    On a rigid patch they are the patch's. Elsewhere nothing may act on the slopes at a point, which
    thin-plate theory does not settle; there the rows are empty.
    """
    patch = patch_under(specimen, at)
    if patch is not None:
        motion = read.motion(patch)
        arm = np.array([[1.0, at[0] - patch.at[0], at[1] - patch.at[1]]])
        return np.asarray(arm @ motion), motion[1:]
    deflection = read.deflection(at)
    return deflection, np.zeros((0, deflection.shape[1]))


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
    space: Space,
    start: tuple[float, float],
    end: tuple[float, float],
    normal: int,
    *,
    moments: bool = False,
) -> Values:
    """Rows at Gauss points along a line parallel to an axis, scaled by the weights' roots.

    normal:  0 reads the deflection, 1 the slope across the line.
    moments: whether to read only the moments with the polynomials of each element: with all of
             them at nothing a rigid line asks no more of a singular function than polynomials can
             make up for, and does not shut it out.
    """
    along = 0 if start[1] == end[1] else 1
    line = (space.x, space.y)[along]
    low, high = sorted((start[along], end[along]))
    tolerance = SAME * (line.breaks[-1] - line.breaks[0])
    places, weights, bases = [], [], []
    for element in line.elements:
        first, last = max(element.start, low), min(element.start + 2.0 * element.half, high)
        if last - first > tolerance:
            xi, w = gauss(element.fields["w"].shape[1] + 8 * (space.singular is not None))
            places.append(first + (last - first) * (xi + 1.0) / 2.0)
            weights.append(w * (last - first) / 2.0)
            # A line that ends within an element leaves the polynomials their freedom beyond it.
            part = (last - first) / (2.0 * element.half)
            degree = math.floor((element.fields["w"].shape[1] - 1) * part + 1e-9)
            even = np.sqrt(w)[:, None] * legendre_values(xi, degree + 1)
            bases.append(np.linalg.qr(even)[0])
    t, root = np.concatenate(places), np.sqrt(np.concatenate(weights))
    across = np.full_like(t, start[1 - along])
    x, y = (t, across) if along == 0 else (across, t)
    order = (0, normal) if along == 0 else (normal, 0)
    rows = np.asarray(root[:, None] * space.rows(x, y, order))
    if not moments:
        return rows
    import scipy.linalg  # needed for rigid lines alone

    rows = np.asarray(scipy.linalg.block_diag(*bases).T @ rows)
    sizes = np.linalg.norm(rows, axis=1)
    return np.asarray(rows[sizes > ROUNDING * sizes.max(initial=0.0)])


def _along_a_line(support: Support, space: Space) -> list[Functional]:
    end = (support.to[0].value, support.to[1].value)
    return [
        Functional(
            line_rows(space, place_of(support), end, normal, moments=math.isinf(stiffness)),
            stiffness=stiffness,
        )
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


def _patch(specimen: Specimen, patch: Patch, read: Readings, mass: float) -> list[Functional]:
    """What makes a patch rigid, and the inertia of the plate that moves with it."""
    motion = read.motion(patch)
    own = 0.0 if patch.is_still else mass * math.pi * patch.radius**2
    return [
        Functional(read.ties(patch, highest_order(specimen, patch.radius)), stiffness=math.inf),
        Functional(motion[:1], mass=own),
        Functional(motion[1:], mass=own * patch.radius**2 / 4.0),
    ]


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
        diameter = t.diameter.value if t.diameter else 0.0
        things.append((((*place_of(t),),), (t.mass.value, t.rotary_inertia.value, diameter)))
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
