"""What saltline costs, as ratios against a yardstick measured in the same run.

Run by hand:  python tests/benchmarks/cost.py
The tests run each once at its smallest size, for its result and never for its time.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import scipy.linalg

from saltline.files.specimen_file import load
from saltline.modes import find_modes

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
IMPORTS = "import numpy, click, yaml"
RUN = "import sys; from saltline.cli import main; sys.argv[0] = 'saltline'; main()"


def best_of(action: Callable[[], object], repeats: int) -> float:
    """The shortest of several times, s."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def process(code: str, arguments: Sequence[str] = ()) -> Callable[[], object]:
    """A whole Python process that runs this code."""
    command = [sys.executable, "-c", code, *arguments]
    return lambda: subprocess.run(command, check=True, capture_output=True)


def start_up(repeats: int) -> list[tuple[str, float, float]]:
    """(what, seconds, ratio) of whole processes."""
    reed = str(EXAMPLES / "clamped-reed.yaml")
    rows = []
    for name, code, arguments, yardstick in (
        ("saltline --help, over import click", RUN, ["--help"], "import click"),
        ("saltline predict of a reed, over the bare imports", RUN, ["predict", reed], IMPORTS),
    ):
        base = best_of(process(yardstick), repeats)
        spent = best_of(process(code, arguments), repeats)
        rows.append((name, spent, spent / base))
    return rows


def plate(repeats: int, *, count: int = 60) -> list[tuple[str, float, float]]:
    """The free square plate, solver alone, against LAPACK on one matrix of its largest problem."""
    sheet = load(EXAMPLES / "square-plate.yaml")
    found = find_modes(sheet, count=count)
    problem = found.modes[0].problem
    assert problem is not None
    n = problem.K.shape[0]
    rng = np.random.default_rng(1)
    A = rng.standard_normal((n, n))
    A, B = A + A.T, A @ A.T + n * np.eye(n)
    base = best_of(lambda: scipy.linalg.eigh(A, B, subset_by_index=(0, count // 2)), repeats)
    spent = best_of(lambda: find_modes(sheet, count=count), repeats)
    name = f"free square plate, {count} modes, over LAPACK's eigensolver of size {n}"
    return [(name, spent, spent / base)]


def main(repeats: int = 7) -> None:
    """Print the table."""
    for name, seconds, ratio in [*start_up(repeats), *plate(repeats)]:
        print(f"{seconds * 1e3:9.1f} ms  {ratio:6.2f}  {name}")


if __name__ == "__main__":
    main()
