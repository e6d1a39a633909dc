"""A strip as a plate: the same strip with few functions across its width, solved in milliseconds.

What holds and loads the beam acts on the width as a whole. A stiffness is spread evenly over it, a
mass moves with the mean of the deflection, its rotary inertia with the mean slope and the twist:
what the beam says of them, and no more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from saltline.arrays import Values
from saltline.basis import Line, Weight, c1_line, gram, mirror_parities
from saltline.eigen import BuckledError
from saltline.functional import Functional
from saltline.plates.plate_products import Axis, make_axis, ritz_stiffness, sum_of_products
from saltline.plates.stiffness import Stiffness
from saltline.problem import Problem, Solution, solve
from saltline.record import record
from saltline.specimen import BeamGeometry, PredictionError, Specimen
from saltline.strip_form import elements, start_stiffness, thickness_along, width_of

MOTIONS = ("flatwise", "torsion", "chordwise")
"""Even across the width, proportional to the distance from the centre line, or the rest."""

SPARE_ALONG = (3, 5, 5, 5)
"""For each fineness, what the degree of an element has beyond that of its waves."""

DEGREES_ACROSS = (6, 8, 12, 18)
"""For each fineness, the least degree across the width."""


@record
class PlateMode:
    """A mode of the strip as a plate; motion: one of `MOTIONS`."""

    frequency_hz: float
    motion: str


def plate_modes(specimen: Specimen, highest_hz: float, *, fineness: int) -> list[PlateMode]:
    """The modes of a strip up to a frequency, by frequency.

    fineness: from 0 (good to some 3e-4) to 3.

    Raises PredictionError where the compression buckles it.
    """
    omega2 = (2.0 * math.pi * highest_hz) ** 2
    phase = sum(_phases(specimen, omega2, fineness)[1])
    found = []
    for problem in _problems(specimen, omega2, fineness):
        solution = _all_below(problem, omega2, 4 + math.ceil(phase / math.pi))
        found += [
            PlateMode(math.sqrt(value) / (2.0 * math.pi), problem.shape_of(q))
            for value, q in zip(solution.omega2, solution.q.T, strict=True)
            if 0.0 < value <= omega2
        ]
    return sorted(found, key=lambda mode: mode.frequency_hz)


def _all_below(problem: Problem, omega2: float, count: int) -> Solution:
    """The modes of a problem up to omega^2, and at least one above; count: tried first."""
    while True:
        try:
            solution = solve(problem, count)
        except BuckledError as error:
            raise PredictionError(
                "the compression is at its buckling load, or next to it"
            ) from error
        if solution.omega2.size < count or solution.omega2[-1] > omega2:
            return solution
        count *= 2


def within_reach(specimen: Specimen, highest_hz: float, *, phase: float, across: float) -> float:
    """A frequency, lowered so that the waves along the strip and across it are no more than stated.

    phase: wave number times length; across: wave number times width; of bending, in radians.
    """
    breaks, phases = _phases(specimen, (2.0 * math.pi * highest_hz) ** 2, 0)
    shortest = float(np.max(phases / np.diff(breaks)))
    excess = max(phases.sum() / phase, shortest * width_of(specimen) / across, 1.0)
    return float(highest_hz / excess**2)


# -- the problems ---------------------------------------------------------------------------------


def _problems(specimen: Specimen, omega2: float, fineness: int) -> list[Problem]:
    """The problem of the modes even about the centre line, and that of the odd ones."""
    stiffness = start_stiffness(specimen)
    width = width_of(specimen)
    breaks, phases = _phases(specimen, omega2, fineness)
    degrees = [_degree(phase, SPARE_ALONG[fineness]) for phase in phases]
    steepest = float(np.max(phases / np.diff(breaks)))
    degree = max(DEGREES_ACROSS[fineness], _degree(steepest * width, 3))
    across = c1_line([0.0, width], [degree])
    along = _along(specimen, c1_line(breaks, degrees))
    free = np.ones(across.size, dtype=bool)
    return [
        _problem(specimen, stiffness, along, make_axis(across, part, free), motion, omega2)
        for part, motion in zip(mirror_parities(across), MOTIONS[:2], strict=True)
    ]


def _phases(specimen: Specimen, omega2: float, fineness: int) -> tuple[list[float], Values]:
    """Where elements meet, m, and the phase of a bending wave over each: wave number times length.

    The wave number goes with the inverse root of the thickness.
    """
    stiffness = start_stiffness(specimen)
    breaks, thickness = elements(specimen, fineness)
    at_the_start = (omega2 * stiffness.mass / stiffness.Dx) ** 0.25
    return breaks, np.asarray(at_the_start / np.sqrt(thickness) * np.diff(breaks))


def _degree(phase: float, spare: int) -> int:
    """The degree that serves a wave of this phase (see `beam._degrees`)."""
    half = phase / 2.0
    return spare + math.ceil(half + 2.0 * math.cbrt(half))


def _along(specimen: Specimen, line: Line) -> tuple[Axis, Values, Values]:
    """The axis along the strip, and the integrals that weigh its mass and its preload.

    Stiffness goes with the cube of the thickness, mass with the thickness itself, each in parts of
    that at the start.
    """
    thickness = thickness_along(specimen, line)
    stiff = None if thickness is None else _cubed(thickness)

    def integral(one: int, other: int, weight: Weight | None) -> Values:
        return gram(line, ("w", one), ("w", other), weight, extra_points=2)

    A0 = integral(0, 0, stiff)
    axis = Axis(
        line,
        A1=integral(1, 1, stiff),
        A2=integral(2, 2, stiff),
        B=integral(2, 0, stiff),
        rigid=_straight_lines(line),
        has_constant=True,
        A0=A0,
    )
    return axis, A0 if thickness is None else integral(0, 0, thickness), integral(1, 1, None)


def _cubed(weight: Weight) -> Weight:
    return lambda number, s: np.asarray(weight(number, s)) ** 3


def _straight_lines(line: Line) -> Values:
    """The constant and the straight line as columns of coefficients."""
    motions = np.zeros((line.size, 2))
    for (name, boundary), dof in line.ends.items():
        motions[dof] = (1.0, line.breaks[boundary]) if name == "w" else (0.0, 1.0)
    return motions


def _problem(
    specimen: Specimen,
    stiffness: Stiffness,
    along: tuple[Axis, Values, Values],
    y: Axis,
    motion: str,
    highest: float,
) -> Problem:
    """The modes of one parity across; `motion` is what those are that keep the section straight."""
    geometry = specimen.geometry
    assert isinstance(geometry, BeamGeometry)
    x, inertia, pull = along
    tension = geometry.tension.value
    across = np.eye(y.line.size)
    straight = y.rigid[:, :1]  # the section as a whole: moving, or turning about the centre line
    rigid = x.rigid if motion == "flatwise" and tension == 0.0 else x.rigid[:, :1]
    K = ritz_stiffness(stiffness, x, y)
    if tension != 0.0:
        K += tension / width_of(specimen) * np.kron(pull, across)

    return Problem(
        family="plate",
        K=K,
        M=sum_of_products((stiffness.mass * inertia, across)),
        functionals=[
            *_holds(specimen, x.line, across),
            *_loads(specimen, x.line, straight, motion),
        ],
        rigid_motions=np.kron(rigid, straight),
        highest=highest,
        shape_of=lambda q: _word(q, straight, stiffness.mass * inertia, motion),
        rebuild=_rebuild,
    )


def _word(q: Values, straight: Values, inertia: Values, motion: str) -> str:
    """What most of a motion is; q'Mq = 1, and what is attached moves with the whole section."""
    deflection = q.reshape(inertia.shape[0], straight.shape[0])
    bent = deflection - deflection @ straight @ straight.T
    return motion if np.sum(bent * (inertia @ bent)) < 0.5 else "chordwise"


