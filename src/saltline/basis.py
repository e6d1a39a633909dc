"""Hierarchical polynomial bases on a line of elements, their values and their integrals.

Every local function is held as its Legendre series on [-1, 1], one row a function, so a shape is a
polynomial on each element and nothing is ever looked up on a grid. End functions carry the values
at the element boundaries; bubbles vanish there. The bubbles are integrated Legendre polynomials
(Szabo and Babuska, Finite Element Analysis, 1991, ch. 6), scaled so that their highest energy
derivative is orthonormal: the stiffness matrix of a uniform element is the identity but for its
end functions, whatever the degree.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache

import numpy as np

from saltline.arrays import Indices, Values
from saltline.eigen import largest_modes
from saltline.legendre import (
    HERMITE,
    LINEAR,
    gauss,
    integrated_legendre,
    legendre_at_gauss,
    legendre_derivative,
    legendre_values,
    orthonormal_legendre,
    series_products,
    twice_integrated_legendre,
)
from saltline.record import record

# -- a line of elements ---------------------------------------------------------------------------


@record
class Element:
    """One element of a line.

    start, half: its left end and half its length, m.
    dofs:        global number of each local function, shape (n,).
    fields:      field name -> Legendre series of each local function, shape (n, p + 1).
    make:        of which functions and degree it was made; None where its functions are others.
    """

    start: float
    half: float
    dofs: Indices
    fields: Mapping[str, Values]
    make: tuple[Callable[[int], Functions], int] | None = None

    def series(self, field: str, derivative: int = 0) -> Values:
        """Legendre series of the derivative with respect to x of each local function."""
        series = self.fields[field]
        for _ in range(derivative):
            series = series @ legendre_derivative(series.shape[1]) / self.half
        return series


@record
class Line:
    """A one-dimensional space of functions: elements side by side that share their end functions.

    breaks: element boundaries, m, ascending.
    ends:   (field name, boundary number) -> number of the function that alone has that value there.
    """

    breaks: Values
    elements: tuple[Element, ...]
    size: int
    ends: Mapping[tuple[str, int], int]

    def row(self, field: str, x: float, derivative: int = 0) -> Values:
        """The functional "this derivative of this field at x": q -> row . q, shape (size,)."""
        return np.asarray(self.rows(field, np.array([x]), derivative)[0])

    def rows(self, field: str, x: Values, derivative: int = 0) -> Values:
        """One functional for each place in x, shape (len(x), size)."""
        return self.jets(field, x, derivative)[derivative]

    def jets(self, field: str, x: Values, highest: int) -> list[Values]:
        """The functionals of the field and of each derivative up to the highest, as `rows`."""
        x = np.asarray(x, dtype=float)
        jets = [np.zeros((x.size, self.size)) for _ in range(highest + 1)]
        which = np.clip(
            np.searchsorted(self.breaks, x, side="right") - 1, 0, len(self.elements) - 1
        )
        for number, element in enumerate(self.elements):
            here = np.flatnonzero(which == number)
            if here.size == 0:
                continue
            xi = (x[here] - element.start) / element.half - 1.0
            series = element.fields[field]
            polynomials = legendre_values(xi, series.shape[1])
            for order, rows in enumerate(jets):
                if order > 0:
                    series = series @ legendre_derivative(series.shape[1]) / element.half
                rows[np.ix_(here, element.dofs)] = polynomials @ series.T
        return jets

    def boundary_at(self, x: float) -> int | None:
        """The number of the element boundary at x, or None where x is inside an element."""
        nearest = int(np.argmin(np.abs(self.breaks - x)))
        tolerance = 1e-9 * (self.breaks[-1] - self.breaks[0])
        return nearest if abs(self.breaks[nearest] - x) <= tolerance else None

    def series(self, q: Values, field: str) -> tuple[Values, ...]:
        """The field of the function with coefficients q, as one Legendre series an element."""
        return tuple(q[e.dofs] @ e.fields[field] for e in self.elements)


Functions = Mapping[str, tuple[Values, Values]]
"""Field name -> (Legendre series of each local function on an element of half-length 1, the power
of the half-length by which each is scaled); end functions come first."""

Weight = Callable[[int, Values], Values | float]
"""(element number, places as fractions of the element) -> weight there."""


def gram(
    line: Line,
    left: tuple[str, int],
    right: tuple[str, int],
    weight: Weight | None = None,
    *,
    extra_points: int = 0,
) -> Values:
    """The matrix of integrals of weight * left * right over the line, shape (size, size).

    left, right: (field, derivative). Exact while the weight is a polynomial of degree at most
    2 * extra_points + 1 on each element.
    """
    matrix = np.zeros((line.size, line.size))
    for number, element in enumerate(line.elements):
        a, b = element.series(*left), element.series(*right)
        if weight is None:
            local = series_products(a, b)
        else:
            points = max(a.shape[1], b.shape[1]) + extra_points
            xi, w = gauss(points)
            w = w * weight(number, (xi + 1.0) / 2.0)
            a_values = a @ legendre_at_gauss(a.shape[1] - 1, points)
            b_values = b @ legendre_at_gauss(b.shape[1] - 1, points)
            local = (a_values * w) @ b_values.T
        matrix[element.dofs[:, None], element.dofs] += element.half * local
    return matrix


def c1_line(breaks: Sequence[float] | Values, degrees: Sequence[int]) -> Line:
    """Functions with continuous slope: fields "w" and "psi" = dw/dx; degrees are at least 3."""
    return _assemble_line(breaks, degrees, _bending_functions, end_fields=("w", "psi"))


def c1_shear_line(breaks: Sequence[float] | Values, degrees: Sequence[int]) -> Line:
    """Deflection w and rotation psi, both continuous, for Timoshenko's beam.

    The functions of `c1_line` have no shear strain; to them come functions whose shear strain,
    field "gamma" = dw/dx - psi, is one Legendre polynomial each. However slender the beam, nothing
    locks and nothing cancels: as the shear stiffness grows their share fades away.
    """
    return _assemble_line(breaks, degrees, _bending_and_shear_functions, end_fields=("w", "psi"))


def c0_line(breaks: Sequence[float] | Values, degrees: Sequence[int]) -> Line:
    """Continuous functions: field "u" (an axial displacement, a twist); degrees are at least 1."""
    return _assemble_line(breaks, degrees, _stretching_functions, end_fields=("u",))


@cache
def _bending_functions(degree: int) -> Functions:
    """Hermite functions, slopes scaled to d/dx, and C1 bubbles up to the degree."""
    w = [*HERMITE, *(twice_integrated_legendre(k) for k in range(4, degree + 1))]
    # The derivative of a C1 bubble is the C0 bubble one degree lower, exactly.
    psi = [
        *(HERMITE @ legendre_derivative(4)),
        *(integrated_legendre(k - 1) for k in range(4, degree + 1)),
    ]
    powers = np.array([0.0, 1.0, 0.0, 1.0] + [0.0] * (len(w) - 4))
    return {"w": (_pad(w, degree + 1), powers), "psi": (_pad(psi, degree + 1), powers - 1.0)}


@cache
def _bending_and_shear_functions(degree: int) -> Functions:
    bending = _bending_functions(degree)
    # Constant shear strain: w vanishes at both ends, psi is the quadratic bubble -3/2 (1 - xi^2),
    # and w' = 1 + psi = P_2, whose integral from -1 is (P_3 - P_1) / 5.
    constant_psi = np.array([-1.0, 0.0, 1.0])
    bubbles = [integrated_legendre(k) for k in range(2, degree + 1)]
    w = [np.array([0.0, -0.2, 0.0, 0.2]), *bubbles]
    psi = [constant_psi, *(np.zeros(1) for _ in bubbles)]
    gamma = [np.ones(1), *(orthonormal_legendre(k - 1) for k in range(2, degree + 1))]
    none = np.zeros((len(bending["w"][1]), degree + 1))
    first = np.arange(len(w)) == 0
    return {
        "w": _both(bending["w"], (_pad(w, degree + 1), np.where(first, 1.0, 0.0))),
        "psi": _both(bending["psi"], (_pad(psi, degree + 1), np.zeros(len(w)))),
        "gamma": _both(
            (none, np.zeros(len(none))), (_pad(gamma, degree + 1), np.where(first, 0.0, -1.0))
        ),
    }


def _both(one: tuple[Values, Values], other: tuple[Values, Values]) -> tuple[Values, Values]:
    return np.vstack([one[0], other[0]]), np.concatenate([one[1], other[1]])


@cache
def _stretching_functions(degree: int) -> Functions:
    u = [*LINEAR, *(integrated_legendre(k) for k in range(2, degree + 1))]
    return {"u": (_pad(u, degree + 1), np.zeros(len(u)))}


def _assemble_line(
    breaks: Sequence[float] | Values,
    degrees: Sequence[int],
    functions: Callable[[int], Functions],
    *,
    end_fields: tuple[str, ...],
) -> Line:
    """Number the functions: shared end functions first, then each element's bubbles."""
    breaks = np.asarray(breaks, dtype=float)
    shared = len(end_fields)
    ends = {
        (name, boundary): shared * boundary + position
        for boundary in range(breaks.size)
        for position, name in enumerate(end_fields)
    }
    size = len(ends)
    elements: list[Element] = []
    for number, degree in enumerate(degrees):
        half = (breaks[number + 1] - breaks[number]) / 2.0
        fields = {
            name: table * half ** powers[:, None]
            for name, (table, powers) in functions(degree).items()
        }
        bubbles = len(fields[end_fields[0]]) - 2 * shared
        first = shared * number
        dofs = [*range(first, first + 2 * shared), *range(size, size + bubbles)]
        size += bubbles
        make = (functions, degree)
        elements.append(Element(breaks[number], half, np.array(dofs, dtype=np.intp), fields, make))
    return Line(breaks, tuple(elements), size, ends)


