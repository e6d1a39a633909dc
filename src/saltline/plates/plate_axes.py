"""The two directions of a plate: in each a set of orthonormal polynomials, and how fine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from saltline.arrays import Flags, Values
from saltline.basis import HERMITE, Element, Line, c1_line, gram, mass_orthonormal, mirror_parities
from saltline.plates.plate_places import AXIS_EDGES, is_pressed, patches
from saltline.plates.plate_supports import is_symmetric
from saltline.plates.stiffness import Stiffness
from saltline.specimen import Specimen


@dataclass(frozen=True, slots=True)
class Axis:
    """One direction of a plate: orthonormal functions and their integrals.

    A1 = int f'f', A2 = int f''f'', B = int f'' f, A0 = int f f (None: the identity).
    rigid: coefficients of the straight lines in the space, columns; the first is the constant where
    `has_constant`.
    parity: 1 even, -1 odd about the middle, 0 neither.
    """

    line: Line
    A1: Values
    A2: Values
    B: Values
    rigid: Values
    has_constant: bool
    parity: int = 0
    A0: Values | None = None


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
        return replace(_integrated(axis, new), A0=gram(new, ("w", 0), ("w", 0)))
    return replace(
        axis,
        line=new,
        A1=axis.A1 / ratio**2,
        A2=axis.A2 / ratio**4,
        B=axis.B / ratio**2,
    )


def moved_breaks(line: Line, old: Specimen, new: Specimen, axis: int) -> Values:
    """Where the element boundaries of a specimen's axis lie on a changed one: held lines move."""

    def anchors(specimen: Specimen) -> list[float]:
        lines = [s for s in specimen.supports if s.to]
        places = [place[axis].value for s in lines for place in (s.at, s.to)]
        return [0.0, *places, specimen.geometry.size[axis]]

    before, after = np.array(anchors(old)), np.array(anchors(new))
    order = np.argsort(before)
    return np.asarray(np.interp(line.breaks, before[order], after[order]))


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


def plate_axes(specimen: Specimen, axis: int, wave: float, refinement: int) -> list[Axis]:
    """One axis, or an even and an odd one where the plate is its own mirror image.

    wave: the largest wave number along this axis that the functions should serve, 1/m.
    """
    breaks = element_boundaries(specimen, axis)
    line = c1_line(breaks, _degrees(breaks, wave, refinement, not is_pressed(specimen)))
    kept = np.ones(line.size, dtype=bool)
    for edge, boundary in zip(AXIS_EDGES[axis], (0, len(breaks) - 1), strict=True):
        hold = specimen.boundary[edge]
        for name, stiffness in (("w", hold.deflection), ("psi", hold.rotation)):
            kept[line.ends[name, boundary]] = not math.isinf(stiffness.value)
    if not is_symmetric(specimen, axis):
        return [make_axis(line, np.eye(line.size), kept)]
    return [
        replace(make_axis(line, part, kept), parity=parity)
        for part, parity in zip(mirror_parities(line), (1, -1), strict=True)
    ]


# -- how fine -------------------------------------------------------------------------------------

EDGE_OFFSET = {"clamped": 0.75, "pinned": 0.5, "guided": 0.0, "free": -0.25}
"""What each end adds to j in the wave number (j + offsets) pi / L of a uniform beam's j-th mode."""


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
    omega2 = (s.Dx * kx**4 + 2.0 * s.H * kx**2 * ky**2 + s.Dy * ky**4) / s.mass
    return float(np.sort(omega2, axis=None)[count + 3])


def element_boundaries(specimen: Specimen, axis: int) -> list[float]:
    """Where elements meet along an axis, m: along a line that is held."""
    length = specimen.geometry.size[axis]
    lines = [s for s in specimen.supports if s.to]
    boundaries = {place[axis].value for s in lines for place in (s.at, s.to)}
    # The rules of integration cannot follow a boundary over a patch.
    rims = [(patch.at[axis], 1.2 * patch.radius) for patch in patches(specimen)]
    boundaries = {x for x in boundaries if all(abs(x - at) > reach for at, reach in rims)}
    tolerance = 1e-6 * length
    kept = [0.0]
    for x in sorted(boundaries):
        if kept[-1] + tolerance < x < length - tolerance:
            kept.append(x)
    return [*kept, length]


def _degrees(breaks: Sequence[float], wave: float, refinement: int, is_even: bool) -> list[int]:
    """The degree of each element along an axis that serves waves up to `wave`, 1/m.

    See `beam._degrees` for the count of waves. About a force at a point the singular functions
    leave terms like k^4 r^6 ln r, so that high modes need more there.

    is_even: whether no such force acts.
    """
    degrees = []
    for start, end in pairwise(breaks):
        half = wave * (end - start) / 2.0
        few = 5.0 if len(breaks) == 2 else 2.5
        step = max(few - half / 6.0, 2.0) if is_even else few + half / 7.0
        degrees.append(math.ceil(half + 3.0 * half ** (1.0 / 3.0) + step * (1 + refinement)))
    return degrees
