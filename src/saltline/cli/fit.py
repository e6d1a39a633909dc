"""`saltline fit`: the material, sizes or stiffnesses that best explain what was measured."""

from __future__ import annotations

import sys
from codecs import BOM_UTF8
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.checking import specimen_for_list
from saltline.cli.common import (
    all_option,
    count_option,
    fail,
    family_option,
    format_option,
    honest_errors,
    idle_options,
    listed_families,
    show,
    specimen_argument,
    theory_option,
    tolerance_option,
)
from saltline.cli.each import several_pairs, show_pairs
from saltline.cli.picture_files import check_apart, check_target, filled
from saltline.cli.writing import write_whole

if TYPE_CHECKING:
    from saltline.fitting.adjustable import Adjustable
    from saltline.fitting.fit import Fit
    from saltline.quantity import Quantity
    from saltline.show.table import Result
    from saltline.specimen import Specimen


@click.command("fit")
@specimen_argument
@click.argument("measured_paths", metavar="MEASURED...", nargs=-1, type=click.Path())
@click.option(
    "--quantity",
    "names",
    multiple=True,
    metavar="PATH",
    help="What to fit, by its path in the file, for example geometry.section.thickness; may be "
    "given several times. Without it the modulus alone.",
)
@click.option(
    "--bound",
    "bounds",
    multiple=True,
    metavar="PATH=LOW..HIGH",
    help='Keep a quantity within bounds, for example "material.youngs_modulus=90..110 GPa".',
)
@click.option(
    "--no-priors",
    is_flag=True,
    help="Do not use the tolerances that the fitted quantities have in the file.",
)
@click.option(
    "--weighed",
    metavar="MASS",
    help='The mass of the specimen with all that is attached, for example "45.9 g ± 0.1 g".',
)
@click.option(
    "--write",
    "target",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the specimen file with the fitted values; comments and layout are kept.",
)
@click.option("--force", is_flag=True, help="Write over an existing file.")
@tolerance_option("How far a frequency may lie from the prediction, for the match; as in check.")
@count_option
@theory_option
@family_option
@all_option
@format_option
@honest_errors
def command(
    specimen_path: str,
    measured_paths: tuple[str, ...],
    names: tuple[str, ...],
    bounds: tuple[str, ...],
    no_priors: bool,
    weighed: str | None,
    target: Path | None,
    force: bool,
    tolerance: float,
    count: int | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    form: str,
) -> None:
    """Find the values of SPECIMEN's quantities that best explain the frequencies in MEASURED.

    Each line of the list is matched with a mode as check does it; lines that no mode explains, or
    whose count contradicts, are left out and named. A tolerance that a fitted quantity has in the
    file is used as information about it, and so is an uncertainty of a frequency in the list.

    Quantities that the list cannot tell apart are refused with the reason and with what would
    separate them; thickness and modulus, for one, have the same effect on bending.

    The exit status is 1 where the fit does not explain the lines that it used.

    Several lists, or a folder of them, are fitted one by one. SPECIMEN alone may be a folder of
    pairs, NAME.yaml with NAME.measured.csv or NAME.measured.yaml. "{name}" in the name of a file
    to be written is then each list's, of a pair each specimen's.

    Example: saltline fit reed.yaml pad.csv --quantity material.youngs_modulus
    """
    from saltline.files.measured import load_measured
    from saltline.files.measured_fit import refuse_foreign_counts
    from saltline.fitting.fit import FitError, fit
    from saltline.many.gathered import SPECIMEN_ENDINGS
    from saltline.show.fitted import fitted

    if str(target) == "-":
        raise click.UsageError("--write needs the name of a file; standard output has the tables")
    mass = _mass(weighed)
    written: list[Path] = []

    def fit_to(specimen_path: str, measured_path: str) -> Result:
        own = None
        if target is not None:
            own = filled(target, measured_path if measured_paths else specimen_path)
            check_target(own, SPECIMEN_ENDINGS, force=force)
        specimen = specimen_for_list(specimen_path)
        chosen = _chosen(specimen, names, bounds, no_priors=no_priors)
        measured = load_measured(measured_path)
        refuse_foreign_counts(specimen, measured)
        try:
            found = fit(
                specimen,
                measured.rows,
                chosen,
                weighed=mass,
                tolerance=tolerance,
                theory=theory,
                count=count,
                families=listed_families(specimen, measured.rows, families, every=every),
            )
        except FitError as fault:
            fail(f"{measured_path}: {fault}")
        if own is not None:
            _write(found, own, force=force)
            written.append(own)
        result = fitted(found)
        return replace(result, remarks=(*result.remarks, *idle_options(specimen)))

    pairs = several_pairs(specimen_path, measured_paths)
    if pairs and target is not None:
        check_apart(target, [p.measured if measured_paths else p.specimen for p in pairs])
    if pairs:
        status = show_pairs(pairs, fit_to, form, judge=_status_of)
    else:
        result = fit_to(specimen_path, measured_paths[0])
        show(result, form)
        status = _status_of(result)
    for path in written:
        click.echo(f"wrote {path}", err=True)
    sys.exit(status)


def _status_of(result: Result) -> int:
    """What the command leaves with."""
    return 0 if result.data["explains_list"] else 1


def _chosen(
    specimen: Specimen, names: tuple[str, ...], bounds: tuple[str, ...], *, no_priors: bool
) -> tuple[Adjustable, ...]:
    """The quantities to be fitted; what is wrong with the options is a usage error."""
    from saltline.fitting.adjustable import adjustables, parse_bound, without_priors
    from saltline.fitting.fittable import ChoiceError, default_names

    try:
        limits = {
            path: (low, high)
            for path, low, high in (parse_bound(specimen, text) for text in bounds)
        }
        chosen = adjustables(specimen, names or default_names(specimen), limits)
    except ChoiceError as fault:
        raise click.UsageError(str(fault)) from None
    return without_priors(chosen) if no_priors else chosen


def _mass(text: str | None) -> Quantity | None:
    from saltline.quantity import QuantityError, parse_quantity

    if text is None:
        return None
    try:
        mass = parse_quantity(text, "mass", path="weighed")
    except QuantityError as fault:
        raise click.UsageError(f"--weighed: {fault}") from None
    if mass.value <= mass.tolerance:
        raise click.UsageError(f"--weighed: {text} must be more than zero")
    return mass


def _write(found: Fit, target: Path, *, force: bool) -> None:
    """Write the fitted specimen; a mark at the beginning of its file stays there."""
    from saltline.files.rewrite import RewriteError
    from saltline.fitting.fit import new_text

    assert found.specimen.path is not None
    file = Path(found.specimen.path)
    try:
        mark = BOM_UTF8 if file.read_bytes().startswith(BOM_UTF8) else b""
        content = mark + new_text(found).encode()
    except RewriteError as fault:
        fail(f"{target} was not written: {fault}")
    write_whole(target, content, force=force)
