"""Rayleigh's quotients of a plate's modes in a slightly changed specimen, without matrices."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from saltline.arrays import Values
from saltline.plates.plate_blocks import Block, layout
from saltline.plates.plate_products import overlap
from saltline.plates.plate_supports import Readings, plate_functionals
from saltline.plates.stiffness import plate_stiffness
from saltline.specimen import Specimen


def quotients(
    specimen: Specimen, block: Block, read: Readings, Q: Values
) -> Callable[[Specimen], Values | None]:
    """What finds omega^2 = V/T of modes in a changed specimen, with the shapes kept.

    Q: the modes over the functions of the block's space, columns of shape (size, k).

    As long as the plate's size and what holds it stay where they are, a changed specimen changes
    the coefficients of five integrals of each mode alone. Otherwise None is found.
    """
    here = layout(specimen)
    xx, xx_yy, yy, xy, ww = _integrals(block, Q)

    def found(changed: Specimen) -> Values | None:
        if layout(changed) != here:
            return None
        s = plate_stiffness(changed)
        V = s.Dx * xx + s.D1 * xx_yy + s.Dy * yy + 4.0 * s.Dk * xy
        T = s.mass * ww
        for one in plate_functionals(changed, read, s.mass):
            if not math.isinf(one.stiffness):  # a rigid hold is obeyed as before
                moved = np.sum((one.rows @ Q) ** 2, axis=0)
                V += one.stiffness * moved
                T += one.mass * moved
        return np.asarray(V / T)

    return found


def _integrals(block: Block, Q: Values) -> Values:
    """The five integrals (see `plate_space.Integrals`) of each mode with itself, shape (5, k)."""
    raw = Q if block.change is None else block.change @ Q
    x, y = block.x, block.y
    products = raw[: x.line.size * y.line.size]
    q = products.T.reshape(-1, x.line.size, y.line.size)

    def of(along: Values, across: Values) -> Values:
        return np.asarray(np.einsum("kij,kij->k", q, along @ q @ across.T))

    found = np.stack(
        [
            of(x.A2, overlap(y)),
            of(x.B, y.B.T) + of(x.B.T, y.B),
            of(overlap(x), y.A2),
            of(x.A1, y.A1),
            of(overlap(x), overlap(y)),
        ]
    )
    if block.sums is not None:
        found += block.sums.of_squares(products, raw[len(products) :])
    return found
