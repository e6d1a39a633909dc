"""How sure an estimate is: what it holds, covariance, lines that are unusual, coverage factors."""

from __future__ import annotations

import numpy as np

from saltline.arrays import Flags, Values
from saltline.record import record

RARE = 0.0027
"""Where any line would lie so far off more rarely than this, it is unusual (three standard
deviations of one line)."""


@record
class Spread:
    """How uncertain the frequencies were taken to be.

    basis:   "stated" by the list; "scatter": none stated, so from the residuals; "assumed": none
             stated and too few lines for that; "enlarged": as stated or assumed, and `added` to it,
             for the residuals are larger than that lets happen.
    relative: the relative standard uncertainty of a line that states none; NaN where all do.
    factor:  how many times as large the residuals are as the uncertainties would have them (Birge's
             ratio); 1 where they are not too large.
    added:   the relative standard uncertainty that every line was given beside its own, 0 unless
             enlarged: of what the model leaves out all lines suffer, the sharpest too.
    freedom: lines less the quantities that they decide.
    """

    basis: str
    relative: float
    factor: float
    added: float
    freedom: float

    @property
    def is_estimated(self) -> bool:
        """Whether it comes from the residuals, so that Student's factor is due."""
        return self.basis in ("scatter", "enlarged")


@record
class Estimate:
    """The estimate of p quantities from n lines.

    x:           shape (p,).
    residuals:   ln measured - ln predicted, shape (n,).
    J:           d ln f / d x, shape (n, p).
    sigma:       relative standard uncertainties that were used, shape (n,).
    covariance:  of x, from the lines and the priors, shape (p, p); 0 of what is at its bound.
    from_lines:  the part of its roots that comes from the lines, shape (p,).
    prior_share: how much of what is known of each x is its prior's, 0 to 1, shape (p,).
    at_bound:    -1, 0 or 1 of each x, shape (p,).
    """

    x: Values
    residuals: Values
    J: Values
    sigma: Values
    covariance: Values
    from_lines: Values
    prior_share: Values
    at_bound: Values
    spread: Spread


def information_of(priors: Values) -> Values:
    """1 / u^2 of standard uncertainties, 0 where one is 0 and so says nothing."""
    return np.asarray(np.where(priors > 0.0, 1.0 / np.where(priors > 0.0, priors, 1.0) ** 2, 0.0))


def covariance_of(W: Values, information: Values) -> Values:
    """(W'W + P)^-1, scaled first, for x may differ in size by many powers of ten.

    W: weighted slopes, shape (n, p); information: that of each prior, 1 / u^2, shape (p,).
    """
    normal = W.T @ W + np.diag(information)
    scale = 1.0 / np.sqrt(np.maximum(np.diag(normal), 1e-300))
    return np.asarray(np.linalg.pinv(normal * np.outer(scale, scale)) * np.outer(scale, scale))


def unusual(found: Estimate) -> Flags:
    """Which lines lie farther from the estimate than the others let happen once in 370 lists.

    Each is judged by the scatter that is left without it (externally studentised residuals; Cook
    and Weisberg, Residuals and Influence in Regression, 1982, from memory). Shape (n,).
    """
    from scipy.special import ndtri, stdtrit

    t = found.residuals / found.sigma
    W = found.J / found.sigma[:, None]
    spare = np.maximum(1.0 - np.einsum("ij,jk,ik->i", W, found.covariance, W), 1e-9)
    freedom = found.spread.freedom - 1.0
    if not found.spread.is_estimated:
        return np.asarray(t**2 > float(ndtri(RARE / 2.0 / t.size)) ** 2 * spare)
    if freedom < 1.0:
        return np.zeros(t.size, dtype=bool)
    rest = np.maximum((np.sum(t**2) - t**2 / spare) / freedom, 1e-12)
    limit = float(stdtrit(freedom, 1.0 - RARE / 2.0 / t.size))
    return np.asarray((t**2 > limit**2 * rest * spare) & (spare > 1e-6))


def coverage_factor(spread: Spread, own: float, whole: float) -> float:
    """k of the 95.45 % interval (JCGM 100:2008, G.4): 2, or Student's where it rests on residuals.

    own, whole: standard uncertainty from the lines alone, and with what else is uncertain.
    """
    from scipy.special import stdtrit

    if not spread.is_estimated or own <= 0.0:
        return 2.0
    # Welch and Satterthwaite: only the lines' own part has few degrees of freedom.
    freedom = max(spread.freedom, 0.5) * (whole / own) ** 4
    return float(stdtrit(freedom, 0.97725)) if freedom < 1e6 else 2.0
