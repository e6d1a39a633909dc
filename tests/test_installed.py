"""The package as it is installed: every module and data file is in it, and it runs on its own."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import version
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCE = ROOT / "src"

pytestmark = pytest.mark.skipif(
    importlib.util.find_spec("setuptools") is None, reason="setuptools is not there to build with"
)


def can_make_wheels() -> bool:
    """Whether setuptools has wheels of its own (from 70.1 on), or the package for them is there."""
    major, minor = (int(part) for part in version("setuptools").split(".")[:2])
    return (major, minor) >= (70, 1) or importlib.util.find_spec("wheel") is not None


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the package as a wheel installs it, made from a copy of the source."""
    copy, target = tmp_path_factory.mktemp("source"), tmp_path_factory.mktemp("target")
    for name in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / name, copy)
    shutil.copytree(
        SOURCE / "saltline", copy / "src" / "saltline", ignore=shutil.ignore_patterns("__pycache__")
    )
    if can_make_wheels():
        pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-index"]
        run_in(copy, *pip, "--no-build-isolation", "--wheel-dir", "made", ".")
        (wheel,) = (copy / "made").glob("saltline-*.whl")
        with zipfile.ZipFile(wheel) as archive:
            archive.extractall(target)
    else:
        # The step of the build that says what is in a wheel.
        setup = "from setuptools import setup; setup()"
        run_in(copy, sys.executable, "-c", setup, "--quiet", "build", "--build-lib", str(target))
    return target


def run_in(folder: Path, *command: str, path: str = "") -> str:
    """The standard output of a command that must succeed; path: PYTHONPATH."""
    done = subprocess.run(
        command,
        cwd=folder,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env={**os.environ, "PYTHONPATH": path, "PYTHONUTF8": "1"},
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def files_of(folder: Path) -> set[str]:
    """The files of the package below a folder, without what Python compiles."""
    return {
        path.relative_to(folder).as_posix()
        for path in (folder / "saltline").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }


def test_every_module_and_data_file_is_in_it(installed: Path) -> None:
    assert files_of(installed) == files_of(SOURCE)
    assert "saltline/py.typed" in files_of(installed)


def test_every_folder_of_modules_is_a_package() -> None:
    for path in (SOURCE / "saltline").rglob("*.py"):
        assert (path.parent / "__init__.py").exists(), path


def test_it_predicts_without_the_source(installed: Path, tmp_path: Path) -> None:
    shutil.copy(ROOT / "examples" / "clamped-reed.yaml", tmp_path / "reed.yaml")
    where = run_in(
        tmp_path, sys.executable, "-c", "import saltline; print(saltline.__file__)",
        path=str(installed),
    )  # fmt: skip
    assert Path(where.strip()).is_relative_to(installed)
    command = [sys.executable, "-m", "saltline", "predict", "reed.yaml", "--modes", "1"]
    output = run_in(tmp_path, *command, "--format", "csv", path=str(installed))
    assert output.splitlines()[1].startswith("1,flatwise,1,0,26.03")


def test_the_entry_is_that_of_the_module(installed: Path) -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    module, _, name = project["scripts"]["saltline"].partition(":")
    code = f"from {module} import {name}; {name}(prog_name='saltline')"
    output = run_in(installed, sys.executable, "-c", code, "--version", path=str(installed))
    assert output == f"saltline {project['version']}\n"
