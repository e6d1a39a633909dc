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
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from saltline.arrays import Flags, Values
from saltline.basis import Element, Line, c1_line, gram, mass_orthonormal, mirror_parities
from saltline.functional import Functional
from saltline.problem import Problem
from saltline.specimen import Hold, PlateGeometry, Specimen

AXIS_EDGES = (("left", "right"), ("bottom", "top"))
"""The edges that close each axis."""

EDGE_OFFSET = {"clamped": 0.75, "pinned": 0.5, "guided": 0.0, "free": -0.25}
"""What each end adds to j in the wave number (j + offsets) pi / L of a uniform beam's j-th mode."""


@dataclass(frozen=True, slots=True)
class Stiffness:
    """Bending stiffnesses of a plate, N m, and mass per area, kg/m2."""

    Dx: float
    Dy: float
    D1: float
    Dk: float
    mass: float


@dataclass(frozen=True, slots=True)
class PlateShape:
    """The shape of a plate mode: a polynomial in x and y on each rectangle of elements.

    q: coefficients, shape (x.size, y.size), of the products of the two axes' functions.
    vanishing: how many times the deflection vanishes at the left, right, bottom and top edge: 2
               clamped, 1 pinned, else 0.
    """

    x: Line
    y: Line
    q: Values
    vanishing: tuple[int, int, int, int]

    def at(self, x: Values, y: Values, dx: int = 0, dy: int = 0) -> Values:
        """The deflection or a derivative on the grid of places x by y, shape (len(x), len(y))."""
        return np.asarray(self.x.rows("w", x, dx) @ self.q @ self.y.rows("w", y, dy).T)

    def at_points(self, x: Values, y: Values, dx: int = 0, dy: int = 0) -> Values:
        """The deflection or a derivative at the points (x[i], y[i]), shape (len(x),)."""
        return self.jet(x, y, ((dx, dy),))[0]

    def jet(self, x: Values, y: Values, orders: Sequence[tuple[int, int]]) -> list[Values]:
        """Several derivatives (dx, dy) of the deflection at the points (x[i], y[i])."""
        along = self.x.jets("w", x, max(dx for dx, _ in orders))
        across = self.y.jets("w", y, max(dy for _, dy in orders))
        weighted = {dx: along[dx] @ self.q for dx in {dx for dx, _ in orders}}
        return [np.einsum("ij,ij->i", weighted[dx], across[dy]) for dx, dy in orders]


def plate_stiffness(specimen: Specimen) -> Stiffness:
    """Dx, Dy, D1, Dk and the mass per area from the specimen's material and thickness."""
    geometry, material = specimen.geometry, specimen.material
    assert isinstance(geometry, PlateGeometry)
    h = geometry.thickness.value
    Ex, nu_xy = material.youngs_modulus.value, material.poisson_ratio.value
    Ey = material.youngs_modulus_y.value if material.youngs_modulus_y is not None else Ex
    nu_yx = nu_xy * Ey / Ex
    reduced = h**3 / (12.0 * (1.0 - nu_xy * nu_yx))
    return Stiffness(
        Dx=Ex * reduced,
        Dy=Ey * reduced,
        D1=nu_yx * Ex * reduced,
        Dk=material.G * h**3 / 12.0,
        mass=material.density.value * h,
    )


# -- the two axes ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Axis:
    """One direction of a plate: orthonormal functions and their integrals.

    A1 = int f'f', A2 = int f''f'', B = int f'' f; int f f is the identity.
    rigid: coefficients of the straight lines in the space, columns; the first is the constant where
    `has_constant`.
    """

    line: Line
    A1: Values
    A2: Values
    B: Values
    rigid: Values
    has_constant: bool


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


