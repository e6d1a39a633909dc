"""`saltline mark`: node and antinode positions for marking the specimen."""

from __future__ import annotations

from dataclasses import replace

import click

from saltline.cli.common import (
    RankRange,
    all_option,
    chosen_families,
    family_option,
    format_option,
    honest_errors,
    inch_option,
    load_specimen,
    show,
    specimen_argument,
    theory_option,
)


@click.command("mark")
@specimen_argument
@click.option(
    "--modes",
    "ranks",
    type=RankRange(),
    default="1-5",
    show_default=True,
    metavar="RANKS",
    help='Which modes, for example "1-5,8".',
)
@theory_option
@family_option
@all_option
@inch_option
@format_option
@honest_errors
def command(
    specimen_path: str,
    ranks: frozenset[int],
    theory: str,
    families: tuple[str, ...],
    every: bool,
    inch: bool,
    form: str,
) -> None:
    """List where the nodes and antinodes of SPECIMEN lie.

    Positions on a beam are given from either end of its free length, ready for a tape measure;
    node lines of a plate by five points each, x along the length and y along the width from the
    left bottom corner.

    Example: saltline mark reed.yaml --modes 2-4 --inch
    """
    from saltline.mixture import as_driven
    from saltline.modes import find_modes
    from saltline.show.predicted import marked

    specimen = load_specimen(specimen_path)
    chosen_kinds = chosen_families(specimen, families, every=every)
    modes = find_modes(specimen, count=max(ranks), theory=theory, families=chosen_kinds)
    modes = as_driven(modes)
    chosen = tuple(mode for mode in modes.modes if mode.rank in ranks)
    show(marked(replace(modes, modes=chosen), inch=inch), form)
