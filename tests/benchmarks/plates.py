"""What a plate costs in saltline, against finite elements at the accuracy that these reach.

The yardstick is Morley's triangle, the plainest element for thin plates, on a uniform grid, with
scikit-fem assembling and SciPy's sparse eigensolver. Both are compared with the reference table,
so a row says how good each answer was.

Run by hand:  python tests/benchmarks/plates.py
The tests run each once at its smallest size, for its result and never for its time.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import csv
import math
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import numpy as np
import scipy.sparse.linalg
from skfem import Basis, BilinearForm, ElementTriMorley, MeshTri, condense
from skfem.helpers import dd, ddot, trace

from saltline.files.specimen_file import read_specimen
from saltline.solver import find_modes

TABLE = Path(__file__).parent.parent / "reference" / "plates.csv"
COUNT = 8
WORDS = {"C": "clamped", "S": "pinned", "F": "free"}
EDGES = ("left", "bottom", "right", "top")
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Run:
    """One comparison: times in s, worst relative errors of the first eight frequencies."""

    edges: str
    unknowns: int
    elements_s: float
    elements_error: float
    saltline_s: float
    saltline_error: float

    @property
    def row(self) -> tuple[str, float, float]:
        """(what, seconds, ratio), as the other benchmarks have it."""
        name = (
            f"square plate {self.edges}, {COUNT} modes to {self.saltline_error:.0e}, over Morley "
            f"elements of {self.unknowns} unknowns to {self.elements_error:.0e}"
        )
        return name, self.saltline_s, self.saltline_s / self.elements_s


def true_values(edges: str) -> np.ndarray:
    """lambda of the square plate by the reference table."""
    lines = TABLE.read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return np.array([float(r["lambda"]) for r in rows if (r["edges"], r["aspect"]) == (edges, "1")])


def morley(edges: str, cells: int) -> tuple[np.ndarray, int]:
    """lambda by Morley's element on 2 * cells^2 triangles, nu = 0.3, and the unknowns left."""
    line = np.linspace(0.0, 1.0, cells + 1)
    mesh = MeshTri.init_tensor(line, line).with_boundaries(
        {
            "left": lambda x: x[0] < 1e-9,
            "bottom": lambda x: x[1] < 1e-9,
            "right": lambda x: x[0] > 1.0 - 1e-9,
            "top": lambda x: x[1] > 1.0 - 1e-9,
        }
    )
    basis = Basis(mesh, ElementTriMorley())
    K = BilinearForm(
        lambda u, v, _: 0.7 * ddot(dd(u), dd(v)) + 0.3 * trace(dd(u)) * trace(dd(v))
    ).assemble(basis)
    M = BilinearForm(lambda u, v, _: u * v).assemble(basis)
    held = [
        basis.get_dofs(name).all(["u"] if letter == "S" else ["u", "u_n"])
        for name, letter in zip(EDGES, edges, strict=True)
        if letter != "F"
    ]
    if held:
        K, M, *_ = condense(K, M, D=np.unique(np.concatenate(held)), expand=True)
    rigid = 3 if edges == "FFFF" else 0
    values = scipy.sparse.linalg.eigsh(
        K.tocsc(), COUNT + rigid, M.tocsc(), sigma=-1.0, return_eigenvectors=False
    )
    return np.sqrt(np.sort(values)[rigid:]), K.shape[0]


def sheet(edges: str) -> str:
    """The unit plate as a specimen file: omega is lambda."""
    boundary = ", ".join(f"{e}: {WORDS[c]}" for e, c in zip(EDGES, edges, strict=True))
    return f"""
kind: plate
material: {{youngs_modulus: 10.92 GPa, density: 1e5 kg/m3, poisson_ratio: 0.3}}
geometry: {{length: 1 m, width: 1 m, thickness: 10 mm}}
boundary: {{{boundary}}}
"""


def best_of(action: Callable[[], T], repeats: int) -> tuple[float, T]:
    """The shortest of several times, s, and what came out."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        result = action()
        times.append(time.perf_counter() - start)
    return min(times), result


def compared(edges: str, cells: int, repeats: int) -> Run:
    """Both ways to the first eight frequencies of a square plate."""
    true = true_values(edges)
    base, (elements, unknowns) = best_of(lambda: morley(edges, cells), repeats)
    specimen = read_specimen(sheet(edges))
    spent, found = best_of(lambda: find_modes(specimen, count=COUNT), repeats)
    ours = 2.0 * math.pi * np.array([mode.frequency_hz for mode in found.modes])
    errors = (float(np.abs(lam / true - 1.0).max()) for lam in (elements, ours))
    elements_error, saltline_error = errors
    return Run(edges, unknowns, base, elements_error, spent, saltline_error)


def main(repeats: int = 5) -> None:
    """Print the table: time, ratio to the elements' time, what was solved and how well."""
    for edges in ("FFFF", "CCCC", "CFFF"):
        for cells in (16, 32, 64):
            name, seconds, ratio = compared(edges, cells, repeats).row
            print(f"{seconds * 1e3:9.1f} ms  {ratio:6.3f}  {name}")


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