def _pad(series: list[Values], width: int) -> Values:
    table = np.zeros((len(series), width))
    for row, values in zip(table, series, strict=True):
        row[: values.size] = values
    return table


# -- turning a line's functions into better ones --------------------------------------------------


def combined(line: Line, combinations: Values) -> Line:
    """The line whose functions are combinations of another's, columns of shape (size, n).

    Every function then lives on all elements, and none is an end function any more.
    """
    everywhere = np.arange(combinations.shape[1])
    elements = tuple(
        Element(
            e.start,
            e.half,
            everywhere,
            {name: combinations[e.dofs].T @ series for name, series in e.fields.items()},
        )
        for e in line.elements
    )
    return Line(line.breaks, elements, combinations.shape[1], {})


def mirror_parities(line: Line) -> tuple[Values, Values]:
    """Combinations of a C1 line's functions that are even, and odd, about its middle.

    The elements must lie symmetrically and have equal degrees. Returns two matrices, columns of
    shape (size, n_even) and (size, n_odd).
    """
    partner = np.zeros(line.size, dtype=np.intp)
    sign = np.ones(line.size)
    last = line.breaks.size - 1
    for (name, boundary), dof in line.ends.items():
        partner[dof] = line.ends[name, last - boundary]
        sign[dof] = -1.0 if name == "psi" else 1.0
    for element, mirrored in zip(line.elements, reversed(line.elements), strict=True):
        bubbles = slice(4, None)
        partner[element.dofs[bubbles]] = mirrored.dofs[bubbles]
        # A bubble is even or odd as its highest Legendre polynomial is.
        series = element.fields["w"][bubbles]
        highest = series.shape[1] - 1 - np.argmax(series[:, ::-1] != 0.0, axis=1)
        sign[element.dofs[bubbles]] = np.where(highest % 2 == 0, 1.0, -1.0)
    mirror = np.zeros((line.size, line.size))
    mirror[partner, np.arange(line.size)] = sign
    even, odd = np.eye(line.size) + mirror, np.eye(line.size) - mirror
    first = np.arange(line.size) <= partner  # one of each pair is enough
    return _nonzero_columns(even[:, first]), _nonzero_columns(odd[:, first])


def _nonzero_columns(matrix: Values) -> Values:
    return matrix[:, np.any(matrix != 0.0, axis=0)]


def mass_orthonormal(line: Line, kept: Values) -> Line:
    """The modes of a uniform beam over the kept functions: orthonormal, stiffest last.

    kept: combinations of the line's functions, columns of shape (size, n).

    A raw basis of bubbles has a mass matrix that is singular to rounding from about degree 30 on.
    The inverse pencil finds the soft modes to rounding; a second orthonormalisation, by values at
    the Gauss points and so with no cancellation, mends what rounding left in the stiff ones.
    """
    raw = combined(line, kept)
    A0, A2 = gram(raw, ("w", 0), ("w", 0)), gram(raw, ("w", 2), ("w", 2))
    length = line.breaks[-1] - line.breaks[0]
    shift = 100.0 / length**4
    _, vectors = largest_modes(A0, A2 + shift * A0, A0.shape[0])
    vectors = vectors[:, ::-1]
    rough = combined(raw, vectors / np.sqrt(np.einsum("ij,ij->j", vectors, A0 @ vectors)))
    factor = np.linalg.cholesky(gram(rough, ("w", 0), ("w", 0)))
    inverse = np.linalg.inv(factor)
    return combined(rough, inverse.T)
