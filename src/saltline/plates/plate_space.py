"""The functions in which a plate's deflection is sought, and what can be read off them.

They are the products f_i(x) g_j(y) of the two axes' polynomials and, where something holds the
plate at a point or on a patch, singular functions. The singular ones are made orthogonal in energy
to the polynomials: what of them is polynomial counts once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.plates.cubature import Rule
from saltline.plates.potentials import Order
from saltline.plates.singular import Singular
from saltline.record import record

READ: tuple[Order, ...] = ((0, 0), (2, 0), (1, 1), (0, 2))
"""The derivatives of which energies are made."""

INDEPENDENT = 1e-9
"""A function of which less than this share of its energy is beyond the others is left out."""

AT_ONCE = 1024
"""Points whose products of functions are held at once, so that they stay in the cache."""

ROUNDING = 1e-11
"""A reading smaller than this, relative to what it is made of, is zero."""


@record
class Space:
    """Products of the axes' functions, row i * len(y) + j, and then the singular functions.

    change: the functions as combinations of the products and the raw singular ones, columns of
            shape (raw size, size); None where there are products alone.
    """

    x: Line
    y: Line
    singular: Singular | None = None
    change: Values | None = None

    @property
    def products(self) -> int:
        """The number of products."""
        return self.x.size * self.y.size

    def rows(self, x: Values, y: Values, order: Order = (0, 0)) -> Values:
        """The functionals "this derivative at the point (x[i], y[i])", shape (len(x), size)."""
        return self.changed(self._raw_rows(x, y, [order])[0])

    def reading(self, x: Values, y: Values, weights: Mapping[Order, Values]) -> Values:
        """Functionals that are weighted sums of derivatives over some points.

        weights: derivative -> shape (number of functionals, len(x)).
        A sum that symmetry makes zero is exactly zero, or it would seem to hold something.
        """
        parts = list(zip(weights.values(), self._raw_rows(x, y, list(weights)), strict=True))
        total = np.sum([weight @ rows for weight, rows in parts], axis=0)
        size = np.sum([np.abs(weight) @ np.abs(rows) for weight, rows in parts], axis=0)
        nothing = np.linalg.norm(total, axis=1) <= 1e2 * ROUNDING * np.linalg.norm(size, axis=1)
        total[nothing] = 0.0
        return self.changed(total)

    def changed(self, raw: Values) -> Values:
        """Rows over the raw functions turned into rows over the functions."""
        return raw if self.change is None else np.asarray(raw @ self.change)

    def _raw_rows(self, x: Values, y: Values, orders: Sequence[Order]) -> list[Values]:
        """The functionals over the raw functions, shape (len(x), raw size), for each derivative."""
        along = _readings(self.x, x, max(dx for dx, _ in orders))
        across = _readings(self.y, y, max(dy for _, dy in orders))
        found = [
            np.einsum("pi,pj->pij", along[dx], across[dy]).reshape(len(x), -1) for dx, dy in orders
        ]
        if self.singular is None:
            return found
        singular = self.singular.jets(x, y, orders)
        return [np.hstack(pair) for pair in zip(found, singular, strict=True)]


def _readings(line: Line, places: Values, highest: int) -> list[Values]:
    """The functionals on one axis and their derivatives, with what is only rounding made zero.

    An odd function vanishes in the middle; were 1e-16 left there, a support in the middle would
    seem to hold it.
    """
    jets = line.jets("w", places, highest)
    length = line.breaks[-1] - line.breaks[0]
    for derivative, rows in enumerate(jets):
        rows[np.abs(rows) < ROUNDING / length ** (derivative + 0.5)] = 0.0
    return jets


# -- integrals ------------------------------------------------------------------------------------


@record
class Integrals:
    """What the singular functions and the left-out circles add to the integrals over the products.

    Each array holds five integrals: w_xx v_xx, w_xx v_yy + w_yy v_xx, w_yy v_yy, w_xy v_xy, w v.
    mixed:  products with raw singular functions, shape (5, products, n).
    own:    singular with singular, shape (5, n, n).
    lacking: products with products over the left-out circles, shape (5, products, products), or
             None where there is no circle.
    """

    mixed: Values
    own: Values
    lacking: Values | None

    def over_raw(self, products: Values, weights: Sequence[float]) -> Values:
        """A matrix over products and raw singular functions; weights: of the five integrals."""
        w = np.asarray(weights)
        mixed, own = np.tensordot(w, self.mixed, 1), np.tensordot(w, self.own, 1)
        if self.lacking is not None:
            products = products - np.tensordot(w, self.lacking, 1)
        return np.block([[products, mixed], [mixed.T, own]])

    def of_squares(self, products: Values, singular: Values) -> Values:
        """What they add to the five integrals of motions with themselves, shape (5, k).

        products, singular: the motions' coefficients over either kind, columns of shape (n, k).
        """
        found = 2.0 * np.einsum("ikn,nk->ik", products.T @ self.mixed, singular)
        found += np.einsum("ikn,nk->ik", singular.T @ self.own, singular)
        if self.lacking is not None:
            found -= np.einsum("ikn,nk->ik", products.T @ self.lacking, products)
        return np.asarray(found)


def integrals(
    along: Sequence[Values],
    across: Sequence[Values],
    singular: Sequence[Values],
    weights: Values,
    lacking: Values | None,
) -> Integrals:
    """The integrals by a rule over the plate.

    along, across: the axes' functions and their two derivatives at the rule's points.
    singular:      the raw singular functions' derivatives `READ` there.
    """
    s, xx, xy, yy = singular
    n = s.shape[1]
    mixed = np.zeros((5, along[0].shape[1] * across[0].shape[1], n))
    for first in range(0, len(weights), AT_ONCE):
        here = slice(first, first + AT_ONCE)
        w = weights[here, None]
        bends = np.hstack([w * xx[here], w * yy[here]])

        def read(a: int, b: int, values: Values, here: slice = here) -> Values:
            products = np.einsum("pi,pj->pij", along[a][here], across[b][here])
            return np.asarray(products.reshape(len(values), -1).T @ values)

        by_xx, by_yy = read(2, 0, bends), read(0, 2, bends)
        mixed[0] += by_xx[:, :n]
        mixed[1] += by_xx[:, n:] + by_yy[:, :n]
        mixed[2] += by_yy[:, n:]
        mixed[3] += read(1, 1, w * xy[here])
        mixed[4] += read(0, 0, w * s[here])

    def own(left: Values, right: Values) -> Values:
        return np.asarray(left.T @ (weights[:, None] * right))

    cross = own(xx, yy)
    return Integrals(
        mixed,
        np.stack([own(xx, xx), cross + cross.T, own(yy, yy), own(xy, xy), own(s, s)]),
        lacking,
    )


def product_integrals(x: Line, y: Line, rules: Sequence[Rule]) -> Values | None:
    """The five integrals of products with products over some small parts of the plate."""
    if not rules:
        return None
    size = x.size * y.size
    total = np.zeros((5, size, size))
    for rule in rules:
        along, across = x.jets("w", rule.x, 2), y.jets("w", rule.y, 2)
        root = np.sqrt(rule.weights)[:, None]
        s, xx, xy, yy = (
            (root * np.einsum("pi,pj->pij", along[a], across[b]).reshape(len(rule.x), -1))
            for a, b in READ
        )
        cross = xx.T @ yy
        for part, matrix in zip(
            total, (xx.T @ xx, cross + cross.T, yy.T @ yy, xy.T @ xy, s.T @ s), strict=True
        ):
            part += matrix
    return total


def independent(energy: Values, products: int, least: Values) -> Values:
    """The change to functions that are orthogonal in energy to the products, columns.

    energy: a positive matrix over products and raw singular functions; least: the energy below
    which a singular function is nothing (an even one of an odd shape), shape (n,).
    """
    import scipy.linalg  # needed for singular functions alone

    n = energy.shape[0] - products
    own = np.diag(energy)[products:]
    present = own > least
    scale = np.where(present, 1.0 / np.sqrt(np.where(present, own, 1.0)), 0.0)
    mixed = energy[:products, products:] * scale
    factor = scipy.linalg.cho_factor(energy[:products, :products], check_finite=False)
    part = scipy.linalg.cho_solve(factor, mixed, check_finite=False)
    rest = energy[products:, products:] * np.outer(scale, scale) - mixed.T @ part
    share, vectors = np.linalg.eigh((rest + rest.T) / 2.0)
    kept = vectors[:, share > INDEPENDENT] / np.sqrt(share[share > INDEPENDENT])
    change = np.zeros((products + n, products + kept.shape[1]))
    change[:products, :products] = np.eye(products)
    change[:products, products:] = -part @ kept
    change[products:, products:] = scale[:, None] * kept
    return change
