"""Running one fuzzed command in a folder of its own, and judging whether it behaved."""

from __future__ import annotations

import contextlib
import json
import re
import resource
import signal
import tempfile
import time
import traceback
import warnings
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from fuzz_cases import KEPT, Case
from saltline.cli import main

LONGEST_S = 10.0
"""No run may take more of the processor's time."""

LARGEST_MB = 1000
"""No run may ever hold more memory."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a run left: status, what it said, how it crashed, the files in its folder, its cost."""

    status: int
    stdout: str
    stderr: str
    crash: str
    files: Mapping[str, bytes]
    cpu_s: float
    peak_mb: float


class HangError(BaseException):
    """The time is over; not an Exception, so that no handler of the program takes it."""


def run(case: Case) -> Outcome:
    """Run a case in this process, in a temporary folder."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, content in case.files.items():
            (folder / file).write_bytes(content)
        start = time.process_time()
        with contextlib.chdir(folder), limited(LONGEST_S), warnings.catch_warnings():
            warnings.simplefilter("error")
            result = CliRunner().invoke(main, list(case.arguments), input=case.input)
        crash = ""
        if result.exception and not isinstance(result.exception, SystemExit):
            crash = "".join(traceback.format_exception(*result.exc_info))  # type: ignore[misc]
        after = {p.name: p.read_bytes() for p in folder.iterdir() if p.is_file()}
        cpu = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return Outcome(result.exit_code, result.stdout, result.stderr, crash, after, cpu, peak)


@contextlib.contextmanager
def limited(seconds: float) -> Iterator[None]:
    """Raise HangError when so much of the processor's time is used up."""

    def stop(number: int, frame: object) -> None:
        raise HangError(f"more than {seconds} s")

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


# -- judging --------------------------------------------------------------------------------------

_INNARDS = re.compile(r"Traceback|<class|object at 0x|Error:(?! )|np\.float|\bNoneType\b|Warning:")
_MAGIC = {
    ".pdf": b"%PDF", ".png": b"\x89PNG", ".svg": b"<?xml", ".gif": b"GIF8", ".md": b"# ",
}  # fmt: skip


def faults(case: Case, outcome: Outcome) -> list[str]:
    """What was wrong with a run; none where it did as it should."""
    if outcome.crash:
        return [f"crashed: {outcome.crash.strip().splitlines()[-1]}"]
    found = []
    may_disagree = case.command in ("check", "fit")  # with what was measured
    if outcome.status not in (0, 1, 2) or (outcome.status == 1 and not may_disagree):
        found.append(f"left with status {outcome.status}")
    if outcome.peak_mb > LARGEST_MB:
        found.append(f"held {outcome.peak_mb:.0f} MB")
    return [*found, *_said_badly(outcome), *_written_badly(case, outcome)]


def _said_badly(outcome: Outcome) -> list[str]:
    found = []
    said = outcome.stdout + outcome.stderr
    if inner := _INNARDS.search(said):
        found.append(f"shows its innards: {inner[0]!r}")
    strange = sorted({c for c in said if not c.isprintable() and c != "\n"})
    if strange:
        found.append(f"prints {strange!r}")
    lines = [line for line in outcome.stderr.splitlines() if line]
    if outcome.status == 2 and not lines:
        found.append("says nothing of what is wrong")
    is_several = lines and lines[-1].endswith("could not be done")
    complaints = (
        [] if is_several else [line for line in lines if re.match(r"\S+:\d+:\d+: |note: ", line)]
    )
    if twice := {line for line in complaints if complaints.count(line) > 1}:
        found.append(f"says twice {sorted(twice)[0]!r}")
    if outcome.status in (0, 1) and re.search(
        r"(?<![A-Za-z])(nan|inf)(?![A-Za-z])", outcome.stdout
    ):
        found.append("prints a number that is none")
    if outcome.status in (0, 1) and outcome.stdout.startswith("{"):
        try:
            json.loads(outcome.stdout, parse_constant=_no_number)
        except ValueError as error:
            found.append(f"prints JSON that is none: {error}")
    return found


def _no_number(text: str) -> None:
    raise ValueError(f"{text} is no JSON")


def _written_badly(case: Case, outcome: Outcome) -> list[str]:
    found = []
    for name, content in case.files.items():
        may_change = case.is_forced and outcome.status == 0 and content == KEPT
        if outcome.files.get(name) != content and not may_change:
            found.append(f"{name} is no longer what it was")
    new = {name: data for name, data in outcome.files.items() if case.files.get(name) != data}
    if outcome.status == 2 and new and "could not be done" not in outcome.stderr:
        found.append(f"failed, yet left {sorted(new)}")
    for name, data in new.items():
        magic = _MAGIC.get(Path(name).suffix.lower(), b"")
        if not data.startswith(magic) or not data:
            found.append(f"{name} begins with {data[:12]!r}")
    return found
