"""Whether a measured list goes with a specimen."""

from __future__ import annotations

from saltline.files.document import Log
from saltline.measured_list import COUNTS, MeasuredList
from saltline.specimen import Specimen

COUNTED = {
    "beam": ("nodes",),
    "plate": ("lines_x", "lines_y"),
    "disc": ("diameters", "circles"),
}
"""What is counted on each kind of specimen."""


def refuse_foreign_counts(specimen: Specimen, measured: MeasuredList) -> None:
    """Complain about counts that do not belong to this kind of specimen; raises InputError."""
    due = COUNTED[specimen.kind]
    log = Log(measured.path)
    for key in COUNTS:
        rows = [row for row in measured.rows if key in row.counts]
        if rows and key not in due:
            more = len(rows) - 1
            others = f" (nor in {more} more row{'s' if more > 1 else ''})" if more else ""
            log.add(
                rows[0].place,
                f"{key} is not counted on a {specimen.kind}{others}; there it is "
                f"{' and '.join(due)}",
            )
    log.raise_if_any()
