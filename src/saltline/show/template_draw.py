"""Pages of a template drawn: each a figure as large as its paper, with nothing scaled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from saltline.arrays import Values
from saltline.show.pictures import LINE_MM, MM, POINT_MM, TYPE_PT
from saltline.show.template import THICK, THIN, Label, Line, Template
from saltline.show.template_rings import RING_MM, ring_box
from saltline.show.template_tiles import (
    BARS,
    BARS_MM,
    GAP_MM,
    MARGIN_MM,
    SAMPLE_MM,
    Page,
    key_lines,
)

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle

GLUE_GREY = "0.7"

JOINT_STEP_MM = 5.0


def page_figures(template: Template, pages: Sequence[Page]) -> Iterator[Figure]:
    """All pages, each drawn when it is asked for."""
    elsewhere = [any(_is_whole(label, page) for page in pages) for label in template.labels]
    for page in pages:
        labels = [
            label
            for label, is_whole in zip(template.labels, elsewhere, strict=True)
            if _is_whole(label, page)
            or (_is_seen(label, page) and (not is_whole or _is_cut(label, page)))
        ]
        yield _figure(template.lines, labels, page)


def _is_whole(label: Label, page: Page) -> bool:
    """Whether a text is whole on a page: then it need not be in parts on another."""
    box = label.box + page.origin
    return bool(np.all(box[0] >= page.low) and np.all(box[1] <= page.high))


def _is_cut(label: Label, page: Page) -> bool:
    """Whether a text goes on under a page that is glued on another: half of it would be covered."""
    box = label.box + page.origin
    beyond_left = page.left and box[0][0] < page.low[0]
    return bool(beyond_left or (page.above and box[1][1] > page.high[1]))


def _is_parted(label: Label, page: Page) -> bool:
    """Whether a text lies across a seam of a page."""
    box = label.box + page.origin
    right, below = page.high[0] - page.strips[0], page.low[1] + page.strips[1]
    is_right = page.right and box[0][0] < right < box[1][0]
    is_below = page.below and box[0][1] < below < box[1][1]
    return bool(is_right or is_below or _is_cut(label, page))


def _is_seen(label: Label, page: Page) -> bool:
    box = label.box + page.origin
    return bool(np.all(box[1] >= page.low) and np.all(box[0] <= page.high))


def _figure(lines: Sequence[Line], labels: Sequence[Label], page: Page) -> Figure:
    """One page."""
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle

    width, height = page.size
    figure = Figure(figsize=(width * MM, height * MM), facecolor="none")
    window = Rectangle(
        (page.low[0] * MM, page.low[1] * MM),
        *((page.high - page.low) * MM),
        transform=figure.dpi_scale_trans,
    )
    _draw_glue(figure, page)
    for line in lines:
        _draw(figure, _seen(line, page), window)
    for label in labels:
        _put(figure, label, page, window)
    taken = [label.box + page.origin for label in labels]
    taken += [ring_box(at) for at in page.rings]
    _write_joints(figure, page, taken)
    _draw_head(figure, page)
    _draw_bars(figure)
    _draw_marks(figure, page)
    _number_names(figure)
    return figure


def _number_names(figure: Figure) -> None:
    """A name that several things have is numbered from the second on: an id is one thing's."""
    seen: Counter[str] = Counter()
    for artist in figure.get_children():
        name = artist.get_gid()
        if name is not None:
            seen[name] += 1
            if seen[name] > 1:
                artist.set_gid(f"{name}-{seen[name]}")


def _seen(line: Line, page: Page) -> Line:
    """A line on paper, without the parts that are wholly beyond the window."""
    moved = [points + page.origin for points in line.polylines]
    inside = [
        points
        for points in moved
        if np.all(points.max(axis=0) >= page.low) and np.all(points.min(axis=0) <= page.high)
    ]
    return Line(line.name, tuple(inside), line.width, line.dashes)


