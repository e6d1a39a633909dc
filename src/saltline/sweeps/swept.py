"""What sweeping too fast does to a resonance: it comes late, low and wide.

A drive of unit amplitude whose frequency runs through a resonance of bandwidth B at S Hz/s builds
up the envelope (variation of constants, light damping; x = S/B^2, u the distance in bandwidths)

    a(u) = pi int_0^inf exp(-pi s - 2 pi i u s + i pi x s^2) ds

which is an error function of complex argument. At rest a(0) = 1 and |a(1/2)| = 1/sqrt(2).
"""

from __future__ import annotations

import math

import numpy as np

from saltline.arrays import Values
from saltline.record import record

LIMIT = 1e6
"""From here on a peak's height, shift and width go as powers of the rate."""

FASTEST = 5.0
"""Up to this rate over the squared bandwidth a recorded width tells the bandwidth."""


@record
class SweptPeak:
    """A swept peak against that of a drive at rest.

    height: its part of that one's height; shift, width: in bandwidths.
    """

    height: float
    shift: float
    width: float


def envelope(u: Values, x: float) -> Values:
    """The complex envelope u bandwidths past the resonance, at the rate x over its square.

    Upward sweep; of a downward one u counts downward.
    """
    from scipy.special import wofz

    if x == 0.0:
        return np.asarray(1.0 / (1.0 + 2.0j * u))
    # int exp(-a s^2 - b s) ds = sqrt(pi/a)/2 w(i b / (2 sqrt a)), a = -i pi x, b = pi (1 + 2 i u)
    root = np.sqrt(-1j * math.pi * x)
    b = math.pi * (1.0 + 2.0j * u)
    return np.asarray(math.pi * math.sqrt(math.pi) / (2.0 * root) * wofz(1j * b / (2.0 * root)))


def swept_peak(x: float) -> SweptPeak:
    """The peak of a resonance swept at the rate x over its bandwidth squared, in 1/s per Hz.

    A fast sweep leaves it ringing: it falls by exp(-pi u / x), to half its power at u = 0.11 x.
    """
    if x > LIMIT:
        far, times = swept_peak(LIMIT), x / LIMIT
        more = math.sqrt(times)
        return SweptPeak(far.height / more, far.shift * more, far.width * times)
    reach = 1.5 + 2.0 * math.sqrt(x)
    u = np.linspace(-reach, max(2.0 * reach, 0.2 * x), 6001)
    size = np.abs(envelope(u, x))
    top = int(np.argmax(size))
    due = size[top] / math.sqrt(2.0)
    before = np.flatnonzero(size[:top] < due)[-1]
    after = top + np.flatnonzero(size[top:] < due)[0]
    low = np.interp(due, size[before : before + 2], u[before : before + 2])
    high = np.interp(-due, -size[after - 1 : after + 1], u[after - 1 : after + 1])
    return SweptPeak(float(size[top]), float(u[top]), float(high - low))


def true_bandwidth(width_hz: float, hz_per_s: float) -> float | None:
    """The bandwidth of a resonance that a sweep has recorded `width_hz` wide; Hz.

    None where every resonance, however sharp, would be recorded as wide as that.
    """
    rate = abs(hz_per_s)
    if rate == 0.0:
        return width_hz
    low, high = math.sqrt(rate / FASTEST), width_hz

    def recorded(bandwidth: float) -> float:
        return bandwidth * swept_peak(rate / bandwidth**2).width

    if low >= high or recorded(low) > width_hz:
        return None
    for _ in range(30):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if recorded(middle) < width_hz else (low, middle)
    return math.sqrt(low * high)
