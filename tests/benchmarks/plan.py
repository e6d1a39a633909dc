"""What a forced response and a run sheet cost, as ratios against a yardstick of the same run.

The response is compared with one complex matrix product of its size, which it cannot undercut;
`plan` as a whole process with the bare imports.

Run by hand:  python tests/benchmarks/plan.py
The tests run each once at its smallest size, for its result and never for its time.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from saltline.files.specimen_file import load
from saltline.forced.response import absolute_acceleration, driven
from saltline.solver import find_modes

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
IMPORTS = "import numpy, scipy.linalg, click, yaml"
RUN = "import sys; from saltline.cli import main; sys.argv[0] = 'saltline'; main()"

Row = tuple[str, float, float]
"""(what, seconds, ratio to its yardstick)."""


def in_turns(actions: list[Callable[[], object]], repeats: int) -> list[float]:
    """The shortest time of each, s, taken in turns, so that all meet the same machine."""
    times: list[list[float]] = [[] for _ in actions]
    for _ in range(repeats):
        for action, found in zip(actions, times, strict=True):
            start = time.perf_counter()
            action()
            found.append(time.perf_counter() - start)
    return [min(found) for found in times]


def response(repeats: int, *, frequencies: int = 10_000, count: int = 30, places: int = 50) -> Row:
    """The reed's acceleration at many frequencies and places, over the product of the same sizes.

    The sum has more terms than the modes asked for: those beyond are followed by a few more.
    """
    reed = load(EXAMPLES / "clamped-reed.yaml")
    known = driven(find_modes(reed, count=count))
    terms = len(known.shapes)
    hz = np.linspace(5.0, known.modes.modes[-1].frequency_hz, frequencies)
    x = np.linspace(0.0, reed.geometry.size[0], places)[:, None]
    rng = np.random.default_rng(1)
    gains = rng.standard_normal((frequencies, terms)) + 1j
    read = rng.standard_normal((terms, places)) + 0j
    base, spent = in_turns(
        [lambda: gains @ read, lambda: absolute_acceleration(known, hz, x)], repeats
    )
    size = f"{frequencies} frequencies x {count} modes ({terms} terms) x {places} places"
    return f"response, {size}, over one complex product", spent, spent / base


def sheet(repeats: int, name: str, *options: str) -> Row:
    """`plan` of an example as a whole process, over one that does the bare imports."""
    rig, specimen = (str(EXAMPLES / file) for file in ("small.rig.yaml", f"{name}.yaml"))

    def process(code: str, *arguments: str) -> Callable[[], object]:
        command = [sys.executable, "-c", code, *arguments]
        return lambda: subprocess.run(command, check=True, capture_output=True)

    base, spent = in_turns(
        [process(IMPORTS), process(RUN, "plan", specimen, "--rig", rig, *options)], repeats
    )
    return f"saltline plan of the {name}, over the bare imports", spent, spent / base


def main(repeats: int = 5) -> None:
    """Print the table."""
    for what, seconds, ratio in (
        response(repeats),
        sheet(repeats, "clamped-reed"),
        sheet(repeats, "bolted-plate"),
    ):
        print(f"{seconds * 1e3:9.1f} ms  {ratio:6.2f}  {what}")


if __name__ == "__main__":
    main()
