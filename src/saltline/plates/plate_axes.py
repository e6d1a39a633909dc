"""The two directions of a plate: where elements meet, what holds forbid, and how fine it is."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache, partial
from itertools import pairwise

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line, c1_line, mirror_parities
from saltline.plates.plate_places import AXIS_EDGES, is_pressed, patches
from saltline.plates.plate_products import Axis, beyond_degrees, make_axis, stretched
from saltline.plates.plate_supports import is_symmetric
from saltline.plates.stiffness import Stiffness
from saltline.specimen import Specimen

Held = tuple[bool, bool]
"""Whether the deflection is held rigidly, and the slope."""


def moved_breaks(line: Line, old: Specimen, new: Specimen, axis: int) -> Values:
    """Where the element boundaries of a specimen's axis lie on a changed one: held lines move."""

    def anchors(specimen: Specimen) -> list[float]:
        lines = [s for s in specimen.supports if s.to]
        places = [place[axis].value for s in lines for place in (s.at, s.to)]
        return [0.0, *places, specimen.geometry.size[axis]]

    before, after = np.array(anchors(old)), np.array(anchors(new))
    order = np.argsort(before)
    return np.asarray(np.interp(line.breaks, before[order], after[order]))


def plate_axes(specimen: Specimen, axis: int, wave: float, refinement: int) -> list[Axis]:
    """One axis, or an even and an odd one where the plate is its own mirror image.

    wave: the largest wave number along this axis that the functions should serve, 1/m.
    """
    breaks = np.array(element_boundaries(specimen, axis))
    holds = [specimen.boundary[edge] for edge in AXIS_EDGES[axis]]
    low, high = (
        (math.isinf(hold.deflection.value), math.isinf(hold.rotation.value)) for hold in holds
    )
    degrees = partial(_degrees, breaks, wave, not is_pressed(specimen))
    made = _axes_of_length_1(
        tuple((breaks / breaks[-1]).tolist()),
        tuple(degrees(refinement)),
        tuple(degrees(refinement - 1)) if refinement > 0 else None,
        (low, high),
        is_symmetric(specimen, axis),
    )
    return [stretched(one, breaks) for one in made]


@lru_cache(maxsize=64)
def _axes_of_length_1(
    breaks: tuple[float, ...],
    degrees: tuple[int, ...],
    before: tuple[int, ...] | None,
    held: tuple[Held, Held],
    is_symmetric: bool,
) -> tuple[Axis, ...]:
    """The axes, from 0 to 1; a square plate has the same ones both ways, and so have its likes.

    before: the degrees before these; held: what either end holds.
    """
    line = c1_line(breaks, degrees)
    kept = np.ones(line.size, dtype=bool)
    for boundary, (is_held, is_level) in zip((0, len(breaks) - 1), held, strict=True):
        kept[line.ends["w", boundary]] = not is_held
        kept[line.ends["psi", boundary]] = not is_level
    parts = mirror_parities(line) if is_symmetric else (np.eye(line.size),)
    made = []
    for part, parity in zip(parts, (1, -1) if is_symmetric else (0,), strict=True):
        axis = replace(make_axis(line, part, kept), parity=parity)
        if before is not None:
            axis = replace(axis, high=beyond_degrees(axis.line, before))
        made.append(axis)
    return tuple(made)


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


def _degrees(
    breaks: Sequence[float] | Values, wave: float, is_even: bool, refinement: int
) -> list[int]:
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
