"""A mode of a plate or a disc from above: as the salt lies, or as a shaded relief."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Values
from saltline.show.face import Face, Surface
from saltline.show.outline import Outline, hatch
from saltline.show.pictures import put_sign, size_mm
from saltline.show.pictures_signs import signs_of
from saltline.show.table import LengthUnit

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

GRAINS = 14_000
"""So many grains are strewn; those that lie where the plate moves jump away."""

GRAIN_MM = 0.3
"""A grain's width on paper."""

QUIET = 0.06
"""Where the plate moves less than this part of its largest motion most grains stay (our choice)."""

SEED = 20
"""The grains fall the same way every time."""

HELD_MM = 2.2
"""How far the hatching of a held edge reaches out, on paper."""

LEVELS = (1 / 3, 2 / 3)
"""Heights, as parts of the largest, at which a relief has a line."""

SALT_WORDS = (
    "Salt gathers along the node lines, which are at rest; regions of + and \N{MINUS SIGN} move "
    "against each other.",
)
"""What `draw_salt` shows, in sentences."""

RELIEF_WORDS = (
    "The motion at its largest: light is up (+), dark is down (\N{MINUS SIGN}). Bold lines: at "
    "rest. Thin lines: a third and two thirds of the largest motion, whole where it is up, broken "
    "where it is down.",
)
"""What `draw_relief` shows, in sentences."""


def draw_salt(axes: Axes, surface: Surface, *, unit: LengthUnit) -> None:
    """The node lines as grains of salt show them, and the signs of the regions between.

    The axes' own numbers are lengths in `unit`.
    """
    face = surface.face
    frame_face(axes, face.outline, unit)
    xy = _grains(surface) * unit.per_metre
    axes.plot(
        xy[:, 0], xy[:, 1], marker="o", ms=GRAIN_MM * 72 / 25.4, mew=0.0, color="0.15",
        linestyle="none", rasterized=True, zorder=2,
    )  # fmt: skip
    draw_lines(axes, face, unit, width=0.5)
    put_signs(axes, surface, unit)
    draw_outline(axes, face.outline, unit)


def draw_relief(axes: Axes, surface: Surface, *, unit: LengthUnit) -> None:
    """The motion at its largest as a relief: the higher the lighter.

    Lines of equal height are whole where the plate is up and broken where it is down.
    """
    face = surface.face
    frame_face(axes, face.outline, unit)
    x, y = surface.x * unit.per_metre, surface.y * unit.per_metre
    axes.imshow(
        shaded(surface.w),
        cmap="gray", vmin=0.0, vmax=1.0, origin="lower", extent=(x[0], x[-1], y[0], y[-1]),
        interpolation="bilinear", aspect="equal", zorder=1,
    )  # fmt: skip
    for sign, style in ((1.0, "solid"), (-1.0, "dashed")):
        levels = sorted(sign * level for level in LEVELS)
        axes.contour(
            x,
            y,
            surface.w.T,
            levels=levels,
            colors="0.2",
            linewidths=0.35,
            linestyles=style,
            zorder=3,
        )
    cover_outside(axes, face.outline, unit)
    draw_lines(axes, face, unit, width=1.1)
    put_signs(axes, surface, unit)
    draw_outline(axes, face.outline, unit)


def shaded(w: Values) -> Values:
    """The brightness of deflections from -1 to 1, 0 to 1, x and y exchanged as images have them.

    It tells the deflection and nothing else: places that move alike are alike, which a lamp from
    one side would spoil.
    """
    return np.asarray(0.2 + 0.75 * (np.clip(w, -1.0, 1.0) + 1.0) / 2.0).T


def _grains(surface: Surface) -> Values:
    """Where the grains lie, m, shape (n, 2)."""
    from matplotlib.path import Path
    from scipy.ndimage import map_coordinates

    random = np.random.default_rng(SEED)
    outline = surface.face.outline
    at = random.random((GRAINS, 2))
    places = outline.low + at * (outline.high - outline.low)
    w = map_coordinates(surface.w, (at * (np.array(surface.w.shape) - 1)).T, order=1)
    stays = random.random(GRAINS) < np.exp(-((w / QUIET) ** 2))
    rim, *holes = (Path(line) for line in outline.rims)
    stays &= rim.contains_points(places)
    for hole in holes:
        stays &= ~hole.contains_points(places)
    return np.asarray(places[stays])


