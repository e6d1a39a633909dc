"""Random sweeps whose resonances are known, for the benchmark of `pick`.

A case has 5 to 12 modes, natural frequencies spread evenly over the logarithm from 23 to 1740 Hz,
damping ratios over that from 0.1 to 3 %. In half of the cases one mode is moved to one mean
half-power bandwidth from its neighbour, with a damping like that one's. No two are nearer than 0.95
of the wider one's bandwidth. Residues are products of two normal deviates, as of the shapes at two
places. The response is an acceleration over a force, viscous damping, modal superposition:

    H = sum_k -r_k omega^2 / (omega_k^2 - omega^2 + 2 i zeta_k omega_k omega)

read from 20 to 2000 Hz in even ratios, with five readings in the narrowest half-power band. Complex
normal noise is added, 40 dB below the root mean square of the response.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltline.arrays import Values

LOW_HZ, HIGH_HZ = 20.0, 2000.0
MODES = (5, 12)
DAMPING = (1e-3, 3e-2)
PAIRS = 0.5
NEAREST = 0.95
PER_BAND = 5.0
SIGNAL_TO_NOISE_DB = 40.0


@dataclass(frozen=True, slots=True)
class Case:
    """A sweep and what is in it.

    f, zeta, r: of the modes, by frequency. hz, response: the readings. noise: their noise, root
    mean square of the complex values.
    """

    f: Values
    zeta: Values
    r: Values
    hz: Values
    response: Values
    noise: float

    @property
    def bandwidth(self) -> Values:
        """Half-power bandwidths, Hz."""
        return 2.0 * self.zeta * self.f

    @property
    def height(self) -> Values:
        """Of each mode alone at its resonance."""
        return np.abs(self.r) / (2.0 * self.zeta)

    @property
    def apart(self) -> Values:
        """The distance of each from its nearest neighbour, in the wider bandwidth of the two."""
        f, b = self.f, self.bandwidth
        apart = np.abs(f[:, None] - f) / np.maximum(b[:, None], b)
        np.fill_diagonal(apart, np.inf)
        return apart.min(axis=1)


def make_case(rng: np.random.Generator) -> Case:
    """One random case."""
    f, zeta = _modes(rng)
    r = rng.standard_normal(f.size) * rng.standard_normal(f.size)
    step = 2.0 * float(zeta.min()) / PER_BAND
    hz = np.exp(np.arange(np.log(LOW_HZ), np.log(HIGH_HZ), step))
    clean = superposed(hz, f, zeta) @ r
    noise = float(np.sqrt(np.mean(np.abs(clean) ** 2))) * 10.0 ** (-SIGNAL_TO_NOISE_DB / 20.0)
    parts = rng.standard_normal((2, hz.size)) * noise / np.sqrt(2.0)
    return Case(f, zeta, r, hz, clean + parts[0] + 1j * parts[1], noise)


def _modes(rng: np.random.Generator) -> tuple[Values, Values]:
    """Frequencies and damping ratios."""
    while True:
        n = int(rng.integers(MODES[0], MODES[1] + 1))
        low, high = np.log(1.15 * LOW_HZ), np.log(HIGH_HZ / 1.15)
        f = np.sort(np.exp(rng.uniform(low, high, n)))
        zeta = np.exp(rng.uniform(*np.log(DAMPING), n))
        if rng.random() < PAIRS:
            i = int(rng.integers(n - 1))
            zeta[i + 1] = np.clip(zeta[i] * np.exp(rng.uniform(-0.3, 0.3)), *DAMPING)
            f[i + 1] = f[i] * (1.0 + zeta[i] + zeta[i + 1])
            order = np.argsort(f)
            f, zeta = f[order], zeta[order]
        b = 2.0 * zeta * f
        if np.all(np.diff(f) > NEAREST * np.maximum(b[1:], b[:-1])):
            return f, zeta


def superposed(hz: Values, f: Values, zeta: Values) -> Values:
    """The response of each mode with a residue of one, shape (readings, modes)."""
    w2 = hz[:, None] ** 2
    return np.asarray(-w2 / (f**2 - w2 + 2j * zeta * f * hz[:, None]))


def damping_bound(case: Case) -> Values:
    """What no unbiased estimate of the damping ratios can do better than: relative standard errors.

    The Cramér-Rao bound of frequencies, damping ratios and complex residues of all modes together.
    """
    each = superposed(case.hz, case.f, case.zeta)
    w = case.hz[:, None]
    below = case.f**2 - w**2 + 2j * case.zeta * case.f * w
    along_f = -each / below * (2.0 * case.f + 2j * case.zeta * w) * case.r
    along_zeta = -each / below * (2j * case.f * w) * case.r * case.zeta
    slopes = np.hstack([along_zeta, along_f, each, 1j * each])
    real = np.vstack([slopes.real, slopes.imag])
    scale = np.sqrt(np.sum(real**2, axis=0))
    real = real / scale
    covariance = np.linalg.inv(real.T @ real) / np.outer(scale, scale)
    deviation = case.noise / np.sqrt(2.0)
    return np.asarray(deviation * np.sqrt(np.diag(covariance))[: case.f.size])
