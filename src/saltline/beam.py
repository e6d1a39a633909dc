"""Beams: flatwise and edgewise bending, torsion and axial motion, by segments.

Bending follows Timoshenko (1921), or Euler and Bernoulli where the shear strain and the rotary
inertia are left out; both are the same integrals over the same basis, the simpler theory over
fewer functions. Torsion is Saint-Venant's, axial motion the elementary bar.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line, Weight, c0_line, c1_line, c1_shear_line, gram
from saltline.functional import Functional
from saltline.problem import Problem
from saltline.section import SectionProperties, tapered_properties
from saltline.specimen import BeamGeometry, Hold, Segment, Specimen

Coefficient = Callable[[SectionProperties, "Constants"], Values]

TAPER_POINTS = 6
"""Extra Gauss points on tapered elements: exact for weights up to degree 13 in x."""


class BeamError(ValueError):
    """A beam that the asked-for theory cannot treat, said in words for the user."""


@dataclass(frozen=True, slots=True)
class Constants:
    """E, G in Pa, rho in kg/m3, axial preload in N."""

    E: float
    G: float
    rho: float
    tension: float


@dataclass(frozen=True, slots=True)
class Term:
    """One integral of the energy: coefficient * left * right, each a (field, derivative)."""

    coefficient: Coefficient
    left: tuple[str, int]
    right: tuple[str, int]


@dataclass(frozen=True, slots=True)
class Motion:
    """What defines a family under a theory: its functions, its energies, what reads it off.

    line:      (breaks, degrees) -> the space of functions.
    stiffness, mass: terms of the potential and of the kinetic energy.
    reads:     what "deflection" and "rotation" of a hold, and "mass" and "rotary_inertia" of an
               attachment, act on: a field of this family, or absent where they do not touch it.
    order:     of the energy's derivative: 2 in bending (omega ~ k^2), 1 otherwise (omega ~ k).
    wave:      local wave number at omega = 1 rad/s from section and constants, for the degree.
    needs:     section properties that must be known, with the words for the user.
    """

    line: Callable[[Sequence[float], Sequence[int]], Line]
    stiffness: tuple[Term, ...]
    mass: tuple[Term, ...]
    reads: Mapping[str, str]
    order: int
    wave: Coefficient
    needs: Mapping[str, str]
    shape_field: str


@dataclass(frozen=True, slots=True)
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


NEED_WORDS = {
    "I": "the second_moment of the custom section",
    "I_edge": "the second_moment_edgewise of the custom section",
    "kappa": "the shear_coefficient of the custom section (about 0.85 for a compact solid one), "
    "or --theory euler",
    "kappa_edge": "the shear_coefficient of the custom section (about 0.85 for a compact solid "
    "one), or --theory euler",
}
"""Section property -> what the user states where it is missing."""


# -- the families ---------------------------------------------------------------------------------


def _bending(second_moment: str, shear_coefficient: str) -> tuple[Motion, Motion]:
    """Euler-Bernoulli's and Timoshenko's motion for one direction of bending."""

    def bending_stiffness(s: SectionProperties, c: Constants) -> Values:
        return np.asarray(c.E * getattr(s, second_moment))

    def shear_stiffness(s: SectionProperties, c: Constants) -> Values:
        return np.asarray(getattr(s, shear_coefficient) * c.G * s.A)

    def preload(s: SectionProperties, c: Constants) -> Values:
        return np.full_like(s.A, c.tension)

    def line_mass(s: SectionProperties, c: Constants) -> Values:
        return np.asarray(c.rho * s.A)

    def rotary_inertia(s: SectionProperties, c: Constants) -> Values:
        return np.asarray(c.rho * getattr(s, second_moment))

    def wave(s: SectionProperties, c: Constants) -> Values:
        return np.asarray((line_mass(s, c) / bending_stiffness(s, c)) ** 0.25)

    reads = {
        "deflection": "w",
        "rotation": "psi",
        "mass": "w",
        "rotary_inertia": "psi",
    }
    bend = Term(bending_stiffness, ("psi", 1), ("psi", 1))
    pull = Term(preload, ("w", 1), ("w", 1))
    move = Term(line_mass, ("w", 0), ("w", 0))
    shear = Term(shear_stiffness, ("gamma", 0), ("gamma", 0))
    turn = Term(rotary_inertia, ("psi", 0), ("psi", 0))
    needs = {second_moment: NEED_WORDS[second_moment]}
    both = {**needs, shear_coefficient: NEED_WORDS[shear_coefficient]}
    euler = Motion(c1_line, (bend, pull), (move,), reads, 2, wave, needs, "w")
    timoshenko = Motion(c1_shear_line, (bend, shear, pull), (move, turn), reads, 2, wave, both, "w")
    return euler, timoshenko


def _stretching(
    stiffness: Coefficient, mass: Coefficient, reads: Mapping[str, str], needs: Mapping[str, str]
) -> Motion:
    """A motion of one field with first derivatives: axial or torsion."""

    def wave(s: SectionProperties, c: Constants) -> Values:
        return np.asarray(np.sqrt(mass(s, c) / stiffness(s, c)))

    return Motion(
        c0_line,
        (Term(stiffness, ("u", 1), ("u", 1)),),
        (Term(mass, ("u", 0), ("u", 0)),),
        reads,
        1,
        wave,
        needs,
        "u",
    )


_FLATWISE = _bending("I", "kappa")
_EDGEWISE = _bending("I_edge", "kappa_edge")

MOTIONS: Mapping[str, Mapping[str, Motion]] = {
    "euler": {"flatwise": _FLATWISE[0]},
    "timoshenko": {"flatwise": _FLATWISE[1]},
}
"""Theory -> family -> motion."""

# -- the problem ----------------------------------------------------------------------------------


def beam_problems(
    specimen: Specimen, *, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    """One problem for each family of a beam.

    count:      how many modes of each family the basis should serve.
    theory:     "timoshenko" or "euler", for bending.
    refinement: 0, 1, 2 ... raises the degree of every element.

    Raises BeamError where a section lacks what the theory needs.
    """
    return [
        _family_problem(specimen, MOTIONS[theory][family], family, count, refinement)
        for family in families
    ]


def _family_problem(
    specimen: Specimen, motion: Motion, family: str, count: int, refinement: int
) -> Problem:
    """The degrees that serve so many modes, and the problem over them."""
    breaks = element_boundaries(specimen)
    constants, sections = _material_along(specimen, motion, breaks)
    highest, degrees = _degrees(motion, constants, breaks, sections, count, refinement)
    return _discretised(specimen, motion, family, highest, degrees)


def _material_along(
    specimen: Specimen, motion: Motion, breaks: Sequence[float]
) -> tuple[Constants, Callable[[int, Values], SectionProperties]]:
    """The constants, and the section at places (fractions) of each element."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    pieces = _pieces(geometry, breaks)
    constants = Constants(
        E=specimen.material.youngs_modulus.value,
        G=specimen.material.G,
        rho=specimen.material.density.value,
        tension=geometry.tension.value,
    )
    nu = specimen.material.poisson_ratio.value
    _complain_on_missing(motion, pieces, nu)

    def sections(number: int, s: Values) -> SectionProperties:
        piece = pieces[number]
        return tapered_properties(
            piece.segment.section_start,
            piece.segment.section_end,
            nu,
            piece.first + (piece.last - piece.first) * s,
        )

    return constants, sections


