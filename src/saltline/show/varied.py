"""A grid of predictions as results: a row a point for a person, a row a mode for a machine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from saltline.many.grid import Point, Varied
from saltline.quantity import KINDS
from saltline.record import record
from saltline.show.table import Column, Result, Row, Table, significant


@record
class Solved:
    """What was found at one point of a grid.

    data:    the JSON form of the prediction, None where there is none;
    keys, rows: its header and cells in CSV, where that is asked for.
    failure: why there is no prediction, in one line.
    """

    point: Point
    data: Mapping[str, Any] | None = None
    keys: tuple[str, ...] = ()
    rows: tuple[tuple[Any, ...], ...] = ()
    remarks: tuple[str, ...] = ()
    failure: str = ""

    @property
    def modes(self) -> Sequence[Mapping[str, Any]]:
        """Its modes in the JSON form."""
        return () if self.data is None else self.data["modes"]


def varied_result(
    name: str, varied: Sequence[Varied], solved: Sequence[Solved], form: str
) -> Result:
    """The result of a grid, its first table that of the form "table" or "csv"."""
    table = _long(varied, solved) if form == "csv" else _wide(varied, solved)
    first = next((one.data for one in solved if one.data is not None), {})
    data: dict[str, Any] = {
        "specimen": name,
        "kind": first.get("kind"),
        "theory": first.get("theory"),
        "varied": [{"path": v.path, "key": key_of(v), "values": list(v.values)} for v in varied],
        "points": [
            {"values": values_at(varied, one.point), "modes": list(one.modes)}
            for one in solved
            if not one.failure
        ],
    }
    failed = [one for one in solved if one.failure]
    if failed:
        data["failed"] = [
            {"values": values_at(varied, one.point), "why": one.failure} for one in failed
        ]
    return Result(data, (table,))


def key_of(item: Varied) -> str:
    """The name of a varied quantity where it is in SI: "geometry.length_m"."""
    unit = KINDS[item.kind].si.replace("/", " per ")
    return "_".join([item.path, *unit.lower().split()])


def values_at(varied: Sequence[Varied], point: Point) -> dict[str, float]:
    """Key -> SI value at a point."""
    return {key_of(v): v.values[n] for v, n in zip(varied, point, strict=True)}


def number_at(item: Varied, number: int) -> str:
    """A value as the user would write it, without the unit."""
    return f"{item.numbers[number]:.10g}"


# -- tables ---------------------------------------------------------------------------------------


def _long(varied: Sequence[Varied], solved: Sequence[Solved]) -> Table:
    """A row for each mode of each point, behind the values in SI."""
    keys = list(dict.fromkeys(key for one in solved for key in one.keys))
    rows = [
        values_at(varied, one.point) | dict(zip(one.keys, row, strict=True))
        for one in solved
        for row in one.rows
    ]
    names = [*(key_of(item) for item in varied), *keys]
    return Table(tuple(Column(name, name) for name in names), rows)


def lines_of(solved: Sequence[Solved]) -> list[tuple[str, int]]:
    """(family, order) of every mode that is found anywhere, by the first frequency it has."""
    first: dict[tuple[str, int], float] = {}
    for one in solved:
        for mode in one.modes:
            first.setdefault((mode["family"], mode["order"]), mode["frequency_hz"])
    return sorted(first, key=lambda line: first[line])


def line_name(line: tuple[str, int]) -> str:
    """ "flatwise 2"; the modes of a plate and a disc have their number alone."""
    family, order = line
    return f"{family if family not in ('plate', 'disc') else 'mode'} {order}"


def _wide(varied: Sequence[Varied], solved: Sequence[Solved]) -> Table:
    """A row for each point, a column for each mode."""
    lines = lines_of(solved)
    rows = [_wide_row(varied, one) for one in solved]
    return Table(
        (
            *(Column(item.path, item.path, item.unit) for item in varied),
            *(Column(line_name(line), line_name(line), "Hz", significant(5)) for line in lines),
            Column("failure", "", words=True),
        ),
        rows,
    )


def _wide_row(varied: Sequence[Varied], one: Solved) -> Row:
    row: dict[str, Any] = {
        item.path: number_at(item, number) for item, number in zip(varied, one.point, strict=True)
    }
    for mode in one.modes:
        row[line_name((mode["family"], mode["order"]))] = mode["frequency_hz"]
    return row | {"failure": one.failure}
