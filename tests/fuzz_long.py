"""Fuzz the commands for minutes: python tests/fuzz_long.py --minutes 5 --seed 1.

Each run is a process of its own, so that one that hangs or takes all memory is ended and told like
any other fault. What is found is printed once for each kind of fault, with the files that make it
kept in a folder.
"""

from __future__ import annotations

import os
import pickle
import re
import signal
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import click

import fuzz_run
from fuzz_cases import Case, case_of
from saltline.cli import COMMANDS

PATIENCE_S = 60.0
"""A run that takes longer, whatever it waits for, is ended."""

SLOW_S = 3.0


@dataclass(slots=True)
class Tally:
    """What was run and found so far."""

    keep: Path
    runs: Counter[str] = field(default_factory=Counter)
    statuses: Counter[int] = field(default_factory=Counter)
    slowest: dict[str, float] = field(default_factory=dict)
    peak_mb: float = 0.0
    found: Counter[str] = field(default_factory=Counter)


@click.command()
@click.option("--minutes", default=5.0, show_default=True)
@click.option("--seed", "first_seed", default=1, show_default=True)
@click.option("--command", "commands", multiple=True, type=click.Choice(list(COMMANDS)))
@click.option(
    "--hostility", default=0.6, show_default=True, help="How often a file is no good one."
)
@click.option("--keep", type=click.Path(path_type=Path), help="Where to keep the files of a fault.")
def command(
    minutes: float, first_seed: int, commands: tuple[str, ...], hostility: float, keep: Path | None
) -> None:
    """Run fuzzed commands until the time is over; leave with status 1 where a fault was found."""
    tally = Tally(keep or Path(tempfile.mkdtemp(prefix="fuzz-")))
    _load_all()
    end = time.monotonic() + 60.0 * minutes
    number = first_seed
    while time.monotonic() < end:
        _one(number, case_of(number, commands or tuple(COMMANDS), hostility), tally)
        number += 1
    _summary(tally, first_seed, number)
    sys.exit(bool(tally.found))


def _load_all() -> None:
    """Load once what the runs would each load anew."""
    for name in ("matplotlib.figure", "scipy.optimize", "scipy.signal"):
        import_module(name)
    fuzz_run.run(Case(("new", "beam"), {}))


def _one(number: int, case: Case, tally: Tally) -> None:
    outcome = _apart(case)
    tally.runs[case.command] += 1
    if isinstance(outcome, str):
        found = [outcome]
    else:
        tally.statuses[outcome.status] += 1
        tally.slowest[case.command] = max(outcome.cpu_s, tally.slowest.get(case.command, 0.0))
        tally.peak_mb = max(tally.peak_mb, outcome.peak_mb)
        found = fuzz_run.faults(case, outcome)
        if outcome.cpu_s > SLOW_S:
            found.append(f"slow: {case.command}")
    for fault in found:
        kind = re.sub(r"[0-9]+(\.[0-9]+)?", "N", fault)[:100]
        tally.found[kind] += 1
        if tally.found[kind] <= 2:
            _tell(number, case, outcome, fault, tally)


def _apart(case: Case) -> fuzz_run.Outcome | str:
    """The outcome of a case in a process of its own, or how it had to be ended."""
    with tempfile.TemporaryDirectory() as folder:
        result = Path(folder) / "outcome"
        child = os.fork()
        if child == 0:
            _be_the_child(case, result)
        start = time.monotonic()
        while True:
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                break
            if time.monotonic() - start > PATIENCE_S:
                os.kill(child, signal.SIGKILL)
                os.waitpid(child, 0)
                return f"hangs: {case.command}"
            time.sleep(0.002)
        if not result.exists():
            return f"ended by {status}: {case.command}"
        loaded = pickle.loads(result.read_bytes())
        assert isinstance(loaded, (fuzz_run.Outcome, str))
        return loaded


def _be_the_child(case: Case, result: Path) -> None:
    try:
        made: fuzz_run.Outcome | str = fuzz_run.run(case)
    except fuzz_run.HangError as error:
        import traceback

        places = traceback.extract_tb(error.__traceback__)
        inside = [f"{Path(p.filename).name}:{p.name}" for p in places if "saltline" in p.filename]
        made = f"hangs: {case.command} in {' '.join(inside[-4:])}"
    result.write_bytes(pickle.dumps(made))
    os._exit(0)


def _tell(
    number: int, case: Case, outcome: fuzz_run.Outcome | str, fault: str, tally: Tally
) -> None:
    folder = tally.keep / str(number)
    folder.mkdir(parents=True, exist_ok=True)
    for name, content in case.files.items():
        if content != fuzz_run.KEPT:
            (folder / name).write_bytes(content)
    (folder / "case.pickle").write_bytes(pickle.dumps(case))
    print(f"--- {fault}\n    saltline {' '.join(map(repr, case.arguments))}\n    in {folder}")
    if not isinstance(outcome, str):
        told = (outcome.crash or outcome.stderr).strip().splitlines()
        print("\n".join(f"    | {line[:160]!r}" for line in told[-8:]), flush=True)


def _summary(tally: Tally, first: int, last: int) -> None:
    print(f"seeds {first} to {last - 1}: {sum(tally.runs.values())} runs")
    for name, count in sorted(tally.runs.items()):
        print(f"  {name:10}{count:6}  slowest {tally.slowest.get(name, 0.0):6.2f} s")
    print(f"statuses {dict(sorted(tally.statuses.items()))}, at most {tally.peak_mb:.0f} MB")
    for kind, count in tally.found.most_common():
        print(f"{count:5}  {kind}")
    print("nothing found" if not tally.found else f"kept in {tally.keep}")


if __name__ == "__main__":
    command()
