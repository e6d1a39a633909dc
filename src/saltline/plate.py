"""Rectangular plates by Kirchhoff's thin-plate theory and the Rayleigh-Ritz method.

The deflection is a sum of products of two one-dimensional functions, each set the modes of a
uniform beam between the plate's two opposite edges, as polynomials. With Dx, Dy, D1, Dk the bending
stiffnesses of an orthotropic plate (Leissa, Vibration of Plates, NASA SP-160, 1969, ch. 9) the
strain energy is the integral of

    (Dx w_xx^2 + 2 D1 w_xx w_yy + Dy w_yy^2 + 4 Dk w_xy^2) / 2

and an isotropic plate is the case Dx = Dy = D, D1 = nu D, Dk = (1 - nu) D / 2.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.plates.cubature import Rule, rectangle_rule
from saltline.plates.plate_axes import estimate_highest, moved_breaks, plate_axes
from saltline.plates.plate_places import AXIS_EDGES, patches, place_of
from saltline.plates.plate_products import Axis, overlap, ritz_stiffness, stretched
from saltline.plates.plate_shape import PlateShape
from saltline.plates.plate_singular import left_out, singular_functions, spots
from saltline.plates.plate_space import (
    READ,
    Integrals,
    Space,
    independent,
    integrals,
    product_integrals,
)
from saltline.plates.plate_supports import Readings, plate_functionals
from saltline.plates.singular import Singular
from saltline.plates.stiffness import Stiffness, plate_stiffness
from saltline.problem import Problem
from saltline.quantity import Quantity
from saltline.record import record
from saltline.specimen import Hold, PlateGeometry, Specimen

Place = tuple[Quantity, ...]

# -- the problems ---------------------------------------------------------------------------------


def plate_problems(specimen: Specimen, *, count: int, refinement: int) -> list[Problem]:
    """One problem for each symmetry class of a plate: one, two or four.

    count: how many modes in all the basis should serve; refinement: 0, 1, 2 ... raises the degree.
    """
    geometry = specimen.geometry
    assert isinstance(geometry, PlateGeometry)
    stiffness = plate_stiffness(specimen)
    highest = estimate_highest(specimen, stiffness, count)
    x_axes = plate_axes(specimen, 0, (highest * stiffness.mass / stiffness.Dx) ** 0.25, refinement)
    y_axes = plate_axes(specimen, 1, (highest * stiffness.mass / stiffness.Dy) ** 0.25, refinement)
    blocks = _blocks(specimen, x_axes, y_axes, stiffness)
    return [_problem(specimen, block, highest) for block in blocks]


@record
class _Block:
    """What a symmetry class is solved in, whatever the plate's stiffnesses.

    singular, sums: the raw singular functions and their integrals; None where there are none.
    least:  the energy below which a singular function is nothing, per unit of each integral.
    change: of the functions of the space (see `Space`), once it has been chosen.
    medium: the stiffnesses that the singular functions were made for.
    """

    x: Axis
    y: Axis
    medium: Stiffness
    singular: Singular | None = None
    sums: Integrals | None = None
    least: Values | None = None
    change: Values | None = None

    @property
    def space(self) -> Space:
        return Space(self.x.line, self.y.line, self.singular, self.change)


def _blocks(
    specimen: Specimen,
    x_axes: Sequence[Axis],
    y_axes: Sequence[Axis],
    medium: Stiffness,
) -> list[_Block]:
    """The symmetry classes, each with the singular functions that the supports call for."""
    mirrored = (x_axes[0].parity != 0, y_axes[0].parity != 0)
    singular = singular_functions(specimen, medium, mirrored)
    if singular is None:
        return [_Block(x, y, medium) for x, y in product(x_axes, y_axes)]
    rule = _rule(specimen, x_axes[0].line, y_axes[0].line, mirrored)
    images = singular.images(rule.x, rule.y, READ)
    along = [axis.line.jets("w", rule.x, 2) for axis in x_axes]
    across = [axis.line.jets("w", rule.y, 2) for axis in y_axes]
    weights = rule.weights * 2.0 ** sum(mirrored)
    plain = [np.hstack([image[0, 0][n] for image in images]) for n in range(len(READ))]
    least = np.array([np.einsum("p,pi->i", weights, values**2) for values in plain])
    highest = max(_degree_per_side(axis.line, specimen) for axis in (x_axes[0], y_axes[0]))
    discs = left_out(specimen, highest)
    found = []
    for (x, f), (y, g) in product(
        zip(x_axes, along, strict=True), zip(y_axes, across, strict=True)
    ):
        here = replace(singular, parities=(x.parity, y.parity))
        lacking = product_integrals(x.line, y.line, discs)
        sums = integrals(f, g, here.mirrored(images, READ), weights, lacking)
        found.append(_Block(x, y, medium, here, sums, least))
    return found


def _rule(specimen: Specimen, x: Line, y: Line, mirrored: tuple[bool, bool]) -> Rule:
    """A rule over the plate less its patches, or over the part that mirrors make the whole of."""
    breaks, degrees = [], []
    for line, is_mirrored in zip((x, y), mirrored, strict=True):
        end = line.breaks[-1] / 2.0 if is_mirrored else line.breaks[-1]
        inner = [b for b in line.breaks if b < end * (1.0 - 1e-9)]
        breaks.append([*inner, end])
        degrees.append([e.fields["w"].shape[1] - 1 for e in line.elements][: len(inner)])
    return rectangle_rule((breaks[0], breaks[1]), (degrees[0], degrees[1]), spots(specimen))


def _degree_per_side(line: Line, specimen: Specimen) -> float:
    shortest = min(specimen.geometry.size)
    return max(float(e.fields["w"].shape[1] - 1) * shortest / (2.0 * e.half) for e in line.elements)


def _problem(
    specimen: Specimen, block: _Block, highest: float, read: Readings | None = None
) -> Problem:
    stiffness = plate_stiffness(specimen)
    K = ritz_stiffness(stiffness, block.x, block.y)
    M = stiffness.mass * np.kron(overlap(block.x), overlap(block.y))
    if block.sums is not None:
        block, K, M = _with_singular(stiffness, block, K, M, 1e-3 * highest)
    read = read or Readings(block.space)
    return Problem(
        family="plate",
        K=K,
        M=M,
        functionals=plate_functionals(specimen, read, stiffness.mass),
        rigid_motions=_rigid_motions(block.x, block.y, K.shape[0]),
        highest=highest,
        shape_of=_shaping(specimen, read),
        rebuild=lambda changed: _rebuilt_problem(specimen, changed, block, highest, read),
    )


def _with_singular(
    stiffness: Stiffness, block: _Block, K: Values, M: Values, shift: float
) -> tuple[_Block, Values, Values]:
    """K and M over the products and the singular functions, made independent the first time."""
    assert block.sums is not None and block.least is not None
    products = K.shape[0]
    weights = (stiffness.Dx, stiffness.D1, stiffness.Dy, 4.0 * stiffness.Dk, 0.0)
    mass = (0.0, 0.0, 0.0, 0.0, stiffness.mass)
    K, M = block.sums.over_raw(K, weights), block.sums.over_raw(M, mass)
    if block.change is None:
        s, xx, xy, yy = block.least
        least = weights[0] * xx + weights[2] * yy + weights[3] * xy + shift * stiffness.mass * s
        change = independent(K + shift * M, products, 1e-10 * least)
        block = replace(block, change=change)
    assert block.change is not None
    return block, _changed(K, products, block.change), _changed(M, products, block.change)


def _changed(A: Values, products: int, change: Values) -> Values:
    """change' A change, where the products stay what they are (see `independent`)."""
    P, S = change[:products, products:], change[products:, products:]
    mixed = A[:products, :products] @ P + A[:products, products:] @ S
    own = P.T @ mixed + S.T @ (A[products:, :products] @ P + A[products:, products:] @ S)
    return np.block([[A[:products, :products], mixed], [mixed.T, (own + own.T) / 2.0]])


