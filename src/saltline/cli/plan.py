"""`saltline plan`: the run sheet."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from saltline.cli.common import (
    all_option,
    below_option,
    chosen_families,
    count_option,
    damping_option,
    fail,
    family_option,
    format_option,
    honest_errors,
    idle_options,
    inch_option,
    load_rig_for,
    load_specimen,
    one_of,
    specimens_argument,
    theory_option,
    unit_of_length,
)
from saltline.cli.each import show_each
from saltline.cli.parameters import QuantityParameter

if TYPE_CHECKING:
    from saltline.planning.envelope import Level
    from saltline.show.table import Result
    from saltline.specimen import Specimen


@click.command("plan")
@specimens_argument
@click.option(
    "--rig",
    "rig_path",
    type=click.Path(),
    metavar="FILE",
    help="The exciter, strobe and sensor; without it no levels and no strobe settings.",
)
@count_option
@below_option
@click.option(
    "--above",
    type=QuantityParameter("frequency"),
    metavar="FREQUENCY",
    help='Leave out the modes below a frequency, for example "100 Hz".',
)
@click.option(
    "--level",
    metavar="LEVEL",
    help='How strongly to drive: of the base "0.5 g", "20 mm/s" or "1 mm", on a point "5 N", all '
    "amplitudes. By default as strongly as nothing forbids.",
)
@damping_option('Damping ratio instead of the specimen\'s, for example "0.4 %".')
@theory_option
@family_option
@all_option
@inch_option
@format_option
@honest_errors
def command(
    specimen_paths: tuple[str, ...],
    rig_path: str | None,
    count: int | None,
    below: float | None,
    above: float | None,
    level: str | None,
    damping: float | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    inch: bool,
    form: str,
) -> None:
    """Print the run sheet of a test of SPECIMEN on a RIG.

    Cautions first, then set-up, sweep, and for each mode in turn where to look for it, how strongly
    it may be driven and what forbids more, at which strobe settings it stands still, how it is
    seen, and how long to stay. SPECIMEN may be several files, or a folder: a run sheet each.

    Example: saltline plan reed.yaml --rig bench.rig.yaml --below "2 kHz" --level "0.5 g"
    """
    from saltline.files.rig_fit import refuse_exchanged
    from saltline.forced.response import DriveError
    from saltline.planning.plan import plan
    from saltline.show.planned import planned

    one_of(count, below)
    if level is not None and rig_path is None:
        raise click.UsageError("--level needs --rig, the file that says what the exciter can do")
    if above is not None and below is not None and above >= below:
        raise click.UsageError("--above must be less than --below")

    def run_sheet(specimen_path: str) -> Result:
        if rig_path is not None:
            refuse_exchanged(specimen_path, rig_path)
        specimen = load_specimen(specimen_path)
        rig = load_rig_for(rig_path, specimen)
        try:
            made = plan(
                specimen,
                rig=rig,
                count=count or 8,
                above_hz=above or 0.0,
                below_hz=below,
                level=_level(level, specimen),
                damping_ratio=damping,
                theory=theory,
                families=chosen_families(specimen, families, every=every),
            )
        except DriveError as error:
            fail(f"{specimen_path}: {error}")
        result = planned(made, unit_of_length(inch=inch))
        return replace(result, remarks=(*result.remarks, *idle_options(specimen)))

    show_each(specimen_paths, run_sheet, form)


def _level(text: str | None, specimen: Specimen) -> Level | None:
    """The level that is asked for; a bad one is a usage error."""
    from saltline.planning.envelope import LevelError, parse_level
    from saltline.specimen import Drive

    if text is None:
        return None
    try:
        return parse_level(text, through=(specimen.drive or Drive()).through)
    except LevelError as error:
        raise click.BadParameter(str(error), param_hint="'--level'") from None
