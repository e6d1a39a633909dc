"""The checks against outside sources: asserted, and written down for the validation page."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Check:
    """One comparison with what others found: its source, its worst error and what is allowed."""

    check: str
    source: str
    worst_relative_error: float
    allowed: float


_checks: dict[tuple[str, str], Check] = {}


def record(check: str, source: str, worst_relative_error: float, allowed: float) -> None:
    """Note a check, and assert that its worst error is allowed.

    Of several records of one check and source (a parametrised test) the worst is kept. An error of
    a place is relative to the specimen's length.
    """
    worst = float(worst_relative_error)
    before = _checks.get((check, source))
    if before is None or not worst <= before.worst_relative_error:
        _checks[check, source] = Check(check, source, worst, allowed)
    assert worst <= allowed, f"{check} ({source}): worst {worst:.3g}, allowed {allowed:.3g}"


def write_table(file: Path) -> None:
    """All checks so far as a Markdown table, by name."""
    lines = ["| check | source | worst relative error | allowed |", "|---|---|---|---|"]
    lines += [
        f"| {c.check} | {c.source} | {c.worst_relative_error:.1e} | {c.allowed:.0e} |"
        for _, c in sorted(_checks.items())
    ]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