def _rebuilt_problem(
    old: Specimen, new: Specimen, block: _Block, highest: float, read: Readings
) -> Problem:
    fresh = _rebuilt(old, new, block)
    return _problem(new, fresh, highest, read if fresh is block else None)


def _rebuilt(old: Specimen, new: Specimen, block: _Block) -> _Block:
    """The same functions on a changed specimen, stretched with it; the very block if need be."""
    if _layout(old) == _layout(new):
        return block
    x, y = (
        stretched(axis, moved_breaks(axis.line, old, new, number))
        for number, axis in enumerate((block.x, block.y))
    )
    if block.singular is None:
        return replace(block, x=x, y=y)
    (fresh,) = _blocks(_kept_symmetric(old, new, block), [x], [y], block.medium)
    return replace(fresh, change=block.change)


def _layout(specimen: Specimen) -> tuple[object, ...]:
    """What a plate's functions depend on: its size, and where what holds it stands."""
    lines = [[q.value for q in (*s.at, *s.to)] for s in specimen.supports if s.to]
    return specimen.geometry.size, spots(specimen), lines


def _kept_symmetric(old: Specimen, new: Specimen, block: _Block) -> Specimen:
    """The changed specimen with supports and masses moved along where the plate mirrors itself.

    There one that stays while the plate grows would leave its mirror image, and the functions with
    it; to first order the mode does not feel on which side it then stands.
    """
    parities = (block.x.parity, block.y.parity)

    def along(before: Place, after: Place) -> Place:
        return tuple(
            replace(q, value=p.value * new.geometry.size[axis] / old.geometry.size[axis])
            if parities[axis]
            else q
            for axis, (p, q) in enumerate(zip(before, after, strict=True))
        )

    return replace(
        new,
        supports=tuple(
            replace(s, at=along(p.at, s.at))
            for p, s in zip(old.supports, new.supports, strict=True)
        ),
        attached=tuple(
            replace(t, at=along(p.at, t.at))
            for p, t in zip(old.attached, new.attached, strict=True)
        ),
    )


