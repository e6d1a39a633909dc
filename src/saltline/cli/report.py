"""`saltline report`: everything about a specimen on printable sheets."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.common import (
    all_option,
    below_option,
    family_option,
    honest_errors,
    idle_options,
    inch_option,
    load_specimen,
    one_of,
    ranks_option,
    specimens_and_file_argument,
    theory_option,
    tolerance_option,
    unit_of_length,
)
from saltline.cli.each import do_each
from saltline.cli.picture_files import (
    check_each_has_its_own,
    check_target,
    filled,
    force_option,
    parted,
)
from saltline.cli.report_findings import Request, findings_of, read_inputs
from saltline.cli.writing import write_all
from saltline.record import record

if TYPE_CHECKING:
    from saltline.show.report_pages import Page
    from saltline.show.report_parts import Report

ENDINGS = {"pdf": ".pdf", "markdown": ".md"}
"""Form -> the ending of its file."""


@click.command("report")
@specimens_and_file_argument
@click.option(
    "--measured",
    "measured_path",
    type=click.Path(),
    metavar="LIST",
    help='A measured list: adds check and fit. "-" reads it from standard input.',
)
@click.option(
    "--rig",
    "rig_path",
    type=click.Path(),
    metavar="FILE",
    help="The exciter, strobe and sensor: adds the plan of the test.",
)
@ranks_option('Which modes, for example "1-5,8"; by default 1-8.')
@below_option
@theory_option
@family_option
@all_option
@click.option(
    "--quantity",
    "names",
    multiple=True,
    metavar="PATH",
    help="What is fitted to the list, as in fit; may be given several times.",
)
@tolerance_option("How far a measured frequency may lie from the prediction; as in check.")
@inch_option
@click.option(
    "--paper",
    type=click.Choice(("a4", "letter"), case_sensitive=False),
    default="a4",
    show_default=True,
    help="The paper of a PDF.",
)
@click.option(
    "--format",
    "form",
    type=click.Choice(tuple(ENDINGS)),
    help="By default what the ending of FILE says, .pdf or .md, and PDF without FILE.",
)
@force_option
@honest_errors
def command(
    specimen_paths: tuple[str, ...],
    measured_path: str | None,
    rig_path: str | None,
    ranks: frozenset[int] | None,
    below: float | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    names: tuple[str, ...],
    tolerance: float,
    inch: bool,
    paper: str,
    form: str | None,
    force: bool,
) -> None:
    """Put everything about each SPECIMEN on printable sheets: FILE.pdf, or FILE.md for a notebook.

    Cautions, the specimen and what is assumed of it, the predicted resonances, pictures and places
    to mark, with --rig the plan of a test, with --measured check and fit; at the end date,
    versions, and the files that all this was made from.

    Without FILE a PDF is named after the specimen's file, and Markdown goes to standard output. The
    date is that of SOURCE_DATE_EPOCH where the environment has it: then the same input makes the
    same file.

    SPECIMEN may be several files, or a folder; "{name}" in the name of FILE, and in that of LIST,
    is then each one's: sheets/{name}.pdf.

    Example: saltline report reed.yaml reed.pdf --modes 1-4 --rig bench.rig.yaml --measured pad.csv
    """
    one_of(ranks, below)
    if names and measured_path is None:
        raise click.UsageError("--quantity needs --measured LIST, to which it is fitted")
    specimen_paths, target = parted(specimen_paths)
    check_each_has_its_own(target, specimen_paths)
    request = Request(
        ranks, below, theory, families, every, names, tolerance, unit_of_length(inch=inch)
    )

    def reported(specimen_path: str) -> None:
        from saltline.files.rig_fit import refuse_exchanged
        from saltline.show.predicted import end_note
        from saltline.show.report import report_of

        if rig_path is not None:
            refuse_exchanged(specimen_path, rig_path)
        own = None if target is None else filled(target, specimen_path)
        file = _file(specimen_path, own, form, force=force)
        listed = None if measured_path is None else str(filled(Path(measured_path), specimen_path))
        inputs = read_inputs(load_specimen(specimen_path), rig_path, listed)
        findings = findings_of(inputs, request)
        for remark in (*idle_options(inputs.specimen), *end_note(findings.modes, below)):
            click.echo(f"note: {remark}", err=True)
        report = report_of(findings)
        if file.path is None:
            click.echo(_markdown(report), nl=False)
            return
        is_pdf = file.form != "markdown"
        content = _pdf(report, paper.lower()) if is_pdf else _markdown(report).encode()
        write_all([(file.path, content)], force=force)

    do_each(specimen_paths, reported)


@record
class _File:
    """What is written, and where; None for standard output."""

    form: str
    path: Path | None


def _file(specimen_path: str, target: Path | None, form: str | None, *, force: bool) -> _File:
    """What would stop the file in the end stops it here, before anything is computed."""
    if target is None and form == "markdown":
        return _File("markdown", None)
    path = target or Path(Path(specimen_path).stem + ".pdf")
    endings = tuple(ENDINGS.values()) if form is None else (ENDINGS[form],)
    ending = check_target(path, endings, force=force)
    return _File(next(name for name, own in ENDINGS.items() if own == ending), path)


def _markdown(report: Report) -> str:
    from saltline.show.report_markdown import markdown

    return markdown(report)


def _pdf(report: Report, paper: str) -> bytes:
    """The PDF; a terminal is shown how many pages are drawn."""
    from saltline.show.report_pdf import report_pdf

    return report_pdf(report, paper, _followed if sys.stderr.isatty() else iter)


def _followed(pages: list[Page]) -> Iterator[Page]:
    bar: Iterable[Page]
    with click.progressbar(pages, label="pages", file=sys.stderr) as bar:
        yield from bar
