"""Beams: their segments as elements, and the problem of each family of motion over them.

Bending follows Timoshenko (1921), or Euler and Bernoulli where the shear strain and the rotary
inertia are left out; both are the same integrals over the same basis, the simpler theory over
fewer functions. Torsion is Saint-Venant's, axial motion the elementary bar. `motions` says what
each family is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line, Weight, gram
from saltline.beam_elements import (
    Piece,
    Sections,
    breaks_of,
    holds_of,
    material_along,
    pieces_of,
)
from saltline.beam_quotients import quotients
from saltline.functional import Functional
from saltline.integrals import uniform_gram
from saltline.legendre import gauss
from saltline.motions import MOTIONS, Constants, Motion, Term
from saltline.problem import Problem
from saltline.record import record
from saltline.section import section_properties, tapered_properties
from saltline.settling import cut_on_line
from saltline.specimen import BeamGeometry, PredictionError, Specimen

TAPER_POINTS = 6
"""Extra Gauss points on tapered elements: exact for weights up to degree 13 in x."""

RISE = 6
"""By so much each refinement raises the degree of every element."""

_MIDDLE = np.array(0.5)


@record
class BeamShape:
    """The shape of a beam mode: a polynomial on each element.

    deflection and rotation are fields of `line` (a twist or an axial motion has "u" alone).
    held: places that are held rigidly against this motion, m.
    """

    family: str
    line: Line
    q: Values
    field: str
    held: tuple[float, ...]

    def series(self) -> tuple[Values, ...]:
        """The motion as a Legendre series on each element."""
        return self.line.series(self.q, self.field)

    def at(self, x: Values, derivative: int = 0) -> Values:
        """The motion, or its derivative with respect to x, at places x in m."""
        return np.asarray(self.line.rows(self.field, x, derivative) @ self.q)


# -- the problem ----------------------------------------------------------------------------------


def beam_problems(
    specimen: Specimen, *, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    """One problem for each family of a beam.

    count:      how many modes of each family the basis should serve.
    theory:     "timoshenko" or "euler", for bending.
    refinement: 0, 1, 2 ... raises the degree of every element.

    Raises PredictionError where a section lacks what the theory needs.
    """
    return [
        _family_problem(specimen, MOTIONS[theory][family], family, count, refinement)
        for family in families
    ]


def _family_problem(
    specimen: Specimen, motion: Motion, family: str, count: int, refinement: int
) -> Problem:
    """The degrees that serve so many modes, and the problem over them."""
    pieces = pieces_of(specimen)
    _complain_on_missing(motion, specimen)
    constants, sections = material_along(specimen, pieces)
    breaks = breaks_of(specimen, pieces)
    highest, degrees = _degrees(motion, constants, breaks, sections, count, refinement)
    return _discretised(specimen, motion, family, highest, degrees, pieces)


def _discretised(
    specimen: Specimen,
    motion: Motion,
    family: str,
    highest: float,
    degrees: Sequence[int],
    pieces: Sequence[Piece],
) -> Problem:
    """The problem over these elements.

    Of a changed specimen the same pieces make the elements, stretched with their segments, so that
    the coefficients keep their meaning; what is attached is then read off wherever it stands.
    """
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    constants, sections = material_along(specimen, pieces)
    line = motion.line(breaks_of(specimen, pieces), degrees)
    is_tapered = any(segment.is_tapered for segment in geometry.segments)

    def along(term: Term) -> Weight:
        return lambda number, s: term.coefficient(sections(number, s), constants)

    def on_each(term: Term) -> list[float]:
        weight = along(term)
        return [float(weight(number, _MIDDLE)) for number in range(len(pieces))]

    def integrate(terms: Sequence[Term]) -> Values:
        if not is_tapered:
            return uniform_gram(line, [(term.left, term.right, on_each(term)) for term in terms])
        return np.asarray(
            sum(gram(line, t.left, t.right, along(t), extra_points=TAPER_POINTS) for t in terms)
        )

    holds = holds_of(specimen, motion)
    held = tuple(
        place
        for place, field, stiffness in holds
        if field == motion.shape_field and math.isinf(stiffness)
    )
    return Problem(
        family=family,
        K=integrate(motion.stiffness),
        M=integrate(motion.mass),
        functionals=_functionals(specimen, motion, line, holds),
        rigid_motions=_rigid_motions(line, constants),
        highest=highest,
        shape_of=lambda q: BeamShape(family, line, q, motion.shape_field, held),
        rebuild=lambda changed: _discretised(changed, motion, family, highest, degrees, pieces),
        quotients=None if is_tapered else partial(quotients, specimen, motion, line, pieces),
        cut=partial(cut_on_line, line, RISE),
    )


# -- elements -------------------------------------------------------------------------------------


def _degrees(
    motion: Motion,
    constants: Constants,
    breaks: Sequence[float],
    sections: Sections,
    count: int,
    refinement: int,
) -> tuple[float, list[int]]:
    """A guess of the highest omega^2 wanted, and a degree for each element that serves it.

    The guess is that of a beam whose phase, the integral of the local wave number, is that of the
    last mode wanted. A Legendre series settles once its degree exceeds the wave number times half
    the length by a few cube roots of it (the turning point of the Bessel functions in the series).
    """
    s, weights = gauss(4)
    s = (s + 1.0) / 2.0
    lengths = np.diff(breaks)
    phase = np.array(
        [
            length * np.sum(motion.wave(sections(number, s), constants) * weights / 2.0)
            for number, length in enumerate(lengths)
        ]
    )
    omega = ((count + 2) * math.pi / phase.sum()) ** motion.order
    half_phases = phase * omega ** (1.0 / motion.order) / 2.0
    degrees = [
        8 + RISE * refinement + math.ceil(half + 3.0 * half ** (1.0 / 3.0)) for half in half_phases
    ]
    return omega**2, degrees


def _rigid_motions(line: Line, constants: Constants) -> Values:
    """Motions without strain as columns: one even motion, and for bending one rotation.

    Under an axial preload a rotation is not free of energy.
    """
    motions = np.zeros((line.size, 2))
    length = line.breaks[-1] - line.breaks[0]
    for (name, boundary), dof in line.ends.items():
        if name == "psi":
            motions[dof, 1] = 1.0 / length
        else:
            motions[dof, 0] = 1.0
            motions[dof, 1] = line.breaks[boundary] / length
    turns = any(name == "psi" for name, _ in line.ends) and constants.tension == 0.0
    return motions if turns else motions[:, :1]


def _complain_on_missing(motion: Motion, specimen: Specimen) -> None:
    geometry, nu = specimen.geometry, specimen.material.poisson_ratio.value
    assert isinstance(geometry, BeamGeometry)
    for segment in geometry.segments:
        properties = section_properties(segment.section_start, nu)
        for name in motion.needs:
            if np.any(np.isnan(getattr(properties, name))):
                raise PredictionError(f"this needs {motion.needs[name]}")


# -- what is attached -----------------------------------------------------------------------------


def _functionals(
    specimen: Specimen, motion: Motion, line: Line, holds: Sequence[tuple[float, str, float]]
) -> list[Functional]:
    """Holds and attached things as functionals over the line's functions."""
    functionals = [
        Functional(_row(line, field, place), stiffness=stiffness)
        for place, field, stiffness in holds
    ]
    for thing in specimen.attached:
        for field, mass in motion.carries(thing):
            if mass > 0.0:
                row = _row(line, field, thing.at[0].value)
                functionals.append(Functional(row, mass=mass))
    return functionals


