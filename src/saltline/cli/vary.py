"""`saltline predict --vary`: one specimen at every point of a grid."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.common import chosen_families, idle_for, load_specimen, show
from saltline.cli.each import Outcome, followed, tried
from saltline.cli.picture_files import check_target
from saltline.cli.prediction import Request, prediction_of
from saltline.cli.writing import write_all

if TYPE_CHECKING:
    from saltline.many.grid import Point, Varied
    from saltline.show.varied import Solved
    from saltline.specimen import Specimen


def show_varied(
    path: str,
    asked: Sequence[str],
    request: Request,
    picture: Path | None,
    *,
    force: bool,
    jobs: int | None,
) -> int:
    """Show a grid of predictions; the status to leave with."""
    from saltline.many.grid import points_of
    from saltline.many.workers import in_order
    from saltline.show.pictures_file import ENDINGS
    from saltline.show.varied import varied_result

    if picture is not None:
        check_target(picture, ENDINGS, force=force)
    specimen = load_specimen(path)
    chosen_families(specimen, request.families, every=request.every)
    varied = _varied(specimen, asked, picture)
    points = points_of(varied)
    work = partial(solved_at, request, specimen, varied, path)
    solved = list(followed(in_order(work, points, jobs), len(points)))
    result = varied_result(specimen.name, varied, solved, request.form)
    if picture is not None:
        _draw(specimen, varied, solved, picture, force=force)
    show(replace(result, remarks=(*_remarks(solved), *idle_for(specimen.kind))),
         request.form)  # fmt: skip
    failed = sum(bool(one.failure) for one in solved)
    if failed:
        click.echo(f"{failed} of {len(points)} points could not be solved", err=True)
    return 2 if failed else 0


def _varied(specimen: Specimen, asked: Sequence[str], picture: Path | None) -> tuple[Varied, ...]:
    """What is varied; everything that is wrong with it is a usage error."""
    from saltline.many.grid import GridError, check_grid, parse_varied, points_of
    from saltline.show.pictures_varied import MOST_PANELS

    faults, varied = [], []
    for text in asked:
        try:
            varied.append(parse_varied(specimen, text))
        except GridError as fault:
            faults.append(f"--vary: {fault}")
    if not faults:
        try:
            points = points_of(varied)
            check_grid(specimen, varied)
        except GridError as fault:
            faults.append(f"--vary: {fault}")
    if not faults and picture is not None:
        panels = len({point[1:] for point in points})
        if panels > MOST_PANELS:
            faults.append(
                f"--picture: the quantities after the first make {panels} panels, and at most "
                f"{MOST_PANELS} are drawn; vary them in fewer steps"
            )
    if faults:
        raise click.UsageError("\n".join(faults))
    return tuple(varied)


def solved_at(
    request: Request, specimen: Specimen, varied: Sequence[Varied], label: str, point: Point
) -> Solved:
    """The prediction at one point of the grid."""
    from saltline.many.grid import specimen_at
    from saltline.show.output import cells, plain_data
    from saltline.show.varied import Solved

    made = tried(lambda: prediction_of(specimen_at(specimen, varied, point), request), label)
    if isinstance(made, Outcome):
        assert made.failure is not None
        return Solved(point, failure=made.failure.message.removeprefix(f"{label}: "))
    keys, *rows = cells(made.tables[0]) if request.form == "csv" else [[]]
    return Solved(point, plain_data(made.data), tuple(keys), tuple(map(tuple, rows)), made.remarks)


def _remarks(solved: Sequence[Solved]) -> list[str]:
    """Each remark once, with how many points it is about."""
    about: dict[str, int] = {}
    for one in solved:
        for remark in one.remarks:
            about[remark] = about.get(remark, 0) + 1
    return [
        remark if many == len(solved) else f"at {many} of {len(solved)} points: {remark}"
        for remark, many in about.items()
    ]


def _draw(
    specimen: Specimen,
    varied: Sequence[Varied],
    solved: Sequence[Solved],
    picture: Path,
    *,
    force: bool,
) -> None:
    from saltline.show.pictures import look
    from saltline.show.pictures_sheet import encoded
    from saltline.show.pictures_varied import varied_sheet

    if not any(one.modes for one in solved):
        click.echo(f"note: {picture} was not drawn: no point has a mode in this range", err=True)
        return
    with look():
        content = encoded(varied_sheet(specimen.name, varied, solved), picture.suffix.lower())
    write_all([(picture, content)], force=force)
