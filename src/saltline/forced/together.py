"""The shapes of many plate modes read at the same places at once.

What is singular in a shape costs by the place, hardly by the shape: modes of one problem have the
same functions, each with weights of its own, and are read as that many functions of one kind.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Values
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape

if TYPE_CHECKING:
    from saltline.plates.potentials import Order, Source
    from saltline.plates.singular import Singular


def jets_together(
    shapes: Sequence[PlateShape | MixedShape], x: Values, y: Values, orders: Sequence[Order]
) -> Values:
    """Derivatives (dx, dy) of each shape at the points (x[i], y[i]), as `PlateShape.jet` has them.

    Shape (orders, shapes, points).
    """
    found = np.zeros((len(orders), len(shapes), len(x)))
    groups: dict[tuple[int, ...], list[tuple[int, float, PlateShape]]] = {}
    for number, shape in enumerate(shapes):
        parts = shape.parts if isinstance(shape, MixedShape) else ((shape, 1.0),)
        for part, weight in parts:
            groups.setdefault(_functions(part), []).append((number, weight, part))
    for members in groups.values():
        read = _jets([part for _, _, part in members], x, y, orders)
        for n, (number, weight, _) in enumerate(members):
            found[:, number] += weight * read[:, n]
    return found


def _functions(shape: PlateShape) -> tuple[int, ...]:
    """What tells the functions of one problem from those of others while their shapes live."""
    blends = 0 if shape.singular is None else id(shape.singular.blends)
    return id(shape.x), id(shape.y), blends


def _jets(shapes: Sequence[PlateShape], x: Values, y: Values, orders: Sequence[Order]) -> Values:
    """The same of shapes over the same functions."""
    one = shapes[0]
    along = one.x.jets("w", x, max(dx for dx, _ in orders))
    across = one.y.jets("w", y, max(dy for _, dy in orders))
    found = np.zeros((len(orders), len(shapes), len(x)))
    for number, shape in enumerate(shapes):
        weighted = {dx: along[dx] @ shape.q for dx in {dx for dx, _ in orders}}
        for n, (dx, dy) in enumerate(orders):
            found[n, number] = np.einsum("ij,ij->i", weighted[dx], across[dy])
    if one.singular is not None:
        singular = [shape.singular for shape in shapes if shape.singular is not None]
        for n, part in enumerate(_beside(singular).jets(x, y, orders)):
            found[n] += part.reshape(len(x), -1, len(shapes)).sum(axis=1).T
        for number, shape in enumerate(shapes):
            shape.put_patches(list(found[:, number]), x, y, orders)
    return found


def _beside(functions: Sequence[Singular]) -> Singular:
    """Sums of the same singular functions as that many functions of each source."""
    by_source = zip(*(one.sources for one in functions), strict=True)
    return replace(functions[0], sources=tuple(map(_sources_beside, by_source)))


def _sources_beside(sources: Sequence[Source]) -> Source:
    by_potential = zip(*(source.potentials for source in sources), strict=True)
    potentials = tuple(
        replace(
            same[0],
            plain=np.hstack([p.plain for p in same]),
            logs=np.hstack([p.logs for p in same]),
        )
        for same in by_potential
    )
    along, across = (
        None if signs[0] is None else np.concatenate(signs)
        for signs in zip(*(source.own for source in sources), strict=True)
    )
    return replace(sources[0], potentials=potentials, own=(along, across))
