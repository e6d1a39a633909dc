"""The modes of a specimen: frequencies, shapes, families, orders, and whether they have settled."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field, replace

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.disc_shape import DiscShape
from saltline.mixed_shape import MixedShape
from saltline.plates.plate_shape import PlateShape
from saltline.problem import Problem
from saltline.record import record
from saltline.specimen import Specimen

Shape = BeamShape | PlateShape | MixedShape | DiscShape

SETTLED = 1e-6
"""A mode has settled when a higher degree moves it by less than this (relative)."""


@record
class Mode:
    """One mode.

    rank:         over all modes, by frequency; order: within its family.
    frequency_hz: natural frequency.
    shape:        the motion, mass-normalised.
    change:       how much the last rise of the degree moved the frequency (relative), at most.
    euler_hz:     of the same order by Euler and Bernoulli, for a Timoshenko beam's bending mode
                  below the critical frequency.
    multiplicity: 2 where symmetry makes two modes of one frequency.
    labels:       what the problem says of all its modes ("diameters" of a disc).
    problem, q:   what the mode is a solution of, and its coefficients there.
    """

    rank: int
    family: str
    order: int
    frequency_hz: float
    shape: Shape
    change: float
    euler_hz: float | None = None
    multiplicity: int = 1
    labels: Mapping[str, int] = field(default_factory=dict)
    problem: Problem | None = field(default=None, repr=False, compare=False)
    q: Values | None = field(default=None, repr=False, compare=False)


@record
class Modes:
    """The modes of a specimen, by frequency.

    theory: "timoshenko" or "euler" for a beam, "kirchhoff" for flat specimens.
    rigid:  number of rigid-body modes left out.
    """

    specimen: Specimen
    theory: str
    modes: tuple[Mode, ...]
    rigid: int

    @property
    def unsettled(self) -> tuple[Mode, ...]:
        """The modes that the highest degree still moved by more than `SETTLED`."""
        return tuple(mode for mode in self.modes if mode.change > SETTLED)


def of_ranks(modes: Modes, ranks: Collection[int]) -> Modes:
    """Those of the modes that have one of these ranks, which they keep."""
    return replace(modes, modes=tuple(mode for mode in modes.modes if mode.rank in ranks))


def by_problem(modes: Sequence[Mode]) -> list[tuple[Problem, list[int]]]:
    """The distinct problems, each with the places of its modes in the list."""
    groups: dict[int, tuple[Problem, list[int]]] = {}
    for place, mode in enumerate(modes):
        assert mode.problem is not None
        groups.setdefault(id(mode.problem), (mode.problem, []))[1].append(place)
    return list(groups.values())
