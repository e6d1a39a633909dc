"""What the modes beyond those that were asked for add to a response, in a few motions.

Of each problem the next modes are found and then condensed: Lanczos's vectors from their static
answer to the drive (residual vectors; Dickens, Nakagawa and Wittbrodt 1997, Comput. Struct. 62,
985, from memory) follow all of them at frequencies below, the first of them most closely.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import singledispatch
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.disc_shape import DiscShape
from saltline.kinds import KINDS
from saltline.modes import Mode, Modes
from saltline.plates.plate_shape import PlateShape
from saltline.plates.plate_supports import is_symmetric
from saltline.problem import Problem, attach, solve
from saltline.specimen import PlateGeometry, Specimen

NOTHING = 1e-9
"""A drive that works less than this on a mode, in parts of its work on a rigid one, is none."""

SAME = 1e-3
"""A mode of which no more than this part of its mass is beyond those known is one of them."""

VECTORS = 8
"""So many motions stand for the modes beyond of one problem."""

SPARE = 8
"""Problems of which no mode was asked for get functions for so many modes more."""

Works = Callable[[Sequence[Mode]], Values]
"""What the drive works on mass-normalised modes, shape (modes,)."""


def motions_beyond(modes: Modes, works: Works, *, count: int, size: float) -> list[Mode]:
    """Motions that stand for the next `count` modes of the problems on which the drive works.

    works: what the drive works on modes; size: about what it works on a rigid motion.
    They are orthogonal to the modes and to each other in mass and in stiffness, as modes are.
    """
    driven = [
        (problem, known)
        for problem, known in _problems(modes)
        if abs(float(works([_any_motion(problem)])[0])) > NOTHING * size
    ]
    found: list[Mode] = []
    for problem, known in driven:
        following = list(_next(problem, known, math.ceil(count / len(driven))))
        if following:
            found += _condensed(problem, following, works(following))
    return found


# -- which problems -------------------------------------------------------------------------------


def _problems(modes: Modes) -> list[tuple[Problem, Values]]:
    """The problems that a drive out of the wide face may move, each with its modes as columns.

    Those of the modes, and the classes of symmetry of which no mode was asked for.
    """
    specimen = modes.specimen
    known: dict[int, list[Values]] = {}
    problems: dict[int, Problem] = {}
    for mode in modes.modes:
        assert mode.problem is not None
        assert mode.q is not None
        if mode.family == KINDS[specimen.kind].families[0]:
            problems[id(mode.problem)] = mode.problem
            known.setdefault(id(mode.problem), []).append(mode.q)
    found = [(problem, np.column_stack(known[key])) for key, problem in problems.items()]
    classes = {_class_of(problem, specimen) for problem in problems.values()}
    if _are_whole(classes, specimen):
        return found
    others = KINDS[specimen.kind].problems(specimen, len(modes.modes) + SPARE, "", (), 0)
    return found + [
        (problem, np.zeros((problem.K.shape[0], 0)))
        for problem in others
        if _class_of(problem, specimen) not in classes
    ]


def _are_whole(classes: set[Class], specimen: Specimen) -> bool:
    """Whether these are all classes of symmetry that a drive can move."""
    if specimen.kind == "plate":
        mirrors = sum(is_symmetric(specimen, axis) for axis in (0, 1))
        return len(classes) == (1, 2, 4)[mirrors]
    return (0, 0) in classes


Class = tuple[int, int]
"""A class of symmetry: of a plate 1 even, -1 odd about the middle of x and of y, 0 for neither; of
a disc the number of nodal diameters and 0."""


def _class_of(problem: Problem, specimen: Specimen) -> Class:
    return _class(_any_motion(problem).shape, specimen)


def _any_motion(problem: Problem) -> Mode:
    """Some motion of a problem, mass-normalised, that nothing but its symmetry makes special."""
    q: Values = np.random.default_rng(1).standard_normal((problem.K.shape[0],))
    return _beyond(problem, 1.0, q / math.sqrt(float(q @ attach(problem)[1] @ q)))


@singledispatch
def _class(shape: Any, specimen: Specimen) -> Class:
    raise TypeError(f"no class is known for {type(shape).__name__}")


@_class.register
def _(shape: BeamShape, specimen: Specimen) -> Class:
    del shape, specimen
    return (0, 0)


@_class.register
def _(shape: DiscShape, specimen: Specimen) -> Class:
    del specimen
    return (shape.n, 0)


@_class.register
def _(shape: PlateShape, specimen: Specimen) -> Class:
    geometry = specimen.geometry
    assert isinstance(geometry, PlateGeometry)
    a, b = geometry.size
    x, y = 0.37 * a, 0.29 * b
    values = shape.at_points(np.array([x, a - x, x]), np.array([y, y, b - y]))
    w, across, along = (float(value) for value in values)
    return _parity(w, across), _parity(w, along)


def _parity(w: float, image: float) -> int:
    return round(image / w) if abs(abs(image) - abs(w)) < 1e-6 * abs(w) else 0


# -- their next modes, and what stands for them ---------------------------------------------------


def _condensed(problem: Problem, following: Sequence[Mode], work: Values) -> Iterator[Mode]:
    """The motions that stand for some modes, by Lanczos in the coordinates of these."""
    omega2 = (2.0 * math.pi * np.array([mode.frequency_hz for mode in following])) ** 2
    basis = np.zeros((len(following), 0))
    vector = work / omega2
    least = NOTHING * float(np.linalg.norm(vector))
    while basis.shape[1] < min(VECTORS, len(following)):
        for _ in range(2):  # twice is enough to be orthogonal to rounding
            vector = vector - basis @ (basis.T @ vector)
        size = float(np.linalg.norm(vector))
        if size <= least:
            break
        basis = np.column_stack([basis, vector / size])
        vector = basis[:, -1] / omega2
        least = NOTHING * float(np.linalg.norm(vector))
    values, turned = np.linalg.eigh(basis.T @ (omega2[:, None] * basis))
    q = np.column_stack([mode.q for mode in following if mode.q is not None]) @ basis @ turned
    for value, column in zip(values, q.T, strict=True):
        yield _beyond(problem, math.sqrt(value) / (2.0 * math.pi), column)


def _next(problem: Problem, known: Values, count: int) -> Iterator[Mode]:
    """The next modes of a problem.

    known: coefficients of those below, columns. Of modes of one frequency some may be known: what
    comes next is then what is orthogonal to these.
    """
    M = attach(problem)[1]
    solution = solve(problem, known.shape[1] + count)
    for omega2, q in zip(solution.omega2, solution.q.T, strict=True):
        q = q - known @ (known.T @ (M @ q))
        norm2 = float(q @ M @ q)
        if norm2 > SAME:
            q = q / math.sqrt(norm2)
            known = np.column_stack([known, q])
            yield _beyond(problem, math.sqrt(omega2) / (2.0 * math.pi), q)


def _beyond(problem: Problem, frequency_hz: float, q: Values) -> Mode:
    return Mode(
        rank=0,
        family=problem.family,
        order=0,
        frequency_hz=frequency_hz,
        shape=problem.shape_of(q),
        change=math.inf,
        labels=problem.labels,
        problem=problem,
        q=q,
    )
