"""What the commands share that write pictures and templates: names of files, endings, ranks."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.common import fail
from saltline.cli.each import is_several
from saltline.cli.report_findings import trace_of
from saltline.cli.writing import refuse_target, write_all
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
    refuse_target(path, force=force)
    if not path.parent.is_dir():
        fail(f"{path}: there is no folder {path.parent}; make it first, or choose another")
    return ending


PLACE_OF_NAME = "{name}"
"""Stands in the name of a file for that of the specimen's file without its ending."""


def filled(target: Path, specimen_path: str) -> Path:
    """The name of a file that is written of one specimen."""
    return Path(str(target).replace(PLACE_OF_NAME, Path(specimen_path).stem))


def check_each_has_its_own(target: Path | None, specimen_paths: Sequence[str]) -> None:
    """Refuse one name for the files of several specimens; without one they are named after them."""
    from saltline.many.gathered import SPECIMEN_ENDINGS, gathered

    if is_several(specimen_paths):
        items = gathered(specimen_paths, SPECIMEN_ENDINGS)
        check_apart(target or Path(PLACE_OF_NAME), [item.path for item in items])


def check_apart(target: Path, paths: Sequence[str]) -> None:
    """Refuse a name of what is written where it would not be another for each of several files."""
    if PLACE_OF_NAME not in str(target):
        raise click.UsageError(
            f"several need a file each: write {PLACE_OF_NAME} where the name of each stands, for "
            f'example "{target.parent / (PLACE_OF_NAME + target.suffix)}"'
        )
    stems: dict[str, str] = {}
    for path in paths:
        first = stems.setdefault(Path(path).stem, path)
        if first != path:
            raise click.UsageError(
                f"{first} and {path} have one name, so their files would be one; do them one at "
                "a time"
            )


def parted(paths: Sequence[str]) -> tuple[tuple[str, ...], Path | None]:
    """The specimens, and the file that is to be written where the last name is that of one."""
    from saltline.many.gathered import SPECIMEN_ENDINGS

    *before, last = paths
    is_specimen = Path(last).suffix.lower() in SPECIMEN_ENDINGS or Path(last).is_dir()
    if not before or is_specimen:
        return tuple(paths), None
    return tuple(before), Path(last)


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
    files = encoded_template(
        modes, path.suffix.lower(), paper and paper.lower(), unit=unit,
        trace=trace_of(modes.specimen),
    )  # fmt: skip
    write_all(
        [(path.with_stem(path.stem + added), content) for added, content in files], force=force
    )
