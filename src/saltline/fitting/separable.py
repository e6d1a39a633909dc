"""Whether the data can tell the quantities apart, and if not, what of them they do determine.

Two quantities that move all the measured frequencies in the same proportions leave one direction in
which both may go without any frequency noticing. Such directions are the right singular vectors of
the weighted slopes whose singular values are small beside those of each quantity alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from saltline.arrays import Values
from saltline.fitting.uncertain import covariance_of, information_of
from saltline.record import record

ALIKE = 10.0
"""Quantities whose uncertainties grow by this factor when they are fitted together are hardly
told apart."""

SAME = 100.0
"""... and by this one not at all, however precise the frequencies: theory is not that good."""

VAGUE = 0.25
"""A quantity of a group that is hardly told apart is refused where its relative standard
uncertainty would be larger than this, and no prior is narrower."""

NO_SLOPE = 1e-7
"""A quantity that moves no ln f by more than this, for a relative change of one, moves none."""

MEMBER = 0.05
"""A quantity belongs to a direction when it moves the frequencies by at least this part of what the
one does that moves them most."""


@record
class Direction:
    """A way in which several quantities can move together while the data hardly notice.

    members:  the quantities' numbers; changes: how much x of each changes, the largest being 1.
    inflation: by what factor their uncertainties grow because they are fitted together.
    powers:   where one product of powers of the members is all that the data determine, the powers,
              the least being 1; () where more than one combination is determined.
    by_prior: whether the priors say more about it than the lines.
    hopeless: whether no precision of the lines could settle it, and no prior does.
    refused:  whether lines and priors say too little.
    """

    members: tuple[int, ...]
    changes: tuple[float, ...]
    inflation: float
    powers: tuple[float, ...]
    by_prior: bool
    hopeless: bool
    refused: bool


def without_effect(J: Values) -> list[int]:
    """The quantities that move none of the frequencies. J: d ln f / d x, shape (n, p)."""
    return [int(j) for j in np.flatnonzero(np.max(np.abs(J), axis=0, initial=0.0) < NO_SLOPE)]


def directions(J: Values, sigma: Values, priors: Values) -> list[Direction]:
    """The directions that the lines do not tell apart, the worst first.

    J: d ln f / d x, shape (n, p); sigma: relative uncertainties, shape (n,); priors: standard
    uncertainties of x, 0 where there is none, shape (p,).
    """
    p = J.shape[1]
    if p < 2:
        return []
    W = J / sigma[:, None]
    norms = np.maximum(np.linalg.norm(W, axis=0), 1e-300)
    _, s, Vt = np.linalg.svd(W / norms, full_matrices=True)
    s = np.concatenate([s, np.zeros(p - s.size)])
    information = information_of(priors)
    deviations = np.sqrt(np.maximum(np.diag(covariance_of(W, information)), 0.0))
    found = []
    for j in range(p - 1, -1, -1):
        inflation = 1.0 / s[j] if s[j] > 1e-12 else math.inf
        if inflation > ALIKE:
            members = np.flatnonzero(np.abs(Vt[j]) >= MEMBER * np.max(np.abs(Vt[j])))
            v = np.zeros(p)
            v[members] = (Vt[j] / norms)[members]
            found.append(_direction(W, v, inflation, information, deviations))
    return found


def _direction(
    W: Values, v: Values, inflation: float, information: Values, deviations: Values
) -> Direction:
    v = v / v[np.argmax(np.abs(v))]
    members = np.flatnonzero(v)
    seen, held = float(np.sum((W @ v) ** 2)), float(information @ v**2)
    free = held * VAGUE**2 < 1.0
    hopeless = free and inflation > SAME
    vague = free and float(np.max(deviations[members])) > VAGUE
    return Direction(
        members=tuple(int(j) for j in members),
        changes=tuple(float(v[j]) for j in members),
        inflation=inflation,
        powers=_powers(W[:, members]),
        by_prior=held > seen,
        hopeless=hopeless,
        refused=hopeless or vague,
    )


def _powers(W: Values) -> tuple[float, ...]:
    """The powers of the one product that the columns determine; () where there are more."""
    _, s, Vt = np.linalg.svd(W / np.linalg.norm(W, axis=0))
    if s.size > 1 and s[1] * ALIKE > s[0]:
        return ()
    powers = Vt[0] * np.linalg.norm(W, axis=0)
    least = np.min(np.abs(powers)) * np.sign(powers[0])
    return tuple(float(power / least) for power in powers)


def separates(J: Values, sigma: Values, more: Values, members: Sequence[int]) -> bool:
    """Whether more data would tell the members apart.

    more: d ln (what would be measured) / d x, shape (k, p), taken to be as good as the best line.
    """
    extra = more[:, list(members)] / float(np.min(sigma))
    W = np.vstack([J[:, list(members)] / sigma[:, None], extra])
    norms = np.linalg.norm(W, axis=0)
    s = np.linalg.svd(W / np.maximum(norms, 1e-300), compute_uv=False)
    return len(s) == len(members) and bool(s[-1] * ALIKE > 1.0)
