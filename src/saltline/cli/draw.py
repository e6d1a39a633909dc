"""`saltline draw`: pictures of the modes, still or moving."""

from __future__ import annotations

from pathlib import Path

import click
from click.core import ParameterSource

from saltline.cli.common import (
    all_option,
    below_option,
    damping_option,
    family_option,
    honest_errors,
    inch_option,
    load_specimen,
    one_of,
    ranks_option,
    specimens_and_file_argument,
    theory_option,
    tolerance_option,
    unit_of_length,
)
from saltline.cli.draw_sheets import Request, moving, still
from saltline.cli.each import do_each
from saltline.cli.parameters import QuantityParameter
from saltline.cli.picture_files import (
    check_each_has_its_own,
    check_target,
    filled,
    force_option,
    parted,
)
from saltline.cli.writing import write_all


@click.command("draw")
@specimens_and_file_argument
@click.option(
    "--as",
    "what",
    type=click.Choice(("modes", "relief", "map", "comparison")),
    default="modes",
    show_default=True,
    help="Modes: a beam's as curves, others as salt shows them. Relief: a plate or a disc under a "
    "lamp. Map: the frequency axis with all families. Comparison: measured against predicted.",
)
@ranks_option('Which modes, for example "1-5,8"; by default 1-6, and on a map 1-20.')
@below_option
@theory_option
@family_option
@all_option
@click.option(
    "--measured",
    "measured_path",
    type=click.Path(),
    metavar="LIST",
    help="A measured list, for a map or a comparison.",
)
@tolerance_option("How far a measured frequency of a comparison may lie off.")
@click.option(
    "--animate",
    type=click.Path(path_type=Path),
    metavar="FILE.gif",
    help="Write a moving picture instead: the motion as a strobe shows it.",
)
@click.option(
    "--rate",
    type=QuantityParameter("frequency"),
    default="1 Hz",  # the eye follows it at ease (common practice, no source)
    show_default=True,
    metavar="FREQUENCY",
    help="How often a second the moving picture swings; below 3 Hz, for its light and dark can "
    "trigger seizures.",
)
@click.option(
    "--at",
    "at_hz",
    type=QuantityParameter("frequency"),
    metavar="FREQUENCY",
    help="Animate what the drive makes of the specimen at a frequency, with its damping.",
)
@damping_option('Damping ratio for --at instead of the specimen\'s, for example "0.4 %".')
@inch_option
@force_option
@honest_errors
def command(
    specimen_paths: tuple[str, ...],
    what: str,
    ranks: frozenset[int] | None,
    below: float | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    measured_path: str | None,
    tolerance: float,
    animate: Path | None,
    rate: float,
    at_hz: float | None,
    damping: float | None,
    inch: bool,
    force: bool,
) -> None:
    """Draw pictures of the modes of each SPECIMEN into FILE.

    The ending of FILE says what it is: .png, .svg, or .pdf with as many pages as it takes; without
    FILE it is a PNG named after the specimen's file. All is drawn at the size it has in print, 180
    mm wide, in black and grey.

    SPECIMEN may be several files, or a folder; "{name}" in the name of FILE, and in that of LIST,
    is then each one's: sheets/{name}.png.

    Example: saltline draw reed.yaml reed.pdf --modes 1-4
    """
    from saltline.show.pictures_file import ENDINGS

    specimen_paths, target = parted(specimen_paths)
    _refuse(what, ranks, below, measured_path, animate, target, at_hz, damping)
    check_each_has_its_own(animate or target, specimen_paths)

    def drawn(specimen_path: str) -> None:
        listed = None if measured_path is None else str(filled(Path(measured_path), specimen_path))
        request = Request(
            ranks, below, theory, families, every, listed, tolerance, unit_of_length(inch=inch)
        )
        if animate is not None:
            path = filled(animate, specimen_path)
            check_target(path, (".gif",), force=force)
            _check_rate(rate)
            content = moving(load_specimen(specimen_path), request, rate, at_hz, damping)
        else:
            path = filled(target or Path("{name}.png"), specimen_path)
            ending = check_target(path, ENDINGS, force=force)
            content = still(load_specimen(specimen_path), what, request, ending)
        write_all([(path, content)], force=force)

    do_each(specimen_paths, drawn)


def _refuse(
    what: str,
    ranks: frozenset[int] | None,
    below: float | None,
    measured_path: str | None,
    animate: Path | None,
    target: Path | None,
    at_hz: float | None,
    damping: float | None,
) -> None:
    """Options that do not go together."""
    one_of(ranks, below)
    wrong = [
        (animate is not None and target is not None,
         f"--animate writes a moving picture and {target} a still one; ask for one at a time"),
        (animate is not None and what != "modes", f"--animate does not go with --as {what}"),
        (at_hz is not None and animate is None, "--at needs --animate FILE.gif"),
        (animate is None and _is_given("rate"), "--rate needs --animate FILE.gif"),
        (animate is None and target is not None and target.suffix.lower() == ".gif",
         f"a moving picture is asked for with --animate {target}"),
        (at_hz is not None and (ranks is not None or below is not None),
         "--at shows what all modes make together; leave --modes and --below out"),
        (damping is not None and at_hz is None, "--damping needs --at, the frequency of the drive"),
        (what == "comparison" and measured_path is None,
         "--as comparison needs --measured LIST, what is compared"),
        (measured_path is not None and what not in ("map", "comparison"),
         "--measured needs --as map or --as comparison"),
    ]  # fmt: skip
    for is_wrong, why in wrong:
        if is_wrong:
            raise click.UsageError(why)


def _is_given(name: str) -> bool:
    """Whether an option stands in the command line."""
    source = click.get_current_context().get_parameter_source(name)
    return source is ParameterSource.COMMANDLINE


def _check_rate(rate: float) -> None:
    from saltline.planning.strobe import FLICKER_HZ
    from saltline.show.pictures_motion import SLOWEST_HZ

    if not SLOWEST_HZ <= rate < FLICKER_HZ[0]:
        raise click.BadParameter(
            f"{rate:g} Hz is not from {SLOWEST_HZ:g} Hz to below {FLICKER_HZ[0]:g} Hz: a picture "
            "whose light and dark change faster can trigger seizures in people with "
            "photosensitive epilepsy",
            param_hint="'--rate'",
        )
