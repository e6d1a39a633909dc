"""Runs what the documentation shows; as a program it writes the outputs again.

A page is Markdown. A comment on the line before a fenced block says what the block is:

    <!-- specimen -->            a specimen file, which must load
    <!-- measured -->            a measured list, which must load
    <!-- specimen: reed.yaml --> the same, and it is written to reed.yaml for the commands below it
    <!-- measured: pad.csv -->   likewise
    <!-- file: slip.yaml -->     is written only
    <!-- output: saltline ... --> what that command prints

A block in the language `console` holds commands after "$ ", each followed by what a terminal shows:
standard output, then standard error. "$ echo $?" shows the exit status of the command before it.
Every page starts in a directory of its own that holds a copy of `examples`.

A picture `![...](img/NAME)` is the file NAME that a command of the page has written.

    python tests/refresh_docs.py        writes all outputs again
"""

from __future__ import annotations

import contextlib
import os
import re
import shlex
import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

ROOT = Path(__file__).resolve().parent.parent

PAGES = tuple(
    path.relative_to(ROOT).as_posix()
    for path in [*sorted(ROOT.glob("*.md")), *sorted((ROOT / "docs").glob("*.md"))]
)
"""Every page, the README among them, as a path from the root."""

_FENCE = re.compile(r"(```+)(\w*)\s*")
_PICTURE = re.compile(r"!\[[^\]]*\]\(img/([^)\s]+)\)")
_MARK = re.compile(r"<!-- *(\w+)(?:: *(.*?))? *-->")


@dataclass(frozen=True, slots=True)
class Block:
    """A fenced block.

    line:     of its opening fence, from 0; body: its text, every line ended.
    mark:     the word of the comment before it, "" for none; argument: what follows that word.
    """

    line: int
    language: str
    body: str
    mark: str = ""
    argument: str = ""


def blocks_of(text: str) -> list[Block]:
    """The fenced blocks of a page."""
    lines = text.split("\n")
    blocks: list[Block] = []
    start = 0
    while start < len(lines):
        fence = _FENCE.fullmatch(lines[start])
        if fence is None:
            start += 1
            continue
        end = lines.index(fence[1], start + 1)
        mark = _MARK.fullmatch(lines[start - 1]) if start else None
        body = "".join(line + "\n" for line in lines[start + 1 : end])
        word, argument = (mark[1], mark[2] or "") if mark else ("", "")
        blocks.append(Block(start, fence[2], body, word, argument))
        start = end + 1
    return blocks


def commands_of(block: Block) -> list[str]:
    """The commands that a block shows, without the prompt."""
    if block.mark == "output":
        return [block.argument]
    if block.language == "console":
        return [line[2:] for line in block.body.splitlines() if line.startswith("$ ")]
    return []


@dataclass(slots=True)
class Terminal:
    """Runs commands as a shell would, in this process; `status` is that of the last one."""

    status: int = 0

    def run(self, command: str) -> str:
        """What the terminal shows of one command: standard output, then standard error."""
        from saltline.cli import main

        if command == "echo $?":
            return f"{self.status}\n"
        program, *arguments = shlex.split(command)
        assert program == "saltline", f"the pages run saltline alone, not {command!r}"
        result = CliRunner().invoke(main, arguments, prog_name="saltline", terminal_width=80)
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        self.status = result.exit_code
        return result.stdout + result.stderr


@contextlib.contextmanager
def scratch_directory() -> Iterator[Path]:
    """A directory to work in that holds a copy of the examples; it is the current one meanwhile."""
    with tempfile.TemporaryDirectory() as name:
        shutil.copytree(ROOT / "examples", Path(name) / "examples")
        before = Path.cwd()
        os.chdir(name)
        try:
            yield Path(name)
        finally:
            os.chdir(before)


@dataclass(frozen=True, slots=True)
class Shown:
    """A page once its commands are run.

    bodies:   each block with the body that it has then.
    pictures: the pictures of the page by name, as they were drawn.
    """

    bodies: tuple[tuple[Block, str], ...]
    pictures: Mapping[str, bytes]


def as_run(text: str) -> Shown:
    """What the commands of a page print and draw."""
    found: list[tuple[Block, str]] = []
    terminal = Terminal()
    with scratch_directory() as directory:
        for block in blocks_of(text):
            body = block.body
            if block.mark in ("specimen", "measured", "file") and block.argument:
                (directory / block.argument).write_text(body, encoding="utf-8")
            if block.mark == "output":
                body = terminal.run(block.argument)
            elif commands_of(block):
                body = "".join(f"$ {c}\n{terminal.run(c)}" for c in commands_of(block))
            found.append((block, body))
        drawn = {name: (directory / name).read_bytes() for name in _PICTURE.findall(text)}
    return Shown(tuple(found), drawn)


def refreshed(text: str, shown: Shown) -> str:
    """The page with every output as it is now."""
    lines = text.split("\n")
    for block, body in reversed(shown.bodies):
        first = block.line + 1
        lines[first : first + block.body.count("\n")] = body.split("\n")[:-1]
    return "\n".join(lines)


def main() -> None:
    """Write the outputs and pictures of every page again, and say which changed."""
    for page in PAGES:
        file = ROOT / page
        old = file.read_text(encoding="utf-8")
        shown = as_run(old)
        new = refreshed(old, shown)
        if new != old:
            file.write_text(new, encoding="utf-8")
            sys.stdout.write(f"{page}: outputs written again\n")
        for name, content in shown.pictures.items():
            picture = ROOT / "docs" / "img" / name
            if not picture.exists() or picture.read_bytes() != content:
                picture.parent.mkdir(exist_ok=True)
                picture.write_bytes(content)
                sys.stdout.write(f"docs/img/{name}: drawn again\n")


if __name__ == "__main__":
    main()
