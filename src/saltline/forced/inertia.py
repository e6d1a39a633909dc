"""What inertia a mode has against even motions: the mass-weighted integrals of its shape.

Of a shape w these are the integrals of w, x w and y w over the mass: the work of a base that moves
evenly, and of one that turns about the origin, on the mode. Masses attached count, and so does all
that the theory gives rotary inertia.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import singledispatch
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.beam import BeamShape
from saltline.disc_shape import DiscShape
from saltline.facts import facts
from saltline.forced.shapes import deflections_of, plates_among
from saltline.forced.together import jets_together
from saltline.legendre import gauss
from saltline.mixed_shape import MixedShape
from saltline.modes import Mode
from saltline.plates.plate_shape import PlateShape
from saltline.problem import Problem, attach
from saltline.specimen import Specimen

_RuleOf = Callable[[PlateShape | MixedShape, Specimen], Values]
"""A plate's shape, the specimen -> places x and y and weights over it less its rigid patches."""


def inertia(modes: Sequence[Mode], specimen: Specimen) -> Values:
    """The integrals of w, x w and y w over the mass for each mode, shape (modes, 3).

    In root kg and m root kg. The supports move out of the wide face: of a beam only flatwise modes
    have any.
    """
    return _integrated(modes, specimen, _plate_rule)


def rough_inertia(modes: Sequence[Mode], specimen: Specimen) -> Values:
    """The same, in haste: on a plate what is singular is integrated to some 1e-3 alone."""
    return _integrated(modes, specimen, _rough_rule)


def _integrated(modes: Sequence[Mode], specimen: Specimen, rule_of: _RuleOf) -> Values:
    found = np.zeros((len(modes), 3))
    made: dict[int, Values] = {}
    plates = plates_among([mode.shape for mode in modes])
    by_problem: dict[int, list[int]] = {}
    for number, mode in enumerate(modes):
        if number in plates:
            by_problem.setdefault(id(mode.problem), []).append(number)
        else:
            found[number] = _own(mode.shape, mode, specimen, made)
    for members in by_problem.values():
        found[members] = _plates([plates[n] for n in members], specimen, rule_of)
    others = [n for n, mode in enumerate(modes) if not isinstance(mode.shape, BeamShape)]
    if others and specimen.attached:
        found[others] += _attached([modes[n].shape for n in others], specimen)
    return found


def own_mass(specimen: Specimen) -> float:
    """The specimen's own mass, kg, without what is attached."""
    return facts(specimen).mass_kg - sum(thing.mass.value for thing in specimen.attached)


@singledispatch
def _own(
    shape: Any, mode: Mode, specimen: Specimen, made: dict[int, Values]
) -> tuple[float, float, float]:
    """Of a disc itself; of a beam with what is attached.

    made: what was made for earlier modes of the same problem, by the problem's id.
    """
    raise TypeError(f"no inertia is known for {type(shape).__name__}")


# -- beams ----------------------------------------------------------------------------------------


@_own.register
def _(
    shape: BeamShape, mode: Mode, specimen: Specimen, made: dict[int, Values]
) -> tuple[float, float, float]:
    """Exactly, with the even motion and the rotation as functions of the beam's own basis."""
    del specimen
    if mode.family != "flatwise":
        return 0.0, 0.0, 0.0
    assert mode.problem is not None
    assert mode.q is not None
    key = id(mode.problem)
    if key not in made:
        made[key] = attach(mode.problem)[1] @ even_motions(shape.line)
    even, turning = mode.q @ made[key]
    return float(even), float(turning), 0.0


def even_motions(line: Line) -> Values:
    """Coefficients of w = 1 and of w = x in a beam's bending basis, shape (size, 2)."""
    motions = np.zeros((line.size, 2))
    for (name, boundary), dof in line.ends.items():
        motions[dof] = (0.0, 1.0) if name == "psi" else (1.0, line.breaks[boundary])
    return motions


def beam_rigid_inertia(problem: Problem, line: Line) -> Values:
    """The mass matrix of the motions 1 and x of a beam, shape (2, 2)."""
    R = even_motions(line)
    return np.asarray(R.T @ attach(problem)[1] @ R)


# -- plates ---------------------------------------------------------------------------------------


