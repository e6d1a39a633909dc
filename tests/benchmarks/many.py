"""What a study of many specimens costs, as a ratio against a yardstick of the same run.

The yardstick of a specimen is what nobody can leave out: its text parsed by the YAML library, and
LAPACK's solution of one eigenproblem of the size that its modes take.

Run by hand:  python tests/benchmarks/many.py [SPECIMENS]
The tests run it once at its smallest size, for its result and never for its time.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import yaml

from saltline.files.specimen_file import load
from saltline.solver import find_modes

RUN = "import sys; from saltline.cli import main; sys.argv[0] = 'saltline'; main()"
SEED = 1

REED = """name: reed {number}
kind: beam
material: brass
geometry:
  length: {length:.2f} mm ± 0.5 mm
  section: {{shape: rectangle, width: 20 mm, thickness: {thickness:.4f} ± 0.02 mm}}
boundary: {{start: clamped, end: free}}
"""

Row = tuple[str, float, float]
"""(what, seconds a specimen, ratio to its yardstick)."""


def reeds(folder: Path, count: int) -> list[Path]:
    """Cantilever reeds whose sizes scatter as those of a lot do."""
    rng = random.Random(SEED)
    files = []
    for number in range(count):
        text = REED.format(
            number=number, length=rng.gauss(180.0, 0.3), thickness=rng.gauss(1.5, 0.01)
        )
        files.append(folder / f"reed-{number}.yaml")
        files[-1].write_text(text, encoding="utf-8")
    return files


def yardstick(file: Path, repeats: int) -> float:
    """Seconds to parse a specimen's text and to solve an eigenproblem as large as its own."""
    problem = find_modes(load(file)).modes[0].problem
    assert problem is not None
    matrix = np.random.default_rng(SEED).standard_normal(problem.K.shape)
    matrix += matrix.T
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        yaml.load(file.read_text(encoding="utf-8"), loader)
        np.linalg.eigh(matrix)
        times.append(time.perf_counter() - start)
    return min(times)


def predicted(files: list[Path], jobs: int) -> float:
    """Seconds of `predict` of all files as CSV, a whole process with all that it starts."""
    command = [sys.executable, "-c", RUN, "predict", str(files[0].parent), "--format", "csv"]
    start = time.perf_counter()
    done = subprocess.run(
        [*command, "--jobs", str(jobs)], check=True, capture_output=True, text=True
    )
    spent = time.perf_counter() - start
    assert done.stdout.count("\n") == 1 + 8 * len(files)
    return spent


def study(count: int, jobs: int) -> Row:
    """A lot predicted, over the yardstick of each specimen."""
    with tempfile.TemporaryDirectory() as name:
        files = reeds(Path(name), count)
        base = yardstick(files[0], 20)
        each = predicted(files, jobs) / count
    return f"{count} reeds as CSV, --jobs {jobs}, over one parse and eigensolve", each, each / base


def main() -> None:
    """Print the table."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for jobs in (1, 2):
        what, each, ratio = study(count, jobs)
        print(f"{each * 1e3:9.2f} ms  {ratio:6.2f}  {1.0 / each:6.0f} a second  {what}")


if __name__ == "__main__":
    main()