def _rebuild(changed: Specimen) -> Problem:
    raise AssertionError(f"the plate beside {changed.name} has no bands of its own")


# -- what holds and loads it ----------------------------------------------------------------------


def _holds(specimen: Specimen, line: Line, across: Values) -> Iterator[Functional]:
    """Ends and supports: each stiffness spread over the width."""
    geometry, width = specimen.geometry, width_of(specimen)
    places = [
        (0.0, specimen.boundary["start"]),
        (geometry.size[0], specimen.boundary["end"]),
        *((support.at[0].value, support.hold) for support in specimen.supports),
    ]
    for place, hold in places:
        for field, quantity in (("w", hold.deflection), ("psi", hold.rotation)):
            if quantity.value > 0.0:
                rows = np.kron(_read(line, field, place), across)
                yield Functional(rows, stiffness=quantity.value / width)


def _loads(specimen: Specimen, line: Line, straight: Values, motion: str) -> Iterator[Functional]:
    """Attached things: the section's mean deflection and slope, or its twist."""
    width = width_of(specimen)
    for thing in specimen.attached:
        place, mass, inertia = thing.at[0].value, thing.mass.value, thing.rotary_inertia.value
        # Of unit norm over the width, the constant is 1/sqrt(b) and the straight line
        # y sqrt(12/b^3): so much deflection, or twist, goes with a unit of the coefficient.
        parts = [("w", mass / width), ("psi", inertia / width)]
        if motion == "torsion":
            parts = [("w", 12.0 * inertia / width**3)]
        for field, amount in parts:
            if amount > 0.0:
                yield Functional(np.kron(_read(line, field, place), straight.T), mass=amount)


def _read(line: Line, field: str, place: float) -> Values:
    """The row that reads a field where elements meet: a single end function has it."""
    boundary = line.boundary_at(place)
    assert boundary is not None
    row = np.zeros((1, line.size))
    row[0, line.ends[field, boundary]] = 1.0
    return row