def _discretised(
    specimen: Specimen, motion: Motion, family: str, highest: float, degrees: Sequence[int]
) -> Problem:
    """The problem over elements of these degrees."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    breaks = element_boundaries(specimen)
    constants, sections = _material_along(specimen, motion, breaks)
    line = motion.line(breaks, degrees)
    is_tapered = any(s.section_start != s.section_end for s in geometry.segments)
    extra = TAPER_POINTS if is_tapered else 0

    def weigh(term: Term) -> Weight:
        return lambda number, s: term.coefficient(sections(number, s), constants)

    def integrate(terms: Sequence[Term]) -> Values:
        total = np.zeros((line.size, line.size))
        for term in terms:
            total += gram(line, term.left, term.right, weigh(term), extra_points=extra)
        return total

    held = tuple(
        place for place, hold in beam_holds(specimen) if math.isinf(_against(motion, hold))
    )
    return Problem(
        family=family,
        K=integrate(motion.stiffness),
        M=integrate(motion.mass),
        functionals=beam_functionals(specimen, motion, line),
        rigid_motions=_rigid_motions(line, constants),
        highest=highest,
        shape_of=lambda q: BeamShape(family, line, q, motion.shape_field, held),
        rebuild=lambda changed: _discretised(changed, motion, family, highest, degrees),
    )


# -- elements -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Piece:
    """The part of a segment that one element covers, as fractions of the segment's length."""

    segment: Segment
    first: float
    last: float


