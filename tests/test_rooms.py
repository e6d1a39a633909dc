"""The rooms: nothing imports upward, and a command loads no more than it needs."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "saltline"

LEVELS = (
    ("arrays", "units", "words"),
    ("quantity",),
    ("material", "section"),
    ("specimen",),
    ("quantities_of", "starter"),
    ("document",),
    ("fields",),
    ("specimen_parts",),
    ("specimen_places",),
    ("specimen_file",),
    ("basis", "eigen", "functional"),
    ("cubature", "potentials", "problem"),
    ("singular", "sources"),
    ("plate_singular", "plate_space"),
    ("plate_supports",),
    ("plate_axes", "plate_shape"),
    ("mixed_shape", "motions", "plate", "radial"),
    ("beam", "disc"),
    ("modes",),
    ("nodelines", "nodecircles"),
    ("nodes",),
    ("effects", "facts", "measured", "pairs", "spread", "strip"),
    ("drive", "identify"),
    ("check", "mixture"),
    ("study",),
    ("show.table",),
    ("show.beyond", "show.checked", "show.materials", "show.output", "show.predicted"),
    ("cli.common",),
    ("cli.new", "cli.predict", "cli.mark", "cli.check", "cli.materials"),
    ("show", "cli", ""),
)
"""The rooms from the bottom to the top; those of one level do not know each other. "" is the
package itself."""

LEVEL = {name: level for level, names in enumerate(LEVELS) for name in names}


def modules() -> dict[str, Path]:
    """Name within the package -> file."""
    found = {}
    for path in SOURCE.rglob("*.py"):
        parts = path.relative_to(SOURCE).with_suffix("").parts
        found[".".join(part for part in parts if part != "__init__")] = path
    return found


def imports_of(path: Path) -> Iterator[str]:
    """The modules of the package that a file imports, anywhere in it, by their names within it."""
    known = modules()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: relative import"
            module = node.module or ""
            inner = [f"{module}.{alias.name}" for alias in node.names]
            names = [n if n.removeprefix("saltline.") in known else module for n in inner]
        else:
            continue
        for name in names:
            if name == "saltline" or name.startswith("saltline."):
                yield name.removeprefix("saltline").removeprefix(".")


def test_every_module_has_its_level() -> None:
    assert sorted(modules()) == sorted(LEVEL), "a new module must be entered in LEVELS"


@pytest.mark.parametrize("name", sorted(modules()))
def test_nothing_imports_upward(name: str) -> None:
    for imported in imports_of(modules()[name]):
        assert LEVEL[imported] < LEVEL[name], f"{name or 'saltline'} imports {imported}"


# -- what is loaded -------------------------------------------------------------------------------


def loaded_by(*arguments: str) -> set[str]:
    """The modules that are loaded once the command has run, in a process of its own."""
    code = (
        "import sys\n"
        "from saltline.cli import main\n"
        "try:\n"
        "    main(sys.argv[1:])\n"
        "finally:\n"
        "    sys.stderr.write('\\n'.join(sys.modules))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=ROOT,
        env={**os.environ, "PYTHONUTF8": "1"},
        timeout=120,
        check=True,
    )
    assert done.stdout
    return set(done.stderr.split("\n"))


def test_help_loads_nothing_heavy() -> None:
    loaded = loaded_by("--help")
    assert not loaded & {"numpy", "scipy", "yaml", "matplotlib"}
    assert {name for name in loaded if name.startswith("saltline.")} == {"saltline.cli"}


def test_a_beam_prediction_loads_only_what_it_needs() -> None:
    loaded = loaded_by("predict", "examples/clamped-reed.yaml")
    unneeded = {
        "matplotlib", "contourpy", "mpmath", "scipy.constants", "scipy.integrate",
        "scipy.interpolate", "scipy.optimize", "scipy.signal", "scipy.special", "scipy.stats",
    }  # fmt: skip
    assert {"numpy", "scipy.linalg", "yaml", "saltline.beam"} <= loaded
    assert not loaded & unneeded
