"""Where to put the pen: nodes, antinodes and node lines, as `mark` shows them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from saltline.arrays import Values
from saltline.modes import Mode, Modes
from saltline.nodes import BeamPattern, Pattern, PlatePattern, pattern_of
from saltline.show.predicted import FAMILY, FREQUENCY, ORDER, RANK, modes_data, present, remarks_on
from saltline.show.table import Column, LengthUnit, Result, Table, fixed
from saltline.tracing.line_order import NodeLine
from saltline.tracing.nodecircles import DiscPattern


def marked(modes: Modes, *, unit: LengthUnit) -> Result:
    """The result of `mark`; unit: of positions in the table."""
    patterns = [pattern_of(mode.shape) for mode in modes.modes]
    rows: list[dict[str, Any]] = []
    for mode, pattern in zip(modes.modes, patterns, strict=True):
        rows += _marks(mode, pattern, modes.specimen.geometry.size)
    several = len({mode.family for mode in modes.modes}) > 1
    columns = (
        RANK,
        *((FAMILY, ORDER) if several else ()),
        FREQUENCY,
        Column("mark", "mark", words=True),
        Column("number", "number"),
        Column("from_start_m", "from start", unit.sign, unit.text),
        Column("from_end_m", "from end", unit.sign, unit.text),
        Column("apart_deg", "apart", "deg", fixed(1)),
        Column("radius_m", "radius", unit.sign, unit.text),
        Column("course", "course", words=True),
        Column("point", "point", words=True),
        Column("x_m", "x", unit.sign, unit.text),
        Column("y_m", "y", unit.sign, unit.text),
    )
    return Result(
        {"specimen": modes.specimen.name, "modes": modes_data(modes, patterns)},
        (Table(present(columns, rows), rows),),
        remarks=(*remarks_on(modes), *_mark_remarks(patterns), *_family_remarks(modes)),
    )


def _marks(mode: Mode, pattern: Pattern, size: Sequence[float]) -> list[dict[str, Any]]:
    """One row a place to be marked."""
    head = {
        "rank": mode.rank,
        "family": mode.family,
        "order": mode.order,
        "frequency_hz": mode.frequency_hz,
    }
    if isinstance(pattern, PlatePattern):
        return _line_marks(head, pattern, size)
    if isinstance(pattern, DiscPattern):
        return _circle_marks(head, pattern)
    kinds = (("node", pattern.nodes), ("antinode", pattern.antinodes))
    return [
        head | {"mark": word, "number": n, "from_start_m": x, "from_end_m": size[0] - x}
        for word, places in kinds
        for n, x in enumerate(places, start=1)
    ]


def _line_marks(
    head: dict[str, Any], pattern: PlatePattern, size: Sequence[float]
) -> list[dict[str, Any]]:
    """Five places along each node line, from one end to the other, evenly along its length."""
    rows = []
    for number, line in enumerate(pattern.net.lines, start=1):
        for word, (x, y) in zip(("start", "1/4", "1/2", "3/4", "end"), line.evenly(5), strict=True):
            rows.append(
                head
                | {
                    "mark": "node line",
                    "number": number,
                    "course": course_of(line, size),
                    "point": word,
                    "x_m": float(x),
                    "y_m": float(y),
                }
            )
    if not rows:
        rows.append(head | {"mark": "none"})
    return rows


def course_of(line: NodeLine, size: Sequence[float]) -> str:
    """How a node line runs, in words: of an arc, from which edge to which."""
    if line.course != "other":
        return line.course
    start, end = (_edge_at(point, size) for point in (line.points[0], line.points[-1]))
    if not start and not end:
        return "arc inside"
    if not start or not end:
        return f"arc from the {start or end} edge, ends inside"
    if start == end:
        return f"arc from the {start} edge and back"
    return f"arc from the {start} to the {end} edge"


def _edge_at(point: Values, size: Sequence[float]) -> str:
    """The edge on which a node line ends; "" for none, and one of the two in a corner."""
    x, y = point
    near = {"left": x, "right": size[0] - x, "bottom": y, "top": size[1] - y}
    edge = min(near, key=lambda name: float(near[name]))
    return edge if near[edge] < 1e-6 * min(size) else ""


def _circle_marks(head: dict[str, Any], pattern: DiscPattern) -> list[dict[str, Any]]:
    """Nodal circles by radius; nodal diameters by the angle between neighbours."""
    rows = [
        head | {"mark": "circle", "number": number, "radius_m": radius}
        for number, radius in enumerate(pattern.radii_m, start=1)
    ]
    if pattern.diameters:
        apart = 180.0 / pattern.diameters
        rows.insert(
            0, head | {"mark": "diameters", "number": pattern.diameters, "apart_deg": apart}
        )
    return rows or [head | {"mark": "none"}]


def _mark_remarks(patterns: Sequence[Pattern]) -> tuple[str, ...]:
    if all(isinstance(pattern, BeamPattern) and not pattern.nodes for pattern in patterns):
        return ("these modes have no node between the places where the specimen is held",)
    return ()


def _family_remarks(modes: Modes) -> tuple[str, ...]:
    """Where marks on the middle line would be misread."""
    families = {mode.family for mode in modes.modes}
    if "torsion" not in families:
        return ()
    return (
        "torsion twists about the centre line, which is at rest everywhere: its nodes are lines "
        "across the beam, and at its antinodes the long edges move most",
    )
