"""Nodes and antinodes of a beam's modes: roots of polynomials, of many modes at a time."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache

import numpy as np

from saltline.arrays import Indices, Values
from saltline.basis import Line
from saltline.beam import BeamShape
from saltline.legendre import legendre_derivative, legendre_values
from saltline.record import record

HELD_NEARNESS = 1e-6
"""A root closer to a rigid hold than this fraction of the length is the hold itself."""

AT_REST = 1e-9
"""Where a whole element moves less than this part of the greatest deflection, it is at rest: what
its polynomial says is rounding."""


@record
class BeamPattern:
    """Where a beam mode stands still and where it moves most.

    nodes, antinodes: m from the start, ascending; a free end that moves most is an antinode.
    """

    nodes: tuple[float, ...]
    antinodes: tuple[float, ...]

    @property
    def counts(self) -> Mapping[str, int | None]:
        """What an observer counts, by the names of a measured list's columns."""
        return {"nodes": len(self.nodes)}


def beam_pattern(shape: BeamShape) -> BeamPattern:
    """Nodes and antinodes of a beam's mode."""
    return beam_patterns([shape])[0]


def beam_patterns(shapes: Sequence[BeamShape]) -> list[BeamPattern]:
    """Those of several modes of one line and field; together they take a fifth of the time."""
    line = shapes[0].line
    motions = _Motions.of(line, shapes[0].field, _coefficients(shapes))
    places, values = motions.sampled()
    largest = np.abs(values[:, 0]).max(axis=1)
    _quieten(motions, values, largest)
    roots = _sign_changes(motions, places, values)
    jets = motions.jets(roots.x, roots.mode)
    ends = line.breaks[[0, -1]]
    number = np.arange(len(shapes))
    at_ends = [motions.jets(np.full(number.size, x), number) for x in ends]
    still = _are_at_rest(shapes, largest)
    patterns = []
    for mode, shape in enumerate(shapes):
        if still[mode]:
            patterns.append(BeamPattern((), ()))
            continue
        mine = roots.mode == mode
        nodes = _unheld(shape, roots.x[mine & (roots.order == 0)])
        floor = AT_REST * largest[mode]
        turns = mine & (roots.order == 1)
        w, _, bend, _ = jets[turns].T
        inner = roots.x[turns][(np.abs(w) > floor) & (w * bend < 0.0)]
        moving = _moving_ends(ends, [jet[mode] for jet in at_ends], floor)
        patterns.append(BeamPattern(nodes, tuple(sorted({*inner.tolist(), *moving}))))
    return patterns


def _coefficients(shapes: Sequence[BeamShape]) -> Values:
    return np.column_stack([shape.q for shape in shapes])


def _unheld(shape: BeamShape, roots: Values) -> tuple[float, ...]:
    """The roots that are no rigid holds."""
    near = HELD_NEARNESS * float(shape.line.breaks[-1] - shape.line.breaks[0])
    return tuple(x for x in roots.tolist() if all(abs(x - held) > near for held in shape.held))


def _are_at_rest(shapes: Sequence[BeamShape], largest: Values) -> Values:
    """Whether the deflection is only rounding: Timoshenko's mode of pure shear just turns."""
    line = shapes[0].line
    if "psi" not in line.elements[0].fields:
        return np.zeros(len(shapes), dtype=bool)
    Q = _coefficients(shapes)
    turning = np.zeros(len(shapes))
    for element in line.elements:
        series = Q[element.dofs].T @ element.fields["psi"]
        values = series @ _sampling(series.shape[1])[1].T
        turning = np.maximum(turning, np.abs(values).max(axis=1))
    return np.asarray(largest < AT_REST * line.breaks[-1] * turning)


def _moving_ends(ends: Values, jets: Sequence[Values], floor: float) -> list[float]:
    """The ends at which the motion is larger than anywhere near; jets: there, shape (4,) each."""
    found = []
    for x, outward, (w, slope, bend, _) in zip(ends, (-1.0, 1.0), jets, strict=True):
        flat = abs(slope) * (ends[1] - ends[0]) < 1e-6 * abs(w)
        if abs(w) > floor and (w * bend < 0.0 if flat else w * slope * outward > 0.0):
            found.append(float(x))
    return found


# -- the motions ----------------------------------------------------------------------------------


@cache
def _sampling(size: int) -> tuple[Values, Values]:
    """Places on [-1, 1], and the Legendre polynomials there, shape (places, size).

    They are dense enough that at most one root lies between neighbours: a polynomial of degree p
    that is a mode has at most p roots on its element, crowding toward the ends as the cosines do;
    eight places a degree tell them apart.
    """
    k = 8 * size
    xi = -np.cos(np.pi * (np.arange(k) + 0.5) / k)
    return xi, legendre_values(xi, size)


