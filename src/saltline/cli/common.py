"""What the commands share: options, reading of files, complaints, writing."""

from __future__ import annotations

import functools
import os
import sys
import threading
from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click
from click.core import ParameterSource

from saltline.cli.parameters import (
    CountParameter,
    QuantityParameter,
    RankRange,
    too_damped,
    too_large,
)

if TYPE_CHECKING:
    from saltline.measured_list import Measured
    from saltline.planning.rig import Rig
    from saltline.show.table import LengthUnit, Result
    from saltline.specimen import Specimen

F = TypeVar("F", bound=Callable[..., Any])

INTERRUPTED = 130
"""128 + the number of SIGINT (POSIX shells)."""

FORMATS = ("table", "json", "csv")
THEORIES = ("timoshenko", "euler")


def tolerance_option(text: str) -> Callable[[F], F]:
    """The option --tolerance; text: its help."""
    return click.option(
        "--tolerance",
        type=QuantityParameter("ratio", too_large),
        default="3 %",
        show_default=True,
        metavar="PERCENT",
        help=text,
    )


def damping_option(text: str) -> Callable[[F], F]:
    """The option --damping; text: its help."""
    return click.option(
        "--damping", type=QuantityParameter("ratio", too_damped), metavar="RATIO", help=text
    )


def ranks_option(text: str, default: str | None = None) -> Callable[[F], F]:
    """The option --modes of the commands that choose modes by rank; text: its help."""
    return click.option(
        "--modes",
        "ranks",
        type=RankRange(),
        default=default,
        show_default=default is not None,
        metavar="RANKS",
        help=text,
    )


specimen_argument = click.argument("specimen_path", metavar="SPECIMEN", type=click.Path())

specimens_argument = click.argument(
    "specimen_paths", metavar="SPECIMEN...", nargs=-1, required=True, type=click.Path()
)
"""Several files, or folders of them; see `cli.each`."""

specimens_and_file_argument = click.argument(
    "specimen_paths", metavar="SPECIMEN... [FILE]", nargs=-1, required=True, type=click.Path()
)
"""The same, and at the end perhaps a file to be written; see `cli.picture_files.parted`."""

format_option = click.option(
    "--format",
    "form",
    type=click.Choice(FORMATS),
    default="table",
    show_default=True,
    help="How the result is written; JSON and CSV are in SI units.",
)

theory_option = click.option(
    "--theory",
    type=click.Choice(THEORIES),
    default="timoshenko",
    show_default=True,
    help="Beam theory: with shear and rotary inertia, or without.",
)

count_option = click.option(
    "--modes", "count", type=CountParameter(), metavar="N", help="How many modes."
)

below_option = click.option(
    "--below",
    type=QuantityParameter("frequency"),
    metavar="FREQUENCY",
    help='All modes up to a frequency instead, for example "5 kHz".',
)

family_option = click.option(
    "--family",
    "families",
    multiple=True,
    type=click.Choice(("flatwise", "edgewise", "torsion", "axial")),
    help="A beam's family of motion; may be given several times.",
)

all_option = click.option("--all", "every", is_flag=True, help="Every family of a beam's motion.")

inch_option = click.option("--inch", is_flag=True, help="Positions in inches.")


def chosen_families(specimen: Specimen, families: Sequence[str], *, every: bool) -> tuple[str, ...]:
    """The families to be listed, the default one where none is named."""
    from saltline.kinds import KINDS

    known = KINDS[specimen.kind].families
    if every:
        return known
    for family in families:
        if family not in known:
            raise click.UsageError(f"a {specimen.kind} has no {family} modes; leave --family out")
    return tuple(dict.fromkeys(families)) or known[:1]


def listed_families(
    specimen: Specimen, rows: Iterable[Measured], families: Sequence[str], *, every: bool
) -> tuple[str, ...]:
    """The families that measured rows are compared with: those asked for, else the usual one and
    those that the rows name.
    """
    named = list(families)
    if not named:
        stated = [row.family for row in rows if row.family]
        named = [*chosen_families(specimen, (), every=False), *stated]
    return chosen_families(specimen, named, every=every)


