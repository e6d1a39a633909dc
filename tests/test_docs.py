"""The pages: every command runs and prints what is shown, every file loads, every link leads on."""

from __future__ import annotations

import importlib
import re
import shlex
import struct
import subprocess
from collections.abc import Iterable

import click
import pytest
from click.testing import CliRunner

from refresh_docs import PAGES, ROOT, Terminal, as_run, blocks_of, commands_of, scratch_directory
from saltline import units
from saltline.cli import COMMANDS, main
from saltline.files import measured
from saltline.files.fields import Fields, Value
from saltline.files.measured import load_measured, read_measured
from saltline.files.rig_file import load_rig, read_rig
from saltline.files.specimen_file import load, read_specimen
from saltline.files.starter import starter
from saltline.quantity import KINDS
from saltline.section import SHAPES
from saltline.specimen import BOUNDARY_WORDS, EDGES


def page(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


FILES, THEORY, README = page("docs/files.md"), page("docs/theory.md"), page("README.md")


# -- what the pages show --------------------------------------------------------------------------


@pytest.mark.parametrize("name", PAGES)
def test_outputs_are_as_shown(name: str) -> None:
    shown = as_run(page(name))
    for block, body in shown.bodies:
        at = f"{name}:{block.line + 1}: run python tests/refresh_docs.py"
        assert body == block.body, at
    for picture, content in shown.pictures.items():
        kept = (ROOT / "docs" / "img" / picture).read_bytes()
        # Another version of the drawing library moves a pixel; the size tells an old picture.
        assert png_size(content) == png_size(kept), f"{picture}: run python tests/refresh_docs.py"


def png_size(content: bytes) -> tuple[int, int]:
    """Width and height, pixels (ISO/IEC 15948, section 11.2.2)."""
    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    width, height = struct.unpack(">II", content[16:24])
    return width, height


@pytest.mark.parametrize("name", PAGES)
def test_shown_files_load(name: str) -> None:
    for block in blocks_of(page(name)):
        if block.mark == "specimen":
            read_specimen(block.body)
        elif block.mark == "measured":
            read_measured(block.body)
        elif block.mark == "rig":
            read_rig(block.body)


@pytest.mark.parametrize("name", PAGES)
def test_every_block_is_run_or_says_what_it_is(name: str) -> None:
    for block in blocks_of(page(name)):
        where = f"{name}:{block.line + 1}"
        if block.language == "console":
            assert commands_of(block), where
            assert block.body.startswith("$ "), where
        elif block.language in ("yaml", "csv"):
            assert block.mark in ("specimen", "measured", "rig", "file"), where
        else:
            assert block.language == "", where


@pytest.mark.parametrize("name", PAGES)
def test_links_lead_somewhere(name: str) -> None:
    prose = without_blocks(page(name))
    for target in re.findall(r"\[[^\]]*\]\(([^)\s]+)\)", prose):
        if target.startswith("https://"):
            continue
        file, _, heading = target.partition("#")
        path = (ROOT / name).parent / file if file else ROOT / name
        assert path.exists(), f"{name}: {target}"
        if heading:
            assert heading in anchors(path.read_text(encoding="utf-8")), f"{name}: {target}"


def without_blocks(text: str) -> str:
    """The page without its fenced blocks."""
    lines = text.split("\n")
    for block in reversed(blocks_of(text)):
        del lines[block.line : block.line + block.body.count("\n") + 2]
    return "\n".join(lines)


def anchors(text: str) -> set[str]:
    """What a link to a heading of this page ends in."""
    headings = re.findall(r"^#+ (.*)$", without_blocks(text), flags=re.MULTILINE)
    return {re.sub(r"[^\w -]", "", h.lower()).strip().replace(" ", "-") for h in headings}


@pytest.mark.parametrize("name", PAGES)
def test_prose_is_wrapped(name: str) -> None:
    for line in without_blocks(page(name)).split("\n"):
        assert len(line) <= 112 or line.startswith(("|", "    ", "<!--")), line


def test_the_examples_read_well() -> None:
    files = [p for p in (ROOT / "examples").iterdir() if p.is_file()]
    lists = [p for p in files if ".measured." in p.name]
    rigs = [p for p in files if ".rig." in p.name]
    sweeps = [p for p in files if ".sweep." in p.name]
    others = [p for p in files if p not in [*lists, *rigs, *sweeps]]
    lists += sorted((ROOT / "examples" / "reed-lot").glob("*.csv"))
    assert lists
    assert rigs
    for path in others:
        load(path)
    for path in lists:
        load_measured(path)
    for path in rigs:
        load_rig(path)


# -- the README -----------------------------------------------------------------------------------


def command_below(mark: str) -> str:
    """The indented command below a comment of the README."""
    found = re.findall(rf"^<!-- {mark} -->\n\n    (.*)\n\n", README, flags=re.MULTILINE)
    assert len(found) == 1
    return str(found[0])


def test_the_readme_has_two_set_up_commands() -> None:
    marked = {command_below("run"), command_below("test")}
    prose = without_blocks(README)
    indented = {line.strip() for line in prose.split("\n") if line.startswith("    ")}
    assert len(marked) == 2
    assert marked == indented


def test_the_run_command_ends_in_the_output_that_is_shown() -> None:
    shown = [block.argument for block in blocks_of(README) if block.mark == "output"]
    assert len(shown) == 1
    assert command_below("run").endswith("/" + shown[0])


def test_the_checks_run_the_readmes_test_command() -> None:
    script = page(".ci/run")
    extraction = re.findall(r"^test_command=.*$", script, flags=re.MULTILINE)
    assert len(extraction) == 1
    shell = ["bash", "-c", f'set -euo pipefail; {extraction[0]}; printf %s "$test_command"']
    done = subprocess.run(shell, cwd=ROOT, capture_output=True, text=True, check=True, timeout=60)
    assert done.stdout == command_below("test")
    subprocess.run(["bash", "-n", ".ci/run"], cwd=ROOT, check=True, timeout=60)
    assert "bash .ci/run" in page("DEVELOPERS.md")


def table_commands() -> list[str]:
    """The commands of the README's table of the job, in its order."""
    return re.findall(r"^\|[^|]*\| `(saltline [^`]*)` \|$", README, flags=re.MULTILINE)


def test_the_readmes_job_can_be_done_in_its_order() -> None:
    kept = {block.mark: block.body for block in blocks_of(README)}
    with scratch_directory() as directory:
        (directory / "pad.csv").write_text(kept["measured"], encoding="utf-8")
        terminal = Terminal()
        for command in table_commands():
            terminal.run(command)
            # The list belongs to another reed than the one that `new` writes.
            assert terminal.status == (0 if "check" not in command else terminal.status), command
            assert terminal.status < 2, command
        (directory / "reed.yaml").write_text(kept["specimen"], encoding="utf-8")
        terminal.run("saltline check reed.yaml pad.csv")
        assert terminal.status == 1


def test_every_command_is_in_the_readmes_table() -> None:
    assert {command.split()[1] for command in table_commands()} == set(COMMANDS)


# -- the help -------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_has_an_example_that_parses(name: str) -> None:
    result = CliRunner().invoke(main, [name, "--help"], terminal_width=500)
    assert result.exit_code == 0
    examples = re.findall(r"^ *Example: (.*)$", result.stdout, flags=re.MULTILINE)
    assert len(examples) == 1
    program, command, *arguments = shlex.split(examples[0])
    assert (program, command) == ("saltline", name)
    found = main.get_command(click.Context(main), name)
    assert found is not None
    context = found.make_context(name, list(arguments))
    assert context.params


# -- files.md names everything --------------------------------------------------------------------


def spoken_of(text: str) -> set[str]:
    """Everything that a page sets in code."""
    return set(re.findall(r"`([^`]+)`", without_blocks(text)))


@pytest.fixture(scope="module")
def asked_for() -> dict[str, set[str]]:
    """The keys that the readers allow and the kinds of quantities that they take, by use."""
    found: dict[str, set[str]] = {"keys": set(), "kinds": set()}
    allow, quantity = Fields.allow, Value.quantity

    def noting_allow(self: Fields, *keys: str) -> None:
        found["keys"] |= set(keys)
        allow(self, *keys)

    def noting_quantity(self: Value, kind: str, **limits: float) -> object:
        found["kinds"].add(kind)
        return quantity(self, kind, **limits)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Fields, "allow", noting_allow)
        patch.setattr(Value, "quantity", noting_quantity)
        for text in specimen_texts():
            read_specimen(text)
        read_measured("measured: [{frequency: 26.1 Hz}]")
        read_measured("measured: [{frequency_hz: 26.1}]")
        read_rig(page("examples/small.rig.yaml"))
    return found


