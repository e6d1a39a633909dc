"""What `saltline predict` finds of one specimen, as it was asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from saltline.cli.common import chosen_families, load_specimen, unit_of_length
from saltline.record import record

if TYPE_CHECKING:
    from saltline.modes import Modes
    from saltline.show.table import Result
    from saltline.specimen import Specimen


@record
class Request:
    """What is asked for; the fields are the options of the command.

    is_brief: whether the remarks are left out that take solutions of their own: where other
              families begin, and how far beam theory holds.
    """

    count: int | None
    below: float | None
    theory: str
    families: tuple[str, ...]
    every: bool
    ratios: bool = False
    sketch: bool = False
    why: bool = False
    as_plate: bool = False
    clamp: bool = False
    sensor: tuple[float, tuple[float, ...]] | None = None
    inch: bool = False
    form: str = "table"
    is_brief: bool = False


def prediction(request: Request, path: str) -> Result:
    """The result for the specimen of a file."""
    return prediction_of(load_specimen(path), request)


def prediction_of(specimen: Specimen, request: Request) -> Result:
    """The result for a specimen."""
    from saltline.mixture import listed_modes
    from saltline.show.predicted import end_note, predicted
    from saltline.solver import first_frequencies
    from saltline.spread import bands

    chosen = chosen_families(specimen, request.families, every=request.every)
    modes, known = listed_modes(
        specimen,
        count=request.count,
        below_hz=request.below,
        theory=request.theory,
        families=chosen,
    )
    others = {} if request.is_brief else first_frequencies(specimen, besides=chosen)
    spread = bands(modes)
    unit = unit_of_length(inch=request.inch)
    result = predicted(modes, others, spread=spread, ratios=request.ratios, unit=unit)
    notes = (*_unlisted_notes(known, modes), *_reach_notes(modes, others, request))
    result = replace(result, remarks=(*result.remarks, *notes, *end_note(modes, request.below)))
    if request.why:
        from saltline.show import beyond

        result = beyond.with_table(result, "why", beyond.why_table(modes, spread))
    result = _with_other_views(result, modes, request, chosen)
    if request.form == "json" and specimen.kind == "plate":
        from saltline.show.mixing import with_pairs

        result = with_pairs(result, modes)
    if request.form == "csv" and len(result.tables) > 1:
        return _noted(result, "CSV holds the first table alone; --format json has them all")
    return result


def _noted(result: Result, *remarks: str) -> Result:
    return replace(result, remarks=(*result.remarks, *remarks))


def _unlisted_notes(known: Modes, listed: Modes) -> list[str]:
    """What is said of a plate's modes whose partners are not listed."""
    if listed.specimen.kind != "plate":
        return []
    from saltline.show.mixing import unlisted_notes  # a beam need not wait for it

    return unlisted_notes(known, listed)


def _with_other_views(
    result: Result, modes: Modes, request: Request, families: tuple[str, ...]
) -> Result:
    """The result with the further tables that are asked for."""
    from saltline.show import beyond

    if request.as_plate:
        from saltline.strip import compare

        result = beyond.with_table(result, "as_plate", beyond.plate_table(compare(modes)))
    if request.clamp:
        result = _with_clamp(result, modes.specimen)
    if request.sensor is not None:
        from saltline.effects import sensor_effect

        unit = unit_of_length(inch=request.inch)
        after = sensor_effect(modes, *request.sensor, families=families)
        result = beyond.with_table(result, "sensor", beyond.sensor_table(modes, after, unit))
    if request.sketch and request.form == "table":
        from saltline.show.sketch import with_sketches

        return with_sketches(result, modes)
    if request.sketch:
        return _noted(result, "--sketch has no effect: it draws in a table alone")
    return result


def _with_clamp(result: Result, specimen: Specimen) -> Result:
    from saltline.effects import CLAMP_STEPS, clamp_effect
    from saltline.show import beyond

    steps = clamp_effect(specimen)
    result = beyond.with_table(result, "clamp", beyond.clamp_table(steps))
    if len(steps) == len(CLAMP_STEPS):
        return result
    return _noted(result, "in a softer clamp than those listed the compression would buckle it")


def _reach_notes(modes: Modes, others: Mapping[str, float], request: Request) -> tuple[str, ...]:
    """Where beam theory ends, unless the table says it or it takes too long."""
    from saltline.show.beyond import reach_notes

    return () if request.as_plate or request.is_brief else reach_notes(modes, others)