@cache
def _as_cosines(size: int) -> Values:
    """What turns a Legendre series (a column) into a series of cos(k arccos xi).

    A few cosines cost less than the recursion of the polynomials; both are good to rounding.
    """
    theta = np.pi * (np.arange(size) + 0.5) / size
    cosines = np.cos(np.outer(np.arange(size), theta)) * 2.0 / size
    cosines[0] /= 2.0
    return np.asarray(cosines @ legendre_values(np.cos(theta), size))


@record
class _Motions:
    """Motions of one beam and their first three derivatives, element by element.

    series:  for each element the Legendre series, shape (modes, 4, p + 1);
    cosines: the same as series of cosines.
    """

    line: Line
    series: tuple[Values, ...]
    cosines: tuple[Values, ...]

    @staticmethod
    def of(line: Line, field: str, Q: Values) -> _Motions:
        """The motions of a field; Q: coefficients as columns, shape (size, modes)."""
        found = []
        for element in line.elements:
            jets = [Q[element.dofs].T @ element.fields[field]]
            step = legendre_derivative(jets[0].shape[1]) / element.half
            for _ in range(3):
                jets.append(jets[-1] @ step)
            found.append(np.stack(jets, axis=1))
        return _Motions(line, tuple(found), tuple(s @ _as_cosines(s.shape[2]).T for s in found))

    def sampled(self) -> tuple[Values, Values]:
        """Places along the whole beam, and the motions and slopes there, (modes, 2, places)."""
        places, values = [], []
        for element, series in zip(self.line.elements, self.series, strict=True):
            xi, polynomials = _sampling(series.shape[2])
            places.append(element.start + element.half * (xi + 1.0))
            values.append(series[:, :2] @ polynomials.T)
        return np.concatenate(places), np.concatenate(values, axis=2)

    def jets(self, x: Values, mode: Indices) -> Values:
        """The motions, each at its own place x, and their derivatives, shape (len(x), 4)."""
        which = np.searchsorted(self.line.breaks[1:-1], x, side="right")
        values = np.zeros((x.size, 4))
        for number, (element, series) in enumerate(
            zip(self.line.elements, self.cosines, strict=True)
        ):
            here = np.flatnonzero(which == number)
            if here.size:
                xi = (x[here] - element.start) / element.half - 1.0
                theta = np.arccos(np.minimum(np.maximum(xi, -1.0), 1.0))
                cosines = np.cos(np.multiply.outer(theta, np.arange(series.shape[2])))
                values[here] = np.matmul(series[mode[here]], cosines[:, :, None])[:, :, 0]
        return values


def _quieten(motions: _Motions, values: Values, largest: Values) -> None:
    """Set to zero, in the sampled values, what is rounding on an element at rest."""
    first = 0
    for series in motions.series:
        here = slice(first, first + _sampling(series.shape[2])[0].size)
        first = here.stop
        values[np.abs(values[:, 0, here]).max(axis=1) < AT_REST * largest, :, here] = 0.0


# -- where they change sign -----------------------------------------------------------------------


@record
class _Roots:
    """Places x, m, of which mode, and whether of its motion (order 0) or of its slope (1)."""

    x: Values
    mode: Indices
    order: Indices


def _sign_changes(motions: _Motions, places: Values, values: Values) -> _Roots:
    """Roots of the motions and of their slopes where they change sign between neighbouring places.

    values: as sampled at the places. Newton's method from the chord's root, held inside the
    bracket: a step that would leave it is replaced by its middle.
    """
    signs = np.sign(values)
    mode, order, at = np.nonzero(signs[:, :, :-1] * signs[:, :, 1:] < 0)
    low, high = places[at], places[at + 1]
    f_low, f_high = values[mode, order, at], values[mode, order, at + 1]
    x = (low * f_high - high * f_low) / (f_high - f_low)
    each = np.arange(x.size)
    for _ in range(40):
        jets = motions.jets(x, mode)
        f, slope = jets[each, order], jets[each, order + 1]
        left = np.sign(f) == np.sign(f_low)
        low, high = np.where(left, x, low), np.where(left, high, x)
        step = f / np.where(slope != 0.0, slope, np.inf)
        inside = (x - step >= low) & (x - step <= high)
        before, x = x, np.where(inside, x - step, (low + high) / 2.0)
        if np.all(np.abs(x - before) <= 1e-14 * places[-1]):
            break
        if np.all(inside & (np.abs(step) <= 1e-9 * places[-1])):
            break  # the next step would be the square of this one
    return _Roots(x, mode, order)
