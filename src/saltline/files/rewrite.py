"""A specimen file's text with some values replaced, everything else byte for byte the same."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping

import yaml

from saltline.files.document import InputError
from saltline.files.specimen_file import read_specimen
from saltline.quantities_of import quantities
from saltline.quantity import Place, Quantity, to_unit
from saltline.specimen import Specimen

CLOSE = 1e-3
"""Relative: a value read back from the new text differs from the old by its rounding alone."""

_ANCHOR = re.compile(r"&\S+\s+")
_PERCENT = ("%", "percent")


class RewriteError(ValueError):
    """A text that would not say what was meant, in words for the user."""


def rewritten(specimen: Specimen, texts: Mapping[str, str]) -> str:
    """The specimen's text with other quantities in it.

    texts: path of a quantity -> what stands in its place, for example from `quantity_text`.

    A built-in material of which a value is replaced is written out. Comments, quotes, anchors and
    layout stay. Raises RewriteError where the new text would not be read as it is meant.
    """
    known = quantities(specimen)
    spans = {_place(event): event for event in _events(specimen.text) if _is_scalar(event)}
    edits: dict[tuple[int, int], str] = {}
    stated: dict[str, str] = {}
    for path, text in texts.items():
        place = known[path].place
        if place is None:
            assert path.startswith("material."), f"{path} stands nowhere in the file"
            stated[path.removeprefix("material.")] = text
        else:
            event = spans[place]
            edits[_span(event)] = _in_style(specimen.text, event, text)
    if stated:
        edits |= _expanded(specimen, stated)
    text = _edited(specimen.text, edits)
    _verify(specimen, text, texts)
    return text


def _edited(text: str, edits: Mapping[tuple[int, int], str]) -> str:
    """The text with its pieces (first, last) replaced."""
    for (first, last), piece in sorted(edits.items(), reverse=True):
        text = text[:first] + piece + text[last:]
    return text


def _verify(specimen: Specimen, text: str, texts: Mapping[str, str]) -> None:
    """The new text is read again, so that no layout, however odd, can lead astray."""
    try:
        again = quantities(read_specimen(text, specimen.path))
    except InputError as fault:
        first = fault.complaints[0].message
        raise RewriteError(f"the new values make no specimen: {first}") from fault
    for path, old in quantities(specimen).items():
        new = again.get(path)
        if path not in texts and (new is None or not _same(new.value, old.value)):
            raise RewriteError(f"{path} would change along with the new values; edit it by hand")


def _same(one: float, other: float) -> bool:
    return one == other or math.isclose(one, other, rel_tol=CLOSE)


# -- numbers --------------------------------------------------------------------------------------


def quantity_text(
    value: float, half_width: float, unit: str, kind: str, *, digits: int = 2, least: int = 1
) -> str:
    """A value with its tolerance in a unit, as many digits as the tolerance lets mean.

    value, half_width: SI; a half-width of 0, or one that reaches zero, is not written.
    unit, kind:        as the user wrote it, and a name in KINDS.
    digits:            of the tolerance: two are meant (JCGM 100:2008, 7.2.6).
    least:             so many digits of the value at least.
    """
    number, width = (to_unit(v, unit, kind=kind) for v in (value, half_width))
    exponent = _exponent(number)
    number, width = number / 10.0**exponent, width / 10.0**exponent
    power = f"e{exponent}" if exponent else ""
    if width == 0.0:
        return f"{number:.8g}{power} {unit}".rstrip()
    most, meant = 11 - _magnitude(number), digits - 1 - _magnitude(width)
    decimals = max(0, min(most, max(meant, least - 1 - _magnitude(number))))
    shown, spread = f"{number:.{decimals}f}", f"{width:.{max(0, min(most, meant))}f}"
    # A percentage with as large a tolerance would be read as one with a tolerance relative to it.
    is_misread = unit in _PERCENT and float(spread) >= abs(float(shown))
    if float(spread) == 0.0 or width >= abs(number) or is_misread:
        return f"{shown}{power} {unit}".rstrip()
    between = f" {unit}" if unit in _PERCENT else ""
    return f"{shown}{power}{between} ± {spread}{power} {unit}".rstrip()


def exact_text(quantity: Quantity, value: float, kind: str) -> str:
    """Another value for a quantity in its own unit, to ten digits, with the tolerance it has."""
    number = f"{to_unit(value, quantity.unit, kind=kind):.10g}"
    width = to_unit(quantity.tolerance, quantity.unit, kind=kind)
    between = f" {quantity.unit}" if quantity.unit in _PERCENT else ""
    spread = f"{between} ± {width:.4g}" if width > 0.0 else ""
    return f"{number}{spread} {quantity.unit}".rstrip()


def _exponent(number: float) -> int:
    """The power of ten to be written out; 0 for numbers of an ordinary size."""
    return 0 if 1e-3 <= abs(number) < 1e6 or number == 0.0 else _magnitude(number)


def _magnitude(number: float) -> int:
    return math.floor(math.log10(abs(number))) if number else 0


# -- the text -------------------------------------------------------------------------------------


def _events(text: str) -> Iterator[yaml.Event]:
    yield from yaml.parse(text, Loader=yaml.SafeLoader)


def _is_scalar(event: yaml.Event) -> bool:
    return isinstance(event, yaml.ScalarEvent)


def _place(event: yaml.Event) -> Place:
    mark = event.start_mark
    assert mark is not None
    return Place(mark.line + 1, mark.column + 1)


def _span(event: yaml.Event) -> tuple[int, int]:
    assert event.start_mark is not None
    assert event.end_mark is not None
    return event.start_mark.index, event.end_mark.index


def _in_style(text: str, event: yaml.Event, new: str) -> str:
    """What stands in the place of a scalar: its anchor and its quotes stay."""
    assert isinstance(event, yaml.ScalarEvent)
    first, last = _span(event)
    piece = text[first:last]
    anchor = _ANCHOR.match(piece)
    before = anchor[0] if anchor else ""
    style = event.style or ""
    if style not in ("|", ">"):
        return f"{before}{style}{new}{style}"
    header, newline, body = piece.partition("\n")
    lead = body[: len(body) - len(body.lstrip())]
    return f"{header}{newline}{lead}{new}{body[len(body.rstrip()) :]}"


def _expanded(specimen: Specimen, stated: Mapping[str, str]) -> dict[tuple[int, int], str]:
    """The edits that write a built-in material out, with some values stated otherwise."""
    text, material = specimen.text, specimen.material
    is_flow, key, value = _entry(text, "material")
    first, last = _span(value)
    piece = text[first:last]
    anchor = _ANCHOR.match(piece)
    quote = '"' if isinstance(value, yaml.ScalarEvent) and value.style == '"' else ""
    parts = {"name": material.name}
    for path, quantity in quantities(specimen).items():
        part, _, name = path.partition(".")
        if part == "material":
            parts[name] = stated.get(name) or exact_text(quantity, quantity.value, "")
    mapping = ", ".join(f"{quote}{k}{quote}: {quote}{v}{quote}" for k, v in parts.items())
    edits = {(first, last): f"{anchor[0] if anchor else ''}{{{mapping}}}"}
    where = _comment_place(text, is_flow, _span(key)[0])
    if where is not None:
        ending = "\r\n" if "\r\n" in text else "\n"
        indent = re.match(r"[ \t]*", text[where:])
        assert indent is not None
        comment = f"# {material.name} as built in, but for {' and '.join(stated)} as fitted"
        edits[where, where] = f"{indent[0]}{comment}{ending}"
    return edits


def _comment_place(text: str, is_flow: bool, key: int) -> int | None:
    """Where a line of comment may stand: above the key, else at the top; nowhere in JSON."""
    if not is_flow:
        return text.rfind("\n", 0, key) + 1
    try:
        json.loads(text)
    except ValueError:
        return 0
    return None


def _entry(text: str, name: str) -> tuple[bool, yaml.Event, yaml.Event]:
    """Whether the top mapping is in braces, and the events of a key of it and of its value."""
    depth, is_flow = 0, False
    items: list[yaml.Event] = []
    for event in _events(text):
        opens = isinstance(event, (yaml.MappingStartEvent, yaml.SequenceStartEvent))
        if depth == 1 and (opens or isinstance(event, (yaml.ScalarEvent, yaml.AliasEvent))):
            items.append(event)
        if opens:
            is_flow = is_flow or (depth == 0 and bool(getattr(event, "flow_style", False)))
        depth += opens - isinstance(event, (yaml.MappingEndEvent, yaml.SequenceEndEvent))
    for key, value in zip(items[::2], items[1::2], strict=True):
        if isinstance(key, yaml.ScalarEvent) and key.value == name:
            return is_flow, key, value
    raise AssertionError(f"{name} is not in a text that was read")
