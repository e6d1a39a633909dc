"""What a symmetry class of a plate is solved in: its functions and their integrals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.plates.cubature import Rule, rectangle_rule
from saltline.plates.plate_axes import moved_breaks
from saltline.plates.plate_products import Axis, stretched
from saltline.plates.plate_singular import left_out, singular_functions, spots
from saltline.plates.plate_space import READ, Integrals, Space, integrals, product_integrals
from saltline.plates.singular import Singular
from saltline.plates.stiffness import Stiffness
from saltline.quantity import Quantity
from saltline.record import record
from saltline.specimen import Specimen

Place = tuple[Quantity, ...]


@record
class Block:
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

    def cut(self, Q: Values) -> Values:
        """What the degree before makes of modes, columns; singular functions stay whole."""
        assert self.x.high is not None and self.y.high is not None
        count = self.x.line.size * self.y.line.size
        added = 0.0 if self.change is None else self.change[:count, count:] @ Q[count:]
        products = (Q[:count] + added).T.reshape(-1, self.x.line.size, self.y.line.size)
        products = products - self.x.high @ (self.x.high.T @ products)
        products = products - (products @ self.y.high) @ self.y.high.T
        return np.vstack([products.reshape(-1, count).T - added, Q[count:]])


def blocks(
    specimen: Specimen,
    x_axes: Sequence[Axis],
    y_axes: Sequence[Axis],
    medium: Stiffness,
) -> list[Block]:
    """The symmetry classes, each with the singular functions that the supports call for."""
    mirrored = (x_axes[0].parity != 0, y_axes[0].parity != 0)
    singular = singular_functions(specimen, medium, mirrored)
    if singular is None:
        return [Block(x, y, medium) for x, y in product(x_axes, y_axes)]
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
        here, theirs, taken = singular.of_parities((x.parity, y.parity), images)
        if not np.any(taken):  # a force in the middle bends nothing that is odd
            found.append(Block(x, y, medium))
            continue
        lacking = product_integrals(x.line, y.line, discs)
        sums = integrals(f, g, here.mirrored(theirs, READ), weights, lacking)
        found.append(Block(x, y, medium, here, sums, least[:, taken]))
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


# -- on a changed specimen -------------------------------------------------------------------------


def rebuilt(old: Specimen, new: Specimen, block: Block) -> Block:
    """The same functions on a changed specimen, stretched with it; the very block if need be."""
    if layout(old) == layout(new):
        return block
    x, y = (
        stretched(axis, moved_breaks(axis.line, old, new, number))
        for number, axis in enumerate((block.x, block.y))
    )
    if block.singular is None:
        return replace(block, x=x, y=y)
    (fresh,) = blocks(_kept_symmetric(old, new, block), [x], [y], block.medium)
    return replace(fresh, change=block.change)


def layout(specimen: Specimen) -> tuple[object, ...]:
    """What a plate's functions depend on: its size, and where what holds it stands."""
    lines = [[q.value for q in (*s.at, *s.to)] for s in specimen.supports if s.to]
    return specimen.geometry.size, spots(specimen), lines


def _kept_symmetric(old: Specimen, new: Specimen, block: Block) -> Specimen:
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