def specimen_texts() -> Iterable[str]:
    """Specimen files that have, together, every part that there is."""
    yield from (starter(kind, "any") for kind in EDGES)
    for path in sorted((ROOT / "tests" / "good").glob("*.yaml")):
        yield path.read_text(encoding="utf-8")
    for name in PAGES:
        yield from (block.body for block in blocks_of(page(name)) if block.mark == "specimen")


def test_every_key_is_named(asked_for: dict[str, set[str]]) -> None:
    assert {"kind", "section_start", "hole_diameter", "lines_x", "layout"} <= asked_for["keys"]
    assert asked_for["keys"] - spoken_of(FILES) == set()


def test_every_kind_of_quantity_is_named(asked_for: dict[str, set[str]]) -> None:
    rows = re.findall(r"^\| ([^|]+?) \| ([^|]*?) ?\| `", FILES, flags=re.MULTILINE)
    due = {(KINDS[kind].noun, KINDS[kind].si) for kind in asked_for["kinds"]}
    assert due - set(rows) == set()


def test_every_unit_is_named_and_known() -> None:
    table = FILES.partition("### Units")[2].partition("\n\nPrefixes")[0]
    named = spoken_of(table)
    assert set(units.KNOWN) - named == set()
    for unit in named:
        units.parse_unit(unit, g_is_acceleration=False)


