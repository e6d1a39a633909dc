"""Functions of the radius of a disc, and the energies of W(r) cos(n theta) over them.

The strain energy is the integral over the disc of

    D/2 [(w_rr + w_r/r + w_tt/r^2)^2 - 2 (1 - nu) w_rr (w_r/r + w_tt/r^2)
         + 2 (1 - nu) (w_rt/r - w_t/r^2)^2]

(Leissa, Vibration of Plates, NASA SP-160, 1969, ch. 1). SI throughout, r in m.

A solid disc is a disc on a rigid hub of no size: what keeps the shape smooth at the centre is what
keeps it fixed to a hub. For n = 0 the hub's edge has no slope; for n = 1 it tilts, W = r W'; for
n > 1 it stays at rest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line, c1_line
from saltline.legendre import gauss
from saltline.record import record
from saltline.settling import lower_functions

RISE = 6
"""By so much each refinement raises the degree of every element."""

GROWTH = 3.0
"""An element's outer radius is at most this many times its inner one."""

CORE = 1e-4
"""Radius of the innermost element under a force at the centre, in rim radii. What its polynomials
miss of r^2 ln r has an energy of order CORE^2, and they come close."""

EXTRA_POINTS = 16
"""Gauss points beyond those for polynomials, on an element whose integrands hold 1/r to 1/r^3:
their error falls as 3.7^(-2 points) where the outer radius is three times the inner one."""


@record
class Ring:
    """The part of the disc that bends.

    inner:      radius of the hole or of the hub, m; 0 without either.
    rim:        radius of the rim, m.
    has_hole:   whether the inner edge is that of a hole rather than of a hub.
    is_pressed: whether a force acts on the very centre, where W then has a term in r^2 ln r.
    """

    inner: float
    rim: float
    has_hole: bool
    is_pressed: bool


@record
class Samples:
    """A line of elements and its functions at Gauss points.

    r, weights: the points and their weights, m.
    jets:       the functions, their slopes and curvatures there, each of shape (len(r), line.size).
    """

    line: Line
    r: Values
    weights: Values
    jets: tuple[Values, ...]


@record
class Space:
    """The functions W(r) of n nodal diameters: those of a C1 line that the hub allows.

    samples: the line and its samples.
    lift:    combinations of the line's functions, columns of shape (line.size, size). For n = 0 and
             n = 1 the first moves all but the rim as a rigid body, W = 1 or W = r. It is there for
             its own sake: made up of others, each stiff where the elements are small, its energy
             would be the rounding of theirs. On a hub, and so on a solid disc, no other moves the
             hub.
    """

    ring: Ring
    n: int
    samples: Samples
    lift: Values

    @property
    def line(self) -> Line:
        """The line whose functions are combined."""
        return self.samples.line

    @property
    def size(self) -> int:
        """How many functions there are."""
        return int(self.lift.shape[1])

    @property
    def around(self) -> float:
        """The integral of cos(n theta)^2 round the disc."""
        return 2.0 * math.pi if self.n == 0 else math.pi

    def end_row(self, field: str, boundary: int) -> Values:
        """The functional "w" or "psi" = W' at an element boundary, shape (1, size)."""
        return np.asarray(self.lift[self.line.ends[field, boundary]][None, :])

    def hub_row(self) -> Values:
        """The functional "how far the hub moves (n = 0) or tilts (n = 1)", shape (1, size)."""
        row = np.zeros((1, self.size))
        row[0, 0] = 1.0
        return row


def radial_degrees(ring: Ring, n: int, wave: float, refinement: int) -> list[int]:
    """The degree of each element, so that waves up to `wave` (1/m) are served.

    refinement: 0, 1, 2 ... raises them all. The rule is that of `beam._degrees`.
    """
    halves = [wave * (b - a) / 2.0 for a, b in pairwise(_boundaries(ring, n, _elements(ring, n)))]
    return [8 + RISE * refinement + math.ceil(half + 3.0 * half ** (1.0 / 3.0)) for half in halves]


