"""The checks against outside sources: asserted, and written down for the validation page."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import astuple, dataclass
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
    _keep(Check(check, source, worst, allowed))
    assert worst <= allowed, f"{check} ({source}): worst {worst:.3g}, allowed {allowed:.3g}"


def _keep(found: Check) -> None:
    before = _checks.get((found.check, found.source))
    if before is None or not found.worst_relative_error <= before.worst_relative_error:
        _checks[found.check, found.source] = found


def handed_over() -> list[tuple[str, str, float, float]]:
    """The checks of this process in plain values, for `take` in another."""
    return [astuple(check) for check in _checks.values()]


def take(checks: Iterable[tuple[str, str, float, float]]) -> None:
    """Keep the checks that another process has made."""
    for values in checks:
        _keep(Check(*values))


def write_table(file: Path) -> None:
    """All checks so far as a Markdown table, by name."""
    lines = ["| check | source | worst relative error | allowed |", "|---|---|---|---|"]
    lines += [
        f"| {c.check} | {c.source} | {c.worst_relative_error:.1e} | {c.allowed:.0e} |"
        for _, c in sorted(_checks.items())
    ]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
