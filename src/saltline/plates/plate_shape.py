"""The shape of a plate's mode: where it is, how it bends, and what has its sign alone."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import field
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Indices, Values
from saltline.basis import Line
from saltline.record import record

if TYPE_CHECKING:  # a beam's commands know the class, and load nothing that solves plates
    from saltline.plates.plate_places import Patch
    from saltline.plates.potentials import Order
    from saltline.plates.singular import Singular

Segment = tuple[tuple[float, float], tuple[float, float]]


@record
class PlateShape:
    """The shape of a plate mode: a polynomial in x and y on each rectangle of elements.

    q: coefficients, shape (x.size, y.size), of the products of the two axes' functions.
    vanishing: how many times the deflection vanishes at the left, right, bottom and top edge: 2
               clamped, 1 pinned, else 0.
    singular:  what supports add to the polynomial; None where there are none.
    patches:   rigid patches, each with its motion A + B (x - x0) + C (y - y0) as (A, B, C).
    resting:   lines along which the plate is held at rest, by their ends, m.
    known:     what was found out about the shape by the rooms above, each under its own name, so
               that lines are traced once however many tables and pictures ask for them.
    """

    x: Line
    y: Line
    q: Values
    vanishing: tuple[int, int, int, int]
    singular: Singular | None = None
    patches: tuple[tuple[Patch, tuple[float, float, float]], ...] = ()
    resting: tuple[Segment, ...] = ()
    known: dict[str, object] = field(default_factory=dict, repr=False, compare=False)

    def at(self, x: Values, y: Values, dx: int = 0, dy: int = 0) -> Values:
        """The deflection or a derivative on the grid of places x by y, shape (len(x), len(y))."""
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        values = np.asarray(self.x.rows("w", x, dx) @ self.q @ self.y.rows("w", y, dy).T)
        if self.singular is None:
            return values
        X, Y = (side.ravel() for side in np.meshgrid(x, y, indexing="ij"))
        flat = values.ravel()
        self._add([flat], X, Y, ((dx, dy),))
        return flat.reshape(values.shape)

    def at_points(self, x: Values, y: Values, dx: int = 0, dy: int = 0) -> Values:
        """The deflection or a derivative at the points (x[i], y[i]), shape (len(x),)."""
        return self.jet(x, y, ((dx, dy),))[0]

    def jet(self, x: Values, y: Values, orders: Sequence[Order]) -> list[Values]:
        """Several derivatives (dx, dy) of the deflection at the points (x[i], y[i])."""
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        along = self.x.jets("w", x, max(dx for dx, _ in orders))
        across = self.y.jets("w", y, max(dy for _, dy in orders))
        weighted = {dx: along[dx] @ self.q for dx in {dx for dx, _ in orders}}
        values = [np.einsum("ij,ij->i", weighted[dx], across[dy]) for dx, dy in orders]
        if self.singular is not None:
            self._add(values, x, y, orders)
        return values

    def _add(self, values: list[Values], x: Values, y: Values, orders: Sequence[Order]) -> None:
        """Add the singular part to derivatives of the polynomial; patches have their own motion."""
        assert self.singular is not None
        for value, part in zip(values, self.singular.jets(x, y, orders), strict=True):
            value += part.sum(axis=1)
        self.put_patches(values, x, y, orders)

    def put_patches(
        self, values: Sequence[Values], x: Values, y: Values, orders: Sequence[Order]
    ) -> None:
        """Put the patches' own motion in place of derivatives at points under them."""
        for patch, (A, B, C) in self.patches:
            X, Y = x - patch.at[0], y - patch.at[1]
            here = np.hypot(X, Y) < patch.radius
            motion = {(0, 0): A + B * X[here] + C * Y[here], (1, 0): B, (0, 1): C}
            for value, order in zip(values, orders, strict=True):
                value[here] = motion.get(order, 0.0)

    def levels(self, x: Values, y: Values) -> tuple[Values, Values]:
        """The deflection on a grid, and divided by what makes it vanish at held edges and patches.

        x, y: places from edge to edge. Divided by x^left (length - x)^right and the like for y and,
        about a patch at rest, by the square of the distance from it, the shape has the sign of the
        deflection and no zero but at node lines. On an edge that is the first derivative that does
        not vanish; across a patch it goes on as outside.
        """
        left, right, bottom, top = self.vanishing
        level = np.asarray(
            _divided_rows(self.x, x, left, right) @ self.q @ _divided_rows(self.y, y, bottom, top).T
        )
        w = self.at(x, y)
        if self.singular is None:
            return w, level
        inner = w - self.x.rows("w", x) @ self.q @ self.y.rows("w", y).T
        X, Y = np.meshgrid(x, y, indexing="ij")
        along, across = _factors(x, left, right), _factors(y, bottom, top)
        for (rows, dx, x_factor), (columns, dy, y_factor) in product(along, across):
            here = np.ix_(rows, columns)
            if dx == dy == 0:
                part = inner[here]
            else:
                found = self.singular.jets(X[here].ravel(), Y[here].ravel(), [(dx, dy)])[0]
                part = found.sum(axis=1).reshape(rows.size, columns.size)
            level[here] += part * np.outer(x_factor, y_factor)
        for patch, (A, B, C) in self.patches:
            U, V = X - patch.at[0], Y - patch.at[1]
            r = np.hypot(U, V)
            if patch.is_still:
                self._divide_about(level, patch, U, V, r)
            else:
                inside = r < patch.radius
                level[inside] = (A + B * U + C * V)[inside]
        return w, level

    def _divide_about(self, level: Values, patch: Patch, U: Values, V: Values, r: Values) -> None:
        """Divide by the square of the distance from a patch at rest; inside, mirror in its rim."""
        R = patch.radius
        inside = r < 1.001 * R
        far = np.maximum(2.0 * R - r[inside], 1.001 * R) / np.maximum(r[inside], 1e-12 * R)
        ends = (self.x.breaks[-1], self.y.breaks[-1])
        X, Y = (
            np.clip(centre + far * offset[inside], 0.0, end)
            for centre, offset, end in zip(patch.at, (U, V), ends, strict=True)
        )
        away = np.hypot(X - patch.at[0], Y - patch.at[1])
        level[~inside] /= (1.0 - R / r[~inside]) ** 2
        level[inside] = self.at_points(X, Y) / np.maximum(1.0 - R / away, 1e-3) ** 2


def _factors(x: Values, low: int, high: int) -> list[tuple[Indices, int, Values]]:
    """For the first place, the last and those between: which, what derivative, and its factor."""
    length = x[-1]
    first, last, inner = np.array([0]), np.array([x.size - 1]), np.arange(1, x.size - 1)
    return [
        (first, low, np.array([1.0 / math.factorial(low) / length**high])),
        (last, high, np.array([(-1.0) ** high / math.factorial(high) / length**low])),
        (inner, 0, 1.0 / (x[inner] ** low * (length - x[inner]) ** high)),
    ]


def _divided_rows(line: Line, x: Values, low: int, high: int) -> Values:
    """Rows that read the function divided by x^low (L - x)^high."""
    rows = np.zeros((x.size, line.size))
    for which, derivative, factor in _factors(x, low, high):
        rows[which] = factor[:, None] * line.rows("w", x[which], derivative)
    return rows
