"""`saltline predict`: natural frequencies, mode by mode."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import click

from saltline.cli.common import (
    MassAtPlace,
    all_option,
    below_option,
    chosen_families,
    count_option,
    family_option,
    format_option,
    honest_errors,
    load_specimen,
    one_of,
    show,
    specimen_argument,
    theory_option,
)

if TYPE_CHECKING:
    from saltline.modes import Modes
    from saltline.show.table import Table
    from saltline.specimen import Specimen


@click.command("predict")
@specimen_argument
@count_option
@below_option
@theory_option
@family_option
@all_option
@click.option("--ratios", is_flag=True, help="Add the ratio of each frequency to the first.")
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
@format_option
@honest_errors
def command(
    specimen_path: str,
    count: int | None,
    below: float | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    ratios: bool,
    why: bool,
    as_plate: bool,
    clamp: bool,
    sensor: tuple[float, tuple[float, ...]] | None,
    form: str,
) -> None:
    """Predict the natural frequencies of SPECIMEN, mode by mode.

    Eight modes are listed unless --modes or --below says otherwise. A beam's frequencies are
    Timoshenko's, with Euler and Bernoulli's beside them, so that the effect of shear is seen; of
    its families of motion flatwise bending alone is listed unless --family or --all says otherwise.

    Example: saltline predict reed.yaml --below "5 kHz"
    """
    from saltline.effects import clamp_effect, sensor_effect
    from saltline.mixture import as_driven
    from saltline.modes import find_modes, first_frequencies
    from saltline.show import beyond
    from saltline.show.predicted import predicted
    from saltline.strip import is_plain, is_strip, reach

    one_of(count, below)
    specimen = load_specimen(specimen_path)
    chosen = chosen_families(specimen, families, every=every)
    modes = find_modes(specimen, count=count or 8, below_hz=below, theory=theory, families=chosen)
    modes = as_driven(modes)
    others = first_frequencies(specimen, besides=chosen)
    result = predicted(modes, others, ratios=ratios)
    if is_strip(specimen) and is_plain(specimen):
        flatwise = [mode for mode in modes.modes if mode.family == "flatwise"]
        if flatwise and not as_plate:
            note = beyond.reach_note(reach(specimen, flatwise))
            result = replace(result, remarks=(*result.remarks, note))
    if why:
        result = beyond.with_table(result, "why", beyond.why_table(modes))
    if as_plate:
        result = beyond.with_table(result, "as_plate", _plate(specimen, modes))
    if clamp:
        result = beyond.with_table(result, "clamp", beyond.clamp_table(clamp_effect(specimen)))
    if sensor is not None:
        after = sensor_effect(modes, *sensor, families=chosen)
        result = beyond.with_table(result, "sensor", beyond.sensor_table(modes, after))
    if form == "csv" and len(result.tables) > 1:
        note = "CSV holds the first table alone; --format json has them all"
        result = replace(result, remarks=(*result.remarks, note))
    show(result, form)


def _plate(specimen: Specimen, modes: Modes) -> tuple[Table, list[dict[str, Any]]]:
    """The strip as a plate, up to the highest mode of the list."""
    from saltline.modes import find_modes
    from saltline.motions import BeamError
    from saltline.show.beyond import plate_table
    from saltline.strip import compare, is_strip

    if not is_strip(specimen):
        raise BeamError(
            "--as-plate needs a beam of one rectangular section, without supports or tension"
        )
    count = len(modes.modes)
    beam = find_modes(specimen, count=2 * count, families=("flatwise", "torsion"))
    return plate_table(compare(specimen, beam, count=count))
