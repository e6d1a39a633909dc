"""What of a beam is a strip: its width and thickness, and where the elements of its plate meet."""

from __future__ import annotations

from itertools import accumulate, pairwise

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line, Weight
from saltline.plates.stiffness import Stiffness, sheet_stiffness
from saltline.section import Section
from saltline.specimen import BeamGeometry, Segment, Specimen

GRADES: tuple[tuple[float, ...], ...] = ((), (0.1,), (0.03, 0.3), (0.01, 0.1, 0.4))
"""For each fineness, where elements end beside a place that holds the slope, in widths: at its
corners with the free sides the moments grow without bound (Williams 1952)."""


def is_rectangular(specimen: Specimen) -> bool:
    """Whether a specimen is a beam of rectangular section, be it even or not."""
    geometry = specimen.geometry
    return isinstance(geometry, BeamGeometry) and all(
        section.shape == "rectangle"
        for segment in geometry.segments
        for section in _both_sections(segment)
    )


def why_no_plate(specimen: Specimen) -> str:
    """Why a specimen cannot be solved as a strip, in words; "" where it can."""
    geometry = specimen.geometry
    if not isinstance(geometry, BeamGeometry) or not is_rectangular(specimen):
        return "it is no beam of rectangular section"
    widths = [
        section.dimensions["width"].value
        for segment in geometry.segments
        for section in _both_sections(segment)
    ]
    if max(widths) > (1.0 + 1e-9) * min(widths):
        return "its width changes along the beam"
    material = specimen.material
    if material.shear_modulus is not None and not material.is_orthotropic:
        return "its material is described along the beam alone"
    return ""


def elements(specimen: Specimen, fineness: int) -> tuple[list[float], Values]:
    """Where elements meet, m, and the thickness in the middle of each over that at the start."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    length, width = geometry.length, width_of(specimen)
    meets = {0.0, length, *_starts(specimen)}
    meets |= {support.at[0].value for support in specimen.supports}
    meets |= {thing.at[0].value for thing in specimen.attached}
    holding = [
        place
        for place, hold in ((0.0, specimen.boundary["start"]), (length, specimen.boundary["end"]))
        if hold.rotation.value > 0.0
    ]
    holding += [s.at[0].value for s in specimen.supports if s.hold.rotation.value > 0.0]
    meets |= {
        place + side * g * width
        for place in holding
        for g in GRADES[fineness]
        for side in (-1.0, 1.0)
    }
    breaks = [0.0]
    for x in sorted(meets):
        if breaks[-1] + 1e-9 * length < x < length * (1.0 - 1e-9):
            breaks.append(x)
    breaks.append(length)
    middles = np.array([(a + b) / 2.0 for a, b in pairwise(breaks)])
    return breaks, np.array([_at(specimen, x, x) for x in middles])


def thickness_along(specimen: Specimen, line: Line) -> Weight | None:
    """Thickness in parts of that at the start, as a weight along the elements; None where even."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    if len(geometry.segments) == 1 and not geometry.segments[0].is_tapered:
        return None

    def weight(number: int, s: Values) -> Values:
        element = line.elements[number]
        x = element.start + 2.0 * element.half * s
        return np.asarray(_at(specimen, x, element.start + element.half))

    return weight


def _at(specimen: Specimen, x: Values | float, within: float) -> Values | float:
    """Thickness at x over that at the start, by the segment that a place lies within."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    starts = _starts(specimen)
    number = int(np.searchsorted(starts, within, side="right")) - 1
    segment = geometry.segments[number]
    t0, t1 = (s.dimensions["thickness"].value for s in _both_sections(segment))
    first = geometry.segments[0].section_start.dimensions["thickness"].value
    return (t0 + (t1 - t0) * (x - starts[number]) / segment.length.value) / first


def _starts(specimen: Specimen) -> list[float]:
    """Where the segments begin, m."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    return [0.0, *accumulate(segment.length.value for segment in geometry.segments)][:-1]


def _both_sections(segment: Segment) -> tuple[Section, Section]:
    return segment.section_start, segment.section_end


def start_stiffness(specimen: Specimen) -> Stiffness:
    """The bending stiffnesses of the sheet that a strip is at its start."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    thickness = geometry.segments[0].section_start.dimensions["thickness"]
    return sheet_stiffness(specimen.material, thickness.value)


def width_of(specimen: Specimen) -> float:
    """The width of a strip, m."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    return geometry.segments[0].section_start.dimensions["width"].value
