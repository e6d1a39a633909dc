"""Makes clamped-reed.sweep.csv: a sweep over the clamped reed as a bench might record it.

The reed stands on the table of an exciter, which a controller holds at one acceleration while a
sine runs from 15 to 600 Hz at half an octave a minute. A small accelerometer sits near the tip,
3 mm off the middle line, so that it also sees the first torsion, which lies close to the third
bending. Its amplifier reads the true level, whatever its frequency: noise, mains hum, and the
second harmonic that the exciter makes. In the course of the sweep the reed warms up, and the
amplifier's gain wanders.

    python examples/clamped-reed.sweep.py FILE [--seed N]

writes the readings: frequency, and acceleration over that of the table.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

import saltline
from saltline.forced.response import absolute_acceleration, driven
from saltline.solver import find_modes

HERE = Path(__file__).parent

LOW_HZ, HIGH_HZ, READINGS = 15.0, 600.0, 1500
DAMPING = 0.009
TWIST = 0.12  # what the sensor sees of the torsion, as a part of what drives it
SECOND_HARMONIC = 0.03
NOISE = 0.02
HUM_HZ, HUM = 50.0, 2.0  # what is read of the mains where the sine beats with it
COOLING = -0.002  # how far the frequencies fall by the end
WANDERING = 0.01


def response(hz):
    """Acceleration near the tip over that of the table, complex."""
    modes = saltline.load(HERE / "clamped-reed.yaml").modes(count=6)
    known = driven(modes, damping_ratio=DAMPING)
    length = modes.specimen.geometry.length
    bending = absolute_acceleration(known, hz, np.array([[0.98 * length]]))[:, 0]
    (torsion,) = find_modes(modes.specimen, count=1, families=("torsion",)).modes
    stiff = torsion.frequency_hz**2 * (1.0 + 2.0j * DAMPING)
    return bending + TWIST * hz**2 / (stiff - hz**2)


def readings(seed):
    """Frequencies, and what is read at each."""
    rng = np.random.default_rng(seed)
    hz = np.geomspace(LOW_HZ, HIGH_HZ, READINGS)
    along = np.linspace(0.0, 1.0, READINGS)
    warm = 1.0 + COOLING * along
    own = np.abs(response(hz / warm))
    doubled = SECOND_HARMONIC * np.abs(response(2.0 * hz / warm))
    nearest = np.arange(READINGS) == np.argmin(np.abs(hz - HUM_HZ))
    noise = NOISE * rng.standard_normal((2, READINGS))
    level = np.hypot(np.hypot(own + noise[0], doubled + noise[1]), HUM * nearest)
    return hz, level * (1.0 + WANDERING * np.sin(5.0 * along))


def main():
    """Write the file."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("file", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    lines = ["# An invented recording: a sweep over the clamped reed, half an octave a minute."]
    lines.append("frequency (Hz),amplitude (g/g)")
    lines += [f"{f:.3f},{a:.4g}" for f, a in zip(*readings(given.seed), strict=True)]
    given.file.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
