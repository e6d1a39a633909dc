"""Predicted modes as results: what `predict` and `mark` show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from saltline.drive import NOT_EXCITED, excitation
from saltline.facts import Facts, facts
from saltline.modes import Mode, Modes
from saltline.nodecircles import DiscPattern
from saltline.nodes import BeamPattern, Pattern, PlatePattern, pattern_of
from saltline.pairs import Pair, pairs, partners
from saltline.show.table import Column, Result, Table, fixed, significant
from saltline.specimen import BeamGeometry, Specimen
from saltline.spread import Band, bands

SHEAR_SEEN = 0.01
"""Where there is no band, an effect of shear larger than this is pointed out."""

RANK = Column("rank", "rank")
FAMILY = Column("family", "family", words=True)
ORDER = Column("order", "order")
FREQUENCY = Column("frequency_hz", "frequency", "Hz", significant(5))

COUNT_COLUMNS = (
    Column("node_count", "nodes"),
    Column("lines_x", "lines", "across x"),
    Column("lines_y", "lines", "across y"),
    Column("diameters", "diameters"),
    Column("circles", "circles"),
    Column("pattern", "pattern", words=True),
    Column("multiplicity", "twins"),
)
"""What is counted; a table shows those that its specimen has."""


def mode_data(mode: Mode, pattern: Pattern, band: Band | None) -> dict[str, Any]:
    """One mode in the JSON form, SI units."""
    data: dict[str, Any] = {
        "rank": mode.rank,
        "family": mode.family,
        "order": mode.order,
        "frequency_hz": mode.frequency_hz,
        "low_hz": None if band is None else band.low_hz,
        "high_hz": None if band is None else band.high_hz,
    }
    if isinstance(pattern, BeamPattern):
        return data | {
            "euler_hz": mode.euler_hz,
            "node_count": len(pattern.nodes),
            "nodes_m": list(pattern.nodes),
            "antinodes_m": list(pattern.antinodes),
        }
    if isinstance(pattern, DiscPattern):
        return data | {
            "diameters": pattern.diameters,
            "circles": pattern.circles,
            "multiplicity": mode.multiplicity,
            "circle_radii_m": list(pattern.radii_m),
        }
    return data | {
        "lines_x": pattern.lines_x,
        "lines_y": pattern.lines_y,
        "pattern": pattern.word,
        "regions": pattern.net.regions,
        "node_lines_m": [line.points for line in pattern.net.lines],
    }


def predicted(
    modes: Modes, others: Mapping[str, float] | None = None, *, ratios: bool = False
) -> Result:
    """The result of `predict`.

    others: families that are not listed -> their lowest frequency, Hz.
    ratios: whether the ratio of each frequency to the first is a column.
    """
    data = _modes_data(modes, [pattern_of(mode.shape) for mode in modes.modes])
    rows = [
        row | {"shear_percent": _difference(row.get("euler_hz"), row["frequency_hz"])}
        for row in data
    ]
    known = facts(modes.specimen)
    if ratios:
        rows = [row | {"ratio": row["frequency_hz"] / rows[0]["frequency_hz"]} for row in rows]
    columns = (
        RANK,
        FAMILY,
        ORDER,
        *COUNT_COLUMNS,
        FREQUENCY,
        Column("ratio", "f/f1", "", fixed(4)),
        Column("partners", "partners", text=_ranks),
        Column("excitation", "driven", "", _driven),
        Column("low_hz", "from", "Hz", significant(4)),
        Column("high_hz", "to", "Hz", significant(4)),
        Column("euler_hz", "Euler\u2013Bernoulli", "Hz", significant(5)),
        Column("shear_percent", "difference", "%", fixed(2, signed=True)),
    )
    return Result(
        {
            "specimen": modes.specimen.name,
            "kind": modes.specimen.kind,
            "theory": modes.theory,
            "facts": asdict(known),
            "modes": data,
        },
        (Table(_present(columns, rows), rows),),
        (_facts_line(known),) if rows else (),
        remarks=(
            *_remarks(modes),
            *_shear_note(modes, data),
            *_other_families(modes, others or {}),
        ),
    )


def _facts_line(known: Facts) -> str:
    """Mass, centre of gravity and overhang in one line."""
    three = significant(3)
    line = f"mass {three(1e3 * known.mass_kg)} g"
    if known.centre_m:
        places = ", ".join(f"{1e3 * x:.1f}" for x in known.centre_m)
        line += f", centre of gravity at {places} mm"
    if known.overhang_n_m:
        line += f", moment of the overhang {three(known.overhang_n_m)} N m"
    return line


def is_round(specimen: Specimen) -> bool:
    """Whether a beam is a rod or a tube throughout."""
    geometry = specimen.geometry
    return isinstance(geometry, BeamGeometry) and all(
        segment.section_start.shape in ("rod", "tube") for segment in geometry.segments
    )


def _shear_note(modes: Modes, data: Sequence[dict[str, Any]]) -> tuple[str, ...]:
    """From which mode on the simpler theory is off by more than the tolerances explain."""
    for mode, row in zip(modes.modes, data, strict=True):
        euler = row.get("euler_hz")
        if euler is None:
            continue
        high = row["high_hz"]
        limit = high if high is not None else (1.0 + SHEAR_SEEN) * mode.frequency_hz
        if euler > limit:
            than = "the band" if high is not None else f"{100.0 * SHEAR_SEEN:g} %"
            return (
                f"from {mode.family} {mode.order} on, Euler\u2013Bernoulli's frequency is too high "
                f"by more than {than}",
            )
    return ()


def _other_families(modes: Modes, others: Mapping[str, float]) -> tuple[str, ...]:
    """What else lies in the range of the list."""
    highest = max((mode.frequency_hz for mode in modes.modes), default=0.0)
    inside = {family: hz for family, hz in others.items() if hz <= highest}
    if not inside:
        return ()
    if is_round(modes.specimen):
        inside.pop("edgewise", None)
    said = ", ".join(
        f"{family} from {significant(4)(hz)} Hz"
        for family, hz in sorted(inside.items(), key=lambda item: item[1])
    )
    notes = []
    if is_round(modes.specimen):
        notes.append("the section is round: each bending mode occurs in two directions")
    if said:
        notes.append(f"in this range the beam also moves in other ways: {said}; --all lists them")
    return tuple(notes)


def _modes_data(modes: Modes, patterns: Sequence[Pattern]) -> list[dict[str, Any]]:
    near = partners(modes)
    data = [
        mode_data(mode, pattern, band)
        for mode, pattern, band in zip(modes.modes, patterns, bands(modes), strict=True)
    ]
    for row, share in zip(data, excitation(modes) or (), strict=False):
        row["excitation"] = share
    for row, pattern in zip(data, patterns, strict=True):
        if isinstance(pattern, PlatePattern):
            row["partners"] = near.get(row["rank"], [])
    return data


def _present(columns: Sequence[Column], rows: Sequence[dict[str, Any]]) -> tuple[Column, ...]:
    """The columns for which at least one row has a key."""
    return tuple(column for column in columns if any(column.key in row for row in rows))


def _driven(value: Any) -> str:
    """How strongly the drive excites a mode; a word where it does not."""
    if value is None:
        return ""
    return "no" if value < NOT_EXCITED else f"{value:.2f}"


def _ranks(value: Any) -> str:
    return " ".join(str(rank) for rank in value or ())


def _difference(simple: float | None, full: float) -> float | None:
    return None if simple is None else 100.0 * (simple / full - 1.0)


def _remarks(modes: Modes) -> tuple[str, ...]:
    remarks = []
    caution = modes.specimen.material.caution
    if caution:
        remarks.append(f"{modes.specimen.material.name}: {caution}")
    if modes.unsettled:
        worst = max(modes.unsettled, key=lambda mode: mode.change)
        ranks = ", ".join(str(mode.rank) for mode in modes.unsettled)
        remarks.append(
            f"not settled to 1e-6: mode {ranks}; a finer calculation still moves mode "
            f"{worst.rank} by {100.0 * worst.change:.1g} %"
        )
    remarks += _pair_notes(pairs(modes))
    remarks += _thick_notes(modes)
    if modes.rigid:
        many = "s are" if modes.rigid > 1 else " is"
        remarks.append(f"{modes.rigid} rigid-body mode{many} not listed")
    if not modes.modes:
        remarks.append("no mode lies in this range")
    return tuple(remarks)


THIN = 0.05
"""Thickness over wave length up to which thin-plate theory is good to a few percent."""


def _thick_notes(modes: Modes) -> list[str]:
    """From which mode on a plate or disc is too thick for thin-plate theory."""
    geometry, material = modes.specimen.geometry, modes.specimen.material
    if isinstance(geometry, BeamGeometry):
        return []
    h = geometry.thickness.value
    softest = min(
        E.value for E in (material.youngs_modulus, material.youngs_modulus_y) if E is not None
    )
    nu = min(abs(material.poisson_ratio.value), 0.5)
    D = softest * h**3 / 12.0 / (1.0 - nu**2)
    for mode in modes.modes:
        omega = 2.0 * math.pi * mode.frequency_hz
        wave = 2.0 * math.pi / (omega**2 * material.density.value * h / D) ** 0.25
        if h > THIN * wave:
            return [
                f"from mode {mode.rank} on the thickness is more than a twentieth of the wave "
                "length: thin-plate theory ends here, and true frequencies are lower"
            ]
    return []


def _pair_notes(found: Sequence[Pair]) -> list[str]:
    """One sentence on the pairs whose figures a small deviation turns."""
    fragile = [
        f"{p.first.rank} and {p.second.rank}"
        + ("" if p.apart < 1e-6 else f" ({100.0 * p.apart:.1f} % apart)")
        for p in found
        if p.is_fragile
    ]
    if not fragile:
        return []
    return [
        f"modes {'; '.join(fragile)} nearly share a frequency: a side slightly off or a light mass "
        "off centre mixes the two figures, so a skewed figure there is still one of the pair"
    ]


# -- marking --------------------------------------------------------------------------------------


def marked(modes: Modes, *, inch: bool) -> Result:
    """The result of `mark`: where to put the pen."""
    unit, scale, decimals = ("in", 1.0 / 0.0254, 3) if inch else ("mm", 1000.0, 1)
    patterns = [pattern_of(mode.shape) for mode in modes.modes]
    data = _modes_data(modes, patterns)
    rows: list[dict[str, Any]] = []
    for mode, pattern in zip(modes.modes, patterns, strict=True):
        rows += _marks(mode, pattern, modes.specimen.geometry.size)

    def place(value: Any) -> str:
        return "" if value is None else f"{value * scale:.{decimals}f}"

    several = len({mode.family for mode in modes.modes}) > 1
    columns = (
        RANK,
        *((FAMILY, ORDER) if several else ()),
        FREQUENCY,
        Column("mark", "mark", words=True),
        Column("number", "number"),
        Column("from_start_m", "from start", unit, place),
        Column("from_end_m", "from end", unit, place),
        Column("apart_deg", "apart", "deg", fixed(1)),
        Column("radius_m", "radius", unit, place),
        Column("course", "course", words=True),
        Column("point", "point", words=True),
        Column("x_m", "x", unit, place),
        Column("y_m", "y", unit, place),
    )
    return Result(
        {
            "specimen": modes.specimen.name,
            "modes": data,
        },
        (Table(_present(columns, rows), rows),),
        remarks=(*_remarks(modes), *_mark_remarks(patterns)),
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
        return _line_marks(head, pattern)
    if isinstance(pattern, DiscPattern):
        return _circle_marks(head, pattern)
    kinds = (("node", pattern.nodes), ("antinode", pattern.antinodes))
    return [
        head | {"mark": word, "number": n, "from_start_m": x, "from_end_m": size[0] - x}
        for word, places in kinds
        for n, x in enumerate(places, start=1)
    ]


def _line_marks(head: dict[str, Any], pattern: PlatePattern) -> list[dict[str, Any]]:
    """Five places along each node line, from one end to the other, evenly along its length."""
    rows = []
    for number, line in enumerate(pattern.net.lines, start=1):
        for word, (x, y) in zip(("start", "1/4", "1/2", "3/4", "end"), line.evenly(5), strict=True):
            rows.append(
                head
                | {
                    "mark": "node line",
                    "number": number,
                    "course": line.course,
                    "point": word,
                    "x_m": float(x),
                    "y_m": float(y),
                }
            )
    if not rows:
        rows.append(head | {"mark": "none"})
    return rows


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
