"""`saltline mark`: node and antinode positions for marking the specimen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.common import (
    all_option,
    chosen_families,
    family_option,
    format_option,
    honest_errors,
    idle_options,
    inch_option,
    load_specimen,
    ranks_option,
    specimens_argument,
    theory_option,
    unit_of_length,
)
from saltline.cli.each import show_each
from saltline.cli.picture_files import (
    check_each_has_its_own,
    check_template,
    filled,
    force_option,
    paper_option,
    write_template,
)

if TYPE_CHECKING:
    from saltline.show.table import Result


@click.command("mark")
@specimens_argument
@ranks_option('Which modes, for example "1-5,8".', default="1-5")
@theory_option
@family_option
@all_option
@inch_option
@click.option(
    "--template",
    "template_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write a true-scale template too, to be laid on the specimen: FILE.pdf or FILE.svg.",
)
@paper_option
@force_option
@format_option
@honest_errors
def command(
    specimen_paths: tuple[str, ...],
    ranks: frozenset[int],
    theory: str,
    families: tuple[str, ...],
    every: bool,
    inch: bool,
    template_path: Path | None,
    paper: str | None,
    force: bool,
    form: str,
) -> None:
    """List where the nodes of each SPECIMEN lie, and a beam's antinodes.

    Positions on a beam are given from either end of its free length, ready for a tape measure;
    node lines of a plate by five points each, x along the length and y along the width from the
    left bottom corner.

    SPECIMEN may be several files, or a folder; "{name}" in the name of a template is then each
    one's.

    Example: saltline mark reed.yaml --modes 2-4 --inch
    """
    from saltline.mixture import as_driven
    from saltline.modes import of_ranks
    from saltline.show.marked import marked
    from saltline.show.mixing import unlisted_notes
    from saltline.solver import find_modes

    if template_path is None and (paper or force):
        raise click.UsageError("--paper and --force belong to a template; add --template FILE.pdf")
    if template_path is not None:
        check_each_has_its_own(template_path, specimen_paths)
    unit = unit_of_length(inch=inch)

    def marks(specimen_path: str) -> Result:
        template = None if template_path is None else filled(template_path, specimen_path)
        if template is not None:
            check_template(template, ranks, force=force)
        specimen = load_specimen(specimen_path)
        chosen_kinds = chosen_families(specimen, families, every=every)
        # One mode more: it may be the partner of the last one.
        known = find_modes(specimen, count=max(ranks) + 1, theory=theory, families=chosen_kinds)
        known = as_driven(known)
        modes = of_ranks(known, ranks)
        if template is not None:
            write_template(modes, template, paper, unit=unit, force=force)
        result = marked(modes, unit=unit)
        notes = (*unlisted_notes(known, modes), *idle_options(specimen))
        return replace(result, remarks=(*result.remarks, *notes))

    show_each(specimen_paths, marks, form)
