"""The poles of a stretch of response: a rational function with residual terms, by least squares.

A resonance of frequency f and half-width h (half its half-power bandwidth) is in a response a pole
at z = f + i h, and the response near some of them (modal superposition, textbook)

    y(x) = sum_k g_k s_k / (x - z_k) + c_0 + c_1 x + ...        z_k = x_k + i s_k

with complex g and c. The polynomial stands for all resonances farther away and for the rest of
each one's own conjugate. The square of its magnitude is of the same form with the same poles, by
partial fractions of |P/D|^2:

    y(x) = Re sum_k g_k s_k / (x - z_k) + c_0 + c_1 x + ...

with real c. So a magnitude without a phase is fitted by its square, and the constant c_0 takes up
the power of the noise as well. Everything but the poles is linear and is eliminated (variable
projection: Golub and Pereyra 1973, the derivative as simplified by Kaufman 1975, from memory);
the poles follow by damped Gauss-Newton steps (Levenberg and Marquardt).
"""

from __future__ import annotations

import math

import numpy as np

from saltline.arrays import Values
from saltline.record import record

ROUNDS = 30
CLOSE_ENOUGH = 1e-7
"""Steps end where they lower the misfit by no more than this part."""


@record
class Stretch:
    """Readings to be fitted.

    x:         where, shape (n,), in any unit in which the half-widths are near one.
    y:         complex readings, or squares of magnitudes (real), shape (n,).
    weight:    one over the standard deviation of each reading (of one part of a complex one).
    degree:    of the residual polynomial.
    """

    x: Values
    y: Values
    weight: Values
    degree: int

    @property
    def has_phase(self) -> bool:
        """Whether the readings are complex."""
        return bool(np.iscomplexobj(self.y))

    def real(self, values: Values) -> Values:
        """Weighted values as real ones: their parts one after the other, or their real part."""
        weighted = self.weight * values
        if self.has_phase:
            return np.concatenate([weighted.real, weighted.imag])
        return np.asarray(weighted.real)


@record
class Poles:
    """What was found, shape (m,) each unless said otherwise.

    x, s:       of the poles z = x + i s.
    g:          complex coefficients: y of the pole alone at x is i g, or the real part of that.
    misfit:     the weighted sum of squares.
    freedom:    how many more readings than unknowns there are, at least 1.
    covariance: of x and ln s, for readings of unit variance, shape (2m, 2m); None where the
                readings do not determine them.
    residual:   weighted, what the poles leave, as of `Stretch.real`.
    """

    x: Values
    s: Values
    g: Values
    misfit: float
    freedom: int
    covariance: Values | None
    residual: Values


def fit_poles(stretch: Stretch, x: Values, s: Values) -> Poles:
    """The poles that fit best, from a first guess of their places x and half-widths s."""
    m = len(x)
    theta = np.concatenate([x, np.log(s)])
    here = _evaluate(stretch, theta)
    damping = 1e-3
    for _ in range(ROUNDS):
        moved = _step(stretch, theta, here, damping)
        if moved is None:
            break
        gain = 1.0 - moved[1].misfit / here.misfit if here.misfit > 0.0 else 0.0
        theta, here, damping = moved
        if gain < CLOSE_ENOUGH:
            break
    unknowns = here.linear + 2 * m
    determined = here.residual.size >= unknowns
    return Poles(
        x=theta[:m],
        s=np.exp(theta[m:]),
        g=here.g,
        misfit=here.misfit,
        freedom=max(here.residual.size - unknowns, 1),
        covariance=_inverse(here.slopes.T @ here.slopes) if determined else None,
        residual=here.residual,
    )


def misfit_without(stretch: Stretch, found: Poles, k: int) -> float:
    """The misfit when pole k is left out and all that is linear adapts."""
    keep = np.arange(found.x.size) != k
    columns = _columns(stretch, found.x[keep], found.s[keep])
    Q, _ = np.linalg.qr(_linear(stretch, columns))
    y = stretch.real(stretch.y)
    left = y - Q @ (Q.T @ y)
    return float(left @ left)


# -- one evaluation -------------------------------------------------------------------------------


@record
class _State:
    """residual and its slopes along x and ln s, shape (n, 2m); linear: how many coefficients."""

    residual: Values
    slopes: Values
    g: Values
    misfit: float
    linear: int


def _columns(stretch: Stretch, x: Values, s: Values) -> Values:
    return np.asarray(s / (stretch.x[:, None] - (x + 1j * s)))


def _linear(stretch: Stretch, columns: Values) -> Values:
    """The real matrix of everything that is linear: g of each pole in two parts, then c."""
    parts = [stretch.real(part * column) for column in columns.T for part in (1.0, 1j)]
    for power in range(stretch.degree + 1):
        term = stretch.x**power + 0j
        parts += [stretch.real(term)] + ([stretch.real(1j * term)] if stretch.has_phase else [])
    return np.array(parts).T


def _evaluate(stretch: Stretch, theta: Values) -> _State:
    m = theta.size // 2
    x, s = theta[:m], np.exp(theta[m:])
    columns = _columns(stretch, x, s)
    A = _linear(stretch, columns)
    y = stretch.real(stretch.y)
    Q, R = np.linalg.qr(A)
    c = _solved(R, Q.T @ y)
    g = c[0 : 2 * m : 2] + 1j * c[1 : 2 * m : 2]
    residual = y - Q @ (Q.T @ y)
    along_x = g * columns**2 / s
    along_s = g * columns * (1.0 + 1j * columns)
    moves = np.array([stretch.real(v) for v in (*along_x.T, *along_s.T)]).T
    slopes = -(moves - Q @ (Q.T @ moves))
    return _State(residual, slopes, g, float(residual @ residual), A.shape[1])


def _solved(R: Values, right: Values) -> Values:
    """R c = right, with no c that runs away where columns are nearly alike."""
    if R.shape[0] < R.shape[1]:  # fewer readings than unknowns: the smallest c of many
        return np.asarray(np.linalg.lstsq(R, right)[0])
    size = np.abs(np.diag(R))
    least = 1e-12 * float(size.max())
    return np.asarray(np.linalg.solve(R + np.diag(np.where(size < least, least, 0.0)), right))


def _step(
    stretch: Stretch, theta: Values, here: _State, damping: float
) -> tuple[Values, _State, float] | None:
    """The next poles, what they leave and the next damping; None where no step is an advance."""
    m = theta.size // 2
    low, high = float(stretch.x.min()), float(stretch.x.max())
    span = high - low
    N, gradient = here.slopes.T @ here.slopes, here.slopes.T @ here.residual
    scale = np.maximum(np.diag(N), 1e-12 * np.diag(N).max() + 1e-300)
    for _ in range(8):
        step = -np.linalg.solve(N + damping * np.diag(scale), gradient)
        farthest = 2.0 * np.exp(theta[m:])
        new = theta + np.concatenate(
            [np.clip(step[:m], -farthest, farthest), np.clip(step[m:], -1.0, 1.0)]
        )
        new[:m] = np.clip(new[:m], low - 0.1 * span, high + 0.1 * span)
        new[m:] = np.clip(new[m:], math.log(1e-6 * span), math.log(2.0 * span))
        there = _evaluate(stretch, new)
        if there.misfit < here.misfit:
            return new, there, max(damping / 5.0, 1e-9)
        damping *= 6.0
    return None


def _inverse(N: Values) -> Values | None:
    try:
        inverse = np.linalg.inv(N)
    except np.linalg.LinAlgError:
        return None
    return inverse if bool(np.all(np.diag(inverse) > 0.0)) else None
