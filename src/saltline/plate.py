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
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from itertools import product

import numpy as np

from saltline.arrays import Values
from saltline.plates.plate_axes import estimate_highest, plate_axes
from saltline.plates.plate_blocks import Block, blocks, rebuilt
from saltline.plates.plate_places import AXIS_EDGES, patches, place_of
from saltline.plates.plate_products import Axis, overlap, ritz_stiffness, sum_of_products
from saltline.plates.plate_quotients import quotients
from saltline.plates.plate_shape import PlateShape
from saltline.plates.plate_space import independent
from saltline.plates.plate_supports import Readings, plate_functionals
from saltline.plates.stiffness import Stiffness, plate_stiffness
from saltline.problem import Problem
from saltline.specimen import Hold, PlateGeometry, Specimen

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
    found = blocks(specimen, x_axes, y_axes, stiffness)
    return [_problem(specimen, block, highest) for block in found]


def _problem(
    specimen: Specimen, block: Block, highest: float, read: Readings | None = None
) -> Problem:
    stiffness = plate_stiffness(specimen)
    K = ritz_stiffness(stiffness, block.x, block.y)
    M = sum_of_products((stiffness.mass * overlap(block.x), overlap(block.y)))
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
        quotients=partial(quotients, specimen, block, read),
        cut=None if block.x.high is None or block.y.high is None else block.cut,
    )


def _with_singular(
    stiffness: Stiffness, block: Block, K: Values, M: Values, shift: float
) -> tuple[Block, Values, Values]:
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
    old: Specimen, new: Specimen, block: Block, highest: float, read: Readings
) -> Problem:
    fresh = rebuilt(old, new, block)
    return _problem(new, fresh, highest, read if fresh is block else None)


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
            columns.append(np.multiply.outer(x.rigid[:, i], y.rigid[:, j]).ravel())
    motions = np.zeros((size, len(columns)))
    if columns:
        motions[: x.line.size * y.line.size] = np.column_stack(columns)
    return motions
