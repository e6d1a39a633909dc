"""`saltline check`: which mode each measured frequency is, and what does not fit."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from saltline.cli.common import (
    QuantityParameter,
    all_option,
    chosen_families,
    count_option,
    family_option,
    format_option,
    honest_errors,
    load_specimen,
    show,
    specimen_argument,
    theory_option,
)

if TYPE_CHECKING:
    from saltline.planning.rig import Rig
    from saltline.specimen import Specimen


@click.command("check")
@specimen_argument
@click.argument("measured_path", metavar="MEASURED", type=click.Path())
@click.option(
    "--tolerance",
    type=QuantityParameter("ratio"),
    default="3 %",
    show_default=True,
    metavar="PERCENT",
    help="How far a frequency may lie from the prediction once the common factor is out.",
)
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
@format_option
@honest_errors
def command(
    specimen_path: str,
    measured_path: str,
    tolerance: float,
    count: int | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    rig_path: str | None,
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

    Example: saltline check reed.yaml pad.csv
    """
    from saltline.files.measured import load_measured
    from saltline.naming.check import check, refuse_foreign_counts
    from saltline.show.checked import checked

    specimen = _specimen(specimen_path)
    rig = _rig(rig_path, specimen)
    measured = load_measured(measured_path)
    refuse_foreign_counts(specimen, measured)
    named = list(families)
    if not named:
        stated = [row.family for row in measured.rows if row.family]
        named = [*chosen_families(specimen, (), every=False), *stated]
    outcome = check(
        specimen,
        measured.rows,
        tolerance=tolerance,
        theory=theory,
        count=count,
        families=chosen_families(specimen, named, every=every),
        rig=rig,
    )
    show(checked(specimen, outcome), form)
    sys.exit(0 if outcome.fits else 1)


def _specimen(path: str) -> Specimen:
    """The specimen; a measured list in its place is recognised."""
    from saltline.files.document import InputError, Log
    from saltline.files.measured import is_measured_list

    try:
        return load_specimen(path)
    except InputError:
        if path != "-" and is_measured_list(path):
            raise Log(path).fail(
                None,
                "this is a measured list; the specimen comes first: saltline check SPECIMEN "
                f"{path}",
            ) from None
        raise


def _rig(path: str | None, specimen: Specimen) -> Rig | None:
    """The rig, where one is given; its sensor must have its place on the specimen."""
    from saltline.files.rig_file import load_rig
    from saltline.files.rig_fit import check_fit

    if path is None:
        return None
    rig = load_rig(path)
    check_fit(rig, specimen)
    return rig
