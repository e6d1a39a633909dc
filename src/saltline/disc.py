"""Discs and annuli by Kirchhoff's thin-plate theory, one number of nodal diameters at a time.

The deflection is W(r) cos(n theta), or its twin W(r) sin(n theta), and W a polynomial on each of a
few rings (see `radial`). SI throughout.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

import numpy as np

from saltline.arrays import Values
from saltline.disc_shape import DiscShape
from saltline.functional import Functional
from saltline.problem import Problem
from saltline.radial import (
    Ring,
    Space,
    cut_in_space,
    energies,
    radial_degrees,
    radial_space,
    rigid_motions,
)
from saltline.specimen import Attachment, DiscGeometry, Hold, Specimen, Support


def disc_stiffness(specimen: Specimen) -> tuple[float, float]:
    """Bending stiffness D, N m, and mass per area, kg/m2, from the material and the thickness."""
    geometry, material = specimen.geometry, specimen.material
    assert isinstance(geometry, DiscGeometry)
    h, nu = geometry.thickness.value, material.poisson_ratio.value
    D = material.youngs_modulus.value * h**3 / (12.0 * (1.0 - nu**2))
    return D, material.density.value * h


# -- the problems ---------------------------------------------------------------------------------


def disc_problems(specimen: Specimen, *, count: int, refinement: int) -> list[Problem]:
    """One problem for each number of nodal diameters that can have one of the lowest modes.

    count: how many modes in all the basis should serve, twins counted once; refinement: 0, 1, 2 ...
    raises the degree.
    """
    ring = disc_ring(specimen)
    wave = estimate_wave(specimen, ring, count)
    most = most_diameters(wave * ring.rim, specimen.material.poisson_ratio.value)
    return [
        _problem(specimen, n, wave, radial_degrees(ring, n, wave, refinement))
        for n in range(most + 1)
    ]


def _problem(specimen: Specimen, n: int, wave: float, degrees: Sequence[int]) -> Problem:
    ring = disc_ring(specimen)
    space = radial_space(ring, n, degrees)
    D, mass = disc_stiffness(specimen)
    bending, moving = energies(space, specimen.material.poisson_ratio.value)
    held = _held(specimen, ring, n)
    return Problem(
        family="disc",
        K=D * bending,
        M=mass * moving,
        functionals=disc_functionals(specimen, space),
        rigid_motions=rigid_motions(space),
        highest=D * wave**4 / mass,
        shape_of=lambda q: DiscShape(
            n, space.line, space.lift @ q, ring.inner, ring.rim, ring.has_hole, held
        ),
        rebuild=lambda changed: _problem(changed, n, wave, degrees),
        cut=partial(cut_in_space, space),
        multiplicity=1 if n == 0 else 2,
        labels={"diameters": n},
    )


def disc_ring(specimen: Specimen) -> Ring:
    """What of the disc bends: all but a hole or a hub."""
    geometry = specimen.geometry
    assert isinstance(geometry, DiscGeometry)
    rim = geometry.diameter.value / 2.0
    if geometry.hole_diameter is not None:
        return Ring(geometry.hole_diameter.value / 2.0, rim, has_hole=True, is_pressed=False)
    things: list[Support | Attachment] = [*specimen.supports, *specimen.attached]
    hub = max((t.diameter.value / 2.0 for t in things if t.diameter), default=0.0)
    is_pressed = hub == 0.0 and bool(specimen.supports or specimen.attached)
    return Ring(hub, rim, has_hole=False, is_pressed=is_pressed)


# -- what is attached -----------------------------------------------------------------------------


def disc_functionals(specimen: Specimen, space: Space) -> list[Functional]:
    """Held edges, and what holds or loads the centre, as functionals over the space.

    The plate inside a hub moves with the hub and brings its mass m = rho h pi a^2 and, as a thin
    disc's about a diameter, its rotary inertia m a^2/4. Without a hub nothing may act on the slope
    at the centre, which thin-plate theory does not settle.
    """
    functionals = []
    last = space.line.breaks.size - 1
    for name, boundary in (("rim", last), ("hole", 0)):
        hold = specimen.boundary.get(name)
        if hold is None:
            continue
        length = space.around * space.line.breaks[boundary]
        for field, stiffness in (("w", hold.deflection), ("psi", hold.rotation)):
            if stiffness.value > 0.0:
                row = math.sqrt(length) * space.end_row(field, boundary)
                functionals.append(Functional(row, stiffness=stiffness.value))
    if not space.ring.has_hole and space.n <= 1:
        stiffnesses = [_against(support.hold, space.n) for support in specimen.supports]
        functionals += [Functional(space.hub_row(), stiffness=k) for k in stiffnesses if k > 0.0]
        mass = _hub_mass(specimen, space)
        if mass > 0.0:
            functionals.append(Functional(space.hub_row(), mass=mass))
    return functionals


def _hub_mass(specimen: Specimen, space: Space) -> float:
    """What moves with the hub: kg for n = 0, kg m2 about a diameter for n = 1."""
    a = space.ring.inner
    plate = disc_stiffness(specimen)[1] * math.pi * a**2
    if space.n == 0:
        return plate + sum(thing.mass.value for thing in specimen.attached)
    return plate * a**2 / 4.0 + sum(thing.rotary_inertia.value for thing in specimen.attached)


def _against(hold: Hold, n: int) -> float:
    """The stiffness of a hold at the centre against 0 or 1 nodal diameters."""
    return hold.deflection.value if n == 0 else hold.rotation.value


def _held(specimen: Specimen, ring: Ring, n: int) -> tuple[float, ...]:
    """Radii at which a motion with n nodal diameters is held rigidly, m."""
    holds = [(ring.rim, specimen.boundary["rim"].deflection.value)]
    if ring.has_hole:
        holds.append((ring.inner, specimen.boundary["hole"].deflection.value))
    elif n > 1:
        holds.append((ring.inner, math.inf))
    else:
        holds += [(ring.inner, _against(support.hold, n)) for support in specimen.supports]
    return tuple(radius for radius, stiffness in holds if math.isinf(stiffness))


# -- how many diameters, how high -----------------------------------------------------------------

EDGE_OFFSET = {"clamped": 0.75, "pinned": 0.5, "guided": 0.25, "free": 0.0}
"""What each edge adds, in half waves, to the radial phase of the lowest mode, rounded up."""

CENTRE_OFFSET = 0.25
"""The same of the middle of a solid disc: J_n(z) ~ cos(z - n pi/2 - pi/4)."""


MARGIN = 1.05
"""The count of waves is good to about a hundredth; this makes it a bound."""


def estimate_wave(specimen: Specimen, ring: Ring, count: int) -> float:
    """A wave number, 1/m, that is above that of the count-th mode.

    Modes are counted by their radial phase, the integral of sqrt(k^2 - n^2/r^2), which grows by pi
    from one mode to the next; three more than wanted allow for the rigid-body modes.
    """
    inner = CENTRE_OFFSET if ring.inner == 0.0 else EDGE_OFFSET["clamped"]
    if ring.has_hole:
        # A small free hole changes little.
        inner = max(_offset(specimen.boundary["hole"]), CENTRE_OFFSET)
    offset = inner + _offset(specimen.boundary["rim"])

    def count_below(wave: float) -> float:
        n = np.arange(math.floor(wave * ring.rim) + 1)
        phase = _phase(n, wave * ring.rim) - _phase(n, wave * ring.inner)
        return float(np.maximum(np.floor(phase / math.pi - offset) + 1.0, 0.0).sum())

    low, high = 0.0, 1.0 / ring.rim
    while count_below(high) < count + 3:
        low, high = high, 2.0 * high
    while high - low > 1e-3 * high:
        middle = (low + high) / 2.0
        low, high = (middle, high) if count_below(middle) < count + 3 else (low, middle)
    return MARGIN * high


def _offset(hold: Hold) -> float:
    return EDGE_OFFSET.get(hold.word, EDGE_OFFSET["clamped"])


def _phase(n: Values, z: float) -> Values:
    """The integral of sqrt(1 - n^2/x^2) dx from the turning point x = n to z; 0 where z < n."""
    root = np.sqrt(np.maximum(z**2 - n**2, 0.0))
    return np.asarray(root - n * np.arctan2(root, n))


def most_diameters(wave_times_rim: float, nu: float) -> int:
    """The largest number of nodal diameters of any mode with at most this wave number k R.

    Of all annuli of one rim the thin free ring has the lowest frequencies for each n > 1,

        (k R)^4 = (1 - nu^2) n^2 (n^2 - 1)^2 / (n^2 + (1 + nu)/2)

    (Love, Mathematical Theory of Elasticity, 1927, art. 293, with the stiffness against bending and
    torsion of a thin strip); holding an edge only raises them. The least value of
    n^2 / (n^2 + (1 + nu)/2) is that for n = 2.
    """
    least = math.sqrt((1.0 - nu**2) * 4.0 / (4.0 + (1.0 + nu) / 2.0))
    return max(1, math.floor(math.sqrt(1.0 + wave_times_rim**2 / least)))
