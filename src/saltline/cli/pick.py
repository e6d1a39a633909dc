"""`saltline pick`: resonances and damping out of a recorded sweep."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from saltline.cli.common import (
    fail,
    format_option,
    honest_errors,
    show,
)
from saltline.cli.parameters import ParamType, QuantityParameter
from saltline.cli.picture_files import check_target, force_option
from saltline.cli.writing import write_all

if TYPE_CHECKING:
    from collections.abc import Sequence

    from saltline.sweeps.line_up import Shared
    from saltline.sweeps.picks import Picked
    from saltline.sweeps.sweep import Recording

LIST_ENDINGS = (".yaml", ".yml", ".csv")


class ColumnParameter(ParamType):
    """Which column is meant by a role: "amplitude=Acc [g]" or "amplitude=3"."""

    name = "column"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, str]:
        """Take the text apart; a bad one is a usage error."""
        from saltline.sweeps.sweep_columns import ROLES
        from saltline.words import listed

        if isinstance(value, tuple):
            return value
        role, sign, heading = str(value).partition("=")
        if role.strip() not in ROLES or not sign or not heading.strip():
            self.fail(
                f"{value!r} must be NAME=HEADING, with NAME {listed(ROLES)} and HEADING as the "
                'file has it or its number, for example "amplitude=Acc [g]" or "amplitude=3"',
                param,
                ctx,
            )
        return role.strip(), heading.strip()


class PlaceParameter(ParamType):
    """A place along the specimen, m; its very start is one too."""

    name = "place"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Parse the text; a bad one is a usage error."""
        from saltline.quantity import QuantityError, parse_quantity

        try:
            metres = parse_quantity(value, "length").value
        except QuantityError as error:
            self.fail(str(error), param, ctx)
        if metres < 0.0:
            self.fail(f"{value} must not be negative", param, ctx)
        return metres


class RateParameter(ParamType):
    """How fast a sweep went: "1 octave/min" or "2 Hz/s", in SI with the name of its kind."""

    name = "rate"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[str, float]:
        """Parse the text; a bad one is a usage error."""
        from saltline.quantity import QuantityError, parse_quantity

        if isinstance(value, tuple):
            return value
        for kind in ("octave_rate", "sweep_rate"):
            with suppress(QuantityError):
                found = parse_quantity(str(value), kind).value
                if found != 0.0:
                    return kind, found
        cure = 'like "1 octave/min" or "2 Hz/s"; downward it is negative'
        return self.fail(f"{value!r} must be a sweep rate, {cure}", param, ctx)


