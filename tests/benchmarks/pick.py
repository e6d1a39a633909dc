"""How many resonances `pick` finds in random sweeps, how well, and what a large file costs.

The sweeps are those of sweeps.py. A mode counts where its own height is twice the noise (6 dB).
Found is one that has a pick within 0.6 of its bandwidth that no other mode is nearer to; a pick
that is left over is false. Modes are far from others (three bandwidths of the wider one and more),
near (a pair made one bandwidth apart, up to 1.1), or between. Of those found the frequency is right
within 0.1 bandwidth, the damping within 5 %; beside it stands what an estimate would reach whose
errors are as small as the noise permits (Cramér and Rao).

Run by hand:  python tests/benchmarks/pick.py [CASES]
The tests run a few cases.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import io
import math
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from sweeps import Case, damping_bound, make_case

from saltline.sweeps.one_pick import Pick
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording

SEED = 20240611
ABOVE_NOISE = 2.0
MATCHED = 0.6
FAR, NEAR = 3.0, 1.1
FREQUENCY, DAMPING = 0.1, 0.05
ROWS = 1_000_000

LARGE = """
import resource, sys
from saltline.cli import main
try:
    main(["pick", sys.argv[1]], standalone_mode=False)
finally:
    used = resource.getrusage(resource.RUSAGE_SELF)
    print(used.ru_utime + used.ru_stime, used.ru_maxrss, file=sys.stderr)
"""


@dataclass(slots=True)
class Tally:
    """What was found over many cases; errors: (class, frequency in bandwidths, damping, bound)."""

    due: dict[str, int] = field(default_factory=lambda: {"far": 0, "between": 0, "near": 0})
    found: dict[str, int] = field(default_factory=lambda: {"far": 0, "between": 0, "near": 0})
    errors: list[tuple[str, float, float, float]] = field(default_factory=list)
    picks: int = 0
    false: int = 0
    seconds: float = 0.0

    def share(self, name: str) -> float:
        """The part of a class that was found."""
        return self.found[name] / max(self.due[name], 1)

    def within(self, column: int, limit: float) -> float:
        """The part of those found whose error is less."""
        return float(np.mean([error[column] < limit for error in self.errors]))

    def reachable(self) -> float:
        """The part of those found whose damping would be right with errors by noise alone."""
        return float(np.mean([math.erf(DAMPING / e[3] / math.sqrt(2.0)) for e in self.errors]))


def matched(case: Case, picks: Sequence[Pick]) -> dict[int, int]:
    """Mode -> the pick that is it."""
    pairs = [
        (abs(one.frequency_hz - f) / b, i, k)
        for i, (f, b) in enumerate(zip(case.f, case.bandwidth, strict=True))
        for k, one in enumerate(picks)
    ]
    found: dict[int, int] = {}
    for distance, i, k in sorted(pairs):
        if distance < MATCHED and i not in found and k not in found.values():
            found[i] = k
    return found


def tallied(cases: int, seed: int, *, phase: bool) -> Tally:
    """The same cases with their phases or by amplitude alone."""
    rng = np.random.default_rng(seed)
    tally = Tally()
    for _ in range(cases):
        case = make_case(rng)
        response = case.response if phase else np.abs(case.response)
        start = time.perf_counter()
        picks = pick(Recording("case", case.hz, response)).picks
        tally.seconds += time.perf_counter() - start
        _enter(tally, case, picks)
    return tally


def _enter(tally: Tally, case: Case, picks: Sequence[Pick]) -> None:
    found = matched(case, picks)
    tally.picks += len(picks)
    tally.false += len(picks) - len(found)
    bound = damping_bound(case)
    for i, (height, apart) in enumerate(zip(case.height, case.apart, strict=True)):
        if height < ABOVE_NOISE * case.noise:
            continue
        name = "far" if apart >= FAR else "near" if apart < NEAR else "between"
        tally.due[name] += 1
        if i not in found:
            continue
        tally.found[name] += 1
        one = picks[found[i]]
        off = abs(one.frequency_hz - case.f[i]) / case.bandwidth[i]
        wrong = abs(one.damping_ratio / case.zeta[i] - 1.0)
        tally.errors.append((name, off, wrong, float(bound[i])))


def large(rows: int = ROWS) -> tuple[float, float, float]:
    """CPU seconds of a whole process that picks a file of so many rows, that over the seconds in
    which numpy alone reads it, and the largest memory, MB.
    """
    rng = np.random.default_rng(SEED)
    f, zeta = np.array([26.0, 163.0, 456.0, 894.0, 900.0, 1476.0, 2900.0]), np.full(7, 4e-3)
    hz = np.linspace(5.0, 5000.0, rows)
    H = np.zeros(rows, complex)
    for k, sign in zip(range(7), (1, -1, 1, 1, -1, 1, 1), strict=True):
        H -= sign * hz**2 / (f[k] ** 2 - hz**2 + 2j * zeta[k] * f[k] * hz)
    H += 0.05 * (rng.standard_normal(rows) + 1j * rng.standard_normal(rows))
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "sweep.csv"
        table = np.column_stack([hz, np.abs(H), np.degrees(np.angle(H))])
        out = io.BytesIO()
        np.savetxt(out, table, fmt=("%.5f", "%.6g", "%.3f"), delimiter=",")
        file.write_bytes(b"frequency_hz,amplitude,phase_deg\n" + out.getvalue())
        before = resource.getrusage(resource.RUSAGE_SELF)
        np.loadtxt(file, delimiter=",", skiprows=1)
        after = resource.getrusage(resource.RUSAGE_SELF)
        command = [sys.executable, "-c", LARGE, str(file)]
        done = subprocess.run(command, check=True, capture_output=True, text=True)
    seconds, kilobytes = (float(part) for part in done.stderr.split()[-2:])
    yardstick = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return seconds, seconds / max(yardstick, 1e-9), kilobytes / 1024.0


def main() -> None:
    """Print what was measured."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    print(f"{cases} cases, seed {SEED}")
    for phase in (True, False):
        tally = tallied(cases, SEED, phase=phase)
        print("with phase" if phase else "amplitude alone")
        for name in tally.due:
            share = f"{tally.found[name]} of {tally.due[name]} found, {tally.share(name):.2%}"
            print(f"  {name:8} {share}")
        print(f"  false    {tally.false} of {tally.picks}, {tally.false / tally.picks:.2%}")
        print(f"  frequency within {FREQUENCY} bandwidth  {tally.within(1, FREQUENCY):.2%}")
        print(
            f"  damping within {DAMPING:.0%}             {tally.within(2, DAMPING):.2%}"
            + (f", by noise alone {tally.reachable():.2%}" if phase else "")
        )
        print(f"  {tally.seconds / cases:.2f} s a case")
    seconds, ratio, megabytes = large()
    print(f"{ROWS:,} rows: {seconds:.2f} s of CPU, {ratio:.1f} times numpy's reading of it alone,")
    print(f"  {megabytes:.0f} MB at most")


if __name__ == "__main__":
    main()