def element_boundaries(specimen: Specimen) -> list[float]:
    """Where the elements meet, m: at every change of section, support and attached mass.

    There the shape is less smooth than a polynomial; between them it is smooth, and converges as
    fast as the degree rises.
    """
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    joints = [0.0]
    for segment in geometry.segments:
        joints.append(joints[-1] + segment.length.value)
    places = [s.at[0].value for s in specimen.supports] + [a.at[0].value for a in specimen.attached]
    tolerance = 1e-9 * geometry.length
    for place in places:
        if all(abs(place - joint) > tolerance for joint in joints):
            joints.append(place)
    return sorted(joints)


def _pieces(geometry: BeamGeometry, breaks: Sequence[float]) -> list[_Piece]:
    pieces = []
    start = 0.0
    remaining = list(breaks)
    for segment in geometry.segments:
        length = segment.length.value
        end = start + length
        tolerance = 1e-9 * geometry.length
        inside = [x for x in remaining if start - tolerance <= x <= end + tolerance]
        fractions = [min(max((x - start) / length, 0.0), 1.0) for x in inside]
        pieces += [_Piece(segment, a, b) for a, b in pairwise(fractions)]
        start = end
    return pieces


def _degrees(
    motion: Motion,
    constants: Constants,
    breaks: Sequence[float],
    sections: Callable[[int, Values], SectionProperties],
    count: int,
    refinement: int,
) -> tuple[float, list[int]]:
    """A guess of the highest omega^2 wanted, and a degree for each element that serves it.

    The guess is that of a beam whose phase, the integral of the local wave number, is that of the
    last mode wanted. A Legendre series settles once its degree exceeds the wave number times half
    the length by a few cube roots of it (the turning point of the Bessel functions in the series).
    """
    s, weights = np.polynomial.legendre.leggauss(4)
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
        8 + 6 * refinement + math.ceil(half + 3.0 * half ** (1.0 / 3.0)) for half in half_phases
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


def _complain_on_missing(motion: Motion, pieces: Sequence[_Piece], nu: float) -> None:
    ends = np.array([0.0, 1.0])
    for piece in pieces:
        properties = tapered_properties(
            piece.segment.section_start, piece.segment.section_end, nu, ends
        )
        for name in motion.needs:
            if np.any(np.isnan(getattr(properties, name))):
                raise BeamError(f"this needs {motion.needs[name]}")


# -- what is attached -----------------------------------------------------------------------------


def beam_holds(specimen: Specimen) -> list[tuple[float, Hold]]:
    """Every place where a beam is held, and how: its ends and the supports between them."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    ends = [(0.0, specimen.boundary["start"]), (geometry.length, specimen.boundary["end"])]
    return ends + [(s.at[0].value, s.hold) for s in specimen.supports]


def beam_functionals(specimen: Specimen, motion: Motion, line: Line) -> list[Functional]:
    """Holds and attached masses as functionals over the line's functions."""
    functionals = []
    for place, hold in beam_holds(specimen):
        for name, stiffness in (("deflection", hold.deflection), ("rotation", hold.rotation)):
            if name in motion.reads and stiffness.value > 0.0:
                row = _unit_row(line, motion.reads[name], place)
                functionals.append(Functional(row, stiffness=stiffness.value))
    for thing in specimen.attached:
        for name, mass in (("mass", thing.mass), ("rotary_inertia", thing.rotary_inertia)):
            if name in motion.reads and mass.value > 0.0:
                row = _unit_row(line, motion.reads[name], thing.at[0].value)
                functionals.append(Functional(row, mass=mass.value))
    return functionals


def _unit_row(line: Line, field: str, place: float) -> Values:
    """The functional of a field at an element boundary: exactly one end function reads it."""
    boundary = line.boundary_at(place)
    assert boundary is not None, "every support and mass lies at an element boundary"
    row = np.zeros((1, line.size))
    row[0, line.ends[field, boundary]] = 1.0
    return row


def _against(motion: Motion, hold: Hold) -> float:
    """The stiffness of a hold against the motion whose nodes are counted."""
    reads = {
        field: name for name, field in motion.reads.items() if name in ("deflection", "rotation")
    }
    name = reads.get(motion.shape_field)
    return {"deflection": hold.deflection.value, "rotation": hold.rotation.value}.get(
        name or "", 0.0
    )


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
        s = tapered_properties(
            segment.section_start,
            segment.section_end,
            material.poisson_ratio.value,
            np.array([0.0, 0.5, 1.0]),
        )
        ratio = getattr(s, shear_coefficient) * s.A / getattr(s, second_moment)
        lowest = min(lowest, float(np.min(ratio)))
    return math.sqrt(material.G / material.density.value * lowest) / (2.0 * math.pi)
