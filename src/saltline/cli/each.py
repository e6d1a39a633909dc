"""What the commands share that take several files: each is done, a bad one reported, none lost."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, TypeVar

import click

from saltline.cli.common import BadInputError, RefusedError, say, show
from saltline.files.reading import stem
from saltline.record import record

if TYPE_CHECKING:
    from saltline.many.gathered import Item, Pair
    from saltline.show.table import Result
    from saltline.show.together import Failure, Piece

Made = TypeVar("Made")

PATIENCE_S = 1.2
"""A terminal is shown how far the work is after so long, a little after "working ...","""

REFRESHED_S = 0.2
"""... and again as often as this."""

jobs_option = click.option(
    "--jobs",
    type=click.IntRange(1, 256),
    metavar="N",
    help="How many processes work side by side. By default one, and where seconds of work are left "
    "one for each processor.",
)


@record
class Outcome:
    """What became of one file.

    piece:   its result, None without one; status: what the command leaves with for it.
    failure: why there is none; passed: what it is instead, where it is passed over.
    """

    piece: Piece | None = None
    status: int = 0
    failure: Failure | None = None
    passed: str = ""


def is_several(paths: Sequence[str]) -> bool:
    """Whether more than one file is meant."""
    return len(paths) > 1 or any(os.path.isdir(path) for path in paths)


def show_each(
    paths: Sequence[str],
    work: Callable[[str], Result],
    form: str,
    *,
    jobs: int | None = 1,
    noted: Callable[[str], tuple[str, ...]] = lambda kind: (),
) -> None:
    """Show the result of each specimen: one alone as it is, several together.

    work:  a specimen's file -> its result; picklable where there may be several processes.
    noted: kind of specimen -> remarks that go with it, made here.
    Leaves with status 2 where a file was bad.
    """
    if not is_several(paths):
        result = work(paths[0])
        from dataclasses import replace

        notes = noted(str(result.data.get("kind", "")))
        show(replace(result, remarks=(*result.remarks, *notes)), form)
        return
    from saltline.many.gathered import SPECIMEN_ENDINGS, gathered

    items = gathered(paths, SPECIMEN_ENDINGS)
    status, pieces = show_all(partial(attempt, work, form), items, form, jobs=jobs)
    for note in dict.fromkeys(n for piece in pieces for n in noted(piece.kind)):
        click.echo(f"note: {note}", err=True)
    sys.exit(status)


def show_all(
    done: Callable[[Item], Outcome] | Callable[[Pair], Outcome],
    things: Sequence[Item] | Sequence[Pair],
    form: str,
    *,
    jobs: int | None = 1,
) -> tuple[int, list[Piece]]:
    """Show what becomes of several files; the status to leave with, and the pieces shown."""
    from saltline.many.workers import in_order
    from saltline.show.together import shared_remarks, together

    outcomes = list(followed(in_order(done, things, jobs), len(things)))  # type: ignore[arg-type]
    pieces = [one.piece for one in outcomes if one.piece is not None]
    failures = [one.failure for one in outcomes if one.failure is not None]
    say(together(pieces, failures, form))
    for remark in shared_remarks(pieces):
        click.echo(f"note: {remark}", err=True)
    _say_passed(things, outcomes)
    _say_failed(failures, len(things))
    return max((one.status for one in outcomes), default=0), pieces


def do_each(paths: Sequence[str], work: Callable[[str], None]) -> None:
    """Do what writes a file for each specimen; leaves with status 2 where one was bad."""
    from saltline.many.gathered import SPECIMEN_ENDINGS, gathered

    if not is_several(paths):
        work(paths[0])
        return
    items = gathered(paths, SPECIMEN_ENDINGS)
    outcomes = [_done(work, item) for item in followed(items, len(items))]
    _say_passed(items, outcomes)
    _say_failed([one.failure for one in outcomes if one.failure is not None], len(items))
    sys.exit(max(one.status for one in outcomes))


def _done(work: Callable[[str], None], item: Item) -> Outcome:
    found = tried(lambda: work(item.path), item.path)
    return Outcome() if found is None else _passed_over(found, item)


def _say_passed(things: Sequence[Item | Pair], outcomes: Sequence[Outcome]) -> None:
    for thing, one in zip(things, outcomes, strict=True):
        if one.passed:
            click.echo(f"note: {thing.label} is {one.passed} and was passed over", err=True)


def _say_failed(failures: Sequence[Failure], total: int) -> None:
    for failure in failures:
        if not failure.is_said:
            click.echo(failure.message, err=True)
    if failures:
        click.echo(f"{len(failures)} of {total} could not be done", err=True)


def show_pairs(
    pairs: Sequence[Pair],
    work: Callable[[str, str], Result],
    form: str,
    *,
    judge: Callable[[Result], int] = lambda result: 0,
) -> int:
    """Show the result of each specimen with its list; the status to leave with.

    judge: a result -> the status that it alone would leave with.
    """
    return show_all(partial(_attempt_pair, work, judge, form), pairs, form)[0]


def _attempt_pair(
    work: Callable[[str, str], Result], judge: Callable[[Result], int], form: str, pair: Pair
) -> Outcome:
    from saltline.show.together import piece_of

    result = tried(lambda: work(pair.specimen, pair.measured), pair.label)
    if isinstance(result, Outcome):
        return result
    name = str(result.data.get("specimen") or stem(pair.specimen))
    piece = piece_of(result, form, name=name, file=pair.specimen, measured=pair.measured)
    return Outcome(piece, judge(result))


def several_pairs(specimen_path: str, measured_paths: Sequence[str]) -> Sequence[Pair]:
    """A specimen with each of several lists, or the pairs in a folder; none for one list.

    A missing list is a usage error.
    """
    from saltline.many.gathered import LIST_ENDINGS, Pair, gathered

    if is_several(measured_paths):
        return [Pair(specimen_path, one.path) for one in gathered(measured_paths, LIST_ENDINGS)]
    if measured_paths:
        return ()
    from pathlib import Path  # unlike os.path it tells a name that cannot be from no folder

    if not Path(specimen_path).is_dir():
        raise click.MissingParameter(param_hint="'MEASURED...'", param_type="argument")
    return pairs_of(specimen_path)


def pairs_of(folder: str) -> Sequence[Pair]:
    """The pairs in a folder; a specimen without a list is told and left out."""
    from saltline.many.gathered import pairs_in, what_else

    pairs, alone = pairs_in(folder)
    for path in alone:
        other = what_else(path, "a specimen")
        why = f"is {other}" if other else "has no list beside it"
        click.echo(f"note: {path} {why} and was passed over", err=True)
    return pairs


def attempt(
    work: Callable[[str], Result],
    form: str,
    item: Item,
) -> Outcome:
    """The result of one specimen's file, or why there is none."""
    from saltline.show.together import piece_of

    result = tried(lambda: work(item.path), item.path)
    if not isinstance(result, Outcome):
        name = str(result.data.get("specimen") or stem(item.path))
        return Outcome(piece_of(result, form, name=name, file=item.path))
    return _passed_over(result, item)