def _shaping(specimen: Specimen, read: Readings) -> Callable[[Values], PlateShape]:
    """Coefficients -> the shape."""
    space = read.space
    left, right, bottom, top = (
        _vanishing(specimen.boundary[edge]) for pair in AXIS_EDGES for edge in pair
    )
    nothing = 1e-9 / math.sqrt(plate_stiffness(specimen).mass * math.prod(specimen.geometry.size))

    resting = tuple(
        (place_of(s), (s.to[0].value, s.to[1].value))
        for s in specimen.supports
        if s.to and math.isinf(s.hold.deflection.value)
    )

    def shape(q: Values) -> PlateShape:
        raw = q if space.change is None else space.change @ q
        moves = []
        for patch in patches(specimen):
            A, B, C = read.motion(patch) @ q
            if patch.is_still or max(abs(A), patch.radius * math.hypot(B, C)) < nothing:
                moves.append((replace(patch, is_still=True), (0.0, 0.0, 0.0)))
            else:
                moves.append((patch, (float(A), float(B), float(C))))
        return PlateShape(
            space.x,
            space.y,
            raw[: space.products].reshape(space.x.size, space.y.size),
            (left, right, bottom, top),
            None if space.singular is None else space.singular.combined(raw[space.products :]),
            tuple(moves),
            resting,
        )

    return shape


def _vanishing(hold: Hold) -> int:
    if not math.isinf(hold.deflection.value):
        return 0
    return 2 if math.isinf(hold.rotation.value) else 1


def _rigid_motions(x: Axis, y: Axis, size: int) -> Values:
    """Straight lines along one axis times a constant along the other (x*y is a twist).

    size: of the columns; singular functions, after the products, have no part in them.
    """
    columns = []
    for i, j in product(range(x.rigid.shape[1]), range(y.rigid.shape[1])):
        x_is_constant = x.has_constant and i == 0
        y_is_constant = y.has_constant and j == 0
        if x_is_constant or y_is_constant:
            columns.append(np.kron(x.rigid[:, i], y.rigid[:, j]))
    motions = np.zeros((size, len(columns)))
    if columns:
        motions[: x.line.size * y.line.size] = np.column_stack(columns)
    return motions
