"""What saltline costs, as ratios against a yardstick measured in the same run.

Run by hand:  python tests/benchmarks/cost.py
The tests run each once at its smallest size, for its result and never for its time.

Whole processes are held against the bare imports that they need, solvers against LAPACK: the very
matrices that they hand to it are solved again by it alone.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy.linalg

import saltline.eigen
from saltline.arrays import Values
from saltline.files.specimen_file import load
from saltline.kinds import KINDS
from saltline.problem import Problem, solve
from saltline.solver import find_modes
from saltline.specimen import Specimen

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
IMPORTS = "import numpy, click, yaml"
DRAWING = f"{IMPORTS}, scipy.linalg, matplotlib.backends.backend_pdf"
RUN = "import sys; from saltline.cli import main; sys.argv[0] = 'saltline'; main()"

Row = tuple[str, float, float]
"""(what, seconds, ratio)."""


def best_of(action: Callable[[], object], repeats: int) -> float:
    """The shortest of several times, s."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return min(times)


def process(code: str, arguments: Sequence[str] = ()) -> Callable[[], object]:
    """A whole Python process that runs this code; its modules stay compiled, as once installed."""
    command = [sys.executable, "-c", code, *arguments]
    kept = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    return lambda: subprocess.run(command, check=True, capture_output=True, env=kept)


def start_up(repeats: int) -> list[Row]:
    """Whole processes of the quick commands."""
    reed, disc = (str(EXAMPLES / f"{name}.yaml") for name in ("clamped-reed", "free-disc"))
    return [
        _whole("saltline --help, over import click", ["--help"], "import click", repeats),
        _whole(
            "saltline predict of a reed, over bare imports", ["predict", reed], IMPORTS, repeats
        ),
        _whole(
            "predict of a disc, over bare imports",
            ["predict", disc],
            f"{IMPORTS}, scipy.linalg",
            repeats,
        ),
    ]


def sheets(repeats: int) -> list[Row]:
    """Whole processes that print on paper: templates, and reports with all sections."""
    rig = str(EXAMPLES / "small.rig.yaml")
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        paper = str(Path(folder) / "sheets.pdf")
        for name in ("clamped-reed", "bolted-plate"):
            specimen = str(EXAMPLES / f"{name}.yaml")
            pad = str(EXAMPLES / f"{name}.measured.yaml")
            template = ["mark", specimen, "--modes", "1-4", "--template", paper, "--force"]
            report = ["report", specimen, paper, "--modes", "1-12", "--rig", rig, "--force"]
            report += ["--measured", pad]
            for what, arguments in (("template", template), ("report of 12 modes", report)):
                title = f"{what}, {name}, over bare imports"
                rows.append(_whole(title, arguments, DRAWING, repeats))
    return rows


def _whole(name: str, arguments: Sequence[str], yardstick: str, repeats: int) -> Row:
    base = best_of(process(yardstick), repeats)
    spent = best_of(process(RUN, arguments), repeats)
    return name, spent, spent / base


# -- the solvers ----------------------------------------------------------------------------------

SOLVED = (("beam", "clamped-reed"), ("free plate", "square-plate"), ("disc", "free-disc"))


def solvers(repeats: int, *, counts: Sequence[int] = (10, 20, 40, 80)) -> list[Row]:
    """How the cost of finding modes grows with their number, over LAPACK's part of it."""
    return [
        solver(f"{kind}, {count} modes, over its eigensolves", load(_example(name)), count, repeats)
        for kind, name in SOLVED
        for count in counts
    ]


def _example(name: str) -> Path:
    return EXAMPLES / f"{name}.yaml"


def solver(name: str, specimen: Specimen, count: int, repeats: int) -> Row:
    """Finding modes, over LAPACK on the same matrices."""
    matrices = handed_to_lapack(lambda: find_modes(specimen, count=count))
    base = best_of(lambda: [eigensolve(*each) for each in matrices], repeats)
    spent = best_of(lambda: find_modes(specimen, count=count), repeats)
    return name, spent, spent / base


def handed_to_lapack(action: Callable[[], object]) -> list[tuple[Values, Values, int]]:
    """The matrices A and B, and how many modes of them, that an action has solved."""
    seen: list[tuple[Values, Values, int]] = []
    genuine = saltline.eigen.largest_modes

    def noted(A: Values, B: Values, count: int) -> tuple[Values, Values]:
        seen.append((A, B, count))
        return genuine(A, B, count)

    saltline.eigen.largest_modes = noted
    try:
        action()
    finally:
        saltline.eigen.largest_modes = genuine
    return seen


def eigensolve(A: Values, B: Values, count: int) -> object:
    """The largest eigenvalues and vectors by LAPACK."""
    n = len(A)
    return scipy.linalg.eigh(A, B, subset_by_index=(n - count, n - 1), check_finite=False)


@dataclass(frozen=True, slots=True)
class Fineness:
    """One rise of the degree: size of the largest matrix, s, and the worst change of a mode."""

    kind: str
    refinement: int
    size: int
    seconds: float
    worst_change: float


def fineness(repeats: int, *, count: int = 20, finest: int = 3) -> list[Fineness]:
    """How cost and accuracy go with the degree, against the finest of them."""
    found = []
    for kind, name in SOLVED:
        specimen = load(_example(name))
        reference = _lowest(specimen, count, finest + 1)
        for refinement in range(finest + 1):
            spent = best_of(lambda s=specimen, r=refinement: _lowest(s, count, r), repeats)
            problems = _problems(specimen, count, refinement)
            size = max(problem.K.shape[0] for problem in problems)
            worst = float(np.max(np.abs(_lowest(specimen, count, refinement) / reference - 1.0)))
            found.append(Fineness(kind, refinement, size, spent, worst))
    return found


def _problems(specimen: Specimen, count: int, refinement: int) -> list[Problem]:
    kind = KINDS[specimen.kind]
    return kind.problems(specimen, count, kind.theories[0], kind.families[:1], refinement)


def _lowest(specimen: Specimen, count: int, refinement: int) -> Values:
    omega2 = [solve(problem, count).omega2 for problem in _problems(specimen, count, refinement)]
    return np.sqrt(np.sort(np.concatenate(omega2))[:count])


def main(repeats: int = 7) -> None:
    """Print the tables."""
    for name, seconds, ratio in [*start_up(repeats), *sheets(2), *solvers(repeats)]:
        print(f"{seconds * 1e3:9.1f} ms  {ratio:6.2f}  {name}")
    print("\nkind        rise  size        ms  worst change, 20 modes")
    for row in fineness(repeats):
        print(
            f"{row.kind:10}  {row.refinement:4d}  {row.size:4d}  {row.seconds * 1e3:8.1f}"
            f"  {row.worst_change:.1e}"
        )


if __name__ == "__main__":
    main()
