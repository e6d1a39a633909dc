"""What a measured list says of a specimen, as sections of a report."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from saltline.fitting.fit import Fit
from saltline.naming.identify import Identification
from saltline.record import record
from saltline.show.checked import checked
from saltline.show.fitted import fitted
from saltline.show.phrases import stated
from saltline.show.pictures_compare import comparison_sheet
from saltline.show.report_parts import Grid, Picture, Prose, Section, points
from saltline.show.table import Table, significant
from saltline.specimen import Specimen

NEAR = 0.05
"""A line is near a mode whose predicted frequency differs by no more than this part."""


@record
class Comparison:
    """A measured list against a specimen.

    found: what each of its lines is; fit: what explains them best, or why there is no fit.
    """

    found: Identification
    fit: Fit | str


def check_section(
    comparison: Comparison, specimen: Specimen, others: Mapping[str, float]
) -> Section:
    """Which mode each line is, and what does not fit; the verdict first.

    others: families that the list was not compared with -> their lowest frequency, Hz.
    """
    found = comparison.found
    result = checked(specimen, found)
    *sentences, verdict = result.lines
    return Section(
        "Check of the measured list",
        (
            Prose((f"Verdict: the list {verdict}.",)),
            *(Grid(_narrow(table, specimen)) for table in result.tables),
            *points((*sentences, *_of_other_families(comparison, others))),
            Picture(lambda: comparison_sheet(specimen, found, tolerance=found.tolerance)),
        ),
    )


def _narrow(table: Table, specimen: Specimen) -> Table:
    """The table of a plate or a disc without its one family and the order in it, which is the rank.

    With them it would be wider than a sheet, and its last columns a table of their own.
    """
    if specimen.kind == "beam":
        return table
    columns = tuple(c for c in table.columns if c.key not in ("family", "order"))
    return replace(table, columns=columns)


def _of_other_families(comparison: Comparison, others: Mapping[str, float]) -> Iterator[str]:
    """Lines that no listed mode explains, and that lie where another family begins."""
    for number, match in enumerate(comparison.found.matches, start=1):
        hz = match.measured.frequency_hz
        for family, lowest in others.items():
            if match.mode is None and abs(hz / lowest - 1.0) < NEAR:
                yield (
                    f"row {number} ({stated(hz)} Hz) lies near the lowest mode in {family}, "
                    f"{significant(5)(lowest)} Hz by the file, with which the list was not "
                    "compared: --all brings that in"
                )


PRIOR_SHARE = (
    "prior share: the part of what is known of the quantity that the tolerance in the file says; "
    "the rest is from the list"
)


def fit_section(comparison: Comparison) -> Section:
    """What explains the list best, or why nothing was fitted."""
    title = "Fit to the measured list"
    if isinstance(comparison.fit, str):
        return Section(title, (Prose((f"There is no fit: {comparison.fit}.",)),))
    result = fitted(comparison.fit)
    has_prior = any(row.get("prior_share_percent") is not None for row in result.tables[0].rows)
    texts = (*((PRIOR_SHARE,) if has_prior else ()), *result.lines, *result.remarks)
    # A report has no such option: it is that of the command.
    told = [text.replace("--no-priors", "fit --no-priors") for text in texts]
    return Section(title, (*map(Grid, result.tables), *points(told)))
