"""What was measured: a list of resonances in YAML or CSV, or all of its mistakes with their places.

A row of either form becomes the same mapping of nodes, so that one reader serves both.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from saltline.files.complaints import InputError, Log
from saltline.files.measured_csv import csv_rows
from saltline.files.measured_row import KNOWN, MOST_COUNT, MOST_ROWS, read_row
from saltline.files.measured_yaml import looks_like_yaml, yaml_rows
from saltline.files.reading import read_stdin, read_text
from saltline.measured_list import COUNTS, FAMILIES, Measured, MeasuredList

__all__ = [
    "COUNTS",
    "FAMILIES",
    "KNOWN",
    "LARGEST_LIST",
    "MOST_COUNT",
    "MOST_ROWS",
    "Measured",
    "MeasuredList",
    "is_measured_list",
    "load_measured",
    "read_measured",
]

LARGEST_LIST = 5_000_000
"""Bytes; a recording given for a list is read so far that the refusal can say what it is."""


def load_measured(path: str | os.PathLike[str]) -> MeasuredList:
    """Read a measured list.

    path: a file; "-" is the standard input. A name in .yaml, .yml or .json is YAML; any other is
    YAML where the text looks like it, and CSV otherwise.
    Raises InputError with everything that is wrong with it.
    """
    if os.fspath(path) == "-":
        return read_measured(read_stdin(largest=LARGEST_LIST), "standard input")
    return read_measured(read_text(path, largest=LARGEST_LIST), path)


def read_measured(text: str, path: str | os.PathLike[str] = "measured") -> MeasuredList:
    """Read the text of a measured list.

    path: names the file in messages; its ending says YAML as for `load_measured`.
    Raises InputError with everything that is wrong with it.
    """
    log = Log(os.fspath(path))
    text = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    by_name = Path(path).suffix.lower() in (".yaml", ".yml", ".json")
    mappings = yaml_rows if by_name or looks_like_yaml(text) else csv_rows
    rows = [row for row in map(read_row, mappings(text, log)) if row is not None]
    _refuse_repeats(rows, log)
    log.raise_if_any()
    return MeasuredList(log.path, tuple(rows))


def is_measured_list(path: str | os.PathLike[str]) -> bool:
    """Whether a file is a measured list without a mistake, to tell two files given in exchange."""
    try:
        return bool(load_measured(path).rows)
    except InputError:
        return False


def _refuse_repeats(rows: Sequence[Measured], log: Log) -> None:
    """Complain of a frequency that stands twice, unless what was seen tells the two apart."""
    seen: dict[float, list[Measured]] = {}
    for row in rows:
        earlier = seen.setdefault(row.frequency_hz, [])
        first = next((other for other in earlier if not _told_apart(row, other)), None)
        earlier.append(row)
        if first is None or first.place is None or row.place is None:
            continue
        lines = f"lines {first.place.line} and {row.place.line}"
        if first.place.line == row.place.line:
            lines = f"line {row.place.line} twice"
        log.add(
            row.place,
            f"the frequency {row.frequency_hz:.12g} Hz stands in {lines}; a list holds each "
            "resonance once: remove one, or tell them apart by family or by count of node lines",
        )


def _told_apart(row: Measured, other: Measured) -> bool:
    """Whether two resonances of one frequency are said to be different ones.

    They may well be: those of a square bar, or of a square plate. The nodes of a beam are no such
    difference, for within a family its frequencies are distinct.
    """
    if row.family and other.family and row.family != other.family:
        return True
    keys = (row.counts.keys() & other.counts.keys()) - {"nodes"}
    return any(row.counts[key] != other.counts[key] for key in keys)