def _row(line: Line, field: str, place: float) -> Values:
    """The functional of a field; at an element boundary exactly one end function reads it."""
    boundary = line.boundary_at(place)
    if boundary is None:
        return line.row(field, place)[None, :]
    row = np.zeros((1, line.size))
    row[0, line.ends[field, boundary]] = 1.0
    return row


def critical_frequency(specimen: Specimen, family: str) -> float:
    """Where Timoshenko's second spectrum begins, Hz: sqrt(kappa G A / (rho I)) / (2 pi), the least
    along the beam; infinite for a family without shear.

    Above it a mode may be mainly shear, and the orders are no longer bending orders
    (Timoshenko 1921; textbook).
    """
    names = {"flatwise": ("I", "kappa"), "edgewise": ("I_edge", "kappa_edge")}
    if family not in names:
        return math.inf
    second_moment, shear_coefficient = names[family]
    material, geometry = specimen.material, specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    lowest = math.inf
    for segment in geometry.segments:
        nu = material.poisson_ratio.value
        s = section_properties(segment.section_start, nu)
        if segment.is_tapered:
            along = np.array([0.0, 0.5, 1.0])
            s = tapered_properties(segment.section_start, segment.section_end, nu, along)
        ratio = getattr(s, shear_coefficient) * s.A / getattr(s, second_moment)
        lowest = min(lowest, float(np.min(ratio)))
    return math.sqrt(material.G / material.density.value * lowest) / (2.0 * math.pi)
