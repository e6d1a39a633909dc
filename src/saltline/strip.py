"""Where a strip stops being a beam: the same strip solved as a plate, mode matched to mode.

A plate's mode of a slender strip is bending, torsion or something that bends across the width too.
Which one is read off its shape: the share of its motion that is even across the width (flatwise),
that is proportional to the distance from the centre line (torsion), and the rest (chordwise).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from saltline.arrays import Values
from saltline.basis import c1_line, mirror_parities
from saltline.eigen import lowest_modes
from saltline.modes import Mode, Modes, find_modes
from saltline.plate import (
    AXIS_EDGES,
    Axis,
    PlateShape,
    make_axis,
    plate_stiffness,
    ritz_stiffness,
)
from saltline.quantity import Quantity
from saltline.section import rectangle_torsion_constant
from saltline.specimen import BeamGeometry, Hold, PlateGeometry, Specimen

HOLDS_TO = 0.02
"""Beam theory is said to hold while it is within this of the plate (relative)."""

KINDS_OF_MOTION = ("flatwise", "torsion", "chordwise")

QUICK_DEGREE_ACROSS = 6
"""Enough across the width of a strip for bending, torsion and the first chordwise modes."""


@dataclass(frozen=True, slots=True)
class StripMode:
    """A mode of the strip as a plate.

    motion: "flatwise", "torsion" or "chordwise"; order within that motion.
    beam:   the beam's mode of the same family and order, or None.
    reason: why the two differ, in a few words; "" where they do not.
    """

    frequency_hz: float
    motion: str
    order: int
    beam: Mode | None
    reason: str

    @property
    def difference(self) -> float:
        """Plate over beam, less one; NaN without a beam mode."""
        return math.nan if self.beam is None else self.frequency_hz / self.beam.frequency_hz - 1.0


@dataclass(frozen=True, slots=True)
class Reach:
    """How far beam theory reaches.

    holds_to_hz:  up to this frequency flatwise bending is within `HOLDS_TO` of the plate; infinite
                  where nothing in the range exceeds it.
    first_lines:  motion with a node line along the strip -> its lowest frequency, Hz.
    """

    holds_to_hz: float
    first_lines: dict[str, float]


def is_strip(specimen: Specimen) -> bool:
    """Whether a beam can be solved as a plate: one rectangle, held at its ends alone."""
    geometry = specimen.geometry
    if not isinstance(geometry, BeamGeometry) or len(geometry.segments) != 1:
        return False
    segment = geometry.segments[0]
    plain = segment.section_start == segment.section_end
    return (
        plain
        and segment.section_start.shape == "rectangle"
        and geometry.tension.value == 0.0
        and not specimen.supports
    )


def as_plate(specimen: Specimen) -> Specimen:
    """The same strip described as a plate; `is_strip` must hold."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    segment = geometry.segments[0]
    width = segment.section_start.dimensions["width"]
    thickness = segment.section_start.dimensions["thickness"]
    free = Hold(Quantity(0.0), Quantity(0.0))

    def spread(hold: Hold) -> Hold:
        return Hold(
            replace(hold.deflection, value=hold.deflection.value / width.value),
            replace(hold.rotation, value=hold.rotation.value / width.value),
        )

    middle = Quantity(width.value / 2.0)
    return replace(
        specimen,
        kind="plate",
        geometry=PlateGeometry(segment.length, width, thickness),
        boundary={
            "left": spread(specimen.boundary["start"]),
            "right": spread(specimen.boundary["end"]),
            "bottom": free,
            "top": free,
        },
        attached=tuple(replace(a, at=(a.at[0], middle)) for a in specimen.attached),
    )


def is_plain(specimen: Specimen) -> bool:
    """Whether nothing is attached and both ends are held in the classic ways."""
    ends = specimen.boundary.values()
    return not specimen.attached and all(hold.word != "elastic" for hold in ends)


def compare(specimen: Specimen, modes: Modes, *, count: int) -> list[StripMode]:
    """The strip as a plate beside the beam.

    modes: the beam's, with flatwise and torsion in the range.
    """
    found = find_modes(as_plate(specimen), count=count)
    beam = {(mode.family, mode.order): mode for mode in modes.modes}
    orders = dict.fromkeys(KINDS_OF_MOTION, 0)
    rows = []
    for mode in found.modes:
        assert isinstance(mode.shape, PlateShape)
        motion = motion_of(mode.shape)
        orders[motion] += 1
        twin = beam.get((motion, orders[motion]))
        reason = "" if twin is None else _reason(specimen, mode.frequency_hz, twin)
        rows.append(StripMode(mode.frequency_hz, motion, orders[motion], twin, reason))
    return rows


