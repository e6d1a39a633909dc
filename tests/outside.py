"""The checks against outside sources: asserted, and written down as the page on validation.

docs/validation.md is written by the tests themselves:

    SALTLINE_CHECKS=docs/validation.md pytest

After a run of the whole suite its table is compared with the checks that were made: the page can
name no check that is gone, and miss none that is new.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from pathlib import Path

PAGE = Path(__file__).resolve().parent.parent / "docs" / "validation.md"

TOPICS: dict[str, tuple[str, ...]] = {
    "Beams": ("beam", "timoshenko", "motions", "nodes", "effects", "section"),
    "Plates": (
        "plate", "plate_reference", "plate_counts", "plate_supports", "corners", "mixture",
        "regions", "pairs",
    ),
    "Discs": ("disc",),
    "Where a strip becomes a plate": ("strip",),
    "Bands": ("spread",),
    "Driven by an exciter": ("inertia", "drive", "response", "strain"),
    "The run sheet": (
        "balance", "limits", "pace", "places", "plan", "strobe", "swept", "watch",
    ),
    "Which mode it is": ("alignment",),
    "Lots": ("lot", "outliers"),
    "What is fitted": ("estimate", "fit", "standard_modulus"),
    "Recorded sweeps": ("resonance_fit",),
    "Pictures and templates": ("template", "pictures_motion"),
}  # fmt: skip
"""Headings of the page -> the test files whose checks stand below them."""

_ROW = re.compile(r"^\| ([^|]+) \| ([^|]+) \| [^|]+ \| ([^|]+) \|$", flags=re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Check:
    """One comparison with what others found: its source, its worst error and what is allowed.

    file: the test file that makes it, without "test_" and ending.
    """

    check: str
    source: str
    worst_relative_error: float
    allowed: float
    file: str

    @property
    def topic(self) -> str:
        """The heading of the page below which it stands."""
        return next((topic for topic, files in TOPICS.items() if self.file in files), "Others")

    @property
    def cells(self) -> tuple[str, str, str, str]:
        """What the page says of it."""
        worst = f"{self.worst_relative_error:.1e}" if self.worst_relative_error else "0"
        return self.check, self.source, worst, f"{self.allowed:.0e}"


_checks: dict[tuple[str, str], Check] = {}


def record(check: str, source: str, worst_relative_error: float, allowed: float) -> None:
    """Note a check, and assert that its worst error is allowed.

    Of several records of one check and source (a parametrised test) the worst is kept. An error of
    a place is relative to the specimen's length.
    """
    worst = float(worst_relative_error)
    test = os.environ.get("PYTEST_CURRENT_TEST", "")
    file = Path(test.partition("::")[0]).stem.removeprefix("test_")
    _keep(Check(check, source, worst, allowed, file))
    assert worst <= allowed, f"{check} ({source}): worst {worst:.3g}, allowed {allowed:.3g}"


def _keep(found: Check) -> None:
    before = _checks.get((found.check, found.source))
    if before is None or not found.worst_relative_error <= before.worst_relative_error:
        _checks[found.check, found.source] = found


def handed_over() -> list[tuple[str, str, float, float, str]]:
    """The checks of this process in plain values, for `take` in another."""
    return [astuple(check) for check in _checks.values()]


def take(checks: Iterable[tuple[str, str, float, float, str]]) -> None:
    """Keep the checks that another process has made."""
    for values in checks:
        _keep(Check(*values))


# -- the page -------------------------------------------------------------------------------------

START, END = "<!-- checks -->\n", "<!-- end of checks -->\n"


def tables() -> str:
    """All checks so far as Markdown tables, a topic each."""
    lines = []
    for topic in (*TOPICS, "Others"):
        rows = [check.cells for _, check in sorted(_checks.items()) if check.topic == topic]
        if rows:
            lines += [f"### {topic}", "", "| check | source | worst error | allowed |"]
            lines += ["|---|---|---|---|", *(f"| {' | '.join(row)} |" for row in rows), ""]
    return "\n".join(lines)


def write_page(file: Path) -> None:
    """Put the tables between the marks of a page; a file without them holds the tables alone."""
    text = file.read_text(encoding="utf-8") if file.exists() else START + END
    before, _, rest = text.partition(START)
    _, _, after = rest.partition(END)
    file.write_text(f"{before}{START}\n{tables()}\n{END}{after}", encoding="utf-8")


def differences() -> list[str]:
    """What the page says that was not checked, and what was checked that it does not say."""
    printed = {(row[1], row[2], row[3]) for row in _ROW.finditer(PAGE.read_text("utf-8"))}
    printed = {row for row in printed if row[0] not in ("check", "---")}
    made = {(c.check, c.source, c.cells[3]) for c in _checks.values()}
    return [
        *(f"{PAGE.name} names a check that was not made: {row}" for row in sorted(printed - made)),
        *(f"{PAGE.name} does not name the check {row}" for row in sorted(made - printed)),
    ]
