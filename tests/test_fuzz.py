"""Bad input of every kind: each command says what is wrong, and neither crashes, hangs nor spoils.

The same runs for minutes, with other numbers: python tests/fuzz_long.py --minutes 5 --seed 1.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import fuzz_run
from fuzz_cases import KEPT, KEPT_NAMES, Case, case_of
from fuzz_texts import good
from saltline.cli import COMMANDS

RUNS_OF_EACH = 16
COSTLY = ("report", "draw")
"""Of these there are fewer here; a good page takes a second."""


@pytest.mark.parametrize("command", COMMANDS)
def test_whatever_the_input_a_command_answers_in_words(command: str) -> None:
    number = RUNS_OF_EACH // 3 if command in COSTLY else RUNS_OF_EACH
    first = 7000 + 100 * list(COMMANDS).index(command)
    for case_number in range(first, first + number):
        case = case_of(case_number, (command,), 0.85)
        found = fuzz_run.faults(case, fuzz_run.run(case))
        assert not found, f"seed {case_number}: {case.arguments}: {found}"


@pytest.mark.parametrize("number", range(4))
def test_as_a_process_it_holds_little_memory_and_prints_no_traceback(
    number: int, tmp_path: Path
) -> None:
    """The whole program, with its memory limited; the standard output is a file."""
    case = case_of(8000 + number, ("predict", "check", "plan", "pick"), 0.85)
    for name, content in case.files.items():
        (tmp_path / name).write_bytes(content)
    largest = fuzz_run.LARGEST_MB * 2**20

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_DATA, (largest, largest))
        resource.setrlimit(resource.RLIMIT_CPU, (int(fuzz_run.LONGEST_S),) * 2)

    done = subprocess.run(
        [sys.executable, "-c", "from saltline.cli import main; main()", *case.arguments],
        input=case.input,
        capture_output=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONWARNINGS": "error"},
        preexec_fn=limit,
        timeout=60,
    )
    assert done.returncode in (0, 1, 2), done.stderr
    assert b"Traceback" not in done.stderr
    assert done.returncode == 0 or done.stdout == b"" or case.command == "check"


# -- the judge ------------------------------------------------------------------------------------


def outcome(**changes: object) -> fuzz_run.Outcome:
    """That of a run in which nothing happened."""
    silent = fuzz_run.Outcome(0, "", "", "", dict.fromkeys(KEPT_NAMES, KEPT), 0.1, 100.0)
    return replace(silent, **changes)  # type: ignore[arg-type]


CASE = Case(("predict", "specimen.yaml"), dict.fromkeys(KEPT_NAMES, KEPT))


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"crash": "Traceback\nIndexError: no"}, "crashed: IndexError: no"),
        ({"status": 1}, "left with status 1"),
        ({"status": -11}, "left with status -11"),
        ({"status": 2}, "says nothing of what is wrong"),
        ({"peak_mb": 1001.0}, "held 1001 MB"),
        ({"stderr": "RuntimeWarning: overflow\n"}, "shows its innards"),
        ({"stdout": "\x1b[31m\n"}, "prints ['\\x1b']"),
        ({"stdout": "1  nan  3\n"}, "prints a number that is none"),
        ({"stdout": '{"a": NaN}\n'}, "prints JSON that is none"),
        ({"status": 2, "stderr": "a.yaml:1:1: no\na.yaml:1:1: no\n"}, "says twice"),
        ({"files": {}}, "kept.pdf is no longer what it was"),
        ({"files": CASE.files | {"out.pdf": b"%PD"}}, "out.pdf begins with"),
        ({"status": 2, "stderr": "no\n", "files": CASE.files | {".x": b"1"}}, "failed, yet left"),
    ],
)
def test_the_judge_sees_each_fault(changes: dict[str, object], fault: str) -> None:
    assert fuzz_run.faults(CASE, outcome()) == []
    found = fuzz_run.faults(CASE, outcome(**changes))
    assert any(one.startswith(fault) for one in found), found


def test_a_run_that_does_not_end_is_stopped() -> None:
    with pytest.raises(fuzz_run.HangError), fuzz_run.limited(0.05):
        while True:
            pass


def test_a_case_is_the_same_whenever_its_number_is_called() -> None:
    cases = [case_of(number) for number in range(40)]
    assert cases == [case_of(number) for number in range(40)]
    assert len({case.files["specimen.yaml"] for case in cases}) > 20
    assert {case.command for case in cases} == set(COMMANDS)
    assert sum(case.files["specimen.yaml"].decode(errors="replace") in good("specimen")
               for case in cases) > 5  # fmt: skip