def frame_face(axes: Axes, outline: Outline, unit: LengthUnit) -> None:
    """The scales: as much room about the outline as the hatching takes, 1 to 1 in x and y."""
    width, height = size_mm(axes)
    low, high = outline.low * unit.per_metre, outline.high * unit.per_metre
    is_held = any(edge.word != "free" for edge in outline.edges if edge.name != "hole")
    room = HELD_MM + 0.5 if is_held else 0.5
    scale = min((width - 2 * room) / (high - low)[0], (height - 2 * room) / (high - low)[1])
    middle = (low + high) / 2.0
    half = np.array([width, height]) / scale / 2.0
    axes.set(
        xlim=(middle[0] - half[0], middle[0] + half[0]),
        ylim=(middle[1] - half[1], middle[1] + half[1]),
    )
    axes.set_aspect("equal", adjustable="box")
    axes.spines[:].set_visible(False)


def cover_outside(axes: Axes, outline: Outline, unit: LengthUnit) -> None:
    """White over what was drawn beyond the rim and in holes: not every viewer cuts a picture."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    low, high = (corner * unit.per_metre for corner in (outline.low, outline.high))
    room = 0.02 * (high - low)
    (left, bottom), (right, top) = low - room, high + room
    box = [(left, bottom), (left, top), (right, top), (right, bottom), (left, bottom)]
    rims = [line * unit.per_metre for line in outline.rims]
    outside = Path.make_compound_path(Path(box), *map(Path, rims))
    axes.add_patch(PathPatch(outside, facecolor="1.0", edgecolor="none", zorder=3.5))


def draw_lines(axes: Axes, face: Face, unit: LengthUnit, *, width: float) -> None:
    for line in face.lines:
        axes.plot(*(line * unit.per_metre).T, color="0.0", linewidth=width, zorder=4)


def put_signs(axes: Axes, surface: Surface, unit: LengthUnit) -> list[tuple[int, Text]]:
    """The signs of the regions that have room for one; each with its text."""
    per_metre = unit.per_metre / _data_per_mm(axes)
    return [
        (
            one.sign,
            put_sign(
                axes,
                np.array(one.at) * unit.per_metre,
                one.sign,
                points=one.points,
                pad=one.pad,
            ),
        )
        for one in signs_of(surface, per_metre)
    ]


def draw_outline(axes: Axes, outline: Outline, unit: LengthUnit) -> None:
    """The rim, hatching where it is held, and what stands on the specimen."""
    per_mm = _data_per_mm(axes)
    for line in outline.rims:
        axes.plot(*(line * unit.per_metre).T, color="0.0", linewidth=0.8, zorder=5)
    for edge in outline.edges:
        if edge.word == "free":
            continue
        apart, long = (k * per_mm / unit.per_metre for k in (1.6, HELD_MM))
        for tick in hatch(edge, apart=apart, long=long / 2.0**0.5):
            axes.plot(*(tick * unit.per_metre).T, color="0.0", linewidth=0.4, zorder=5)
    for line in outline.lines:
        axes.plot(*(line * unit.per_metre).T, color="0.0", linewidth=2.0, zorder=5)
    for spot in outline.spots:
        _draw_spot(axes, spot.what, np.array(spot.at), spot.diameter, unit)


def _data_per_mm(axes: Axes) -> float:
    low, high = axes.get_xlim()
    return (high - low) / size_mm(axes)[0]


def _draw_spot(axes: Axes, what: str, at: Values, diameter: float, unit: LengthUnit) -> None:
    """A support is a circle with a cross of lines in it, a mass a square, the drive an arrow."""
    from matplotlib.patches import Circle

    x, y = at * unit.per_metre
    marks = {"support": "x", "mass": "s", "drive": "v"}
    if diameter:
        radius = diameter / 2.0 * unit.per_metre
        axes.add_patch(Circle((x, y), radius, facecolor="1.0", edgecolor="0.0", lw=0.8, zorder=5))
    axes.plot([x], [y], marks[what], color="0.0", ms=4.0, fillstyle="none", zorder=5.5)
