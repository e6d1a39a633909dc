"""What `saltline report` finds out: its files read, everything asked of the rooms below."""

from __future__ import annotations

import os
import platform
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from saltline.cli.common import fail, listed_families, load_rig_for
from saltline.record import record

if TYPE_CHECKING:
    from saltline.fitting.fit import Fit
    from saltline.measured_list import Measured
    from saltline.modes import Modes
    from saltline.naming.identify import Identification
    from saltline.planning.plan import Plan
    from saltline.planning.rig import Rig
    from saltline.show.report import Findings
    from saltline.show.report_measured import Comparison
    from saltline.show.report_words import Origin, Source
    from saltline.show.table import LengthUnit
    from saltline.specimen import Specimen

DEFAULT_RANKS = frozenset(range(1, 9))

LAST_DATE = 253_402_300_799
"""The last second of the year 9999, from 1970."""


@record
class Request:
    """What is asked for.

    ranks, below_hz: which modes; None for what is usual.
    families, every: as for `cli.common.chosen_families`.
    names:           of the quantities that are fitted; () for what is usual.
    tolerance:       relative difference that agrees.
    unit:            of positions.
    """

    ranks: frozenset[int] | None
    below_hz: float | None
    theory: str
    families: tuple[str, ...]
    every: bool
    names: tuple[str, ...]
    tolerance: float
    unit: LengthUnit


# -- the files ------------------------------------------------------------------------------------


@record
class Inputs:
    """What was read; measured: () without a list."""

    specimen: Specimen
    rig: Rig | None
    measured: tuple[Measured, ...]
    sources: tuple[Source, ...]


def read_inputs(specimen: Specimen, rig_path: str | None, measured_path: str | None) -> Inputs:
    """The rig and the measured list of a specimen, and what all files were when they were read."""
    from saltline.files.measured import read_measured
    from saltline.files.measured_fit import refuse_foreign_counts

    assert specimen.path is not None
    sources = [_source("specimen", Path(specimen.path), specimen.text)]
    measured: tuple[Measured, ...] = ()
    rig = load_rig_for(rig_path, specimen)
    if rig is not None and rig_path is not None:
        sources.append(_source("rig", Path(rig_path), rig.text))
    if measured_path is not None:
        name, text = _list_text(measured_path)
        found = read_measured(text, name)
        refuse_foreign_counts(specimen, found)
        measured = found.rows
        sources.append(_source("measured list", Path(name), text))
    return Inputs(specimen, rig, measured, tuple(sources))


def _list_text(path: str) -> tuple[str, str]:
    """What the list is called in messages, and its text."""
    from saltline.files.measured import LARGEST_LIST
    from saltline.files.reading import read_stdin, read_text

    if path == "-":
        return "standard input", read_stdin(largest=LARGEST_LIST)
    return path, read_text(path, largest=LARGEST_LIST)


def _source(role: str, path: Path, text: str) -> Source:
    """A file with its digest: of its bytes, or where they are gone (a pipe) of its text."""
    from hashlib import sha256

    from saltline.show.report_words import Source

    content = path.read_bytes() if path.is_file() else text.encode()
    return Source(role, str(path), sha256(content).hexdigest(), text)


def trace_of(specimen: Specimen) -> str:
    """When something was made, and of which file of a specimen, in one line."""
    assert specimen.path is not None
    origin = _origin((_source("specimen", Path(specimen.path), specimen.text),))
    return f"{origin.date}, {origin.trace}"


def _origin(sources: tuple[Source, ...]) -> Origin:
    from importlib.metadata import version

    from saltline.show.report_words import Origin

    versions = {name: version(name) for name in ("saltline", "numpy", "scipy", "matplotlib")}
    return Origin(_now(), versions | {"Python": platform.python_version()}, sources)


