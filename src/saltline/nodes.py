"""Nodes, node lines and antinodes of a mode's shape, and the counts by which a mode is named.

A shape is a polynomial, so a node is a root of a polynomial: its place is good to rounding and
depends on no grid. Places where the specimen is held rigidly are not counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from functools import singledispatch
from typing import TYPE_CHECKING, Any

from saltline.beam import BeamShape
from saltline.beam_nodes import BeamPattern as BeamPattern
from saltline.beam_nodes import beam_pattern as beam_pattern
from saltline.beam_nodes import beam_patterns
from saltline.disc_shape import DiscShape
from saltline.mixed_shape import MixedShape
from saltline.modes import Shape
from saltline.plates.plate_shape import PlateShape
from saltline.record import record
from saltline.tracing.nodecircles import DiscPattern, disc_pattern

if TYPE_CHECKING:
    from saltline.tracing.nodelines import Net


@record
class PlatePattern:
    """The node lines of a plate's mode and how they are counted.

    net:     the lines, m.
    lines_x: lines across x, running from the bottom to the top edge; None where the pattern is not
             made of lines across x and across y alone.
    lines_y: lines across y, running from the left to the right edge; None likewise.
    word:    the pattern in a word where it has no such count: "X", "ring", "2 rings" ...
    """

    net: Net
    lines_x: int | None
    lines_y: int | None
    word: str

    @property
    def counts(self) -> Mapping[str, int | None]:
        """What an observer counts, by the names of a measured list's columns."""
        return {"lines_x": self.lines_x, "lines_y": self.lines_y}


Pattern = BeamPattern | PlatePattern | DiscPattern


@singledispatch
def pattern_of(shape: Any) -> Pattern:
    """The pattern of nodes of a shape."""
    raise TypeError(f"no pattern is known for {type(shape).__name__}")


def patterns_of(shapes: Sequence[Shape]) -> list[Pattern]:
    """The pattern of each shape; those of a beam's modes of one family are sought together."""
    together: dict[tuple[int, str], list[BeamShape]] = {}
    for shape in shapes:
        if isinstance(shape, BeamShape):
            together.setdefault((id(shape.line), shape.field), []).append(shape)
    known = {
        id(shape): pattern
        for alike in together.values()
        for shape, pattern in zip(alike, beam_patterns(alike), strict=True)
    }
    return [known[id(s)] if isinstance(s, BeamShape) else pattern_of(s) for s in shapes]


@pattern_of.register(PlateShape)
def plate_pattern(shape: PlateShape | MixedShape) -> PlatePattern:
    """Node lines of a plate's mode, counted as they are seen."""
    from saltline.tracing.nodelines import trace  # a beam need not wait for it

    pattern = shape.known.get("pattern")
    if not isinstance(pattern, PlatePattern):
        pattern = shape.known["pattern"] = _counted(trace(shape))
    return pattern


def _counted(net: Net) -> PlatePattern:
    """Lines across the sides by their numbers, any others in words."""
    count = Counter(net.seen)
    if set(count) <= {"across x", "across y"}:
        return PlatePattern(net, count["across x"], count["across y"], "")
    return PlatePattern(net, None, None, _describe(count))


pattern_of.register(BeamShape, beam_pattern)
pattern_of.register(MixedShape, plate_pattern)
pattern_of.register(DiscShape, disc_pattern)


def _describe(count: Counter[str]) -> str:
    """A pattern that is no grid of lines, in a few plain words."""
    if count == {"diagonal": 2}:
        return "X"
    names = {
        "diagonal": ("diagonal", "diagonals"),
        "closed": ("ring", "rings"),
        "across x": ("line across x", "lines across x"),
        "across y": ("line across y", "lines across y"),
        "other": ("arc", "arcs"),
    }
    parts = [
        f"{count[course]} {many}" if count[course] > 1 else one
        for course, (one, many) in names.items()
        if count[course]
    ]
    return " + ".join(parts)