def _draw(
    figure: Figure, line: Line, window: Rectangle | None = None, *, color: str = "0.0"
) -> None:
    """Polylines on paper as one path."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    if not line.polylines:
        return
    codes = [[Path.MOVETO] + [Path.LINETO] * (len(p) - 1) for p in line.polylines]
    path = Path(np.vstack(line.polylines) * MM, [code for part in codes for code in part])
    patch = PathPatch(
        path,
        fill=False,
        edgecolor=color,
        linewidth=line.width / POINT_MM,
        linestyle=(0.0, [dash / POINT_MM for dash in line.dashes]) if line.dashes else "solid",
        capstyle="butt",
        joinstyle="round",
        transform=figure.dpi_scale_trans,
    )
    patch.set_gid(line.name)
    figure.add_artist(patch)
    if window is not None:
        patch.set_clip_path(window)


def _put(figure: Figure, label: Label, page: Page, window: Rectangle) -> None:
    """A text; one that is cut by the window goes on on the neighbouring page.

    One across a seam stands on a white ground: the line of the seam would strike it through.
    """
    x, y = np.array(label.at) + page.origin
    is_framed = label.is_framed or _is_parted(label, page)
    # A text that runs upward has its place in its box as any other: across is then upward.
    across, upright = label.across, label.upright
    if label.is_turned:
        across, upright = upright, across
    text = figure.text(
        x * MM,
        y * MM,
        label.text,
        transform=figure.dpi_scale_trans,
        ha=("left", "center", "right")[round(2.0 * across)],
        va=("bottom", "center", "top")[round(2.0 * upright)],
        rotation=90.0 if label.is_turned else 0.0,
        bbox={"facecolor": "1.0", "edgecolor": "none", "pad": 0.6} if is_framed else None,
    )
    text.set_gid(label.name)
    if not _is_whole(label, page):
        text.set_clip_path(window)


def _write(figure: Figure, text: str, x: float, y: float, **how: Any) -> None:
    figure.text(x * MM, y * MM, text, transform=figure.dpi_scale_trans, **how)


# -- what every page has --------------------------------------------------------------------------


def _draw_head(figure: Figure, page: Page) -> None:
    """Title and key."""
    width, height = page.size
    y = height - MARGIN_MM - TYPE_PT * POINT_MM
    for text in page.title:
        _write(figure, text, MARGIN_MM, y)
        y -= LINE_MM
    y -= 0.3 * GAP_MM
    room = width - 2.0 * MARGIN_MM
    for key, lines in zip(page.keys, key_lines(page.keys, room), strict=True):
        level = y + 1.0
        ends = np.array([[MARGIN_MM, level], [MARGIN_MM + SAMPLE_MM, level]])
        _draw(figure, Line(key.name, (ends,), 2.0 * THIN, key.dashes))
        for text in lines:
            _write(figure, text, MARGIN_MM + SAMPLE_MM + 2.0, y)
            y -= LINE_MM


def _draw_bars(figure: Figure) -> None:
    """The bars by which a print is checked."""
    y = MARGIN_MM + BARS_MM - 4.5
    for length, text in BARS:
        left, right = MARGIN_MM, MARGIN_MM + length
        ends = [np.array([[x, y - 1.5], [x, y + 1.5]]) for x in (left, right)]
        bar = np.array([[left, y], [right, y]])
        name = f"check-{text.replace(' ', '-')}"
        _draw(figure, Line(name, (bar,), THIN))
        _draw(figure, Line(f"{name}-ends", tuple(ends), THIN))
        _write(figure, text, right + 2.0, y, va="center")
        y -= 5.0


def _draw_marks(figure: Figure, page: Page) -> None:
    """Registration marks: crosses in rings."""
    from saltline.show.outline import circle

    lines: list[Values] = []
    for at in page.rings:
        arm = np.array([RING_MM, 0.0])
        lines += [np.array([at - arm, at + arm]), np.array([at - arm[::-1], at + arm[::-1]])]
        lines.append(circle(1e-3 * RING_MM / 2.0) * 1e3 + at)
    _draw(figure, Line("registration", tuple(lines), THIN))


def _draw_glue(figure: Figure, page: Page) -> None:
    """Where the next page goes on, hatched, and where this one is cut."""
    (left, low), (right, high) = page.low, page.high
    seam, floor = right - page.strips[0], low + page.strips[1]
    if page.right:
        _hatched(figure, np.array([[seam, low], [right, high]]))
        _edge(figure, "glue-edge", [seam, low], [seam, high])
    if page.below:
        _hatched(figure, np.array([[left, low], [right, floor]]))
        _edge(figure, "glue-edge", [left, floor], [right, floor])
    if page.left:
        _edge(figure, "cut-edge", [left, low], [left, high])
    if page.above:
        _edge(figure, "cut-edge", [left, high], [right, high])


def _write_joints(figure: Figure, page: Page, taken: Sequence[Values]) -> None:
    """What the marks of `_draw_glue` mean, where it is covered later or outside of the window.

    taken: the boxes of other texts on the page.
    """
    (left, low), (right, high) = page.low, page.high
    seam = right - page.strips[0]  # a text across the other seam would be halved when it is glued
    ground = {"facecolor": "1.0", "edgecolor": "none", "pad": 0.6}
    down, back = (0.0, -JOINT_STEP_MM), (-JOINT_STEP_MM, 0.0)
    if page.right:
        text = f"glue page {page.right} here"
        label = _clear(
            Label(text, (right - 1.0, high - 4.0), 1.0, 1.0, is_turned=True), down, taken
        )
        _write(figure, text, *label.at, rotation=90.0, ha="right", va="top", bbox=ground)
    if page.below:
        text = f"glue page {page.below} here"
        label = _clear(Label(text, (seam - 4.0, low + 1.0), 1.0, 0.0), back, taken)
        _write(figure, text, *label.at, ha="right", bbox=ground)
    if page.left:
        text = "cut here"
        label = _clear(Label(text, (left - 0.8, high - 4.0), 1.0, 1.0, is_turned=True), down, taken)
        _write(figure, text, *label.at, rotation=90.0, ha="right", va="top")
    if page.above:
        text = "cut here"
        label = _clear(Label(text, (seam - 4.0, high + 0.6), 1.0, 0.0), back, taken)
        _write(figure, text, *label.at, ha="right")


def _clear(label: Label, step: tuple[float, float], taken: Sequence[Values]) -> Label:
    """The text moved on by steps until it stands clear of others; where it was if it never does."""
    for k in range(30):
        moved = replace(label, at=(label.at[0] + k * step[0], label.at[1] + k * step[1]))
        (left, low), (right, high) = moved.box + np.array([[-1.0], [1.0]])
        if all(b[0][0] > right or b[1][0] < left or b[0][1] > high or b[1][1] < low for b in taken):
            return moved
    return label


def _edge(figure: Figure, name: str, start: Sequence[float], end: Sequence[float]) -> None:
    _draw(figure, Line(name, (np.array([start, end]),), THICK / 2.0, (3.0, 1.0)))


def _hatched(figure: Figure, box: Values) -> None:
    """Slanted grey lines over a box."""
    (left, low), (right, high) = box
    lines = []
    for c in np.arange(low - (right - left), high, 6.0):
        x = np.array([max(left, left + low - c), min(right, left + high - c)])
        if x[1] > x[0]:
            lines.append(np.column_stack([x, c + x - left]))
    _draw(figure, Line("glue", tuple(lines), THIN), color=GLUE_GREY)