def motion_of(shape: PlateShape) -> str:
    """What a strip's mode mainly is: "flatwise", "torsion" or "chordwise"."""
    length, width = float(shape.x.breaks[-1]), float(shape.y.breaks[-1])
    xi, wx = np.polynomial.legendre.leggauss(60)
    eta, wy = np.polynomial.legendre.leggauss(24)
    w = shape.at((xi + 1.0) * length / 2.0, (eta + 1.0) * width / 2.0)
    even, slope = w @ wy / 2.0, w @ (wy * eta) * 1.5
    shares = np.array([wx @ even**2 * 2.0, wx @ slope**2 * 2.0 / 3.0])
    whole = wx @ (w**2) @ wy
    return KINDS_OF_MOTION[int(np.argmax([*shares, whole - shares.sum()]))]


def _reason(specimen: Specimen, plate_hz: float, beam: Mode) -> str:
    """Why the plate's frequency differs from the beam's, in a few words."""
    difference = plate_hz / beam.frequency_hz - 1.0
    if abs(difference) < 0.002:
        return ""
    if beam.family == "torsion":
        thin = _thin_torsion(specimen)
        if thin > 0.6 * difference:
            return "the finite thickness, which a thin plate leaves out"
        return "the ends keep the section from warping"
    shear = (beam.euler_hz or beam.frequency_hz) / beam.frequency_hz - 1.0
    if shear > 0.6 * abs(difference):
        return "shear, which a thin plate leaves out"
    clamped = any(h.word == "clamped" for h in specimen.boundary.values())
    if clamped and beam.order <= 2:
        return "the clamp keeps the width from curling (Poisson)"
    return "the width keeps itself from curling (Poisson)"


def _thin_torsion(specimen: Specimen) -> float:
    """How much b t^3/3, which is a thin plate's torsion constant, raises a frequency (relative)."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    dimensions = geometry.segments[0].section_start.dimensions
    b, t = dimensions["width"].value, dimensions["thickness"].value
    J = float(rectangle_torsion_constant(np.asarray(b), np.asarray(t)))
    return math.sqrt(b * t**3 / 3.0 / J) - 1.0


# -- quickly, for a note under a beam's table -----------------------------------------------------


def reach(specimen: Specimen, flatwise: Sequence[Mode]) -> Reach:
    """How far beam theory reaches within the range of these flatwise modes.

    A coarse plate, a few functions across the width, is enough to tell; it costs milliseconds. It
    knows classic ends alone (`is_plain`).
    """
    plate = as_plate(specimen)
    highest = max(mode.frequency_hz for mode in flatwise)
    even, odd = _quick(plate, 1.3 * highest, len(flatwise) + 4)
    bending = [hz for hz, motion in even if motion == "flatwise"]
    holds_to = math.inf
    for hz, mode in zip(bending, flatwise, strict=False):
        simple = mode.euler_hz or mode.frequency_hz
        if abs(hz / simple - 1.0) > HOLDS_TO:
            holds_to = mode.frequency_hz
            break
    lines: dict[str, float] = {}
    for motion, rows in (("torsion", odd), ("chordwise", even)):
        first = min((hz for hz, name in rows if name == motion), default=math.inf)
        if first <= highest:
            lines[motion] = first
    return Reach(holds_to, lines)


def _quick(plate: Specimen, highest_hz: float, count: int) -> list[list[tuple[float, str]]]:
    """(frequency, motion) of the modes even, and odd, about the centre line."""
    stiffness = plate_stiffness(plate)
    a, b = plate.geometry.size
    omega2 = (2.0 * math.pi * highest_hz) ** 2
    half = (omega2 * stiffness.mass / stiffness.Dx) ** 0.25 * a / 2.0
    degree = 6 + math.ceil(half + 2.0 * half ** (1.0 / 3.0))
    x = _quick_axis(plate, 0, a, degree)
    y_line = c1_line([0.0, b], [QUICK_DEGREE_ACROSS])
    free = np.ones(y_line.size, dtype=bool)
    found = []
    for part, motion in zip(mirror_parities(y_line), KINDS_OF_MOTION[:2], strict=True):
        y = make_axis(y_line, part, free)
        K = ritz_stiffness(stiffness, x, y)
        M = stiffness.mass * np.eye(K.shape[0])
        values, q = lowest_modes(K, M, count, rigid=0, highest=omega2)
        # The functions are orthonormal: the share of the constant (even) or of the straight line
        # (odd) across the width is the square of its coefficients.
        along = q.T.reshape(values.size, x.line.size, y.line.size) @ y.rigid[:, 0]
        shares = stiffness.mass * np.sum(along**2, axis=1)
        found.append(
            [
                (math.sqrt(value) / (2.0 * math.pi), motion if share > 0.5 else "chordwise")
                for value, share in zip(values, shares, strict=True)
                if value > 1e-6 * omega2
            ]
        )
    return found


def _quick_axis(plate: Specimen, axis: int, length: float, degree: int) -> Axis:
    line = c1_line([0.0, length], [degree])
    kept: Values = np.ones(line.size, dtype=bool)
    for edge, boundary in zip(AXIS_EDGES[axis], (0, 1), strict=True):
        hold = plate.boundary[edge]
        for name, stiffness in (("w", hold.deflection), ("psi", hold.rotation)):
            kept[line.ends[name, boundary]] = not math.isinf(stiffness.value)
    return make_axis(line, np.eye(line.size), kept)
