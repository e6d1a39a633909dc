"""Products of two sets of orthonormal polynomials, and the strain energy of a plate over them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from saltline.arrays import Flags, Values
from saltline.basis import Element, Line, gram, mass_orthonormal
from saltline.legendre import HERMITE
from saltline.plates.stiffness import Stiffness
from saltline.record import record


@record
class Axis:
    """One direction of a plate: orthonormal functions and their integrals.

    A1 = int f'f', A2 = int f''f'', B = int f'' f, A0 = int f f (None: the identity).
    rigid: coefficients of the straight lines in the space, columns; the first is the constant where
    `has_constant`.
    parity: 1 even, -1 odd about the middle, 0 neither.
    high: orthonormal combinations, columns, that are at right angles to all functions of the degree
          before; None where that is not known.
    """

    line: Line
    A1: Values
    A2: Values
    B: Values
    rigid: Values
    has_constant: bool
    parity: int = 0
    A0: Values | None = None
    high: Values | None = None


def beyond_degrees(line: Line, degrees: Sequence[int]) -> Values:
    """Of orthonormal functions, combinations at right angles to all those of lower degrees.

    degrees: of the polynomials on each element. A function is none of a higher degree just where
    its higher Legendre coefficients are nothing on each element: so these span what is left.
    """
    parts = []
    for element, degree in zip(line.elements, degrees, strict=True):
        part = np.zeros((line.size, element.fields["w"].shape[1] - degree - 1))
        part[element.dofs] = element.fields["w"][:, degree + 1 :]
        parts.append(part)
    columns, shares, _ = np.linalg.svd(np.hstack(parts), full_matrices=False)
    return np.asarray(columns[:, shares > NOTHING * shares[0]])


NOTHING = 1e-9
"""A part of the largest so small is rounding: of even functions the odd coefficients are none."""


def make_axis(line: Line, part: Values, kept: Flags) -> Axis:
    """The axis over those combinations of a C1 line's functions that leave the held ends at rest.

    part: combinations, columns of shape (size, n): all functions, or the even or the odd ones.
    kept: False for each end function that a rigid hold forbids, shape (size,).
    """
    allowed = ~np.any(part[~kept] != 0.0, axis=0)
    fine = mass_orthonormal(line, part[:, allowed])
    rigid, has_constant = _straight_lines(fine, line, kept)
    return Axis(
        fine,
        A1=gram(fine, ("w", 1), ("w", 1)),
        A2=gram(fine, ("w", 2), ("w", 2)),
        B=gram(fine, ("w", 2), ("w", 0)),
        rigid=rigid,
        has_constant=has_constant,
    )


def stretched(axis: Axis, breaks: Values) -> Axis:
    """The same functions with their elements stretched to other boundaries.

    Stretched evenly they stay orthonormal. Otherwise each keeps its values and slopes where
    elements meet, so that it changes as little as can be.
    """
    line = axis.line
    ratio = float((breaks[-1] - breaks[0]) / (line.breaks[-1] - line.breaks[0]))
    ratios = np.diff(breaks) / np.diff(line.breaks) / ratio
    is_even = bool(np.all(np.abs(ratios - 1.0) < 1e-12))
    elements = []
    for e, start, end, uneven in zip(line.elements, breaks[:-1], breaks[1:], ratios, strict=True):
        series = e.fields["w"] / math.sqrt(ratio)
        if not is_even:
            slopes = np.arange(series.shape[1]) * np.arange(1, series.shape[1] + 1) / 2.0
            signs = np.where(np.arange(series.shape[1]) % 2 == 0, -1.0, 1.0)
            at_ends = np.column_stack([series @ (slopes * signs), series @ slopes])
            series = series.copy()
            series[:, :4] += (uneven - 1.0) * at_ends @ HERMITE[[1, 3]]
        elements.append(Element(float(start), float(end - start) / 2.0, e.dofs, {"w": series}))
    new = Line(np.asarray(breaks, dtype=float), tuple(elements), line.size, line.ends)
    if not is_even:
        return replace(_integrated(axis, new), A0=gram(new, ("w", 0), ("w", 0)), high=None)
    return replace(
        axis,
        line=new,
        A1=axis.A1 / ratio**2,
        A2=axis.A2 / ratio**4,
        B=axis.B / ratio**2,
    )


def ritz_stiffness(stiffness: Stiffness, x: Axis, y: Axis) -> Values:
    """The stiffness matrix over products f_i(x) g_j(y), row i * len(y) + j."""
    s = stiffness
    return sum_of_products(
        (s.Dk * 4.0 * x.A1, y.A1),
        (s.D1 * x.B, y.B.T),
        (s.D1 * x.B.T, y.B),
        (s.Dx * x.A2, overlap(y)),
        (s.Dy * overlap(x), y.A2),
    )


def sum_of_products(*pairs: tuple[Values, Values]) -> Values:
    """The sum of the Kronecker products of pairs of square matrices, all of one size each way.

    One matrix product of the entries: with small matrices numpy's `kron` takes ten times as long.
    """
    n, m = pairs[0][0].shape[0], pairs[0][1].shape[0]
    along = np.stack([a.ravel() for a, _ in pairs])
    across = np.stack([b.ravel() for _, b in pairs])
    entries: Values = (along.T @ across).reshape(n, n, m, m)
    return entries.transpose(0, 2, 1, 3).reshape(n * m, n * m)


def overlap(axis: Axis) -> Values:
    """int f f of an axis's functions."""
    return np.eye(axis.line.size) if axis.A0 is None else axis.A0


