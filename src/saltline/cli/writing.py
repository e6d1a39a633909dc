"""Files that appear whole or not at all, and never over another unless that is asked for."""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import click

from saltline.cli.common import fail
from saltline.words import visible


def refuse_target(path: Path, *, force: bool) -> None:
    """Refuse a name under which no file can be written, or may without `force`."""
    if path.is_dir():
        fail(f"{path}: this is a directory; name a file in it")
    if path.exists() and not path.is_file():
        # Renaming over a device would put a plain file in its place.
        fail(f"{path}: this is no plain file; choose another name")
    if path.exists() and not force:
        fail(f"{path}: the file exists already; choose another name, or give --force")


def write_all(files: Sequence[tuple[Path, bytes]], *, force: bool) -> None:
    """Write several files and say which: all of them, or none where one cannot be written."""
    _write(files, force=force)
    for path, _ in files:
        click.echo(f"wrote {visible(str(path))}", err=True)


def write_whole(path: Path, content: bytes, *, force: bool) -> None:
    """Write a file that appears whole or not at all, and never over another without `force`."""
    _write([(path, content)], force=force)


def _write(files: Sequence[tuple[Path, bytes]], *, force: bool) -> None:
    """Every file is written under another name first, so that all appear or all is as before."""
    for path, _ in files:
        refuse_target(path, force=force)
    staged: list[tuple[str, Path]] = []
    shown = Path()
    try:
        for shown, content in files:
            target = shown.resolve()  # a link stays a link: what it leads to is written
            staged.append((_staged(target, content), target))
        for name, target in staged:
            Path(name).replace(target)
    except OSError as error:
        for name, _ in staged:
            Path(name).unlink(missing_ok=True)
        fail(f"{shown}: cannot be written: {error.strerror or error}")


def _staged(path: Path, content: bytes) -> str:
    """The name of a new file beside `path` with this content, and the rights that it will have."""
    import tempfile  # which loads a dozen modules that a refused target need not wait for

    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name[:100]}.")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        umask = os.umask(0)
        os.umask(umask)
        Path(name).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~umask)
    except OSError:
        Path(name).unlink(missing_ok=True)
        raise
    return name
