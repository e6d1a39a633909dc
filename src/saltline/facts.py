"""Mass, centre of gravity and the moment of an overhang: what decides whether a set-up holds."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import accumulate

from saltline.legendre import gauss
from saltline.modes import Modes
from saltline.record import record
from saltline.section import section_properties, tapered_properties
from saltline.specimen import BeamGeometry, DiscGeometry, PlateGeometry, Specimen

STANDARD_GRAVITY = 9.80665
"""m/s2, by definition (3rd CGPM 1901; NIST SP 811, from memory)."""


@record
class Facts:
    """A specimen at rest.

    mass_kg:    with everything attached.
    centre_m:   of gravity, in the coordinates in which places are given; () at a disc's centre.
    overhang_n_m: moment of the weight about the one end or edge that is held, 0 where the specimen
                is not held at one side alone.
    """

    mass_kg: float
    centre_m: tuple[float, ...]
    overhang_n_m: float


SLOW_HZ = 0.5
"""A first mode slower than this is doubted,"""

SLENDER = 5000.0
"""... and a specimen that is so many times as long as it is thick,"""

SAG = 0.1
"""... and one whose own weight bends it by this part of its length."""


def facts(specimen: Specimen) -> Facts:
    """Mass, centre of gravity and overhang of a specimen that lies level."""
    mass, centre = _OWN[type(specimen.geometry)](specimen)
    moments = [mass * x for x in centre]
    for thing in specimen.attached:
        mass += thing.mass.value
        moments = [
            moment + thing.mass.value * at.value
            for moment, at in zip(moments, thing.at, strict=True)
        ]
    middle = tuple(moment / mass for moment in moments)
    return Facts(mass, middle, _overhang(specimen, mass, middle))


# -- what is hardly meant -------------------------------------------------------------------------


def doubts(modes: Modes) -> tuple[str, ...]:
    """What makes it likely that a unit in the file is not the one that was meant, in words.

    The sag in gravity is taken as 1.5 g/omega^2 of the first mode. For a uniform cantilever the
    factor is 3.516^2/8 = 1.55, for a beam pinned at both ends 5 pi^4/384 = 1.27, for a clamped disc
    10.2158^2/64 = 1.63 (static formulas: textbook). What floats freely does not sag.
    """
    length, thickness = _extent(modes.specimen)
    found = []
    if length > SLENDER * thickness:
        found.append(f"the length is {length / thickness:.0f} times the thickness")
    first = modes.modes[0] if modes.modes else None
    if first is not None and first.rank == 1 and first.family in ("flatwise", "plate", "disc"):
        if first.frequency_hz < SLOW_HZ:
            found.append(f"the first frequency is {first.frequency_hz:.2g} Hz")
        sag = 1.5 * STANDARD_GRAVITY / (2.0 * math.pi * first.frequency_hz) ** 2
        if modes.rigid == 0 and sag > SAG * length:
            part = f"some {100.0 * sag / length:.2g} %" if sag < length else "more than 100 %"
            found.append(f"its own weight would bend it by {part} of its length")
    return tuple(found)


def _extent(specimen: Specimen) -> tuple[float, float]:
    """The largest extent and the (largest) thickness, m; infinite where that is not stated."""
    geometry = specimen.geometry
    if isinstance(geometry, PlateGeometry):
        return max(geometry.size), geometry.thickness.value
    if isinstance(geometry, DiscGeometry):
        return geometry.diameter.value, geometry.thickness.value
    sections = [s for g in geometry.segments for s in (g.section_start, g.section_end)]
    nu = specimen.material.poisson_ratio.value
    depths = [float(section_properties(section, nu).depth) for section in sections]
    known = [depth for depth in depths if not math.isnan(depth)]
    return geometry.length, max(known, default=math.inf)


def _overhang(specimen: Specimen, mass: float, centre: tuple[float, ...]) -> float:
    """The moment about the only clamped side, N m."""
    held = [name for name, hold in specimen.boundary.items() if hold.word != "free"]
    if len(held) != 1 or specimen.supports or held[0] not in _SIDES:
        return 0.0
    axis, far = _SIDES[held[0]]
    arm = abs(centre[axis] - (specimen.geometry.size[axis] if far else 0.0))
    return mass * STANDARD_GRAVITY * arm


_SIDES: Mapping[str, tuple[int, bool]] = {
    "start": (0, False),
    "end": (0, True),
    "left": (0, False),
    "right": (0, True),
    "bottom": (1, False),
    "top": (1, True),
}
"""End or edge -> (axis, whether it is at the far end of it)."""


def _beam(specimen: Specimen) -> tuple[float, tuple[float, ...]]:
    geometry, material = specimen.geometry, specimen.material
    assert isinstance(geometry, BeamGeometry)
    s, w = gauss(6)  # exact: a section's area is a quadratic in s
    s, w = (s + 1.0) / 2.0, w / 2.0
    starts = [0.0, *accumulate(segment.length.value for segment in geometry.segments)]
    mass = moment = 0.0
    for start, segment in zip(starts, geometry.segments, strict=False):
        length = segment.length.value
        area = tapered_properties(
            segment.section_start, segment.section_end, material.poisson_ratio.value, s
        ).A
        line_mass = material.density.value * area * length * w
        mass += float(line_mass.sum())
        moment += float(line_mass @ (start + s * length))
    return mass, (moment / mass,)


def _plate(specimen: Specimen) -> tuple[float, tuple[float, ...]]:
    geometry = specimen.geometry
    assert isinstance(geometry, PlateGeometry)
    a, b = geometry.size
    mass = specimen.material.density.value * a * b * geometry.thickness.value
    return mass, (a / 2.0, b / 2.0)


def _disc(specimen: Specimen) -> tuple[float, tuple[float, ...]]:
    geometry = specimen.geometry
    assert isinstance(geometry, DiscGeometry)
    hole = 0.0 if geometry.hole_diameter is None else geometry.hole_diameter.value
    area = math.pi / 4.0 * (geometry.diameter.value**2 - hole**2)
    return specimen.material.density.value * area * geometry.thickness.value, ()


_OWN: Mapping[type, Callable[[Specimen], tuple[float, tuple[float, ...]]]] = {
    BeamGeometry: _beam,
    PlateGeometry: _plate,
    DiscGeometry: _disc,
}
