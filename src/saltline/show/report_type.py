"""The type of a report's sheets: its faces, how wide a text is in them, and where lines break."""

from __future__ import annotations

import re
from functools import cache

from saltline.record import record
from saltline.show.pictures import POINT_MM, TYPE_FACE, TYPE_PT

LEADING = 1.32
"""From one line of type to the next, in parts of its size."""


@record
class TypeFace:
    """A typeface, which comes with matplotlib, at a size in points."""

    family: str
    size_pt: float
    weight: str = "normal"

    @property
    def line_mm(self) -> float:
        """From one line to the next."""
        return self.size_pt * POINT_MM * LEADING

    @property
    def base_mm(self) -> float:
        """From the top of a line down to its base."""
        return self.size_pt * POINT_MM

    def width(self, text: str) -> float:
        """The width of a text, mm, without the kerning of its letters."""
        size = self.size_pt * POINT_MM
        return size * sum(_advance(character, self.family, self.weight) for character in text)


@cache
def _advance(character: str, family: str, weight: str) -> float:
    """The width of a character with the room about it, in parts of the size of type.

    What the typeface lacks is printed as a box, for which there is room.
    """
    from matplotlib.font_manager import FontProperties, findfont, get_font

    font = get_font(findfont(FontProperties(family=[family], weight=weight)))
    font.set_size(_MEASURED_PT, 72.0)
    index = font.get_char_index(ord(character))
    if index == 0:
        return WIDEST
    glyph = font.load_glyph(index)
    return float(glyph.linearHoriAdvance) / 65536.0 / _MEASURED_PT


_MEASURED_PT = 100.0
"""The size at which type is measured."""

WIDEST = 1.5
"""The room for a character that the typeface lacks, in parts of the size of type."""

_MONO = "DejaVu Sans Mono"

TITLE = TypeFace(TYPE_FACE, 16.0, "bold")
HEADING = TypeFace(TYPE_FACE, 11.0, "bold")
BODY = TypeFace(TYPE_FACE, 9.0)
STRONG = TypeFace(TYPE_FACE, 9.0, "bold")
CELL = TypeFace(TYPE_FACE, TYPE_PT)
CELL_TITLE = TypeFace(TYPE_FACE, TYPE_PT, "bold")
MONO = TypeFace(_MONO, TYPE_PT)
MONO_TITLE = TypeFace(_MONO, TYPE_PT, "bold")

_NEAR = re.compile(r"(?<=[0-9]) (?=(%|[A-Za-zµ°]{1,3}\b))|(?<=±) ")
"""A space between a number and its unit: no line is broken there."""


def wrap(text: str, face: TypeFace, width: float) -> list[str]:
    """A text broken into lines no wider than a width; a word that is wider itself is cut.

    At least one line.
    """
    lines: list[str] = []
    line = ""
    for word in _NEAR.sub("\N{NO-BREAK SPACE}", " ".join(text.split())).split(" "):
        tried = f"{line} {word}" if line else word
        if face.width(tried) <= width:
            line = tried
            continue
        lines += [line] if line else []
        while face.width(word) > width:
            many = _fitting(word, face, width)
            lines.append(word[:many])
            word = word[many:]
        line = word
    return [part.replace("\N{NO-BREAK SPACE}", " ") for part in (*lines, line)]


def shortened(text: str, face: TypeFace, width: float) -> str:
    """A text that fits a width, with an ellipsis where its end had to go."""
    if face.width(text) <= width:
        return text
    ellipsis = "\N{HORIZONTAL ELLIPSIS}"
    return text[: _fitting(text, face, width - face.width(ellipsis))].rstrip() + ellipsis


def _fitting(text: str, face: TypeFace, width: float) -> int:
    """How many of the first characters fit a width; at least one."""
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if face.width(text[:middle]) <= width else (low, middle - 1)
    return low
