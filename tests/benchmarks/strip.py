"""What a strip's plate costs: the note on where the beam ends, and `predict --as-plate` as a whole.

The note is compared with the beam's prediction without it, in one process; the command with a
process that does the bare imports, each with its modules compiled, as they are once installed.

Run by hand:  python tests/benchmarks/strip.py
The tests run each once at its smallest size, for its result and never for its time.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from saltline.files.specimen_file import load, read_specimen
from saltline.show.beyond import reach_note
from saltline.show.output import written
from saltline.show.predicted import predicted
from saltline.solver import find_modes, first_frequencies
from saltline.strip import reach

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
IMPORTS = "import numpy, click, yaml"
RUN = "import sys; from saltline.cli import main; sys.argv[0] = 'saltline'; main()"

LOADED = """
kind: beam
material: {youngs_modulus: 70 GPa ± 2 %, density: 2700 kg/m3, poisson_ratio: 0.33}
geometry:
  length: 300 ± 0.5 mm
  section: {shape: rectangle, width: 20 mm, thickness: 1 ± 0.01 mm}
boundary: {start: {deflection: rigid, rotation: 30 N m/rad}, end: free}
attached: [{mass: 5 g, at: 290 mm, rotary_inertia: 500 g mm2}, {mass: 2 g, at: 100 mm}]
supports: [{at: 200 mm, deflection: 1e4 N/m}]
"""
"""A strip with a little of everything."""


def shortest(actions: Sequence[Callable[[], object]], repeats: int) -> list[float]:
    """The shortest time of each, s, taken in turns, so that all meet the same machine."""
    times: list[list[float]] = [[] for _ in actions]
    for _ in range(repeats):
        for action, found in zip(actions, times, strict=True):
            start = time.perf_counter()
            action()
            found.append(time.perf_counter() - start)
    return [min(found) for found in times]


def note(repeats: int, *, count: int = 8) -> list[tuple[str, float, float]]:
    """(what, seconds that the note adds, prediction with it over prediction without)."""
    rows = []
    for name, specimen in (
        ("of the example's reed", load(EXAMPLES / "clamped-reed.yaml")),
        ("of a strip with masses and springs", read_specimen(LOADED)),
    ):

        def plain(specimen=specimen):
            modes = find_modes(specimen, count=count)
            others = first_frequencies(specimen, besides=("flatwise",))
            return modes, written(predicted(modes, others), "table")

        flatwise = plain()[0].modes
        base, added = shortest(
            [plain, lambda s=specimen, f=flatwise: reach_note(reach(s, f))], repeats
        )
        rows.append((f"note on where the beam ends, {name}", added, (base + added) / base))
    return rows


def whole_process(repeats: int, *, options: Sequence[str] = ("--as-plate", "--why")):
    """(what, seconds, ratio to the bare imports) of a prediction with its bands and its plate."""
    command = [sys.executable, "-c", RUN, "predict", str(EXAMPLES / "clamped-reed.yaml"), *options]
    yardstick = [sys.executable, "-c", IMPORTS]
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": folder}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)

        def process(arguments: list[str]) -> Callable[[], object]:
            return lambda: subprocess.run(
                arguments, check=True, capture_output=True, env=environment
            )

        actions = [process(yardstick), process(command)]
        shortest(actions, 1)  # compiles
        base, spent = shortest(actions, repeats)
    return [(f"saltline predict {' '.join(options)}, over the bare imports", spent, spent / base)]


def main(repeats: int = 7) -> None:
    """Print the table."""
    for name, seconds, ratio in [
        *note(repeats),
        *whole_process(repeats, options=()),
        *whole_process(repeats),
    ]:
        print(f"{seconds * 1e3:9.1f} ms  {ratio:6.2f}  {name}")


if __name__ == "__main__":
    main()
