"""What the elements of a beam are: where they meet, the section along each, what holds them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import accumulate, pairwise

from saltline.arrays import Values
from saltline.motions import Constants, Motion
from saltline.record import record
from saltline.section import SectionProperties, section_properties, tapered_properties
from saltline.specimen import BeamGeometry, Specimen

Sections = Callable[[int, Values], SectionProperties]
"""(element number, places as fractions of the element) -> the section there; a single value serves
all places of a segment that does not taper."""


def material_along(specimen: Specimen, pieces: Sequence[Piece]) -> tuple[Constants, Sections]:
    """The constants, and the section along each element."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    constants = Constants(
        E=specimen.material.youngs_modulus.value,
        G=specimen.material.G,
        rho=specimen.material.density.value,
        tension=geometry.tension.value,
    )
    nu = specimen.material.poisson_ratio.value
    even = {
        number: section_properties(segment.section_start, nu)
        for number, segment in enumerate(geometry.segments)
        if not segment.is_tapered
    }

    def sections(number: int, s: Values) -> SectionProperties:
        piece = pieces[number]
        if piece.segment in even:
            return even[piece.segment]
        segment = geometry.segments[piece.segment]
        along = piece.first + (piece.last - piece.first) * s
        return tapered_properties(segment.section_start, segment.section_end, nu, along)

    return constants, sections


@record
class Piece:
    """The part of a segment (by number) that one element covers, as fractions of its length."""

    segment: int
    first: float
    last: float


def pieces_of(specimen: Specimen) -> tuple[Piece, ...]:
    """The elements: they meet at every change of section, support and attached mass.

    There the shape is less smooth than a polynomial; between them it is smooth, and converges as
    fast as the degree rises.
    """
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    places = [s.at[0].value for s in specimen.supports] + [a.at[0].value for a in specimen.attached]
    tolerance = 1e-9 * geometry.length
    pieces: list[Piece] = []
    start = 0.0
    for number, segment in enumerate(geometry.segments):
        end = start + segment.length.value
        inner = [start]
        for place in sorted(places):
            if inner[-1] + tolerance < place < end - tolerance:
                inner.append(place)
        fractions = [(x - start) / segment.length.value for x in inner] + [1.0]
        pieces += [Piece(number, a, b) for a, b in pairwise(fractions)]
        start = end
    return tuple(pieces)


def breaks_of(specimen: Specimen, pieces: Sequence[Piece]) -> list[float]:
    """Where the elements meet, m."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    starts = [0.0, *accumulate(segment.length.value for segment in geometry.segments)]
    lengths = [segment.length.value for segment in geometry.segments]
    return [0.0, *(starts[p.segment] + p.last * lengths[p.segment] for p in pieces)]


def holds_of(specimen: Specimen, motion: Motion) -> list[tuple[float, str, float]]:
    """Everything that stands against the motion: (place, field, stiffness)."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    nu = specimen.material.poisson_ratio.value
    first = section_properties(geometry.segments[0].section_start, nu)
    last = section_properties(geometry.segments[-1].section_end, nu)
    found = [
        (0.0, motion.at_end(specimen.boundary["start"], first)),
        (geometry.length, motion.at_end(specimen.boundary["end"], last)),
    ]
    found += [(s.at[0].value, motion.between(s.hold, first)) for s in specimen.supports]
    return [(place, field, k) for place, fields in found for field, k in fields if k > 0.0]
