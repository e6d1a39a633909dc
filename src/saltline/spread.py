"""How sure a frequency is: tolerances of the specimen's quantities carried to each mode.

First-order propagation as JCGM 100:2008 (5.1.2) has it. A mode is never solved again: by Rayleigh's
principle omega^2 = q'Kq / q'Mq is stationary in q, so its derivative with respect to a quantity is
that of the quotient with the shape kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from saltline.arrays import Values
from saltline.modes import Mode, Modes, by_problem
from saltline.problem import Problem, attach
from saltline.quantities_of import quantities, with_values
from saltline.record import record
from saltline.specimen import Specimen

WITHOUT_EFFECT = ("material.endurance_strain", "damping_ratio")
"""Quantities on which no natural frequency depends."""

STEP = 1e-5
"""Relative step of the central difference: small beside any element, large beside rounding."""


@record
class Band:
    """The 95 % interval of a mode's frequency, and where it comes from.

    shares: path of a quantity -> relative change of the frequency when the quantity rises by its
            tolerance (95 % half-width); the half-width of the band is the root of their squares.
    """

    low_hz: float
    high_hz: float
    shares: Mapping[str, float]


def bands(modes: Modes) -> list[Band | None]:
    """The band of each mode; None for all where the specimen states no tolerance."""
    uncertain = {
        path: q
        for path, q in quantities(modes.specimen).items()
        if q.tolerance > 0.0 and math.isfinite(q.value) and path not in WITHOUT_EFFECT
    }
    if not uncertain:
        return [None] * len(modes.modes)
    shares: list[dict[str, float]] = [{} for _ in modes.modes]
    followed = _followed(modes)
    for path, q in uncertain.items():
        step = min(q.tolerance, STEP * abs(q.value) or q.tolerance)
        slopes = _slopes(modes, followed, path, q.value, step)
        for share, slope in zip(shares, slopes, strict=True):
            share[path] = slope * q.tolerance
    return [_band(mode, share) for mode, share in zip(modes.modes, shares, strict=True)]


def _band(mode: Mode, shares: Mapping[str, float]) -> Band:
    half = mode.frequency_hz * math.sqrt(sum(share**2 for share in shares.values()))
    return Band(mode.frequency_hz - half, mode.frequency_hz + half, shares)


def log_slopes(modes: Modes, path: str, value: float, step: float) -> Values:
    """d ln f / d quantity of every mode, shape (modes,), by a central difference.

    value: of the quantity in `modes.specimen`; step: by which it is changed; SI.
    """
    return _slopes(modes, _followed(modes), path, value, step)


Followed = Sequence[tuple[Callable[[Specimen], Values], list[int]]]
"""For each problem what finds its modes' quotients in a changed specimen, and their places."""


def _followed(modes: Modes) -> Followed:
    found = []
    for problem, members in by_problem(modes.modes):
        Q = np.column_stack([np.asarray(modes.modes[i].q) for i in members])
        found.append((_quotients_in(problem, Q), members))
    return found


def _slopes(modes: Modes, followed: Followed, path: str, value: float, step: float) -> Values:
    slopes = np.zeros(len(modes.modes))
    for quotients, members in followed:
        log_omega2 = [
            np.log(quotients(changed(modes.specimen, path, value + d))) for d in (-step, step)
        ]
        slopes[members] = (log_omega2[1] - log_omega2[0]) / (4.0 * step)
    return slopes


def changed(specimen: Specimen, path: str, value: float) -> Specimen:
    """The specimen with one quantity changed, SI; what sits at an end that moves, moves along."""
    return with_values(specimen, moved(specimen, path, value))


def moved(specimen: Specimen, path: str, value: float) -> dict[str, float]:
    """Path -> SI value of a quantity that is changed, and of what sits at the end that it moves.

    A mass at the tip stays at the tip when the length changes.
    """
    values = {path: value}
    sizes = _far_ends(path)
    if sizes is not None:
        step = value - quantities(specimen)[path].value
        end = specimen.geometry.size[sizes]
        ends = [at for s in specimen.supports for at in (s.at, s.to) if at]
        places = ends + [a.at for a in specimen.attached]
        for place in (at[sizes] for at in places):
            if abs(place.value - end) <= 1e-9 * end:
                values[place.path] = place.value + step
    return values


def _far_ends(path: str) -> int | None:
    """Which coordinate of a place has this length as its far end; None for other quantities."""
    if path == "geometry.width":
        return 1
    is_length = path == "geometry.length" or (
        path.startswith("geometry.segments.") and path.endswith(".length")
    )
    return 0 if is_length else None


def _quotients_in(problem: Problem, Q: Values) -> Callable[[Specimen], Values]:
    """A changed specimen -> Rayleigh's quotient of each column of Q in it, shape (k,)."""
    quickly = None if problem.quotients is None else problem.quotients(Q)

    def found(changed: Specimen) -> Values:
        known = None if quickly is None else quickly(changed)
        return _quotients(problem.rebuild(changed), Q) if known is None else known

    return found


def _quotients(problem: Problem, Q: Values) -> Values:
    """Rayleigh's quotient of each column of Q, shape (k,)."""
    K, M = attach(problem)
    Q = held(problem, K + 1e-3 * problem.highest * M, Q)
    return np.asarray(np.einsum("ij,ij->j", Q, K @ Q) / np.einsum("ij,ij->j", Q, M @ Q))


def held(problem: Problem, energy: Values, Q: Values) -> Values:
    """The columns with the least change (in energy) that obeys the rigid holds again.

    A hold that has moved a little is violated a little. Any correction of little energy serves,
    since the quotient is stationary.
    """
    rows = [f.rows for f in problem.functionals if math.isinf(f.stiffness)]
    if not rows or not np.any(np.vstack(rows) @ Q):
        return Q
    F = np.vstack(rows)
    reach = np.linalg.solve(energy, F.T)
    return np.asarray(Q - reach @ np.linalg.lstsq(F @ reach, F @ Q, rcond=None)[0])