def radial_space(ring: Ring, n: int, degrees: Sequence[int]) -> Space:
    """The functions of n nodal diameters over one element for each degree."""
    samples = _sampled(tuple(_boundaries(ring, n, len(degrees))), tuple(degrees))
    line = samples.line
    w, psi = line.ends["w", 0], line.ends["psi", 0]
    at_hole = {0: [w], 1: [psi]}.get(n, [])
    lift = np.delete(np.eye(line.size), at_hole if ring.has_hole else [w, psi], axis=1)
    if n <= 1:
        carrying = _rigid_motion(line, n)
        carrying[_rim_ends(line)] = 0.0
        lift = np.column_stack([carrying, lift])
    return Space(ring, n, samples, lift)


def _rim_ends(line: Line) -> list[int]:
    return [line.ends[name, line.breaks.size - 1] for name in ("w", "psi")]


def _rigid_motion(line: Line, n: int) -> Values:
    """Coefficients of W = 1 (n = 0) or W = r (n = 1) over the line."""
    motion = np.zeros(line.size)
    for (name, boundary), dof in line.ends.items():
        if n == 0:
            motion[dof] = 1.0 if name == "w" else 0.0
        else:
            motion[dof] = line.breaks[boundary] if name == "w" else 1.0
    return motion


def _elements(ring: Ring, n: int) -> int:
    """How many elements there are."""
    first = _first(ring, n)
    if first == 0.0:
        return 1
    return int(ring.inner == 0.0) + math.ceil(math.log(ring.rim / first) / math.log(GROWTH))


def _first(ring: Ring, n: int) -> float:
    """The radius from which elements grow outward, m; 0 where one element does."""
    return CORE * ring.rim if ring.is_pressed and n == 0 else ring.inner


def _boundaries(ring: Ring, n: int, elements: int) -> list[float]:
    """Where elements meet, m: in geometric progression outward from a hole, a hub or a force.

    There the shape has terms in r^-n and ln r, on each element as smooth as on the next larger one.
    """
    first = _first(ring, n)
    if first == 0.0:
        return [0.0, ring.rim]
    core = [0.0] if ring.inner == 0.0 else []
    steps = elements - len(core)
    grown = first * (ring.rim / first) ** (np.arange(steps) / steps)
    return [*core, *grown.tolist(), ring.rim]


def rigid_motions(space: Space) -> Values:
    """Coefficients of the motion that bends nothing, shape (size, 1), or (size, 0) for n > 1."""
    if space.n > 1:
        return np.zeros((space.size, 0))
    rim = _rim_ends(space.line)
    coefficients = space.lift[rim].T @ _rigid_motion(space.line, space.n)[rim]
    coefficients[0] = 1.0
    return np.asarray(coefficients[:, None])


def cut_in_space(space: Space, Q: Values) -> Values:
    """What the functions that the next lower degree has too make of modes, columns."""
    is_higher = np.ones(space.line.size, dtype=bool)
    is_higher[lower_functions(space.line, RISE)] = False
    return np.where(np.any(space.lift[is_higher], axis=0)[:, None], 0.0, Q)


def energies(space: Space, nu: float) -> tuple[Values, Values]:
    """Twice the bending energy for D = 1 and the integral of w^2, both over the whole disc.

    On the element that reaches the centre every integrand is a polynomial: the functions that would
    make it infinite are not in the space.
    """
    n, samples = space.n, space.samples
    root = np.sqrt(space.around * samples.r * samples.weights)[:, None]
    r = samples.r[:, None]
    W, W1, W2 = (root * (jet @ space.lift) for jet in samples.jets)
    radial = W2
    hoop = W1 / r - n**2 * W / r**2
    twist = n * (W1 / r - W / r**2)
    # radial^2 + hoop^2 + 2 nu radial hoop, as squares so that rounding cannot make K negative
    both = hoop + nu * radial
    K = (1.0 - nu**2) * (radial.T @ radial) + both.T @ both + 2.0 * (1.0 - nu) * (twist.T @ twist)
    return K, W.T @ W


@lru_cache(maxsize=4)
def _sampled(breaks: tuple[float, ...], degrees: tuple[int, ...]) -> Samples:
    """A line and its samples, kept because all numbers of nodal diameters share them."""
    line = c1_line(breaks, degrees)
    places, weights = [], []
    for element in line.elements:
        extra = EXTRA_POINTS if element.start > 0.0 else 1
        xi, weight = gauss(element.fields["w"].shape[1] + extra)
        places.append(element.start + element.half * (xi + 1.0))
        weights.append(weight * element.half)
    r = np.concatenate(places)
    return Samples(line, r, np.concatenate(weights), tuple(line.jets("w", r, 2)))
