"""The plan of a test as a section of a report."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from saltline.planning.plan import Plan
from saltline.show.mode_sheet import mode_block
from saltline.show.planned import planned
from saltline.show.report_parts import Grid, Listing, Prose, Section, new_points
from saltline.show.run_sheet import set_up
from saltline.show.sweep_sheet import sweeping
from saltline.show.table import LengthUnit, Result, Table


def plan_section(plan: Plan, ranks: Collection[int], unit: LengthUnit, shown: Result) -> Section:
    """The run sheet: reckoned with all modes of the plan, shown for those of some ranks.

    Its cautions stand at the head of the report. shown: whose remarks stand there already.
    """
    result = planned(plan, unit)
    table = result.tables[0]
    rows = [row for row in table.rows if row["rank"] in ranks]
    blocks = [mode_block(plan, mode, unit) for mode in plan.modes if mode.mode.rank in ranks]
    rig = "" if plan.rig is None else f" on {plan.rig.name}"
    return Section(
        f"Plan of the test{rig}",
        (
            Prose(
                ("The cautions at the head of this report come before anything is switched on.",)
            ),
            *map(_listing, (set_up(plan, unit), sweeping(plan))),
            Grid(Table(table.columns, rows, table.title)),
            *map(_listing, blocks),
            *new_points(result.remarks, shown.remarks),
        ),
    )


def _listing(lines: Sequence[str]) -> Listing:
    title, *others = lines
    return Listing(title, tuple(others))
