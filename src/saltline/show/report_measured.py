"""What a measured list says of a specimen, as sections of a report."""

from __future__ import annotations

from dataclasses import dataclass

from saltline.fitting.fit import Fit
from saltline.naming.identify import Identification
from saltline.naming.resonance import Measured
from saltline.show.checked import checked
from saltline.show.fitted import fitted
from saltline.show.pictures_compare import comparison_sheet
from saltline.show.report_parts import Grid, Picture, Prose, Section, points
from saltline.specimen import Specimen


@dataclass(frozen=True, slots=True)
class Comparison:
    """A measured list against a specimen.

    measured: its lines; found: what each is; tolerance: relative difference that agrees.
    fit:      what explains them best, or why there is no fit.
    """

    measured: tuple[Measured, ...]
    found: Identification
    tolerance: float
    fit: Fit | str


def check_section(comparison: Comparison, specimen: Specimen) -> Section:
    """Which mode each line is, and what does not fit; the verdict first."""
    found = comparison.found
    result = checked(specimen, found)
    *sentences, verdict = result.lines
    return Section(
        "Check of the measured list",
        (
            Prose((f"Verdict: the list {verdict}.",)),
            *map(Grid, result.tables),
            *points(sentences),
            Picture(lambda: comparison_sheet(specimen, found, tolerance=comparison.tolerance)),
        ),
    )


def fit_section(comparison: Comparison) -> Section:
    """What explains the list best, or why nothing was fitted."""
    title = "Fit to the measured list"
    if isinstance(comparison.fit, str):
        return Section(title, (Prose((f"There is no fit: {comparison.fit}.",)),))
    result = fitted(comparison.fit)
    return Section(title, (*map(Grid, result.tables), *points((*result.lines, *result.remarks))))