def _plates(
    shapes: Sequence[PlateShape | MixedShape], specimen: Specimen, rule_of: _RuleOf
) -> Values:
    """Of the modes of one problem, without what is attached, shape (shapes, 3)."""
    a, b = specimen.geometry.size
    x, y, weights = rule_of(shapes[0], specimen)
    deflection = jets_together(shapes, x, y, ((0, 0),))[0]
    found = deflection @ (weights * np.stack([np.ones_like(x), x, y])).T
    for integrals, shape in zip(found, shapes, strict=True):
        for patch, (A, B, C) in shape.patches:
            # A + B (x - x0) + C (y - y0) over a circle of radius R about (x0, y0)
            area, second = math.pi * patch.radius**2, math.pi * patch.radius**4 / 4.0
            integrals[0] += A * area
            integrals[1] += A * area * patch.at[0] + B * second
            integrals[2] += A * area * patch.at[1] + C * second
    return np.asarray(own_mass(specimen) / (a * b) * found)


def _plate_rule(shape: PlateShape | MixedShape, specimen: Specimen) -> Values:
    """One that is exact for the polynomials and follows what is singular, shape (3, n)."""
    from saltline.plates.cubature import rectangle_rule  # a beam need not wait for them
    from saltline.plates.plate_singular import spots

    lines = (shape.x, shape.y)
    degrees = [[e.fields["w"].shape[1] - 1 for e in line.elements] for line in lines]
    breaks = [[float(b) for b in line.breaks] for line in lines]
    rule = rectangle_rule((breaks[0], breaks[1]), (degrees[0], degrees[1]), spots(specimen))
    return np.stack([rule.x, rule.y, rule.weights])


def _rough_rule(shape: PlateShape | MixedShape, specimen: Specimen) -> Values:
    """One that is exact for the polynomials alone, shape (3, n)."""
    del specimen
    (x, wx), (y, wy) = (_line_rule(line, 0) for line in (shape.x, shape.y))
    X, Y = np.meshgrid(x, y, indexing="ij")
    weights = np.outer(wx, wy)
    for patch, _ in shape.patches:
        weights[np.hypot(X - patch.at[0], Y - patch.at[1]) < patch.radius] = 0.0
    return np.stack([X.ravel(), Y.ravel(), weights.ravel()])


def _attached(shapes: Sequence[Any], specimen: Specimen) -> Values:
    """Of what is attached to a plate, or to a disc's centre, shape (shapes, 3)."""
    total = np.zeros((len(shapes), 3))
    for thing in specimen.attached:
        at = np.array([place.value for place in thing.at] or [0.0])
        w = thing.mass.value * deflections_of(shapes, at[None, :])[:, 0]
        total[:, 0] += w
        if at.size == 2:
            slopes = jets_together(shapes, at[:1], at[1:], ((1, 0), (0, 1)))[:, :, 0]
            total[:, 1:] += np.outer(w, at) + thing.rotary_inertia.value * slopes.T
    return total


# -- discs ----------------------------------------------------------------------------------------


@_own.register
def _(
    shape: DiscShape, mode: Mode, specimen: Specimen, made: dict[int, Values]
) -> tuple[float, float, float]:
    """By Gauss's rule on each ring; a hub moves with its edge. Only n = 0 is driven evenly.

    A disc's moment about a diameter is left out: nothing that drives it evenly calls for one.
    """
    del mode, made
    if shape.n > 0:
        return 0.0, 0.0, 0.0
    r, w = _line_rule(shape.line, 1)
    integral = 2.0 * math.pi * float(w @ (shape.radial(r) * r))
    outer, inner = shape.rim_radius, shape.inner_radius
    area = math.pi * outer**2
    if shape.has_hole:
        area -= math.pi * inner**2
    else:
        integral += math.pi * inner**2 * float(shape.radial(np.array([inner]))[0])
    return own_mass(specimen) / area * integral, 0.0, 0.0


# -- lines ----------------------------------------------------------------------------------------


def _line_rule(line: Line, extra: int) -> tuple[Values, Values]:
    """Gauss points and weights on all elements, exact for the functions times x^extra."""
    places, weights = [], []
    for element in line.elements:
        xi, w = gauss((element.fields["w"].shape[1] + extra) // 2 + 1)
        places.append(element.start + element.half * (xi + 1.0))
        weights.append(w * element.half)
    return np.concatenate(places), np.concatenate(weights)
