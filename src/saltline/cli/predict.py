"""`saltline predict`: natural frequencies, mode by mode."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

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
    idle_options,
    inch_option,
    load_specimen,
    one_of,
    show,
    specimen_argument,
    theory_option,
    unit_of_length,
)

if TYPE_CHECKING:
    from saltline.modes import Modes


@click.command("predict")
@specimen_argument
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
@inch_option
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
    sketch: bool,
    why: bool,
    as_plate: bool,
    clamp: bool,
    sensor: tuple[float, tuple[float, ...]] | None,
    inch: bool,
    form: str,
) -> None:
    """Predict the natural frequencies of SPECIMEN, mode by mode.

    Eight modes are listed unless --modes or --below says otherwise. A beam's frequencies are
    Timoshenko's, with Euler and Bernoulli's beside them, so that the effect of shear is seen; of
    its families of motion flatwise bending alone is listed unless --family or --all says otherwise.

    Example: saltline predict reed.yaml --below "5 kHz"
    """
    from saltline.effects import CLAMP_STEPS, clamp_effect, sensor_effect
    from saltline.mixture import listed_modes
    from saltline.modes import MOST_MODES, first_frequencies
    from saltline.show import beyond
    from saltline.show.mixing import unlisted_notes, with_pairs
    from saltline.show.predicted import predicted
    from saltline.spread import bands
    from saltline.strip import compare

    one_of(count, below)
    specimen, unit = load_specimen(specimen_path), unit_of_length(inch=inch)
    chosen = chosen_families(specimen, families, every=every)
    modes, known = listed_modes(
        specimen, count=count, below_hz=below, theory=theory, families=chosen
    )
    others = first_frequencies(specimen, besides=chosen)
    spread = bands(modes)
    result = predicted(modes, others, spread=spread, ratios=ratios, unit=unit)
    remarks = [*result.remarks, *unlisted_notes(known, modes), *idle_options(specimen)]
    remarks += () if as_plate else _reach_note(modes)
    if below is not None and len(modes.modes) == MOST_MODES:
        remarks.append(f"the list ends after {MOST_MODES} modes; more lie below the limit given")
    if why:
        result = beyond.with_table(result, "why", beyond.why_table(modes, spread))
    if as_plate:
        result = beyond.with_table(result, "as_plate", beyond.plate_table(compare(modes)))
    if clamp:
        steps = clamp_effect(specimen)
        result = beyond.with_table(result, "clamp", beyond.clamp_table(steps))
        if len(steps) < len(CLAMP_STEPS):
            remarks.append("in a softer clamp than those listed the compression would buckle it")
    if sensor is not None:
        after = sensor_effect(modes, *sensor, families=chosen)
        result = beyond.with_table(result, "sensor", beyond.sensor_table(modes, after, unit))
    if sketch and form == "table":
        from saltline.show.sketch import with_sketches

        result = with_sketches(result, modes)
    elif sketch:
        remarks.append("--sketch has no effect: it draws in a table alone")
    if form == "json" and specimen.kind == "plate":
        result = with_pairs(result, modes)
    if form == "csv" and len(result.tables) > 1:
        remarks.append("CSV holds the first table alone; --format json has them all")
    show(replace(result, remarks=tuple(remarks)), form)


def _reach_note(modes: Modes) -> tuple[str, ...]:
    """Where beam theory ends, for a rectangular beam whose flatwise bending is listed."""
    from saltline.motions import BeamError
    from saltline.show.beyond import no_reach_note, reach_note
    from saltline.strip import reach
    from saltline.strip_form import is_rectangular, why_no_plate

    flatwise = [mode for mode in modes.modes if mode.family == "flatwise"]
    if not flatwise or not is_rectangular(modes.specimen):
        return ()
    objection = why_no_plate(modes.specimen)
    if objection:
        return (no_reach_note(objection),)
    try:
        return (reach_note(reach(modes.specimen, flatwise)),)
    except BeamError as error:
        return (no_reach_note(str(error)),)
