"""A report: everything found of a specimen as sections, whatever they are printed on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from saltline.modes import Modes
from saltline.planning.cautions import CAUTIONS
from saltline.record import record
from saltline.show.beyond import reach_notes
from saltline.show.marked import marked
from saltline.show.pictures_face import SALT_WORDS, draw_salt
from saltline.show.pictures_map import map_sheet
from saltline.show.pictures_modes import modes_sheet, specimen_line
from saltline.show.predicted import predicted
from saltline.show.report_marks import marks_table
from saltline.show.report_parts import (
    Entries,
    FileText,
    Grid,
    Part,
    Picture,
    Points,
    Prose,
    Report,
    Section,
    new_points,
    points,
)
from saltline.show.report_words import (
    Origin,
    assumptions,
    origin_entries,
    specimen_entries,
    specimen_table,
)
from saltline.show.sketch import with_sketches
from saltline.show.table import LengthUnit, Result, render
from saltline.spread import Band

if TYPE_CHECKING:
    from saltline.planning.plan import Plan
    from saltline.show.report_measured import Comparison


@record
class Findings:
    """Everything that a report is made of.

    modes:  those that are asked for, at least one; bands: of their frequencies.
    others: families that are not listed -> their lowest frequency, Hz.
    unit:   of positions.
    plan, comparison: None where there is no rig, or no list.
    """

    modes: Modes
    bands: Sequence[Band | None]
    others: Mapping[str, float]
    unit: LengthUnit
    origin: Origin
    plan: Plan | None = None
    comparison: Comparison | None = None


def report_of(findings: Findings) -> Report:
    """The report."""
    specimen = findings.modes.specimen
    result = predicted(findings.modes, findings.others, spread=findings.bands, unit=findings.unit)
    sections = [
        Section("Cautions", (Entries(tuple((c.topic, c.text) for c in CAUTIONS)),)),
        _specimen(findings, result),
        _predicted(findings, result),
        _pictures(findings, result),
        _nodes(findings, result),
    ]
    sections += [*_planned(findings, result), *_measured(findings), _origin(findings.origin)]
    return Report(
        specimen.name,
        (specimen_line(specimen),),
        findings.origin.date,
        findings.origin.trace,
        tuple(
            replace(section, title=f"{number}  {section.title}")
            for number, section in enumerate(sections, start=1)
        ),
    )


# -- prediction -----------------------------------------------------------------------------------


def _specimen(findings: Findings, result: Result) -> Section:
    specimen = findings.modes.specimen
    has_bands = any(band is not None for band in findings.bands)
    return Section(
        "Specimen and assumptions",
        (
            Grid(specimen_table(specimen)),
            specimen_entries(specimen, result.lines[-1] if result.lines else ""),
            Prose(("The predictions assume:",)),
            Points(assumptions(findings.modes, has_bands=has_bands)),
        ),
    )


def _predicted(findings: Findings, result: Result) -> Section:
    comparison = findings.comparison
    measured = () if comparison is None else comparison.found.measured
    # It tells of an option of `predict`, which a report has not.
    reach = (text.replace("; --as-plate shows", "; predict --as-plate shows")
             for text in reach_notes(findings.modes, findings.others))  # fmt: skip
    remarks = (*result.remarks, *reach)
    return Section(
        "Predicted resonances",
        (
            Grid(result.tables[0]),
            *points((*_column_words(result), *result.lines[:-1], *remarks)),
            Picture(lambda: map_sheet(findings.modes, measured)),
        ),
    )


DRIVEN = (
    "driven: how strongly the drive of the file excites the mode, 0 to 1; no where symmetry or a "
    "node forbids it"
)


def _column_words(result: Result) -> tuple[str, ...]:
    """What a heading leaves open."""
    is_there = any(row.get("excitation") is not None for row in result.tables[0].rows)
    return (DRIVEN,) if is_there else ()


def _pictures(findings: Findings, result: Result) -> Section:
    modes, unit = findings.modes, findings.unit

    def sketch() -> str:
        drawn = with_sketches(result, modes)
        return f"{render(drawn.tables[0])}\n\n{drawn.lines[-1]}"

    picture = Picture(
        lambda: modes_sheet(modes, unit=unit, draw=draw_salt, explained=SALT_WORDS), sketch
    )
    return Section("Pictures of the modes", (picture,))


def _nodes(findings: Findings, shown: Result) -> Section:
    result = marked(findings.modes, unit=findings.unit)
    table = marks_table(result.tables[0], findings.unit)
    return Section("Where to mark", (Grid(table), *new_points(result.remarks, shown.remarks)))


# -- what there is with a rig or a list ------------------------------------------------------------


def _planned(findings: Findings, shown: Result) -> list[Section]:
    if findings.plan is None:
        return []
    from saltline.show.report_plan import plan_section

    ranks = {mode.rank for mode in findings.modes.modes}
    return [plan_section(findings.plan, ranks, findings.unit, shown)]


def _measured(findings: Findings) -> list[Section]:
    if findings.comparison is None:
        return []
    from saltline.show.report_measured import check_section, fit_section

    return [
        check_section(findings.comparison, findings.modes.specimen, findings.others),
        fit_section(findings.comparison),
    ]


# -- where from -----------------------------------------------------------------------------------


def _origin(origin: Origin) -> Section:
    return Section("Date, versions, files", tuple(_origin_parts(origin)))


def _origin_parts(origin: Origin) -> Iterator[Part]:
    yield origin_entries(origin)
    for source in origin.sources:
        lines = source.text.removeprefix("\ufeff").splitlines()
        yield FileText(f"{source.role}: {source.name}", tuple(lines))