def stretched(axis: Axis, length: float) -> Axis:
    """The same functions over another length, orthonormal there."""
    line = axis.line
    ratio = length / (line.breaks[-1] - line.breaks[0])
    elements = tuple(
        Element(e.start * ratio, e.half * ratio, e.dofs, {"w": e.fields["w"] / math.sqrt(ratio)})
        for e in line.elements
    )
    return Axis(
        Line(line.breaks * ratio, elements, line.size, line.ends),
        axis.A1 / ratio**2,
        axis.A2 / ratio**4,
        axis.B / ratio**2,
        axis.rigid,
        axis.has_constant,
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


def _axes(specimen: Specimen, axis: int, wave: float, refinement: int) -> list[Axis]:
    """One axis, or an even and an odd one where the plate is its own mirror image.

    wave: the largest wave number along this axis that the functions should serve, 1/m.
    """
    breaks = element_boundaries(specimen, axis, refinement)
    shortest = min(specimen.geometry.size)
    line = c1_line(breaks, _degrees(breaks, wave, shortest, refinement))
    kept = np.ones(line.size, dtype=bool)
    for edge, boundary in zip(AXIS_EDGES[axis], (0, len(breaks) - 1), strict=True):
        hold = specimen.boundary[edge]
        for name, stiffness in (("w", hold.deflection), ("psi", hold.rotation)):
            kept[line.ends[name, boundary]] = not math.isinf(stiffness.value)
    is_symmetric = _is_symmetric(specimen, axis)
    parts = mirror_parities(line) if is_symmetric else (np.eye(line.size),)
    return [make_axis(line, part, kept) for part in parts]


# -- the problems ---------------------------------------------------------------------------------


def plate_problems(specimen: Specimen, *, count: int, refinement: int) -> list[Problem]:
    """One problem for each symmetry class of a plate: one, two or four.

    count: how many modes in all the basis should serve; refinement: 0, 1, 2 ... raises the degree.
    """
    geometry = specimen.geometry
    assert isinstance(geometry, PlateGeometry)
    stiffness = plate_stiffness(specimen)
    highest = estimate_highest(specimen, stiffness, count)
    x_axes = _axes(specimen, 0, (highest * stiffness.mass / stiffness.Dx) ** 0.25, refinement)
    y_axes = _axes(specimen, 1, (highest * stiffness.mass / stiffness.Dy) ** 0.25, refinement)
    return [_problem(specimen, stiffness, highest, x, y) for x, y in product(x_axes, y_axes)]


def _problem(specimen: Specimen, stiffness: Stiffness, highest: float, x: Axis, y: Axis) -> Problem:
    K = ritz_stiffness(stiffness, x, y)
    left, right, bottom, top = (
        _vanishing(specimen.boundary[edge]) for pair in AXIS_EDGES for edge in pair
    )
    vanishing = (left, right, bottom, top)
    return Problem(
        family="plate",
        K=K,
        M=stiffness.mass * np.eye(K.shape[0]),
        functionals=plate_functionals(specimen, x, y),
        rigid_motions=_rigid_motions(x, y),
        highest=highest,
        shape_of=lambda q: PlateShape(
            x.line, y.line, q.reshape(x.line.size, y.line.size), vanishing
        ),
        rebuild=lambda changed: _problem(
            changed,
            plate_stiffness(changed),
            highest,
            stretched(x, changed.geometry.size[0]),
            stretched(y, changed.geometry.size[1]),
        ),
    )


def _vanishing(hold: Hold) -> int:
    if not math.isinf(hold.deflection.value):
        return 0
    return 2 if math.isinf(hold.rotation.value) else 1


def ritz_stiffness(stiffness: Stiffness, x: Axis, y: Axis) -> Values:
    """The stiffness matrix over products f_i(x) g_j(y), row i * len(y) + j."""
    s = stiffness
    n, m = x.line.size, y.line.size
    K = s.Dk * 4.0 * np.kron(x.A1, y.A1)
    K += s.D1 * (np.kron(x.B, y.B.T) + np.kron(x.B.T, y.B))
    blocks = K.reshape(n, m, n, m)
    along, across = np.arange(n), np.arange(m)
    blocks[:, across, :, across] += s.Dx * x.A2  # int g_j g_l is the identity
    blocks[along, :, along, :] += s.Dy * y.A2
    return K


def _rigid_motions(x: Axis, y: Axis) -> Values:
    """Straight lines along one axis times a constant along the other (x*y is a twist)."""
    columns = []
    for i, j in product(range(x.rigid.shape[1]), range(y.rigid.shape[1])):
        x_is_constant = x.has_constant and i == 0
        y_is_constant = y.has_constant and j == 0
        if x_is_constant or y_is_constant:
            columns.append(np.kron(x.rigid[:, i], y.rigid[:, j]))
    size = x.line.size * y.line.size
    return np.column_stack(columns) if columns else np.zeros((size, 0))


# -- what is attached -----------------------------------------------------------------------------


def plate_functionals(specimen: Specimen, x: Axis, y: Axis) -> list[Functional]:
    """Elastic edges, point supports and attached masses as functionals over the products.

    A rigidly held edge needs none: the functions that move there are absent.
    """
    functionals = []
    for name, (axis, place) in _edge_places(specimen).items():
        hold = specimen.boundary[name]
        for derivative, stiffness in ((0, hold.deflection), (1, hold.rotation)):
            if 0.0 < stiffness.value < math.inf:
                rows = (
                    np.kron(x.line.row("w", place, derivative), np.eye(y.line.size))
                    if axis == 0
                    else np.kron(np.eye(x.line.size), y.line.row("w", place, derivative))
                )
                functionals.append(Functional(rows, stiffness=stiffness.value))
    for support in specimen.supports:
        if support.hold.deflection.value > 0.0:
            row = point_row(x, y, (support.at[0].value, support.at[1].value))
            functionals.append(Functional(row, stiffness=support.hold.deflection.value))
    for thing in specimen.attached:
        place_xy = (thing.at[0].value, thing.at[1].value)
        functionals.append(Functional(point_row(x, y, place_xy), mass=thing.mass.value))
        if thing.rotary_inertia.value > 0.0:
            slopes = [point_row(x, y, place_xy, dx=1), point_row(x, y, place_xy, dy=1)]
            functionals.append(Functional(np.vstack(slopes), mass=thing.rotary_inertia.value))
    return functionals


def point_row(x: Axis, y: Axis, at: tuple[float, float], *, dx: int = 0, dy: int = 0) -> Values:
    """The functional "this derivative of the deflection at this point", shape (1, size)."""
    along, across = _reading(x.line, at[0], dx), _reading(y.line, at[1], dy)
    return np.kron(along, across)[None, :]


def _reading(line: Line, place: float, derivative: int) -> Values:
    """The functional on one axis, with what is only rounding made zero.

    An odd function vanishes in the middle; were 1e-16 left there, a support in the middle would
    seem to hold it.
    """
    row = line.row("w", place, derivative)
    length = line.breaks[-1] - line.breaks[0]
    row[np.abs(row) < 1e-11 / length ** (derivative + 0.5)] = 0.0
    return row


def _edge_places(specimen: Specimen) -> dict[str, tuple[int, float]]:
    """Edge name -> (the axis it closes, its coordinate on that axis)."""
    a, b = specimen.geometry.size
    return {"left": (0, 0.0), "right": (0, a), "bottom": (1, 0.0), "top": (1, b)}


def _is_symmetric(specimen: Specimen, axis: int) -> bool:
    """Whether the plate is its own mirror image about the middle of this axis."""
    low, high = AXIS_EDGES[axis]
    length = specimen.geometry.size[axis]

    def stands(hold: Hold) -> tuple[float, float]:
        return hold.deflection.value, hold.rotation.value

    if stands(specimen.boundary[low]) != stands(specimen.boundary[high]):
        return False
    things = [(tuple(v.value for v in s.at), stands(s.hold)) for s in specimen.supports]
    things += [
        (tuple(v.value for v in t.at), (t.mass.value, t.rotary_inertia.value))
        for t in specimen.attached
    ]
    tolerance = 1e-9 * length

    def has_twin(place: tuple[float, ...], what: tuple[float, float]) -> bool:
        mirrored = [length - v if n == axis else v for n, v in enumerate(place)]
        return any(
            what == other and all(abs(u - v) < tolerance for u, v in zip(at, mirrored, strict=True))
            for at, other in things
        )

    return all(has_twin(place, what) for place, what in things)


# -- how fine -------------------------------------------------------------------------------------


def estimate_highest(specimen: Specimen, stiffness: Stiffness, count: int) -> float:
    """A guess of the count-th omega^2: the lattice of products of two beams' wave numbers."""
    s = stiffness
    a, b = specimen.geometry.size

    def wave_numbers(length: float, *edges: str) -> Values:
        words = [specimen.boundary[edge].word for edge in edges]
        offset = sum(EDGE_OFFSET.get(word, EDGE_OFFSET["clamped"]) for word in words)
        return np.asarray(np.maximum(np.arange(count + 4) + offset, 0.0) * math.pi / length)

    kx = wave_numbers(a, "left", "right")[:, None]
    ky = wave_numbers(b, "bottom", "top")[None, :]
    H = s.D1 + 2.0 * s.Dk
    omega2 = (s.Dx * kx**4 + 2.0 * H * kx**2 * ky**2 + s.Dy * ky**4) / s.mass
    return float(np.sort(omega2, axis=None)[count + 3])


GRADES = (0.03, 0.004)
"""Where elements end beside a singular corner or point, in shortest sides of the plate."""


def element_boundaries(specimen: Specimen, axis: int, refinement: int) -> list[float]:
    """Where elements meet along an axis, m: finer toward each place where the shape is singular.

    Those are the corners where a clamped edge meets one that is free to move (Williams 1952,
    J. Appl. Mech. 19, 526: the moments grow without bound there) and the points that carry a force.
    Smooth functions alone converge slowly there; small elements beside them mend it.
    """
    length = specimen.geometry.size[axis]
    shortest = min(specimen.geometry.size)
    grades = [g * shortest for g in GRADES[: 1 if refinement < 2 else 2]]
    boundaries = {0.0, length}
    for place in _singular_places(specimen, axis):
        boundaries |= {place, *(place - g for g in grades), *(place + g for g in grades)}
    tolerance = 1e-6 * length
    kept = [0.0]
    for x in sorted(boundaries):
        if kept[-1] + tolerance < x < length - tolerance:
            kept.append(x)
    return [*kept, length]


def _singular_places(specimen: Specimen, axis: int) -> list[float]:
    length = specimen.geometry.size[axis]
    others = [specimen.boundary[edge] for edge in AXIS_EDGES[1 - axis]]
    places = [
        place
        for place, edge in zip((0.0, length), AXIS_EDGES[axis], strict=True)
        if any(_is_singular_corner(specimen.boundary[edge], other) for other in others)
    ]
    return places + [s.at[axis].value for s in specimen.supports]


def _is_singular_corner(one: Hold, other: Hold) -> bool:
    return {one.word, other.word} in ({"clamped", "free"}, {"clamped", "elastic"})


def _degrees(breaks: Sequence[float], wave: float, shortest: float, refinement: int) -> list[int]:
    """The degree of each element along an axis that serves waves up to `wave`, 1/m.

    See `beam._degrees` for the count of waves. Beside singular places many low elements do more
    than a few high ones.
    """
    spare = 6 + 6 * refinement if len(breaks) == 2 else 3 + 2 * refinement
    degrees = []
    for start, end in pairwise(breaks):
        half = wave * (end - start) / 2.0
        is_small = end - start <= 1.001 * GRADES[0] * shortest
        degrees.append(
            4 + refinement if is_small else spare + math.ceil(half + 3.0 * half ** (1.0 / 3.0))
        )
    return degrees
