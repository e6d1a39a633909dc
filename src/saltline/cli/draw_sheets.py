"""What `saltline draw` draws: the specimen's modes looked up and set out as was asked for."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import click

from saltline.cli.common import chosen_families, fail, idle_options, listed_families
from saltline.record import record

if TYPE_CHECKING:
    from saltline.measured_list import Measured
    from saltline.modes import Modes
    from saltline.show.pictures_moving import Titled
    from saltline.show.pictures_sheet import Sheet
    from saltline.show.table import LengthUnit
    from saltline.specimen import Specimen

DEFAULT_RANKS = frozenset(range(1, 7))

MOST_DRAWN = 60
"""So many modes are drawn at most: more are seldom looked at, and take minutes."""

ON_MAP = 20
"""So many modes are on a map where neither --modes nor --below says otherwise."""

BEYOND_LIST = 1.1
"""A map reaches so much higher than the highest measured line."""

REACH = 2.0
"""A forced shape is summed from all modes up to this many times its frequency, and some beyond."""


@record
class Request:
    """What is asked for, beside the specimen.

    ranks, below_hz: which modes; None for what is usual.
    families, every: as for `cli.common.chosen_families`.
    measured_path:   of a list, None without; tolerance: relative difference that agrees.
    """

    ranks: frozenset[int] | None
    below_hz: float | None
    theory: str
    families: tuple[str, ...]
    every: bool
    measured_path: str | None
    tolerance: float
    unit: LengthUnit


# -- still ----------------------------------------------------------------------------------------


def still(specimen: Specimen, what: str, request: Request, ending: str) -> bytes:
    """A still picture, `what` a key of `SHEETS`, as the bytes of its file."""
    from saltline.show.pictures import look
    from saltline.show.pictures_sheet import encoded

    with look():
        sheet = SHEETS[what](specimen, request)
        _say(idle_options(specimen))
        return encoded(sheet, ending)


def _modes(specimen: Specimen, request: Request) -> Modes:
    """The modes that are asked for; there must be one."""
    from saltline.mixture import as_driven
    from saltline.modes import of_ranks
    from saltline.show.predicted import remarks_on
    from saltline.solver import find_modes

    chosen = chosen_families(specimen, request.families, every=request.every)
    ranks = request.ranks or (DEFAULT_RANKS if request.below_hz is None else None)
    _refuse_many(len(ranks or ()))
    modes = find_modes(
        specimen,
        count=8 if ranks is None else max(ranks),
        below_hz=request.below_hz,
        theory=request.theory,
        families=chosen,
    )
    modes = as_driven(modes)
    if ranks is not None:
        modes = of_ranks(modes, ranks)
    _refuse_many(len(modes.modes))
    _say(remarks_on(_not_empty(modes)))
    return modes


def _refuse_many(count: int) -> None:
    if count > MOST_DRAWN:
        fail(
            f"{count} modes are too many for one drawing, which has at most {MOST_DRAWN}; choose "
            "some, for example --modes 41-60"
        )


def _not_empty(modes: Modes) -> Modes:
    if not modes.modes:
        fail("no mode lies in this range, so there is nothing to draw")
    return modes


def _say(remarks: tuple[str, ...]) -> None:
    for remark in remarks:
        click.echo(f"note: {remark}", err=True)


def _as_modes(specimen: Specimen, request: Request) -> Sheet:
    from saltline.show.pictures_face import SALT_WORDS, draw_salt
    from saltline.show.pictures_modes import modes_sheet

    modes = _modes(specimen, request)
    return modes_sheet(modes, unit=request.unit, draw=draw_salt, explained=SALT_WORDS)


def _as_relief(specimen: Specimen, request: Request) -> Sheet:
    from saltline.show.pictures_face import RELIEF_WORDS, draw_relief
    from saltline.show.pictures_modes import modes_sheet

    if specimen.kind == "beam":
        raise click.UsageError("a beam has no relief; leave --as relief out")
    modes = _modes(specimen, request)
    return modes_sheet(modes, unit=request.unit, draw=draw_relief, explained=RELIEF_WORDS)


def _as_map(specimen: Specimen, request: Request) -> Sheet:
    """All families unless some are named, and as far as the list reaches."""
    from saltline.files.measured import load_measured
    from saltline.files.measured_fit import refuse_foreign_counts
    from saltline.modes import of_ranks
    from saltline.show.pictures_map import map_sheet
    from saltline.solver import find_modes, first_frequencies

    measured: Sequence[Measured] = ()
    if request.measured_path is not None:
        listed = load_measured(request.measured_path)
        refuse_foreign_counts(specimen, listed)
        measured = listed.rows
    known = tuple(first_frequencies(specimen, besides=()))
    families = chosen_families(specimen, request.families or known, every=request.every)
    count = ON_MAP if request.ranks is None else max(request.ranks)
    below_hz = request.below_hz
    if request.ranks is None and measured:
        # A line beyond the prediction would look as if no mode were near it.
        reach = BEYOND_LIST * max(line.frequency_hz for line in measured)
        below_hz = max(below_hz or 0.0, reach)
    modes = find_modes(
        specimen, count=count, below_hz=below_hz, theory=request.theory, families=families
    )
    if request.ranks is not None:
        modes = of_ranks(modes, request.ranks)
    return map_sheet(_not_empty(modes), measured)


def _as_comparison(specimen: Specimen, request: Request) -> Sheet:
    from saltline.files.measured import load_measured
    from saltline.files.measured_fit import refuse_foreign_counts
    from saltline.naming.check import check
    from saltline.show.pictures_compare import comparison_sheet

    assert request.measured_path is not None
    measured = load_measured(request.measured_path)
    refuse_foreign_counts(specimen, measured)
    found = check(
        specimen,
        measured.rows,
        tolerance=request.tolerance,
        theory=request.theory,
        families=listed_families(specimen, measured.rows, request.families, every=request.every),
    )
    return comparison_sheet(specimen, found, tolerance=request.tolerance)


SHEETS: dict[str, Callable[[Specimen, Request], Sheet]] = {
    "modes": _as_modes,
    "relief": _as_relief,
    "map": _as_map,
    "comparison": _as_comparison,
}


# -- moving ---------------------------------------------------------------------------------------


def moving(
    specimen: Specimen, request: Request, rate: float, at_hz: float | None, damping: float | None
) -> bytes:
    """A moving picture as the bytes of its file; a terminal is shown how many frames are done."""
    from saltline.planning.cautions import CAUTIONS
    from saltline.show.pictures import look
    from saltline.show.pictures_file import as_gif
    from saltline.show.pictures_motion import frames_of, pace_of
    from saltline.show.pictures_moving import moving_modes, moving_sheet
    from saltline.show.pictures_sheet import on_one_sheet

    pace = pace_of(rate)
    with look():
        motions = (
            moving_modes(_modes(specimen, request))
            if at_hz is None
            else [_forced(specimen, request, at_hz, damping)]
        )
        _say(idle_options(specimen))
        sheet, moves = moving_sheet(specimen, motions, pace, unit=request.unit)
        figure = on_one_sheet(sheet)
        if sys.stderr.isatty():
            with click.progressbar(length=pace.frames, label="frames", file=sys.stderr) as bar:
                frames = frames_of(figure, moves, pace, bar.update)
        else:
            frames = frames_of(figure, moves, pace, lambda done: None)
    _say(tuple(f"before you use a strobe: {caution.text}" for caution in CAUTIONS
               if caution.topic == "strobe"))  # fmt: skip
    return as_gif(frames, pace.duration_ms)


def _forced(specimen: Specimen, request: Request, at_hz: float, damping: float | None) -> Titled:
    """The forced shape at a frequency."""
    from saltline.forced.response import DriveError, driven, for_drive
    from saltline.show.pictures_moving import moving_forced
    from saltline.show.table import significant
    from saltline.solver import find_modes

    families = chosen_families(specimen, request.families, every=request.every)
    modes = find_modes(
        for_drive(specimen), below_hz=REACH * at_hz, beyond=4, theory=request.theory,
        families=families,
    )  # fmt: skip
    if modes.modes and modes.modes[-1].frequency_hz <= REACH * at_hz:
        fail(
            f"--at {at_hz:g} Hz: more than {len(modes.modes)} modes lie below {REACH:g} times "
            "that, and a shape that is a sum of so many is none to trust; up to "
            f"{significant(3)(modes.modes[-1].frequency_hz / REACH)} Hz it is drawn"
        )
    try:
        known = driven(modes, damping_ratio=damping)
    except DriveError as error:
        fail(f"{specimen.path or specimen.name}: {error}")
    if known.damping.is_assumed:
        _say((f"the file states no damping; a ratio of {100.0 * known.damping.ratio:g} % is "
              "assumed, --damping gives another",))  # fmt: skip
    return moving_forced(known, specimen, at_hz)
