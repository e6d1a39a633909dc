"""Rayleigh's quotients of a beam's modes in a slightly changed specimen, without matrices."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line
from saltline.beam_elements import Piece, breaks_of, holds_of, material_along
from saltline.integrals import uniform_energies
from saltline.motions import Motion, Term
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
    at = _boundaries(_standing(specimen, motion), line.breaks)
    readings = None if at is None else [Q[line.ends[key]] ** 2 for key in at]
    known = {
        term: uniform_energies(line, (term.left, term.right), Q, np.diff(line.breaks) / 2.0)
        for term in (*motion.stiffness, *motion.mass)
    }

    def energies(term: Term, breaks: Values) -> Values:
        if np.array_equal(breaks, line.breaks):
            return known[term]
        return uniform_energies(line, (term.left, term.right), Q, np.diff(breaks) / 2.0)

    def found(changed: Specimen) -> Values | None:
        breaks = np.array(breaks_of(changed, pieces))
        standing = _standing(changed, motion)
        if readings is None or _boundaries(standing, breaks) != at:
            return None
        constants, sections = material_along(changed, pieces)

        def energy(terms: Sequence[Term]) -> Values:
            total = np.zeros(Q.shape[1])
            for term in terms:
                weights = [
                    float(term.coefficient(sections(number, MIDDLE), constants))
                    for number in range(len(pieces))
                ]
                if any(weights):
                    total += weights @ energies(term, breaks)
            return total

        V, T = energy(motion.stiffness), energy(motion.mass)
        for one, reading in zip(standing, readings, strict=True):
            if not one.is_hold:
                T += one.strength * reading
            elif not math.isinf(one.strength):
                V += one.strength * reading
        return np.asarray(V / T)

    return found


@dataclass(frozen=True, slots=True)
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


def _boundaries(standing: Sequence[_Standing], breaks: Values) -> list[tuple[str, int]] | None:
    """Field and number of the boundary at which each stands; None where one stands elsewhere."""
    found = []
    for one in standing:
        away = np.abs(breaks - one.place)
        nearest = int(away.argmin())
        if away[nearest] > NEAR * breaks[-1]:
            return None
        found.append((one.field, nearest))
    return found