def _passed_over(failed: Outcome, item: Item) -> Outcome:
    """The failure of a file, or what the file is instead where a folder merely holds it."""
    from saltline.many.gathered import what_else

    other = what_else(item.path, "a specimen") if item.found else ""
    return Outcome(passed=other) if other else failed


def tried(make: Callable[[], Made], label: str) -> Made | Outcome:
    """What is made; where the user's input forbids it, an outcome that says why."""
    from saltline.files.complaints import InputError
    from saltline.show.together import Failure
    from saltline.specimen import PredictionError

    try:
        return make()
    except RefusedError as error:
        return Outcome(status=2, failure=Failure(label, error.message, is_said=True))
    except (InputError, BadInputError) as error:
        message = str(error)
    except PredictionError as error:
        message = f"{label}: {error}"
    except click.UsageError as error:
        message = f"{label}: {error.format_message()}"
    return Outcome(status=2, failure=Failure(label, message))


def followed(made: Iterable[Made], total: int) -> Iterator[Made]:
    """The same things; a terminal is shown how many there are so far."""
    start = shown = time.perf_counter()
    is_seen = False
    for number, one in enumerate(made, start=1):
        now = time.perf_counter()
        if sys.stderr.isatty() and now - start > PATIENCE_S and now - shown > REFRESHED_S:
            click.echo(f"\r{number} of {total}", nl=False, err=True)
            shown, is_seen = now, True
        yield one
    if is_seen:
        click.echo("\r" + " " * (2 * len(str(total)) + 4) + "\r", nl=False, err=True)
