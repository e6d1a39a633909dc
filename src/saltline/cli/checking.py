"""What `saltline check` does with one list, with pairs in a folder, and with a lot of lists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.common import idle_options, listed_families, load_rig_for, load_specimen, show
from saltline.cli.each import Outcome, followed, tried
from saltline.cli.picture_files import check_target
from saltline.cli.writing import write_all
from saltline.record import record

if TYPE_CHECKING:
    from saltline.many.gathered import Item
    from saltline.many.lot import Listed, Lot
    from saltline.measured_list import MeasuredList
    from saltline.naming.identify import Identification
    from saltline.planning.rig import Rig
    from saltline.show.table import Result
    from saltline.show.together import Failure
    from saltline.specimen import Specimen


@record
class Request:
    """How lists are compared; the fields are the options of the command."""

    tolerance: float
    count: int | None
    theory: str
    families: tuple[str, ...]
    every: bool
    rig_path: str | None


def compared_families(
    specimen: Specimen, lists: Sequence[MeasuredList], request: Request
) -> tuple[str, ...]:
    """The families that lists are compared with: those asked for, else the usual and the named."""
    rows = [row for one in lists for row in one.rows]
    return listed_families(specimen, rows, request.families, every=request.every)


def identified(
    specimen: Specimen,
    measured: MeasuredList,
    request: Request,
    families: tuple[str, ...],
    rig: Rig | None = None,
) -> Identification:
    """The lines of a list named."""
    from saltline.naming.check import check

    return check(
        specimen,
        measured.rows,
        tolerance=request.tolerance,
        theory=request.theory,
        count=request.count,
        families=families,
        rig=rig,
    )


def checked_files(request: Request, specimen_path: str, measured_path: str) -> Result:
    """The result of a list against a specimen."""
    from saltline.files.measured import load_measured
    from saltline.files.measured_fit import refuse_foreign_counts
    from saltline.show.checked import checked

    specimen = specimen_for_list(specimen_path)
    rig = load_rig_for(request.rig_path, specimen)
    measured = load_measured(measured_path)
    refuse_foreign_counts(specimen, measured)
    families = compared_families(specimen, [measured], request)
    result = checked(specimen, identified(specimen, measured, request, families, rig))
    return replace(result, remarks=(*result.remarks, *idle_options(specimen)))


def status_of(result: Result) -> int:
    """What the command leaves with."""
    return 0 if result.data["verdict"] == "fits" else 1


def specimen_for_list(path: str) -> Specimen:
    """The specimen; a measured list in its place is recognised."""
    from saltline.files.document import InputError, Log
    from saltline.files.measured import is_measured_list

    try:
        return load_specimen(path)
    except InputError:
        if path != "-" and is_measured_list(path):
            raise Log(path).fail(
                None,
                "this is a measured list; the specimen's file comes first, and then the list",
            ) from None
        raise


# -- a lot ----------------------------------------------------------------------------------------


@record
class Reading:
    """One list of a lot that could be read; number: its place in the lot, from 1."""

    number: int
    measured: MeasuredList


def show_lot(
    request: Request,
    specimen_path: str,
    paths: Sequence[str],
    picture: Path | None,
    form: str,
    *,
    force: bool,
    jobs: int | None,
) -> int:
    """Show several lists of one make as a lot; the status to leave with."""
    from saltline.many.gathered import LIST_ENDINGS, gathered
    from saltline.many.lot import MOST_LISTS, lot_of
    from saltline.show.lot_sheet import lot_result
    from saltline.show.pictures_file import ENDINGS

    if picture is not None:
        check_target(picture, ENDINGS, force=force)
    specimen = specimen_for_list(specimen_path)
    items = gathered(paths, LIST_ENDINGS)
    if len(items) > MOST_LISTS:
        raise click.UsageError(
            f"there are {len(items):,} lists; a lot holds at most {MOST_LISTS:,}, so split it"
        )
    readings, failures = _read(specimen, items)
    total = len(readings) + len(failures)
    lists, more = _named(specimen, readings, request, jobs)
    failures += more
    lot = lot_of(lists)
    if lists:
        show(lot_result(specimen.name, lot, failures, form), form)
    if picture is not None:
        _draw(specimen.name, lot, picture, force=force)
    for failure in failures:
        click.echo(failure.message, err=True)
    if failures:
        click.echo(f"{len(failures)} of {total} lists could not be checked", err=True)
        return 2
    return 0 if lot.is_alike and all(one.fits for one in lists) else 1


def _read(specimen: Specimen, items: Sequence[Item]) -> tuple[list[Reading], list[Failure]]:
    """The lists; what a folder holds beside lists is passed over with a remark."""
    from saltline.many.gathered import what_else

    readings: list[Reading] = []
    failures: list[Failure] = []
    number = 0
    for item in items:
        found = tried(partial(_list_for, specimen, item.path), item.path)
        if isinstance(found, Outcome):
            other = what_else(item.path, "a measured list") if item.found else ""
            if other:
                click.echo(f"note: {item.path} is {other} and was passed over", err=True)
                continue
            assert found.failure is not None
            failures.append(found.failure)
        number += 1
        if not isinstance(found, Outcome):
            readings.append(Reading(number, found))
    return readings, failures


def _list_for(specimen: Specimen, path: str) -> MeasuredList:
    from saltline.files.measured import load_measured
    from saltline.files.measured_fit import refuse_foreign_counts

    measured = load_measured(path)
    refuse_foreign_counts(specimen, measured)
    return measured


def _named(
    specimen: Specimen, readings: Sequence[Reading], request: Request, jobs: int | None
) -> tuple[list[Listed], list[Failure]]:
    """The lists with their lines named, all compared with the same families."""
    from saltline.many.workers import in_order

    families = compared_families(specimen, [one.measured for one in readings], request)
    work = partial(_named_one, specimen, request, families)
    done = list(followed(in_order(work, readings, jobs), len(readings)))
    lists = [one for one in done if not isinstance(one, Outcome)]
    failures = [one.failure for one in done if isinstance(one, Outcome)]
    return lists, [failure for failure in failures if failure is not None]


def _named_one(
    specimen: Specimen, request: Request, families: tuple[str, ...], reading: Reading
) -> Listed | Outcome:
    from saltline.many.lot import listed

    label = reading.measured.path
    found = tried(lambda: identified(specimen, reading.measured, request, families), label)
    return found if isinstance(found, Outcome) else listed(reading.number, label, found)


def _draw(name: str, lot: Lot, picture: Path, *, force: bool) -> None:
    from saltline.show.pictures import look
    from saltline.show.pictures_lot import lot_sheet
    from saltline.show.pictures_sheet import encoded

    if not lot.modes:
        click.echo(f"note: {picture} was not drawn: no line of any list has a name", err=True)
        return
    with look():
        content = encoded(lot_sheet(name, lot), picture.suffix.lower())
    write_all([(picture, content)], force=force)
