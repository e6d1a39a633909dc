"""The columns of CSV: each that is written is explained in docs/files.md, and no other is."""

from __future__ import annotations

import csv
import io
import re
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import main

ROOT = Path(__file__).parent.parent
REED, SHEET, DISC, LIST = (
    str(ROOT / "examples" / name)
    for name in (
        "clamped-reed.yaml", "square-plate.yaml", "free-disc.yaml", "free-disc.measured.csv",
    )
)  # fmt: skip

RUNS = {
    "predict": (
        (REED, "--all", "--ratios", "--inch", "--modes", "3"),
        (SHEET, "--modes", "5"),
        (DISC, "--modes", "2"),
        (REED, DISC, "--modes", "1"),
    ),
    "mark": (
        (REED, "--all", "--inch", "--modes", "1-3"),
        (SHEET, "--modes", "1-3"),
        (DISC, "--modes", "1-4"),
        (REED, DISC, "--modes", "1"),
    ),
}
"""Runs in which every column of a command is written."""


@cache
def documented(command: str) -> frozenset[str]:
    """The columns that the page has for a command."""
    page = (ROOT / "docs" / "files.md").read_text(encoding="utf-8")
    section = page.split("## What predict and mark write as CSV\n")[1].split("\n## ")[0]
    table = re.split(r"`(\w+)` has a row for each", section)
    rows = re.findall(r"^\| (`.*?) \|", table[table.index(command) + 1], flags=re.MULTILINE)
    return frozenset(name for row in rows for name in re.findall(r"`(\w+)`", row))


@cache
def written(command: str) -> tuple[list[dict[str, str]], ...]:
    """The rows of each run of a command, by column."""
    outputs = [
        CliRunner().invoke(main, [command, *arguments, "--format", "csv"]).stdout
        for arguments in RUNS[command]
    ]
    return tuple(list(csv.DictReader(io.StringIO(output))) for output in outputs)


@pytest.mark.parametrize("command", RUNS)
def test_every_column_is_explained_and_every_explained_one_is_written(command: str) -> None:
    columns = {name for rows in written(command) for name in rows[0]}
    assert columns == documented(command)


@pytest.mark.parametrize("command", RUNS)
def test_every_column_has_a_value_in_some_row(command: str) -> None:
    filled = {name for rows in written(command) for row in rows for name in row if row[name]}
    assert filled == documented(command)


def test_positions_are_in_metres_and_two_of_them_make_the_length_also_with_inch() -> None:
    places = [row for row in written("mark")[0] if row["from_start_m"]]
    assert places
    for row in places:
        assert float(row["from_start_m"]) + float(row["from_end_m"]) == pytest.approx(0.18)


def test_shear_percent_is_how_much_higher_euler_is() -> None:
    rows = [row for row in written("predict")[0] if row["euler_hz"]]
    assert rows
    for row in rows:
        ratio = float(row["euler_hz"]) / float(row["frequency_hz"])
        assert float(row["shear_percent"]) == pytest.approx(100.0 * (ratio - 1.0), abs=1e-9)
