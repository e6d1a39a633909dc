"""`saltline check`: which mode each measured frequency is, and what does not fit."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path

import click

from saltline.cli.common import (
    all_option,
    count_option,
    family_option,
    format_option,
    honest_errors,
    show,
    specimen_argument,
    theory_option,
    tolerance_option,
)
from saltline.cli.each import is_several, jobs_option, several_pairs, show_pairs


@click.command("check")
@specimen_argument
@click.argument("measured_paths", metavar="MEASURED...", nargs=-1, type=click.Path())
@tolerance_option("How far a frequency may lie from the prediction once the common factor is out.")
@count_option
@theory_option
@family_option
@all_option
@click.option(
    "--rig",
    "rig_path",
    type=click.Path(),
    metavar="FILE",
    help="The exciter and the sensor, which may explain why a mode was not seen.",
)
@click.option(
    "--picture",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Of a lot: draw each mode over the order of the lists, as .png, .svg or .pdf.",
)
@click.option("--force", is_flag=True, help="Write over an existing picture.")
@jobs_option
@format_option
@honest_errors
def command(
    specimen_path: str,
    measured_paths: tuple[str, ...],
    tolerance: float,
    count: int | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    rig_path: str | None,
    picture: Path | None,
    force: bool,
    jobs: int | None,
    form: str,
) -> None:
    """Say which mode of SPECIMEN each frequency in MEASURED is, and what does not fit.

    The match does not depend on the exact modulus, density or thickness: one factor common to all
    frequencies is found along with it and reported as the scale. Counted nodes are used where the
    list has them, and a count that contradicts its frequency is pointed out. Each name comes with
    the probability that it is right; a line that nothing explains well is left unexplained.

    A list that names families (flatwise, edgewise, torsion, axial) is compared with those too;
    --family and --all choose others.

    MEASURED is a YAML or CSV list (see the documentation); "-" reads it from standard input. The
    exit status is 1 when a line does not fit.

    Several lists, or a folder of them, are a lot of one make: one table of the lists, one of the
    modes over them, and what stands out or drifts. SPECIMEN alone may be a folder of pairs,
    NAME.yaml with NAME.measured.csv or NAME.measured.yaml: each is checked.

    Example: saltline check reed.yaml pad.csv
    """
    from saltline.cli.checking import Request, checked_files, show_lot, status_of

    request = Request(tolerance, count, theory, families, every, rig_path)
    is_lot = is_several(measured_paths)
    if (picture is not None or force or jobs is not None) and not is_lot:
        raise click.UsageError("--picture, --force and --jobs belong to a lot, several lists")
    if is_lot and rig_path is not None:
        raise click.UsageError("--rig explains what one list lacks; leave it out for a lot")
    if is_lot:
        sys.exit(
            show_lot(request, specimen_path, measured_paths, picture, form, force=force, jobs=jobs)
        )
    pairs = several_pairs(specimen_path, measured_paths)
    if pairs:
        sys.exit(show_pairs(pairs, partial(checked_files, request), form, judge=status_of))
    result = checked_files(request, specimen_path, measured_paths[0])
    show(result, form)
    sys.exit(status_of(result))
