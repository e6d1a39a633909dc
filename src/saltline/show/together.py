"""The results of several files as one: a block each in a table, a list in JSON, rows in CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from saltline.record import record
from saltline.show.output import as_json, cells, plain_data, written
from saltline.show.table import Result

NAMED = 3
"""Of more files than these that share a remark the first are named and the others counted."""


@record
class Piece:
    """The result of one file in the form that is asked for, all of it plain data.

    name, file: of the specimen, and of its file; measured: the file of its list, "" without one.
    kind:    of specimen, where the result says it.
    form:    "table", "json" or "csv"; of the next three the one for that form is filled.
    text:    the tables; data: the JSON form; keys, rows: the header and the cells of the CSV form.
    remarks: as in `Result`.
    """

    name: str
    file: str
    measured: str = ""
    kind: str = ""
    text: str = ""
    data: Mapping[str, Any] | None = None
    keys: tuple[str, ...] = ()
    rows: tuple[tuple[Any, ...], ...] = ()
    remarks: tuple[str, ...] = ()


@record
class Failure:
    """A file of which there is no result.

    message: why, a line for each mistake; is_said: whether the user was told already.
    """

    file: str
    message: str
    is_said: bool = False


def piece_of(result: Result, form: str, *, name: str, file: str, measured: str = "") -> Piece:
    """One file's result as a piece."""
    kind, remarks = str(result.data.get("kind", "")), result.remarks
    if form == "json":
        return Piece(name, file, measured, kind, data=plain_data(result.data), remarks=remarks)
    if form == "csv":
        keys, *rows = cells(result.tables[0])
        table = tuple(map(tuple, rows))
        return Piece(name, file, measured, kind, keys=tuple(keys), rows=table, remarks=remarks)
    return Piece(name, file, measured, kind, text=written(result, "table"), remarks=remarks)


def together(pieces: Sequence[Piece], failures: Sequence[Failure], form: str) -> str:
    """Several results as one text, ending in a line break where there is any."""
    if form == "json":
        return _as_json(pieces, failures)
    if form == "csv":
        return _as_csv(pieces)
    return "\n".join(f"{heading(piece)}\n\n{piece.text}" for piece in pieces)


def heading(piece: Piece) -> str:
    """The line above a block, underlined."""
    files = f"{piece.file} + {piece.measured}" if piece.measured else piece.file
    line = f"{piece.name} ({files})"
    return f"{line}\n{'=' * len(line)}"


def _as_json(pieces: Sequence[Piece], failures: Sequence[Failure]) -> str:
    data: dict[str, Any] = {
        "specimens": [{**(piece.data or {}), **_named_files(piece)} for piece in pieces]
    }
    if failures:
        data["failed"] = [{"file": one.file, "why": one.message} for one in failures]
    return as_json(data)


def _named_files(piece: Piece) -> dict[str, str]:
    """Its file, and its list's where it has one."""
    both = {"file": piece.file, "measured_file": piece.measured}
    return {name: file for name, file in both.items() if file}


def _as_csv(pieces: Sequence[Piece]) -> str:
    """All rows under the columns that any of them has, in the order of their first appearance."""
    keys = list(dict.fromkeys(key for piece in pieces for key in piece.keys))
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    if pieces:
        writer.writerow(["specimen", *_named_files(pieces[0]), *keys])
    for piece in pieces:
        place = {key: number for number, key in enumerate(piece.keys)}
        at = [place.get(key) for key in keys]
        front = [piece.name, *_named_files(piece).values()]
        writer.writerows([*front, *("" if i is None else row[i] for i in at)] for row in piece.rows)
    return out.getvalue()


def shared_remarks(pieces: Sequence[Piece]) -> list[str]:
    """Each remark once, after the names of those that it is about: specimens, or measured lists.

    >>> reeds = [Piece(f"reed {i}", "", remarks=("soft",)) for i in range(1, 6)]
    >>> shared_remarks(reeds)
    ['reed 1, reed 2, reed 3 and 2 more: soft']
    >>> shared_remarks([Piece("reed", "reed.yaml", "pad-2.csv", remarks=("row 2 is off",))])
    ['pad-2.csv: row 2 is off']
    """
    about: dict[str, list[str]] = {}
    for piece in pieces:
        for remark in piece.remarks:
            about.setdefault(remark, []).append(piece.measured or piece.name)
    return [f"{_who(names)}: {remark}" for remark, names in about.items()]


def _who(names: Sequence[str]) -> str:
    distinct = list(dict.fromkeys(names))
    more = len(distinct) - NAMED
    return ", ".join(distinct[:NAMED]) + (f" and {more} more" if more > 0 else "")
