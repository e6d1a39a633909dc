"""By how much a small imperfection turns the figures of two modes of nearly one frequency.

Two such modes u and v answer to a small deviation of a specimen by turning into u cos t + v sin t
and v cos t - u sin t. With C the deviated K - omega^2 M between the two, all other modes left out
(perturbation theory of nearly equal roots, textbook),

    tan 2t = 2 C_uv / (C_uu - C_vv)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence

import numpy as np

from saltline.arrays import Values
from saltline.facts import facts
from saltline.modes import Modes
from saltline.plates.plate_shape import PlateShape
from saltline.problem import attach
from saltline.quantities_of import quantities, with_values
from saltline.record import record
from saltline.spread import STEP, held, moved

MASS_SHARE = 0.01
"""The imperfection that is tried: so much of the mass, at every place of the plate."""

SIDE_SHARE = 0.002
"""... or one side longer or shorter by its tolerance, or by this part where it has none."""

TURNED = math.radians(10.0)
"""Figures that turn by more than this look otherwise."""

ONE_FREQUENCY = 1e-6
"""Modes closer than this (relative) share a frequency."""

PLACES = 41
"""So many places along each side are tried for the mass."""

SIDES = {"length": "geometry.length", "width": "geometry.width"}


@record
class Turn:
    """By how much one imperfection turns the two figures of a pair.

    deviation:         "mass", or the side that is longer or shorter: "length" or "width".
    amount:            of the mass, kg, or by which the side differs, m.
    low_deg, high_deg: the angles reached, each from -45 to 45; 45 is halfway to the other figure.
    enough, at:        the least mass that turns them by `TURNED`, kg, and where it does so, m; nan
                       and () for a side.
    """

    deviation: str
    amount: float
    low_deg: float
    high_deg: float
    enough: float = math.nan
    at: tuple[float, ...] = ()


Deviation = Callable[[int, int], Turn]
"""Places of two modes in the list -> what an imperfection does to them."""


def deviations(
    modes: Modes, near: Sequence[tuple[int, int]], shapes: Mapping[int, PlateShape]
) -> list[Deviation]:
    """The imperfections that are tried on pairs of a plate's modes: a mass, then each side.

    near: places of the pairs in the list; shapes: by place, of all the modes that are in a pair.
    """
    return [_mass(modes, shapes), *(_side(modes, name, near) for name in SIDES)]


def _mass(modes: Modes, shapes: Mapping[int, PlateShape]) -> Deviation:
    """A small mass at any place; without it the shapes have unit mass."""
    a, b = modes.specimen.geometry.size
    x, y = np.linspace(0.0, a, PLACES), np.linspace(0.0, b, PLACES)
    deflections = {i: shape.at(x, y) for i, shape in shapes.items()}
    mass = MASS_SHARE * facts(modes.specimen).mass_kg
    omega2 = _omega2(modes)

    def turn(i: int, j: int) -> Turn:
        u, v = deflections[i], deflections[j]
        middle = (omega2[i] + omega2[j]) / 2.0
        apart = max(omega2[j] - omega2[i], 0.0)
        load = middle * mass
        angles = _angles(-load * u**2, apart - load * v**2, -load * u * v, middle)
        low, high = (math.degrees(angle) for angle in (angles.min(), angles.max()))
        enough, place = _enough(u, v, apart / middle)
        k, l = np.unravel_index(place, u.shape)
        return Turn("mass", mass, low, high, enough, (float(x[k]), float(y[l])))

    return turn


def _enough(u: Values, v: Values, apart: float) -> tuple[float, int]:
    """The least mass that turns the figures by `TURNED`, kg, and the place in the flat arrays.

    It solves tan(2 TURNED) (apart - m (v^2 - u^2)) = 2 m |u v|; apart is that of omega^2, relative.
    Of places that differ by rounding the first is taken.
    """
    tangent = math.tan(2.0 * TURNED)
    reach = (2.0 * np.abs(u * v) + tangent * (v**2 - u**2)).ravel()
    most = float(reach.max())
    mass = tangent * apart / most if apart > 2.0 * ONE_FREQUENCY else 0.0
    return mass, int(np.argmax(reach > (1.0 - 1e-6) * most))


def _side(modes: Modes, name: str, near: Sequence[tuple[int, int]]) -> Deviation:
    """A side that is longer or shorter, to first order; it mixes modes of one symmetry alone."""
    q = quantities(modes.specimen)[SIDES[name]]
    step = q.tolerance or SIDE_SHARE * q.value
    problems = [mode.problem for mode in modes.modes]
    mixed = {id(problems[i]) for i, j in near if problems[i] is problems[j]}
    little = STEP * q.value
    K, M = _within(modes, mixed, SIDES[name], q.value + little)
    omega2 = _omega2(modes)

    def turn(i: int, j: int) -> Turn:
        angles = [0.0]
        if problems[i] is problems[j]:
            here = np.ix_([i, j], [i, j])
            middle = (omega2[i] + omega2[j]) / 2.0
            plain = np.diag(omega2[[i, j]] - middle)
            work = (K[here] - middle * M[here] - plain) * (step / little)
            for C in (plain - work, plain + work):
                angles.append(float(_angles(C[0, 0], C[1, 1], C[0, 1], middle)))
        low, high = (math.degrees(angle) for angle in (min(angles), max(angles)))
        return Turn(name, step, low, high)

    return turn


def _within(modes: Modes, mixed: Collection[int], path: str, value: float) -> tuple[Values, Values]:
    """K and M of a changed specimen within the modes, shape (modes, modes) each.

    mixed: ids of the problems whose modes are wanted; the others' rows stay zero.
    """
    specimen = with_values(modes.specimen, moved(modes.specimen, path, value))
    size = len(modes.modes)
    K, M = np.zeros((size, size)), np.zeros((size, size))
    for key in mixed:
        members = [i for i, mode in enumerate(modes.modes) if id(mode.problem) == key]
        problem = modes.modes[members[0]].problem
        assert problem is not None
        changed = problem.rebuild(specimen)
        stiffness, mass = attach(changed)
        Q = np.column_stack([np.asarray(modes.modes[i].q) for i in members])
        Q = held(changed, stiffness + 1e-3 * problem.highest * mass, Q)
        here = np.ix_(members, members)
        K[here], M[here] = Q.T @ stiffness @ Q, Q.T @ mass @ Q
    return K, M


def _angles(uu: Values, vv: Values, uv: Values, scale: float) -> Values:
    """The angles, rad, by which the figures turn under C = [[uu, uv], [uv, vv]].

    Both turn alike, whichever is then the lower: from -45 to 45 degrees. Where the deviation does
    nothing beyond rounding of `scale` they stay.
    """
    apart = np.asarray(vv - uu)
    t = 0.5 * np.arctan2(-2.0 * uv * np.where(apart < 0.0, -1.0, 1.0), np.abs(apart))
    return np.asarray(np.where(np.hypot(2.0 * uv, apart) > 1e-9 * scale, t, 0.0))


def _omega2(modes: Modes) -> Values:
    return np.asarray([(2.0 * math.pi * mode.frequency_hz) ** 2 for mode in modes.modes])
