"""The kinds of motion of a beam: for each family its functions, its energies and what holds it.

A family is data. To add one, say which space of functions it moves in, which integrals make its
potential and kinetic energy, and what holds and attached things act on; `beam` does the rest.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line, c0_line, c1_line, c1_shear_line
from saltline.record import record
from saltline.section import SectionProperties
from saltline.specimen import Attachment, Hold, PredictionError

Coefficient = Callable[[SectionProperties, "Constants"], Values]

Holding = Callable[[Hold, SectionProperties], list[tuple[str, float]]]
"""(hold, section there) -> fields that it stands against, each with its stiffness."""

Carrying = Callable[[Attachment], list[tuple[str, float]]]
"""attached thing -> fields in which it has inertia, each with its mass or rotary inertia."""


@record
class Constants:
    """E, G in Pa, rho in kg/m3, axial preload in N."""

    E: float
    G: float
    rho: float
    tension: float


@record
class Term:
    """One integral of the energy: coefficient * left * right, each a (field, derivative)."""

    coefficient: Coefficient
    left: tuple[str, int]
    right: tuple[str, int]


@record
class Motion:
    """What defines a family under a theory: its functions, its energies, what reads it off.

    line:      (breaks, degrees) -> the space of functions; shape_field is its field that is seen.
    stiffness, mass: terms of the potential and of the kinetic energy.
    at_end, between: what a hold at an end, and a support between the ends, stands against.
    carries:   what an attached thing adds.
    order:     of the energy's derivative: 2 in bending (omega ~ k^2), 1 otherwise (omega ~ k).
    wave:      local wave number at omega = 1 rad/s from section and constants, for the degree.
    needs:     section properties that must be known, with the words for the user.
    """

    line: Callable[[Sequence[float], Sequence[int]], Line]
    stiffness: tuple[Term, ...]
    mass: tuple[Term, ...]
    at_end: Holding
    between: Holding
    carries: Carrying
    order: int
    wave: Coefficient
    needs: Mapping[str, str]
    shape_field: str


NEED_WORDS = {
    "I": "the second_moment of the custom section",
    "I_edge": "the second_moment_edgewise of the custom section",
    "J": "the torsion_constant of the custom section",
    "I_polar": "the polar_moment of the custom section",
    "kappa": "the shear_coefficient of the custom section (about 0.85 for a compact solid one), "
    "or --theory euler",
    "kappa_edge": "the shear_coefficient of the custom section (about 0.85 for a compact solid "
    "one), or --theory euler",
}
"""Section property -> what the user states where it is missing."""


# -- the families ---------------------------------------------------------------------------------


def _bending(second_moment: str, shear_coefficient: str, between: Holding) -> tuple[Motion, Motion]:
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

    bend = Term(bending_stiffness, ("psi", 1), ("psi", 1))
    pull = Term(preload, ("w", 1), ("w", 1))
    move = Term(line_mass, ("w", 0), ("w", 0))
    shear = Term(shear_stiffness, ("gamma", 0), ("gamma", 0))
    turn = Term(rotary_inertia, ("psi", 0), ("psi", 0))
    needs = {second_moment: NEED_WORDS[second_moment]}
    both = {**needs, shear_coefficient: NEED_WORDS[shear_coefficient]}
    rest = (_bending_hold, between, _bending_load, 2, wave)
    euler = Motion(c1_line, (bend, pull), (move,), *rest, needs, "w")
    timoshenko = Motion(c1_shear_line, (bend, shear, pull), (move, turn), *rest, both, "w")
    return euler, timoshenko


def _bending_hold(hold: Hold, section: SectionProperties) -> list[tuple[str, float]]:
    del section
    return [("w", hold.deflection.value), ("psi", hold.rotation.value)]


def _bending_load(thing: Attachment) -> list[tuple[str, float]]:
    return [("w", thing.mass.value), ("psi", thing.rotary_inertia.value)]


def _no_hold(hold: Hold, section: SectionProperties) -> list[tuple[str, float]]:
    """A support between the ends stands against flatwise bending and torsion alone."""
    del hold, section
    return []


def _torsion_hold(hold: Hold, section: SectionProperties) -> list[tuple[str, float]]:
    """What stands against the deflection across the whole width stands against the twist.

    A stiffness k spread evenly over the width b resists a twist with k b^2/12. So a clamped or
    pinned end holds the twist and a guided or free end does not, as on a plate.
    """
    k = hold.deflection.value
    if k == 0.0 or math.isinf(k):
        return [("u", k)]
    width = float(np.max(section.depth_edge))
    if math.isnan(width):
        raise PredictionError(
            "an elastic hold against torsion needs the width of the custom section"
        )
    return [("u", k * width**2 / 12.0)]


def _torsion_load(thing: Attachment) -> list[tuple[str, float]]:
    return [("u", thing.rotary_inertia.value)]


def _axial_hold(hold: Hold, section: SectionProperties) -> list[tuple[str, float]]:
    """A clamp, a pin and a guide are fixed to the ground along the beam; a free end is not.

    An elastic deflection is taken to be as stiff along the beam as across.
    """
    del section
    is_fixed = math.isinf(hold.rotation.value)
    return [("u", math.inf if is_fixed else hold.deflection.value)]


def _axial_load(thing: Attachment) -> list[tuple[str, float]]:
    return [("u", thing.mass.value)]


def _torsion_stiffness(s: SectionProperties, c: Constants) -> Values:
    return np.asarray(c.G * s.J)


def _torsion_inertia(s: SectionProperties, c: Constants) -> Values:
    return np.asarray(c.rho * s.I_polar)


def _axial_stiffness(s: SectionProperties, c: Constants) -> Values:
    return np.asarray(c.E * s.A)


def _axial_mass(s: SectionProperties, c: Constants) -> Values:
    return np.asarray(c.rho * s.A)


def _stretching(
    stiffness: Coefficient,
    mass: Coefficient,
    holds: tuple[Holding, Holding],
    carries: Carrying,
    needs: Sequence[str],
) -> Motion:
    """A motion of one field with first derivatives: axial or torsion."""

    def wave(s: SectionProperties, c: Constants) -> Values:
        return np.asarray(np.sqrt(mass(s, c) / stiffness(s, c)))

    return Motion(
        c0_line,
        (Term(stiffness, ("u", 1), ("u", 1)),),
        (Term(mass, ("u", 0), ("u", 0)),),
        *holds,
        carries,
        1,
        wave,
        {name: NEED_WORDS[name] for name in needs},
        "u",
    )


_FLATWISE = _bending("I", "kappa", _bending_hold)
_EDGEWISE = _bending("I_edge", "kappa_edge", _no_hold)
_TORSION = _stretching(
    _torsion_stiffness,
    _torsion_inertia,
    (_torsion_hold, _torsion_hold),
    _torsion_load,
    ("J", "I_polar"),
)
_AXIAL = _stretching(_axial_stiffness, _axial_mass, (_axial_hold, _no_hold), _axial_load, ())
_ALIKE = {"torsion": _TORSION, "axial": _AXIAL}

FAMILIES = ("flatwise", "edgewise", "torsion", "axial")
"""The families of a beam, the one that is listed by default first."""

MOTIONS: Mapping[str, Mapping[str, Motion]] = {
    "euler": {"flatwise": _FLATWISE[0], "edgewise": _EDGEWISE[0], **_ALIKE},
    "timoshenko": {"flatwise": _FLATWISE[1], "edgewise": _EDGEWISE[1], **_ALIKE},
}
"""Theory -> family -> motion."""