def test_every_shape_is_named_with_its_dimensions() -> None:
    for name, shape in SHAPES.items():
        row = re.search(rf"^\| `{name}` \|([^|]*)\|([^|]*)\|$", FILES, flags=re.MULTILINE)
        assert row is not None, name
        assert spoken_of(row[1]) == set(shape.required), name
        assert spoken_of(row[2]) == set(shape.optional), name


def test_every_shape_is_shown() -> None:
    shown = {shape for shape in SHAPES if f"shape: {shape}" in FILES}
    assert shown == set(SHAPES)


def test_every_edge_and_every_way_of_holding_it_is_named() -> None:
    words = {word for edges in EDGES.values() for word in edges} | set(BOUNDARY_WORDS)
    assert words | set(EDGES) <= spoken_of(FILES)


def test_every_column_of_a_list_is_named() -> None:
    assert {*measured.KNOWN, *measured.FAMILIES} <= spoken_of(FILES)
    for number in (measured.MOST_ROWS, measured.MOST_COUNT):
        assert re.search(rf"\b{number}\b", FILES)


# -- theory.md says what the code does ------------------------------------------------------------


NAMING = page("docs/identification.md")
NAMING_ROOMS = (
    "pairing", "chances", "alignment", "counted", "identify", "findings", "suspects", "unseen",
    "misfit", "residuals", "softer", "elsewhere", "beam_ended",
)  # fmt: skip
"""The rooms whose choices docs/identification.md lists, all of them."""


def constants() -> list[tuple[str, str]]:
    """The rows of the tables of constants: name in the code, value as printed."""
    tables = THEORY.partition("## Constants")[2].partition("## Sources")[0]
    tables += NAMING.partition("## Constants")[2]
    return re.findall(r"^\| `(\S+)` \| ([^|]+) \|", tables, flags=re.MULTILINE)


@pytest.mark.parametrize(("name", "printed"), constants())
def test_constants_are_as_printed(name: str, printed: str) -> None:
    module, _, constant = name.rpartition(".")
    value = getattr(importlib.import_module(f"saltline.{module}"), constant)
    values = value if isinstance(value, tuple) else (value,)
    assert tuple(float(part) for part in printed.split(",")) == values


def test_the_table_of_constants_is_whole() -> None:
    printed = {name for name, _ in constants()}
    for room in NAMING_ROOMS:
        source = (ROOT / "src" / "saltline" / "naming" / f"{room}.py").read_text(encoding="utf-8")
        choices = re.findall(r"^([A-Z][A-Z_]*(?:, [A-Z_]+)*) = [(\d]", source, flags=re.MULTILINE)
        assert {
            f"naming.{room}.{name}" for names in choices for name in names.split(", ")
        } <= printed


def test_numbers_in_the_weights_are_those_of_the_table() -> None:
    prose = NAMING.partition("## Constants")[0]
    for name, printed in constants():
        if name.startswith(("naming.pairing.", "naming.counted.")):
            for number in printed.split(","):
                assert number.strip() in prose or f"{1 - float(number):.2g}" in prose, name