@click.command("pick")
@click.argument("paths", metavar="SWEEP...", nargs=-1, required=True, type=click.Path())
@click.option(
    "--column",
    "columns",
    type=ColumnParameter(),
    multiple=True,
    metavar="NAME=HEADING",
    help="Which column is which, where its heading is not known; may be given several times.",
)
@click.option(
    "--rate",
    type=RateParameter(),
    metavar="RATE",
    help='How fast the sweep went, for example "1 octave/min" or "2 Hz/s"; downward negative.',
)
@click.option(
    "--at",
    "places",
    type=PlaceParameter(),
    multiple=True,
    metavar="LENGTH",
    help="Where along the specimen each SWEEP was recorded, once for each, in their order.",
)
@click.option(
    "--above",
    type=QuantityParameter("frequency"),
    metavar="FREQUENCY",
    help='Leave out what lies below a frequency, for example "20 Hz".',
)
@click.option(
    "--below",
    type=QuantityParameter("frequency"),
    metavar="FREQUENCY",
    help='Leave out what lies above a frequency, for example "2 kHz".',
)
@click.option(
    "--list",
    "list_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the measured list that check and fit read: .yaml or .csv.",
)
@click.option(
    "--picture",
    "picture_path",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Draw the sweep with what was picked: .png, .svg or .pdf.",
)
@format_option
@force_option
@honest_errors
def command(
    paths: tuple[str, ...],
    columns: tuple[tuple[str, str], ...],
    rate: tuple[str, float] | None,
    places: tuple[float, ...],
    above: float | None,
    below: float | None,
    list_path: Path | None,
    picture_path: Path | None,
    form: str,
    force: bool,
) -> None:
    """Find the resonances in a recorded SWEEP, with frequency, damping and their errors.

    A CSV file with a header row: frequency_hz with amplitude and, where it was recorded, phase_deg;
    or frequency_hz, real and imaginary; or time_s, drive and response. Several files are sensors at
    several places. With --format csv the output is a measured list, as check reads it.

    Example: saltline pick sweep.csv --rate "1 octave/min" --list pad.yaml
    """
    from saltline.show.picked import as_list, list_rows
    from saltline.show.picked import picked as shown
    from saltline.show.pictures_file import ENDINGS
    from saltline.sweeps.line_up import lined_up
    from saltline.sweeps.picks import pick

    if places and len(places) != len(paths):
        raise click.UsageError(
            f"--at is given {len(places)} times for {len(paths)} files; give it once for each"
        )
    _refuse_recordings((list_path, picture_path), paths)
    if list_path is not None:
        check_target(list_path, LIST_ENDINGS, force=force)
    if picture_path is not None:
        check_target(picture_path, ENDINGS, force=force)
    found = [pick(_recording(path, dict(columns), rate, above, below)) for path in paths]
    rows = lined_up(found, places)
    result = shown(found, rows)
    files: list[tuple[Path, bytes]] = []
    if list_path is not None:
        files.append((list_path, _list_file(list_path, found, rows)))
    if picture_path is not None:
        files.append((picture_path, _picture(picture_path, found, rows)))
    show(as_list(list_rows(found, rows), result.remarks) if form == "csv" else result, form)
    write_all(files, force=force)


def _refuse_recordings(targets: Sequence[Path | None], paths: Sequence[str]) -> None:
    """Never write over a recording, not even with --force: it cannot be made again."""
    for target in targets:
        for path in paths:
            if target is not None and path != "-" and target.resolve() == Path(path).resolve():
                fail(f"{target}: this is the recording itself; write to another file")


def _recording(
    path: str,
    columns: dict[str, str],
    rate: tuple[str, float] | None,
    above: float | None,
    below: float | None,
) -> Recording:
    """A file read, cut to the range that is asked for, its rate as stated."""
    from saltline.sweeps.sweep import FEWEST_READINGS, at_rate, within
    from saltline.sweeps.sweep_file import read_recording

    recording = read_recording(path, columns)
    if rate is not None and recording.how.startswith("frequency response"):
        recording = replace(
            recording,
            remarks=(
                *recording.remarks,
                f"{recording.path}: --rate has no effect: in a record over time it falls out",
            ),
        )
    elif rate is not None:
        kind, value = rate
        stated = {"octave_per_s": value} if kind == "octave_rate" else {"hz_per_s": value}
        recording = at_rate(recording, **stated)
    recording = within(recording, above or 0.0, below or float("inf"))
    if recording.hz.size < FEWEST_READINGS:
        fail(f"{recording.path}: fewer than {FEWEST_READINGS} readings lie in this range")
    return recording


def _list_file(path: Path, found: Sequence[Picked], rows: Sequence[Shared]) -> bytes:
    from saltline.show.output import as_csv
    from saltline.show.picked import NO_RESONANCE, as_list, list_rows, list_yaml

    if not rows:
        fail(f"{path}: there is nothing to write: {NO_RESONANCE}")
    lines = list_rows(found, rows)
    if path.suffix.lower() == ".csv":
        return as_csv(as_list(lines).tables[0]).encode()
    return list_yaml(lines, [one.recording.path for one in found]).encode()


def _picture(path: Path, found: Sequence[Picked], rows: Sequence[Shared]) -> bytes:
    from saltline.show.pictures import look
    from saltline.show.pictures_sheet import encoded
    from saltline.show.pictures_sweep import sweep_sheet

    with look():
        return encoded(sweep_sheet(found, rows), path.suffix.lower())
