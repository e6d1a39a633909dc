"""What is seen of a figure that is drawn: its texts, their boxes and sizes, and its greys."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import Collection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.text import Text
from matplotlib.transforms import Affine2D, Bbox

TOUCHING = 0.6
"""Boxes of texts hold some air; less than so many points of overlap is none that anybody sees."""


def _texts(figure: Figure) -> list[Text]:
    """The texts that are drawn: tick labels beyond the range of a scale exist, but are not."""
    figure.draw_without_rendering()
    found = list(figure.texts)
    for axes in figure.axes:
        found += axes.texts
        for axis in (axes.xaxis, axes.yaxis) if axes.axison else ():
            low, high = sorted(axis.get_view_interval())
            ticks = axis.get_major_ticks()
            found += [tick.label1 for tick in ticks if low - 1e-9 <= tick.get_loc() <= high + 1e-9]
            found.append(axis.label)
    return [text for text in found if text.get_visible() and text.get_text().strip()]


@dataclass(frozen=True)
class Seen:
    """The texts of a figure that is drawn once.

    boxes:    each text and its box, in points; sizes: of its type; size: of the figure.
    """

    boxes: list[tuple[str, Bbox]]
    sizes: list[float]
    size: tuple[float, float]

    @property
    def texts(self) -> list[str]:
        """All texts."""
        return [text for text, _ in self.boxes]


def seen(figure: Figure) -> Seen:
    """Every text of a figure that is seen."""
    texts = _texts(figure)
    renderer = FigureCanvasAgg(figure).get_renderer()
    point = Affine2D().scale(72.0 / figure.dpi)
    # Without the white ground on which some texts stand.
    boxes = [(t.get_text(), Text.get_window_extent(t, renderer).transformed(point)) for t in texts]
    width, height = figure.get_size_inches() * 72.0
    return Seen(boxes, [text.get_fontsize() for text in texts], (width, height))


def overlapping(found: Seen) -> list[tuple[str, str]]:
    """Texts that overlap another one, or that leave the figure (then paired with "edge")."""
    width, height = found.size
    pairs = [
        (text, "edge")
        for text, box in found.boxes
        if box.x0 < 0 or box.y0 < 0 or box.x1 > width or box.y1 > height
    ]
    for (one, a), (other, b) in combinations(found.boxes, 2):
        across = min(a.x1, b.x1) - max(a.x0, b.x0)
        upright = min(a.y1, b.y1) - max(a.y0, b.y0)
        if across > TOUCHING and upright > TOUCHING:
            pairs.append((one, other))
    return pairs


def colours(figure: Figure) -> set[tuple[float, float, float]]:
    """All colours with which something is drawn, without images."""
    from matplotlib.colors import to_rgb

    found = {to_rgb(text.get_color()) for text in figure.findobj(Text)}
    for line in figure.findobj(Line2D):
        found |= {to_rgb(line.get_color())}
    for patch in figure.findobj(Patch):
        found |= {to_rgb(patch.get_edgecolor()), to_rgb(patch.get_facecolor())}
    for collection in figure.findobj(Collection):
        for rgba in np.vstack([collection.get_edgecolor(), collection.get_facecolor()]):
            found.add(to_rgb(rgba))
    return found