def idle_options(specimen: Specimen) -> tuple[str, ...]:
    """Remarks on options that were given and have no effect on a specimen of this kind."""
    return idle_for(specimen.kind)


def idle_for(kind: str) -> tuple[str, ...]:
    """The same for a kind of specimen."""
    if kind == "beam":
        return ()
    context = click.get_current_context()
    why = {
        "theory": f"a {kind} is predicted by thin-plate theory",
        "every": f"a {kind} has one family of modes",
    }
    return tuple(
        f"{option.opts[0]} has no effect: {why[option.name]}"
        for option in context.command.params
        if option.name in why
        and context.get_parameter_source(option.name) is ParameterSource.COMMANDLINE
    )


def one_of(modes: object | None, below: float | None) -> None:
    """Refuse --modes together with --below."""
    if modes is not None and below is not None:
        raise click.UsageError("--modes and --below say the same thing twice; give one of them")


class BadInputError(Exception):
    """What is wrong with the user's input, in words that name the file."""


def honest_errors(function: F) -> F:
    """Turn what went wrong with the user's input into lines on standard error and status 2."""

    @functools.wraps(function)
    def wrapper(*args: Any, **kwargs: Any) -> Any:
        from saltline.files.document import InputError
        from saltline.specimen import PredictionError

        patience = threading.Timer(1.0, click.echo, ("working ...",), {"err": True})
        patience.daemon = True
        if sys.stderr.isatty():
            patience.start()
        try:
            return function(*args, **kwargs)
        except InputError as error:
            fail(str(error))
        except BadInputError as error:
            fail(str(error))
        except PredictionError as error:
            named = (kwargs.get("specimen_path"), *kwargs.get("specimen_paths", ()), "specimen")
            fail(f"{next(filter(None, named))}: {error}")
        except KeyboardInterrupt:
            # Neither "does not fit" nor "wrong input": what a shell says of a program so ended.
            click.echo("interrupted; no file was left half done", err=True)
            sys.exit(INTERRUPTED)
        except BrokenPipeError:
            # The reader of the pipe has seen enough; say nothing, also not at shutdown.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(0)
        except OSError as error:
            # A name that is too long, a folder that may not be entered, a full disk.
            fail(f"{error.filename or 'the output'}: {error.strerror or error}")
        finally:
            patience.cancel()

    return wrapper  # type: ignore[return-value]


class RefusedError(SystemExit):
    """The end with status 2 after what is wrong has been said."""

    def __init__(self, message: str) -> None:
        super().__init__(2)
        self.message = message


def fail(message: str) -> None:
    """Say what is wrong and leave with status 2."""
    from saltline.words import visible

    # A file's name may hold what a terminal would obey.
    message = "\n".join(visible(line) for line in message.split("\n"))
    click.echo(message, err=True)
    raise RefusedError(message)


def load_specimen(path: str) -> Specimen:
    """Read the specimen file."""
    from saltline.files.specimen_file import load

    return load(path)


def load_rig_for(path: str | None, specimen: Specimen) -> Rig | None:
    """The rig, where one is given; what it says of places must be for this specimen."""
    from saltline.files.rig_file import load_rig
    from saltline.files.rig_fit import check_fit

    if path is None:
        return None
    rig = load_rig(path)
    check_fit(rig, specimen)
    return rig


def unit_of_length(*, inch: bool) -> LengthUnit:
    """The unit in which positions are shown."""
    from saltline.show.table import INCHES, MILLIMETRES

    return INCHES if inch else MILLIMETRES


def show(result: Result, form: str) -> None:
    """Write the result to standard output and its remarks to standard error."""
    from saltline.show.output import written

    say(written(result, form))
    for remark in result.remarks:
        click.echo(f"note: {remark}", err=True)


def say(text: str) -> None:
    """Write to the standard output, if there is one, at once: before what is said of it."""
    click.echo(text, nl=False)
    if sys.stdout is not None:
        sys.stdout.flush()
