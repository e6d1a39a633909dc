"""Predicted modes as results: what `predict` shows, and the remarks that `mark` shares."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import partial
from typing import Any

from saltline.facts import Facts, facts
from saltline.modes import Mode, Modes
from saltline.nodes import BeamPattern, Pattern, patterns_of
from saltline.show.notes import other_families, shear_note, soft_ends_note, unit_note
from saltline.show.table import (
    MILLIMETRES,
    Column,
    LengthUnit,
    Result,
    Table,
    fixed,
    significant,
)
from saltline.solver import MOST_BELOW, MOST_MODES
from saltline.specimen import BeamGeometry
from saltline.spread import Band, bands
from saltline.tracing.nodecircles import DiscPattern

SHOWN_NODES = 4
"""Of more nodes than these the table shows the first and the last."""

LOOKS: Mapping[str, str] = {
    "flatwise": "bends out of the wide face",
    "edgewise": "bends in the plane of the wide face",
    "torsion": "twists about the centre line, which is at rest",
    "axial": "stretches along its length",
}
"""Family of a beam -> what it looks like."""

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
    modes: Modes,
    others: Mapping[str, float] | None = None,
    *,
    spread: Sequence[Band | None] | None = None,
    ratios: bool = False,
    unit: LengthUnit = MILLIMETRES,
) -> Result:
    """The result of `predict`.

    others: families that are not listed -> their lowest frequency, Hz.
    spread: the bands, where they are known already.
    ratios: whether the ratio of each frequency to the first is a column.
    unit:   of positions in the table.
    """
    data = modes_data(modes, patterns_of([mode.shape for mode in modes.modes]), spread)
    rows = [
        row | {"shear_percent": _difference(row.get("euler_hz"), row["frequency_hz"])}
        for row in data
    ]
    known = facts(modes.specimen)
    if ratios:
        rows = [row | {"ratio": row["frequency_hz"] / rows[0]["frequency_hz"]} for row in rows]
    return Result(
        {
            "specimen": modes.specimen.name,
            "kind": modes.specimen.kind,
            "theory": modes.theory,
            "facts": asdict(known),
            "modes": data,
        },
        (Table(present(_columns(unit), rows), rows),),
        (*_family_lines(modes), _facts_line(known, unit)) if rows else (),
        remarks=(
            *remarks_on(modes),
            *shear_note(modes, data),
            *other_families(modes, others or {}),
            *soft_ends_note(modes, others or {}),
            *unit_note(modes),
        ),
    )


def _columns(unit: LengthUnit) -> tuple[Column, ...]:
    return (
        RANK,
        FAMILY,
        ORDER,
        *COUNT_COLUMNS,
        FREQUENCY,
        Column("ratio", "f/f1", "", fixed(4)),
        Column("partners", "partners", text=_ranks),
        Column("excitation", "driven", "", share_text),
        Column("low_hz", "from", "Hz", significant(4)),
        Column("high_hz", "to", "Hz", significant(4)),
        Column("euler_hz", "Euler\u2013Bernoulli", "Hz", significant(5)),
        Column("shear_percent", "difference", "%", fixed(2, signed=True)),
        Column(
            "nodes_m", "nodes at", f"{unit.sign} from start", partial(_places, unit), words=True
        ),
    )


def _places(unit: LengthUnit, metres: Sequence[float] | None) -> str:
    """Where the nodes are; of many, the first and the last ones."""
    return unit.few(metres, SHOWN_NODES, SHOWN_NODES - 2)


def _family_lines(modes: Modes) -> tuple[str, ...]:
    """What the words of the column `family` mean, where there is more to them than bending."""
    named = [family for family in LOOKS if any(mode.family == family for mode in modes.modes)]
    if named in ([], ["flatwise"]):
        return ()
    return tuple(f"{family + ':':10s}{LOOKS[family]}" for family in named)


def _facts_line(known: Facts, unit: LengthUnit) -> str:
    """Mass, centre of gravity and overhang in one line."""
    three = significant(3)
    mass = known.mass_kg
    line = f"mass {three(mass)} kg" if mass >= 1.0 else f"mass {three(1e3 * mass)} g"
    if known.centre_m:
        line += f", centre of gravity at {', '.join(map(unit.text, known.centre_m))} {unit.sign}"
    if known.overhang_n_m:
        line += f", moment of the overhang about its clamp {three(known.overhang_n_m)} N m"
    return line


def modes_data(
    modes: Modes, patterns: Sequence[Pattern], spread: Sequence[Band | None] | None = None
) -> list[dict[str, Any]]:
    """Each mode in the JSON form; spread: the bands, where they are known already."""
    data = [
        mode_data(mode, pattern, band)
        for mode, pattern, band in zip(
            modes.modes, patterns, bands(modes) if spread is None else spread, strict=True
        )
    ]
    if modes.specimen.drive is not None:
        from saltline.forced.drive import excitation  # without a drive nothing waits for it

        for row, share in zip(data, excitation(modes) or (), strict=True):
            row["excitation"] = share
    if modes.specimen.kind == "plate":
        from saltline.pairs import partners  # a beam has none

        near = partners(modes)
        for row in data:
            row["partners"] = near.get(row["rank"], [])
    return data


def present(columns: Sequence[Column], rows: Sequence[dict[str, Any]]) -> tuple[Column, ...]:
    """The columns for which at least one row has a key."""
    return tuple(column for column in columns if any(column.key in row for row in rows))


def share_text(value: Any) -> str:
    """How strongly the drive excites a mode; a word where it does not."""
    if value is None:
        return ""
    from saltline.forced.drive import NOT_EXCITED

    return "no" if value < NOT_EXCITED else f"{value:.2f}"


def _ranks(value: Any) -> str:
    return " ".join(str(rank) for rank in value or ())


def _difference(simple: float | None, full: float) -> float | None:
    return None if simple is None else 100.0 * (simple / full - 1.0)


def remarks_on(modes: Modes) -> tuple[str, ...]:
    """What is to be known of these modes, whatever is shown of them."""
    remarks = []
    caution = modes.specimen.material.named_caution
    if caution:
        remarks.append(caution)
    if modes.unsettled:
        worst = max(modes.unsettled, key=lambda mode: mode.change)
        ranks = ", ".join(str(mode.rank) for mode in modes.unsettled)
        remarks.append(
            f"not settled to 1e-6: mode {ranks}; a finer calculation still moves mode "
            f"{worst.rank} by {100.0 * worst.change:.1g} %"
        )
    if modes.specimen.kind == "plate":
        from saltline.pairs import pairs  # a beam has none
        from saltline.show.mixing import pair_notes

        remarks += pair_notes(pairs(modes))
    remarks += _thick_notes(modes)
    if modes.rigid:
        many = "s are" if modes.rigid > 1 else " is"
        remarks.append(f"{modes.rigid} rigid-body mode{many} not listed")
    if not modes.modes:
        remarks.append("no mode lies in this range")
    return tuple(remarks)


def end_note(modes: Modes, below_hz: float | None) -> tuple[str, ...]:
    """That more modes may lie below the frequency up to which all were asked for."""
    if below_hz is None or len(modes.modes) < MOST_BELOW:
        return ()
    return (
        f"the list ends after {MOST_BELOW} modes, although more may lie below the limit given; "
        f"--modes lists up to {MOST_MODES}",
    )


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
