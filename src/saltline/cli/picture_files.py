"""What the commands share that write pictures and templates: names of files, endings, ranks."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.common import fail, write_whole
from saltline.words import listed

if TYPE_CHECKING:
    from saltline.modes import Modes
    from saltline.show.table import LengthUnit

TEMPLATE_ENDINGS = (".pdf", ".svg")

MOST_ON_TEMPLATE = 10
"""A template holds no more modes than there are kinds of lines (`show.template.MOST_MODES`)."""

force_option = click.option("--force", is_flag=True, help="Write over an existing file.")

paper_option = click.option(
    "--paper",
    type=click.Choice(("a4", "letter", "whole"), case_sensitive=False),
    help="The paper of the template's pages: by default A4 for a PDF, and one whole sheet of any "
    "size for an SVG.",
)


def check_target(path: Path, endings: Sequence[str], *, force: bool) -> str:
    """The ending of a file that is to be written, in small letters.

    What would stop it in the end stops it here, before anything is computed.
    """
    ending = path.suffix.lower()
    if ending not in endings:
        fail(f"{path}: the name must end in {listed(endings)}, which says what kind of file it is")
    if path.exists() and not force:
        fail(f"{path}: the file exists already; choose another name, or give --force")
    if not path.parent.is_dir():
        fail(f"{path}: there is no folder {path.parent}; make it first, or choose another")
    return ending


def write_all(files: Sequence[tuple[Path, bytes]], *, force: bool) -> None:
    """Write several files: all of them, or none where one cannot be written."""
    for path, _ in files:
        if path.exists() and not force:
            fail(f"{path}: the file exists already; choose another name, or give --force")
    written: list[Path] = []
    try:
        for path, content in files:
            write_whole(path, content, force=force)
            written.append(path)
    except SystemExit:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    for path in written:
        click.echo(f"wrote {path}", err=True)


def check_template(path: Path, ranks: frozenset[int], *, force: bool) -> None:
    """Refuse a template that cannot be, before anything is computed."""
    check_target(path, TEMPLATE_ENDINGS, force=force)
    if len(ranks) > MOST_ON_TEMPLATE:
        fail(
            f"{path}: at most {MOST_ON_TEMPLATE} modes fit on one template and {len(ranks)} are "
            f'asked for; choose fewer, for example "--modes 1-{MOST_ON_TEMPLATE}"'
        )


def write_template(
    modes: Modes, path: Path, paper: str | None, *, unit: LengthUnit, force: bool
) -> None:
    """Write the true-scale template of some modes."""
    from saltline.show.template_file import encoded_template

    if not modes.modes:
        fail(f"{path}: none of these modes is there, so there is nothing to draw")
    files = encoded_template(modes, path.suffix.lower(), paper and paper.lower(), unit=unit)
    write_all(
        [(path.with_stem(path.stem + added), content) for added, content in files], force=force
    )
