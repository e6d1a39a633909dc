"""Phrases of a sheet that is worked from at the bench: times, levels, places, counts, wrapping."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from functools import singledispatch

from saltline.facts import STANDARD_GRAVITY
from saltline.nodes import BeamPattern, Pattern, PlatePattern
from saltline.planning.envelope import ASKED
from saltline.show.table import LengthUnit, significant
from saltline.specimen import BeamGeometry, DiscGeometry, Geometry, PlateGeometry, Specimen
from saltline.tracing.nodecircles import DiscPattern
from saltline.words import together

WIDTH = 100
"""A sheet is no wider than so many characters."""

LABEL = 12
"""So wide is its column of labels."""

LIMIT_WORDS: Mapping[str, str] = {
    "frequency": "the exciter's range of frequencies",
    "force": "the exciter's force",
    "stroke": "the exciter's stroke",
    "velocity": "the exciter's velocity",
    "acceleration": "the exciter's acceleration",
    "sensor": "the sensor's range",
    "strain": "the endurance strain (rough guide, no safety factor)",
    "moment": "the exciter's dynamic moment",
    ASKED: "the level asked for",
}
"""What limits a drive -> in words."""

SAME_PLACE = 1e-6
"""A place nearer to an end than this part of the length is the end."""

MOST_PLACES = 6
"""Of more nodes than these the first ones and the last are named; `mark` has all."""


Entry = tuple[str, str]
"""A label, and the sentence beside it."""


def entries(title: str, rows: Iterable[Entry]) -> list[str]:
    """A title, and labelled sentences under it, wrapped."""
    lines = [title]
    for label, text in rows:
        wrapped = textwrap.wrap(
            _UNIT.sub("\N{NO-BREAK SPACE}", text),
            WIDTH,
            initial_indent=f"  {label:<{LABEL}} ",
            subsequent_indent=" " * (LABEL + 3),
            break_on_hyphens=False,
        )
        lines += [line.replace("\N{NO-BREAK SPACE}", " ") for line in wrapped]
    return lines


_UNIT = re.compile(r"(?<=[0-9]) (?=(%|[a-zµ/]{1,3}\b|Hz|N))|(?<= N) (?=m\b)| (?==)|(?<==) ")
"""A space between a number and its unit, within "N m" or about "=": no line is broken there."""


def duration(seconds: float) -> str:
    """A time as it is read off a watch: "0.36 s", "45 s", "12 min", "5.2 h"."""
    for unit, length in (("s", 1.0), ("min", 60.0), ("h", 3600.0)):
        if seconds < 99.5 * length:
            return f"{significant(2)(seconds / length)} {unit}"
    return f"{significant(2)(seconds / 86400.0)} days"


def cycles_text(cycles: float) -> str:
    """A number of cycles: "318", "4800", "7.3 million"."""
    if cycles < 1e6:
        return f"{float(f'{cycles:.2g}'):.0f}"
    return f"{significant(2)(cycles / 1e6)} million"


def stated(value: float) -> str:
    """A number as somebody stated it, without digits that say nothing."""
    return f"{value:.6g}"


def mass_text(mass_kg: float) -> str:
    """A mass in g, from 10 kg on in kg, to at most four digits."""
    return f"{mass_kg:.4g} kg" if mass_kg >= 10.0 else f"{float(f'{1e3 * mass_kg:.4g}'):.6g} g"


def drive_text(value: float, through: str) -> str:
    """An amplitude: of the base in g, of the force on a point in N."""
    three = significant(3)
    return f"{three(value / STANDARD_GRAVITY)} g" if through == "boundary" else f"{three(value)} N"


def place_text(specimen: Specimen, at: Sequence[float], unit: LengthUnit) -> str:
    """A place on a specimen, to stand after "at"."""
    return _place(specimen.geometry, at, unit)


@singledispatch
def _place(geometry: Geometry, at: Sequence[float], unit: LengthUnit) -> str:
    raise TypeError(f"no places are known on {type(geometry).__name__}")


@_place.register
def _(geometry: BeamGeometry, at: Sequence[float], unit: LengthUnit) -> str:
    near = SAME_PLACE * geometry.length
    if at[0] < -near:
        return f"{unit.text(-at[0])} {unit.sign} before the start"
    if at[0] > geometry.length + near:
        return f"{unit.text(at[0] - geometry.length)} {unit.sign} beyond the end"
    if at[0] < near:
        return "the start"
    if at[0] > geometry.length - near:
        return "the end"
    return f"{unit.text(at[0])} {unit.sign} from the start"


@_place.register
def _(geometry: PlateGeometry, at: Sequence[float], unit: LengthUnit) -> str:
    del geometry
    return f"x = {unit.text(at[0])}, y = {unit.text(at[1])} {unit.sign}"


@_place.register
def _(geometry: DiscGeometry, at: Sequence[float], unit: LengthUnit) -> str:
    if not at or at[0] == 0.0:
        return "the centre"
    if at[0] > (1.0 - SAME_PLACE) * geometry.diameter.value / 2.0:
        return "the rim"
    return f"a radius of {unit.text(at[0])} {unit.sign}"


def ranks_text(ranks: Iterable[int]) -> str:
    """ "mode 2", "modes 2, 4 and 6"."""
    words = [str(rank) for rank in ranks]
    return f"{'modes' if len(words) > 1 else 'mode'} {together(words)}"


@singledispatch
def count_text(pattern: Pattern, unit: LengthUnit) -> str:
    """What is counted at a mode, and where it is."""
    raise TypeError(f"no words are known for {type(pattern).__name__}")


@count_text.register
def _(pattern: BeamPattern, unit: LengthUnit) -> str:
    many = len(pattern.nodes)
    if not many:
        return "no node"
    places = unit.few(pattern.nodes, MOST_PLACES, MOST_PLACES - 1)
    return f"{many} node{'s' if many > 1 else ''}, at {places} {unit.sign}"


@count_text.register
def _(pattern: PlatePattern, unit: LengthUnit) -> str:
    if pattern.lines_x is None or pattern.lines_y is None:
        return pattern.word
    if pattern.lines_x + pattern.lines_y == 0:
        return "no node line"
    parts = []
    for axis, (name, many) in enumerate((("x", pattern.lines_x), ("y", pattern.lines_y))):
        course = f"across {name}"
        middles = [line.evenly(3)[1] for line in pattern.net.lines if line.course == course]
        text = f"{many} node line{'' if many == 1 else 's'} {course}"
        if middles and len(middles) == many:  # else lines that barely miss are counted as one
            places = " ".join(unit.text(place) for place in sorted(m[axis] for m in middles))
            text += f", half-way along at {name} = {places} {unit.sign}"
        parts += [text] if many else []
    return "; ".join(parts)


@count_text.register
def _(pattern: DiscPattern, unit: LengthUnit) -> str:
    if not pattern.diameters and not pattern.circles:
        return "no node line"
    diameters = f"{pattern.diameters} nodal diameter{'' if pattern.diameters == 1 else 's'}"
    if pattern.diameters:
        diameters += " (at any angle)"
    if not pattern.circles:
        return diameters
    radii = " ".join(unit.text(r) for r in pattern.radii_m)
    circles = f"{pattern.circles} circle{'' if pattern.circles == 1 else 's'}"
    return f"{diameters}, {circles} of radius {radii} {unit.sign}"
