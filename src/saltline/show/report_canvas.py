"""A page of a report being drawn: text, rules and pictures at places in mm."""

from __future__ import annotations

from collections import defaultdict
from functools import cache
from typing import TYPE_CHECKING, Any

from saltline.show.pictures import MM
from saltline.show.report_type import TypeFace

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

RULE_MM, HAIR_MM = 0.25, 0.1
"""How thick a rule is, and a hairline."""

HAIR_GREY = "0.75"

_POINTS_A_MM = 72.0 / 25.4


class Canvas:
    """A page of a size in mm; places are counted from its left bottom corner."""

    def __init__(self, width: float, height: float) -> None:
        from matplotlib.figure import Figure

        self.width, self.height = width, height
        self._figure = Figure(figsize=(width * MM, height * MM), facecolor="1.0")
        self._words: dict[TypeFace, list[tuple[float, float, str]]] = defaultdict(list)
        self._rules: dict[tuple[float, str], list[Any]] = defaultdict(list)

    def write(self, x: float, top: float, text: str, face: TypeFace) -> None:
        """A text whose left top corner is at a place."""
        inked = text.lstrip(" ")
        if inked:
            x += face.width(text[: len(text) - len(inked)])
            self._words[face].append((x, top - face.base_mm, inked))

    def rule(self, left: float, right: float, y: float, *, hair: bool = False) -> None:
        """A level line."""
        kind = (HAIR_MM, HAIR_GREY) if hair else (RULE_MM, "0.0")
        self._rules[kind].append([(left * MM, y * MM), (right * MM, y * MM)])

    def axes(self, left: float, bottom: float, width: float, height: float) -> Axes:
        """An axes for a picture."""
        box = (left / self.width, bottom / self.height, width / self.width, height / self.height)
        return self._figure.add_axes(box)

    def finished(self) -> Figure:
        """The page as a figure."""
        from matplotlib.collections import LineCollection

        figure = self._figure
        for (thick, grey), lines in self._rules.items():
            figure.add_artist(
                LineCollection(
                    lines,
                    linewidths=thick * _POINTS_A_MM,
                    colors=grey,
                    transform=figure.dpi_scale_trans,
                )
            )
        for face, items in self._words.items():
            figure.add_artist(_words_class()(face, items))
        return figure


@cache
def _words_class() -> Any:
    """The class of the texts of a page that have one face, made when matplotlib is needed."""
    from matplotlib.artist import Artist
    from matplotlib.font_manager import FontProperties

    class Words(Artist):
        """Texts handed to the renderer as they are: a page has hundreds, and each as an artist of
        its own would be laid out anew for nothing."""

        def __init__(self, face: TypeFace, items: list[tuple[float, float, str]]) -> None:
            super().__init__()
            self.face, self.items = face, items

        def draw(self, renderer: Any) -> None:
            face = self.face
            how = FontProperties(family=[face.family], size=face.size_pt, weight=face.weight)
            figure = self.get_figure()
            assert figure is not None
            per_mm = figure.dpi * MM
            pen = renderer.new_gc()
            pen.set_foreground("0.0")
            for x, y, text in self.items:
                down = renderer.height - y * per_mm if renderer.flipy() else y * per_mm
                renderer.draw_text(pen, x * per_mm, down, text, how, 0.0)
            pen.restore()
            self.stale = False

    return Words