def _now() -> datetime:
    """The time of the report: that which the environment states, or that of the clock."""
    stated = os.environ.get("SOURCE_DATE_EPOCH")
    if stated is None:
        return datetime.now(UTC)
    if not (stated.isascii() and stated.isdecimal() and int(stated) <= LAST_DATE):
        fail(
            f"SOURCE_DATE_EPOCH is {stated!r}: it must be whole seconds since 1970, for example "
            '"1767225600"; or take it out of the environment'
        )
    return datetime.fromtimestamp(int(stated), UTC)


# -- what is found --------------------------------------------------------------------------------


def findings_of(inputs: Inputs, request: Request) -> Findings:
    """Everything that the report is made of."""
    from saltline.show.report import Findings
    from saltline.solver import first_frequencies
    from saltline.spread import bands

    specimen = inputs.specimen
    origin = _origin(inputs.sources)
    families = _families(inputs, request)
    modes = _modes(specimen, request, families)
    return Findings(
        modes=modes,
        bands=bands(modes),
        others=first_frequencies(specimen, besides=families),
        unit=request.unit,
        origin=origin,
        plan=None if inputs.rig is None else _plan(inputs, request, families),
        comparison=_comparison(inputs, request, families) if inputs.measured else None,
    )


def _families(inputs: Inputs, request: Request) -> tuple[str, ...]:
    """Those named, or the usual one and those that the list names: the same in all sections."""
    return listed_families(inputs.specimen, inputs.measured, request.families, every=request.every)


def _modes(specimen: Specimen, request: Request, families: Sequence[str]) -> Modes:
    """The modes that are asked for; there must be one."""
    from saltline.mixture import as_driven
    from saltline.modes import of_ranks
    from saltline.solver import find_modes

    ranks = _ranks(request)
    modes = as_driven(
        find_modes(
            specimen,
            count=max(ranks or DEFAULT_RANKS),
            below_hz=request.below_hz,
            theory=request.theory,
            families=families,
        )
    )
    if ranks is not None:
        modes = of_ranks(modes, ranks)
    if not modes.modes:
        fail("no mode lies in this range, so there is nothing to report")
    return modes


def _ranks(request: Request) -> frozenset[int] | None:
    """The ranks asked for; None where a frequency bounds them."""
    return request.ranks or (DEFAULT_RANKS if request.below_hz is None else None)


def _plan(inputs: Inputs, request: Request, families: Sequence[str]) -> Plan:
    from saltline.forced.response import DriveError
    from saltline.planning.plan import plan

    try:
        made = plan(
            inputs.specimen,
            rig=inputs.rig,
            count=max(_ranks(request) or DEFAULT_RANKS),
            below_hz=request.below_hz,
            theory=request.theory,
            families=families,
        )
    except DriveError as error:
        fail(f"{inputs.specimen.path}: {error}; or leave --rig out")
    return made


def _comparison(inputs: Inputs, request: Request, families: Sequence[str]) -> Comparison:
    from saltline.naming.check import check
    from saltline.show.report_measured import Comparison

    found = check(
        inputs.specimen,
        inputs.measured,
        tolerance=request.tolerance,
        theory=request.theory,
        families=families,
        rig=inputs.rig,
    )
    fitted = _fit(inputs, request, families, found)
    return Comparison(found, fitted)


def _fit(
    inputs: Inputs, request: Request, families: Sequence[str], before: Identification
) -> Fit | str:
    """The fit, or why there is none; a wrong name of a quantity is a usage error."""
    from saltline.fitting.adjustable import adjustables
    from saltline.fitting.fit import FitError, fit
    from saltline.fitting.fittable import ChoiceError, default_names

    specimen = inputs.specimen
    try:
        chosen = adjustables(specimen, request.names or default_names(specimen))
    except ChoiceError as fault:
        if request.names:
            raise click.UsageError(str(fault)) from None
        return str(fault)
    try:
        return fit(
            specimen,
            inputs.measured,
            chosen,
            tolerance=request.tolerance,
            theory=request.theory,
            families=families,
            before=before,
        )
    except FitError as fault:
        return str(fault)
