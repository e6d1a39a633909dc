"""Sheets of modes: a beam's as curves one below the other, a plate's or a disc's side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial, singledispatch
from typing import TYPE_CHECKING

import numpy as np

from saltline.modes import Mode, Modes
from saltline.nodes import BeamPattern, Pattern, PlatePattern, pattern_of
from saltline.show.face import Face, face_of, surface_of
from saltline.show.outline import Outline, outline_of
from saltline.show.pictures import LINE_MM, frequency_text, size_mm
from saltline.show.pictures_beam import MARGIN_MM, beam_view, draw_beam_mode
from saltline.show.pictures_face import HELD_MM
from saltline.show.pictures_labels import text_width
from saltline.show.pictures_sheet import EDGE_MM, GAP_MM, WIDTH_MM, Panel, Row, Sheet, wrapped
from saltline.show.table import LengthUnit
from saltline.specimen import BeamGeometry, Specimen
from saltline.spread import bands
from saltline.tracing.nodecircles import DiscPattern

if TYPE_CHECKING:
    from matplotlib.axes import Axes

NO_BREAK = "\N{NO-BREAK SPACE}"

DrawFace = Callable[..., None]
"""(axes, surface, unit=...): one of the functions of `pictures_face`."""

TALLEST_MM = 100.0
"""A plate is drawn no higher than this."""

NARROWEST_MM = 40.0
"""... and no narrower than this, unless it is `SLENDER` times as high as wide."""

SLENDER = 1.8

LOWEST_MM = 8.0
"""A long plate has a row of its own where it would be drawn lower than this beside another."""

SCALE_MM = 8.0
"""Room for the numbers of a scale and what they count, below."""

SIDE_MM = 11.0
"""The same at the left."""


def modes_sheet(
    modes: Modes, *, unit: LengthUnit, draw: DrawFace, explained: Sequence[str]
) -> Sheet:
    """The modes on a sheet.

    draw:      how a plate or a disc is drawn; a beam's modes are curves.
    explained: what the marks of such a drawing mean, in sentences.
    """
    if isinstance(modes.specimen.geometry, BeamGeometry):
        return _beam_sheet(modes, unit)
    return _face_sheet(modes, unit, draw, explained)


def specimen_line(specimen: Specimen) -> str:
    """What the specimen is and how it is held: "clamped reed: beam of brass, start clamped"."""
    held = ", ".join(f"{name} {hold.word}" for name, hold in specimen.boundary.items())
    words = {hold.word for hold in specimen.boundary.values()}
    if len(words) == 1 and len(specimen.boundary) > 1:
        held = f"all edges {words.pop()}" if specimen.kind != "beam" else f"both ends {words.pop()}"
    many = len(specimen.supports)
    held += f", {many} support{'s' if many > 1 else ''}" if many else ""
    name = f"{specimen.name}: " if specimen.name else ""
    return f"{name}{specimen.kind} of {specimen.material.name or 'stated material'}, {held}"


# -- beams ----------------------------------------------------------------------------------------

BEAM_MARKS = (
    "Circle: node. Diamond: antinode. Grey: +, hatched: \N{MINUS SIGN}; the two move against each "
    "other."
)

BAND_WORDS = "In parentheses: the 95 % band by the tolerances."

VIEWS = {"edgewise": "seen from above", "torsion": "twist angle", "axial": "motion along the beam"}
"""Family -> what its curve shows, where that is not the beam from its side."""

VIEW_MARKS = {
    "flatwise": "Along the middle the beam from its side, its thickness not to scale.",
    "edgewise": "Edgewise: the beam from above, its width not to scale; it bends in the plane of "
    "its wide face.",
    "torsion": "Torsion: the height of the curve is the angle of twist; the centre line is at rest "
    "everywhere, and what moves most are the long edges at an antinode.",
    "axial": "Axial: the height of the curve is the motion along the beam.",
}
"""The same in sentences."""


def beam_head(mode: Mode) -> str:
    """ "mode 5, torsion 1 (twist angle)"."""
    view = VIEWS.get(mode.family)
    return f"mode {mode.rank}, {mode.family} {mode.order}" + (f" ({view})" if view else "")


def _beam_sheet(modes: Modes, unit: LengthUnit) -> Sheet:
    specimen, length = modes.specimen, modes.specimen.geometry.size[0]
    width = WIDTH_MM - 2.0 * EDGE_MM
    rows: list[Row] = []
    spread = bands(modes)
    for mode, band in zip(modes.modes, spread, strict=True):
        pattern = pattern_of(mode.shape)
        assert isinstance(pattern, BeamPattern)
        draw = partial(_beam_panel, mode=mode, pattern=pattern, specimen=specimen, unit=unit)
        title = f"{beam_head(mode)}: {frequency_text(mode, band)}, {short_count(pattern)}"
        height = beam_view(pattern, length, width, unit).height
        rows.append([Panel(draw, width, height, (title,))])
    foot = [Panel(partial(_ruler, length=length, unit=unit), width, 0.5, below=SCALE_MM)]
    words = (
        f"Numbers: from the start, {unit.sign}; below the curve of nodes, above it of antinodes. "
        "Deflections are relative.",
        *((BAND_WORDS,) if any(spread) else ()),
        BEAM_MARKS,
        *_beam_marks(modes),
    )
    caption = (" ".join(words),)
    return Sheet((specimen_line(specimen),), tuple(rows), caption, foot, specimen.name)


def _beam_marks(modes: Modes) -> tuple[str, ...]:
    """What the curves show, and the marks of what holds or loads a beam, as far as it has them."""
    specimen, families = modes.specimen, {mode.family for mode in modes.modes}
    views = [text for family, text in VIEW_MARKS.items() if family in families]
    words = [hold.word for hold in specimen.boundary.values()]
    words += [support.hold.word for support in specimen.supports]
    marks = [
        ("Hatched wall: clamped.", "clamped" in words),
        ("Wall on rollers: guided.", "guided" in words),
        ("Wedge: pinned, elastic or supported.", bool({"pinned", "elastic"} & {*words})),
        ("Square: mass.", bool(specimen.attached)),
    ]
    return (*views, *(text for text, is_there in marks if is_there))


def _beam_panel(
    axes: Axes, *, mode: Mode, pattern: BeamPattern, specimen: Specimen, unit: LengthUnit
) -> None:
    axes.axis("off")
    draw_beam_mode(axes, mode, pattern, specimen, unit=unit)


def _ruler(axes: Axes, *, length: float, unit: LengthUnit) -> None:
    """The scale along a beam, under all its modes."""
    per_mm = length * unit.per_metre / (WIDTH_MM - 2.0 * EDGE_MM - 2.0 * MARGIN_MM)
    room = MARGIN_MM * per_mm
    axes.set(xlim=(-room, length * unit.per_metre + room), yticks=[])
    axes.spines[["left", "right", "top"]].set_visible(False)
    axes.set_xlabel(f"from the start, {unit.sign}")


# -- plates and discs -----------------------------------------------------------------------------


def _face_sheet(modes: Modes, unit: LengthUnit, draw: DrawFace, explained: Sequence[str]) -> Sheet:
    specimen = modes.specimen
    outline = outline_of(specimen)
    patterns = [pattern_of(mode.shape) for mode in modes.modes]
    heads = [f"mode {mode.rank}: {frequency_text(mode)}" for mode in modes.modes]
    columns, width, height = face_size(outline, heads)
    titles = _even(
        [
            [head, *wrapped([short_count(pattern)], width)]
            for head, pattern in zip(heads, patterns, strict=True)
        ]
    )
    panels = [
        Panel(
            partial(_face_panel, mode=mode, pattern=pattern, outline=outline, unit=unit, draw=draw),
            width, height, title, SIDE_MM, SCALE_MM,
        )
        for mode, pattern, title in zip(modes.modes, patterns, titles, strict=True)
    ]  # fmt: skip
    rows = tuple(panels[k : k + columns] for k in range(0, len(panels), columns))
    twins = () if specimen.kind != "disc" else (DISC_TWINS,)
    caption = " ".join((*explained, *_held_marks(specimen), *twins))
    return Sheet((specimen_line(specimen),), rows, (caption,), name=specimen.name)


def _even(titles: Sequence[Sequence[str]]) -> list[tuple[str, ...]]:
    """Titles of one height, so that what they head stands in one row."""
    most = max(map(len, titles), default=0)
    return [(*title, *[""] * (most - len(title))) for title in titles]


DISC_TWINS = "Nodal diameters may stand at any angle: of a perfect disc any is a mode."


def _held_marks(specimen: Specimen) -> tuple[str, ...]:
    """The marks of what holds or loads a specimen, as far as it has them."""
    spots = outline_of(specimen).spots
    marks = [
        ("Hatched edge: held.", any(h.word != "free" for h in specimen.boundary.values())),
        ("Cross: support.", any(spot.what == "support" for spot in spots)),
        ("Square: mass.", any(spot.what == "mass" for spot in spots)),
        ("Triangle: drive.", any(spot.what == "drive" for spot in spots)),
    ]
    return tuple(text for text, is_there in marks if is_there)


def face_size(outline: Outline, titles: Sequence[str]) -> tuple[int, float, float]:
    """How many panels stand side by side, and the width and height of each, mm.

    As many as leave the titles room, and no more than make the sheet's best use.
    """
    widest = max(map(text_width, titles), default=0.0)
    sides = outline.high - outline.low
    aspect = float(sides[1] / sides[0])
    best = (1, 1.0, 1.0)
    for columns in (1, 2, 3, 4):
        width = (WIDTH_MM - 2.0 * EDGE_MM + GAP_MM) / columns - GAP_MM - SIDE_MM
        width = min(width, max((TALLEST_MM - 2.0 * HELD_MM) / aspect, widest))
        if widest > width or (columns > 1 and columns > len(titles)):
            break
        if columns > 1 and width < NARROWEST_MM and aspect < SLENDER:
            break
        if columns > 1 and aspect * width < LOWEST_MM:
            break
        best = (columns, width, min(aspect * width, TALLEST_MM) + 2.0 * HELD_MM)
    return best


def _face_panel(
    axes: Axes, *, mode: Mode, pattern: Pattern, outline: Outline, unit: LengthUnit, draw: DrawFace
) -> None:
    face = face_of(mode.shape, pattern, outline)
    draw(axes, surface_of(mode.shape, face), unit=unit)
    scale_face(axes, face, unit)


def scale_face(axes: Axes, face: Face, unit: LengthUnit) -> None:
    """Scales that name the ends and the middle of each side."""
    low, high = face.outline.low * unit.per_metre, face.outline.high * unit.per_metre
    height = size_mm(axes)[1] * (high - low)[1] / (axes.get_ylim()[1] - axes.get_ylim()[0])
    middle = (low + high) / 2.0
    axes.set_xticks(
        [low[0], middle[0], high[0]], [_number(v) for v in (low[0], middle[0], high[0])]
    )
    ys = [low[1], middle[1], high[1]] if height > 14.0 else [low[1], high[1]]
    texts = [_number(v) for v in ys]
    if height < 2.0 * LINE_MM:
        texts[0] = ""  # it would run into the other; the scale of x has it too
    axes.set_yticks(ys, texts)
    axes.set_xlabel(f"x, {unit.sign}")
    axes.set_ylabel(f"y, {unit.sign}")


def _number(value: float) -> str:
    """A length with no more decimals than it has."""
    return np.format_float_positional(round(value, 2) + 0.0, trim="-").replace(
        "-", "\N{MINUS SIGN}"
    )


@singledispatch
def short_count(pattern: Pattern) -> str:
    """What is counted at a mode, as short as a title must be."""
    raise TypeError(f"no words are known for {type(pattern).__name__}")


@short_count.register
def _(pattern: BeamPattern) -> str:
    many = len(pattern.nodes)
    return f"{many or 'no'} node{'s' if many > 1 else ''}"


@short_count.register
def _(pattern: PlatePattern) -> str:
    if pattern.lines_x is None or pattern.lines_y is None:
        return pattern.word
    if pattern.lines_x + pattern.lines_y == 0:
        return "no node line"
    counts = ((pattern.lines_x, "across x"), (pattern.lines_y, "across y"))
    return ", ".join(f"{many} {course}".replace(" ", NO_BREAK) for many, course in counts if many)


@short_count.register
def _(pattern: DiscPattern) -> str:
    counts = ((pattern.diameters, "diameter"), (pattern.circles, "circle"))
    said = [f"{many}{NO_BREAK}{word}{'' if many == 1 else 's'}" for many, word in counts if many]
    return ", ".join(said) or "no node line"
