"""Rayleigh's quotients of a beam's modes in a slightly changed specimen, without matrices."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.beam_elements import Piece, breaks_of, holds_of, material_along
from saltline.integrals import EXPONENTS, energies_by_power
from saltline.motions import Constants, Motion, Term
from saltline.record import record
from saltline.section import SectionProperties
from saltline.specimen import Specimen

MIDDLE = np.array(0.5)
"""Of an element, as good as any place of one that does not taper."""

NEAR = 1e-9
"""A place this part of the length from where elements meet is there."""


def quotients(
    specimen: Specimen, motion: Motion, line: Line, pieces: Sequence[Piece], Q: Values
) -> Callable[[Specimen], Values | None]:
    """What finds omega^2 = V/T of modes in a changed specimen, its elements stretched with it.

    Q: the modes over the line's functions, columns of shape (size, k).

    What holds and loads an even beam stands where its elements meet, where one function alone is
    read off. As long as that stays so, a changed specimen changes the coefficients of a few
    integrals and the lengths of the elements, and no matrix is needed. Otherwise None is found.
    """
    at = _boundaries(_standing(specimen, motion), line.breaks.tolist())
    readings = None if at is None else [Q[line.ends[key]] ** 2 for key in at]
    potential, kinetic = (_Energy.of(terms, line, Q) for terms in (motion.stiffness, motion.mass))

    def found(changed: Specimen) -> Values | None:
        breaks = breaks_of(changed, pieces)
        standing = _standing(changed, motion)
        if readings is None or _boundaries(standing, breaks) != at:
            return None
        constants, along = material_along(changed, pieces)
        sections = [along(number, MIDDLE) for number in range(len(pieces))]
        powers = (np.diff(breaks) / 2.0)[:, None] ** EXPONENTS
        V = potential.sum(constants, sections, powers)
        T = kinetic.sum(constants, sections, powers)
        for one, reading in zip(standing, readings, strict=True):
            if not one.is_hold:
                T += one.strength * reading
            elif not math.isinf(one.strength):
                V += one.strength * reading
        return np.asarray(V / T)

    return found


@record
class _Energy:
    """An energy of some modes: its terms, and what each is by element and by power of its length.

    by_power: shape (terms, elements, powers, modes).
    """

    terms: Sequence[Term]
    by_power: Values

    @staticmethod
    def of(terms: Sequence[Term], line: Line, Q: Values) -> _Energy:
        by_power = [energies_by_power(line, (term.left, term.right), Q) for term in terms]
        return _Energy(terms, np.stack(by_power))

    def sum(
        self, constants: Constants, sections: Sequence[SectionProperties], powers: Values
    ) -> Values:
        """The energy of each mode; powers: of half the length of each element, (elements, powers).

        All terms in one product: a specimen with one quantity changed then costs microseconds.
        """
        weights = np.array(
            [[float(term.coefficient(s, constants)) for s in sections] for term in self.terms]
        )
        factors = weights[:, :, None] * powers
        return np.asarray(factors.ravel() @ self.by_power.reshape(factors.size, -1))


@record
class _Standing:
    """What holds or loads a field at a place: N/m or N m/rad of a hold, kg or kg m2 of a load."""

    place: float
    field: str
    strength: float
    is_hold: bool


def _standing(specimen: Specimen, motion: Motion) -> list[_Standing]:
    """Every hold, and everything attached."""
    holds = [_Standing(*hold, is_hold=True) for hold in holds_of(specimen, motion)]
    loads = [
        _Standing(thing.at[0].value, field, mass, is_hold=False)
        for thing in specimen.attached
        for field, mass in motion.carries(thing)
        if mass > 0.0
    ]
    return [*holds, *loads]


def _boundaries(
    standing: Sequence[_Standing], breaks: Sequence[float]
) -> list[tuple[str, int]] | None:
    """Field and number of the boundary at which each stands; None where one stands elsewhere."""
    found = []
    near = NEAR * breaks[-1]
    for one in standing:
        at = next((n for n, x in enumerate(breaks) if abs(x - one.place) <= near), None)
        if at is None:
            return None
        found.append((one.field, at))
    return found
