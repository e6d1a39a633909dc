"""The tab key: commands, options, their choices, and files, by click's own completion."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete

from saltline.cli import COMMANDS, main

ROOT = Path(__file__).parent.parent
LINE = 'eval "$(_SALTLINE_COMPLETE=bash_source saltline)"'


def completed(*words: str) -> list[tuple[str, str]]:
    """What the last word may become, each with its type: "plain" or "file"."""
    complete = ShellComplete(main, {}, "saltline", "_SALTLINE_COMPLETE")
    items = complete.get_completions(list(words[:-1]), words[-1])
    return [(item.value, item.type) for item in items]


def plain(*words: str) -> list[str]:
    found = completed(*words)
    assert {kind for _, kind in found} <= {"plain"}
    return [value for value, _ in found]


def test_commands_are_completed() -> None:
    assert plain("") == list(COMMANDS)
    assert plain("pl") == ["plan"]
    assert plain("p") == ["predict", "pick", "plan"]


@pytest.mark.parametrize("command", [name for name in COMMANDS if name not in ("new", "materials")])
def test_specimens_lists_and_sweeps_are_files(command: str) -> None:
    assert completed(command, "ree") == [("ree", "file")]


@pytest.mark.parametrize(
    ("words", "choices"),
    [
        (("new", ""), ["beam", "plate", "disc", "rig"]),
        (("predict", "--theory", ""), ["timoshenko", "euler"]),
        (("predict", "reed.yaml", "--family", "e"), ["edgewise"]),
        (("mark", "--format", ""), ["table", "json", "csv"]),
        (("draw", "reed.yaml", "--as", "m"), ["modes", "map"]),
        (("report", "--paper", ""), ["a4", "letter"]),
        (("predict", "--be"), ["--below"]),
        (("fit", "reed.yaml", "--no"), ["--no-priors"]),
    ],
)
def test_options_and_their_choices_are_completed(
    words: tuple[str, ...], choices: list[str]
) -> None:
    assert plain(*words) == choices


@pytest.mark.parametrize(
    "words",
    [
        ("plan", "reed.yaml", "--rig", ""),
        ("draw", "--measured", "p"),
        ("mark", "--template", "t"),
        ("pick", "--list", ""),
        ("fit", "--write", ""),
        ("new", "beam", "my"),
    ],
)
def test_options_that_name_a_file_complete_files(words: tuple[str, ...]) -> None:
    assert completed(*words) == [(words[-1], "file")]


def test_the_readme_has_the_line_for_the_shell() -> None:
    assert f"`{LINE}`" in (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.skipif(not shutil.which("bash"), reason="there is no bash to try it in")
def test_bash_takes_the_line_and_then_completes(tmp_path: Path) -> None:
    """The shell function that click writes, called as bash calls it when the tab key is pressed."""
    program = tmp_path / "saltline"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m saltline "$@"\n')
    program.chmod(0o755)
    script = (
        f"{LINE}\n"
        "complete -p saltline\n"
        "COMP_WORDS=(saltline predict --theory eu) COMP_CWORD=3\n"
        '_saltline_completion saltline eu --theory\necho "${COMPREPLY[@]}"\n'
    )
    path = f"{tmp_path}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["bash", "--norc", "-c", script],
        capture_output=True, text=True, env={**os.environ, "PATH": path}, timeout=60, check=True,
    )  # fmt: skip
    assert done.stderr == ""
    assert done.stdout.splitlines()[0].endswith("-F _saltline_completion saltline")
    assert done.stdout.splitlines()[-1] == "euler"
