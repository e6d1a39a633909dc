"""The kinds of specimen: which problems the motions of each are, and what can be asked of it.

This room alone knows all the solvers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from saltline.beam import beam_problems
from saltline.motions import FAMILIES
from saltline.problem import Problem
from saltline.record import record
from saltline.specimen import Specimen

THEORIES = ("timoshenko", "euler")


@record
class Kind:
    """How one kind of specimen becomes problems.

    problems: (specimen, count, theory, families, refinement) -> problems.
    families: what can be asked for, the default first.
    theories: what can be asked for, the default first.
    """

    problems: Callable[[Specimen, int, str, Sequence[str], int], list[Problem]]
    families: tuple[str, ...]
    theories: tuple[str, ...]


def _beam_problems(
    specimen: Specimen, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    return beam_problems(
        specimen, count=count, theory=theory, families=families, refinement=refinement
    )


def _plate_problems(
    specimen: Specimen, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    from saltline.plate import plate_problems  # a beam need not wait for it

    return plate_problems(specimen, count=count, refinement=refinement)


def _disc_problems(
    specimen: Specimen, count: int, theory: str, families: Sequence[str], refinement: int
) -> list[Problem]:
    from saltline.disc import disc_problems  # likewise

    return disc_problems(specimen, count=count, refinement=refinement)


KINDS: Mapping[str, Kind] = {
    "beam": Kind(
        _beam_problems,
        FAMILIES,
        THEORIES,
    ),
    "plate": Kind(
        _plate_problems,
        ("plate",),
        ("kirchhoff",),
    ),
    "disc": Kind(
        _disc_problems,
        ("disc",),
        ("kirchhoff",),
    ),
}
