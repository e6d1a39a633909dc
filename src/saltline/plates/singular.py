"""Singular functions on a plate: made to obey its held edges and to mirror as it does.

What a polynomial cannot follow near a support is added to the polynomials as it stands.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from saltline.arrays import Flags, Values
from saltline.plates.potentials import Order, Source
from saltline.record import record

# -- held edges -----------------------------------------------------------------------------------


@record
class Blend:
    """Along one axis, the polynomials that take a function's held end values away.

    places, orders: end and derivative of each held value; series: the polynomial (in powers of
    x / length, a row each) that has that value 1 and the other held ones 0.
    """

    length: float
    places: tuple[float, ...]
    orders: tuple[int, ...]
    series: Values

    def at(self, x: Values, derivative: int) -> Values:
        """The polynomials or their derivatives at x, shape (len(x), number of held values)."""
        values = np.zeros((len(x), len(self.places)))
        for power in range(derivative, self.series.shape[1]):
            factor = math.factorial(power) / math.factorial(power - derivative)
            values += factor * np.outer(
                (x / self.length) ** (power - derivative), self.series[:, power]
            )
        return values / self.length**derivative


def make_blend(length: float, held: Sequence[tuple[int, int]]) -> Blend:
    """The blend of the held values, each (0 start or 1 end, 0 deflection or 1 slope)."""
    count = len(held)
    rows = np.zeros((count, count + 1))
    for row, (end, order) in zip(rows, held, strict=True):
        powers = np.arange(count + 1)
        row[:] = (powers if order else 1.0) * float(end) ** np.maximum(powers - order, 0)
    series = np.linalg.pinv(rows).T if count else np.zeros((0, 1))
    scale = np.array([length**order for _, order in held])
    return Blend(
        length,
        tuple(end * length for end, _ in held),
        tuple(order for _, order in held),
        series * scale[:, None] if count else series,
    )


# -- the functions on a plate ---------------------------------------------------------------------

Images = Mapping[Order, Sequence[Values]]
"""Derivatives of one source's functions before mirroring at each mirror image of some points, but
where the functions are their own. The key tells along which axes the points are mirrored."""


@record
class Singular:
    """Singular functions on a plate, with held edges at rest, mirrored as the plate is.

    Each is s less the transfinite interpolation of its values at the held edges (Gordon 1971, SIAM
    J. Numer. Anal. 8, 158), summed over the plate's mirror images.

    parities: about the middle of x and of y: 1 even, -1 odd, 0 where the plate is not mirrored.
    """

    sources: tuple[Source, ...]
    blends: tuple[Blend, Blend]
    parities: tuple[int, int]

    @property
    def size(self) -> int:
        """The number of functions."""
        return sum(source.size for source in self.sources)

    def combined(self, c: Values) -> Singular:
        """The sum of the functions times c, shape (size,), as one function a source."""
        sources, first = [], 0
        for source in self.sources:
            part = c[first : first + source.size]
            own: list[Values | None] = [None, None]
            for axis, (parity, of_each) in enumerate(zip(self.parities, source.own, strict=True)):
                if of_each is not None:
                    part = np.where(of_each == parity, part, 0.0)
                    own[axis] = np.array([parity])
            sources.append(replace(source.combined(part), own=(own[0], own[1])))
            first += source.size
        return replace(self, sources=tuple(sources))

    def of_parities(
        self, parities: tuple[int, int], images: Sequence[Images]
    ) -> tuple[Singular, list[Images], Flags]:
        """The functions that motions of these parities have, with their images.

        Also which of all the functions they are, shape (size,).
        """
        taken: list[Flags] = []
        sources: list[Source] = []
        theirs: list[Images] = []
        for source, image in zip(self.sources, images, strict=True):
            which = np.ones(source.size, dtype=bool)
            for parity, own in zip(parities, source.own, strict=True):
                which &= True if own is None else own == parity
            taken.append(which)
            if np.any(which):
                sources.append(source.some(which))
                theirs.append({flip: [v[:, which] for v in found] for flip, found in image.items()})
        here = replace(self, sources=tuple(sources), parities=parities)
        return here, theirs, np.concatenate(taken)

    def jets(self, x: Values, y: Values, orders: Sequence[Order]) -> list[Values]:
        """Derivatives of every function at the points (x[i], y[i]): a (len(x), size) an order."""
        return self.mirrored(self.images(x, y, orders), orders)

    def images(self, x: Values, y: Values, orders: Sequence[Order]) -> list[Images]:
        """What `mirrored` needs, for each source; whether even or odd plays no part."""
        return [self._images(source, x, y, orders) for source in self.sources]

    def _images(self, source: Source, x: Values, y: Values, orders: Sequence[Order]) -> Images:
        either_x, either_y = [
            (0, 1) if parity and own is None else (0,)
            for parity, own in zip(self.parities, source.own, strict=True)
        ]
        flips = [(flip_x, flip_y) for flip_x in either_x for flip_y in either_y]
        along, across = (blend.length for blend in self.blends)
        # All images at once: often the points are few, and the calls cost more than they do.
        X = np.concatenate([along - x if flip_x else x for flip_x, _ in flips])
        Y = np.concatenate([across - y if flip_y else y for _, flip_y in flips])
        whole = self._at_rest(source, X, Y, orders)
        return {
            flip: [values[k * len(x) : (k + 1) * len(x)] for values in whole]
            for k, flip in enumerate(flips)
        }

    def mirrored(self, images: Sequence[Images], orders: Sequence[Order]) -> list[Values]:
        """The derivatives of the even or odd functions out of those of the images."""
        parts = [
            self._mirrored(source, found, orders)
            for source, found in zip(self.sources, images, strict=True)
        ]
        if len(parts) == 1:
            return parts[0]
        return [np.hstack(of_order) for of_order in zip(*parts, strict=True)]

    def _mirrored(self, source: Source, images: Images, orders: Sequence[Order]) -> list[Values]:
        totals = list(images[0, 0])
        for flip, values in images.items():
            if flip == (0, 0):
                continue
            for n, (part, order) in enumerate(zip(values, orders, strict=True)):
                sign = math.prod(
                    (parity * (-1) ** derivative)
                    for parity, derivative, flipped in zip(self.parities, order, flip, strict=True)
                    if flipped
                )
                totals[n] = totals[n] + sign * part
        for parity, own in zip(self.parities, source.own, strict=True):
            if own is not None and np.any(own != parity):  # they have no part in such motions
                totals = [np.where(own == parity, total, 0.0) for total in totals]
        return totals

    def _at_rest(
        self, source: Source, x: Values, y: Values, orders: Sequence[Order]
    ) -> list[Values]:
        """The functions of one source less their interpolation from the held edges."""
        along, across = self.blends
        totals = source.jets(x, y, orders)
        blends_x = {a: along.at(x, a) for a, _ in orders}
        blends_y = {b: across.at(y, b) for _, b in orders}
        held_x = _disobeyed(along, source, 0)
        held_y = _disobeyed(across, source, 1)
        for k, place, order in held_x:
            edge = source.jets(np.full_like(x, place), y, [(order, b) for _, b in orders])
            for total, (a, _), trace in zip(totals, orders, edge, strict=True):
                total -= blends_x[a][:, [k]] * trace
        for k, place, order in held_y:
            edge = source.jets(x, np.full_like(y, place), [(a, order) for a, _ in orders])
            for total, (_, b), trace in zip(totals, orders, edge, strict=True):
                total -= blends_y[b][:, [k]] * trace
        for (i, px, ox), (j, py, oy) in product(held_x, held_y):
            corner = source.jets(np.array([px]), np.array([py]), [(ox, oy)])[0]
            for total, (a, b) in zip(totals, orders, strict=True):
                total += (blends_x[a][:, [i]] * blends_y[b][:, [j]]) * corner
        return totals


def _disobeyed(blend: Blend, source: Source, axis: int) -> list[tuple[int, float, int]]:
    """(number, place, derivative) of the held values that the source's functions do not have."""
    there = [place for direction, place in source.obeys if direction == axis]
    return [
        (k, place, order)
        for k, (place, order) in enumerate(zip(blend.places, blend.orders, strict=True))
        if all(abs(place - other) > 1e-9 * blend.length for other in there)
    ]