def _integrated(axis: Axis, line: Line) -> Axis:
    return replace(
        axis,
        line=line,
        A1=gram(line, ("w", 1), ("w", 1)),
        A2=gram(line, ("w", 2), ("w", 2)),
        B=gram(line, ("w", 2), ("w", 0)),
    )


def _straight_lines(fine: Line, line: Line, kept: Flags) -> tuple[Values, bool]:
    """Coefficients of those of 1, x - middle, x - start, x - end that the holds allow.

    The first two span all straight lines; of the others at most one is allowed where they are not.
    """
    start, end = line.breaks[0], line.breaks[-1]
    half = (end - start) / 2.0
    columns: list[Values] = []
    has_constant = False
    for centre in (None, (start + end) / 2.0, start, end):
        moves = {"w": 1.0 + 0.0 * line.breaks, "psi": 0.0 * line.breaks}
        if centre is not None:
            moves = {"w": line.breaks - centre, "psi": 1.0 + 0.0 * line.breaks}
        forbidden = any(
            not kept[dof] and moves[name][boundary] != 0.0
            for (name, boundary), dof in line.ends.items()
        )
        q = _projection(fine, centre, half)
        if forbidden:
            continue
        # An even or an odd space holds a part of a line alone, and perhaps one it has already.
        rest = q - sum((column * (column @ q) for column in columns), np.zeros_like(q))
        if rest @ rest > 1e-6 * half:
            columns.append(rest / np.linalg.norm(rest))
            has_constant = has_constant or centre is None
    return (np.column_stack(columns) if columns else np.zeros((fine.size, 0))), has_constant


def _projection(line: Line, centre: float | None, scale: float) -> Values:
    """Integrals of each function with 1 (centre None) or (x - centre)/scale."""
    q = np.zeros(line.size)
    for element in line.elements:
        series = element.series("w")
        middle = element.start + element.half
        constant = 1.0 if centre is None else (middle - centre) / scale
        slope = 0.0 if centre is None else element.half / scale
        # int P0 P0 = 2, int P1 P1 = 2/3
        q[element.dofs] += element.half * (
            2.0 * constant * series[:, 0] + 2 / 3 * slope * series[:, 1]
        )
    return q
