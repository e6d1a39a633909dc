"""`saltline predict`: natural frequencies, mode by mode."""

from __future__ import annotations

import sys
from functools import partial

import click

from saltline.cli.common import (
    all_option,
    below_option,
    count_option,
    family_option,
    format_option,
    honest_errors,
    idle_for,
    inch_option,
    one_of,
    specimens_argument,
    theory_option,
)
from saltline.cli.each import is_several, jobs_option, show_each
from saltline.cli.parameters import MassAtPlace
from saltline.cli.prediction import Request, prediction


@click.command("predict")
@specimens_argument
@count_option
@below_option
@theory_option
@family_option
@all_option
@click.option("--ratios", is_flag=True, help="Add the ratio of each frequency to the first.")
@click.option(
    "--sketch",
    is_flag=True,
    help="Draw each mode in characters, where a beam's table has node places and the other theory.",
)
@click.option("--why", is_flag=True, help="Add which tolerance makes how much of each band.")
@click.option("--as-plate", is_flag=True, help="Add the same strip solved as a plate.")
@click.option("--clamp", is_flag=True, help="Add what a clamp that gives would do.")
@click.option(
    "--sensor",
    type=MassAtPlace(),
    metavar="MASS at PLACE",
    help='Add what a sensor does to each mode: "4.5 g at 300 mm", on a plate '
    '"4.5 g at 60 mm, 40 mm", on a disc "4.5 g at centre".',
)
@click.option(
    "--vary",
    "asked",
    multiple=True,
    metavar="PATH=VALUES",
    help='Solve for each of several values of a quantity: "geometry.length=200..400 mm/21" for 21 '
    'even steps, with " log" after that for even ratios, or a list "1, 2, 5 mm". Given several '
    "times, every combination.",
)
@click.option(
    "--picture",
    type=click.Path(),
    metavar="FILE",
    help="With --vary: draw the frequencies against the first quantity varied, as .png, .svg or "
    ".pdf.",
)
@click.option("--force", is_flag=True, help="Write over an existing picture.")
@jobs_option
@inch_option
@format_option
@honest_errors
def command(
    specimen_paths: tuple[str, ...],
    count: int | None,
    below: float | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    ratios: bool,
    sketch: bool,
    why: bool,
    as_plate: bool,
    clamp: bool,
    sensor: tuple[float, tuple[float, ...]] | None,
    asked: tuple[str, ...],
    picture: str | None,
    force: bool,
    jobs: int | None,
    inch: bool,
    form: str,
) -> None:
    """Predict the natural frequencies of each SPECIMEN, mode by mode.

    Eight modes are listed unless --modes or --below says otherwise. A beam's frequencies are
    Timoshenko's, with Euler and Bernoulli's beside them, so that the effect of shear is seen; of
    its families of motion flatwise bending alone is listed unless --family or --all says otherwise.

    SPECIMEN may be several files, or a folder: then of all specimens in it.

    Example: saltline predict reed.yaml --below "5 kHz"
    """
    one_of(count, below)
    is_brief = bool(asked) or (is_several(specimen_paths) and form != "table")
    request = Request(
        count, below, theory, families, every, ratios, sketch, why, as_plate, clamp, sensor, inch,
        form, is_brief,
    )  # fmt: skip
    if not asked:
        if picture is not None or force:
            raise click.UsageError("--picture and --force belong to --vary; say what is varied")
        work = partial(prediction, request)
        show_each(specimen_paths, work, form, jobs=jobs, noted=idle_for)
        return
    if is_several(specimen_paths):
        raise click.UsageError("--vary takes one specimen; name one file")
    extra = [name for name in ("sketch", "why", "as_plate", "clamp", "sensor", "ratios")
             if getattr(request, name)]  # fmt: skip
    if extra:
        option = extra[0].replace("_", "-")
        raise click.UsageError(f"--{option} does not go with --vary; leave it out")
    from pathlib import Path  # a prediction alone need not wait for it

    from saltline.cli.vary import show_varied

    target = None if picture is None else Path(picture)
    sys.exit(show_varied(specimen_paths[0], asked, request, target, force=force, jobs=jobs))
