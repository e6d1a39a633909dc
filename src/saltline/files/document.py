"""What an input file says: YAML read into nodes that know their line, and every mistake in it.

`read_text` reads a file within bounds, `compose` turns it into nodes, and a `Fields` reader takes
them apart by key. Complaints are collected, so that one run reports all of them.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator

import yaml

from saltline.files.complaints import Complaint as Complaint
from saltline.files.complaints import InputError as InputError
from saltline.files.complaints import Log as Log
from saltline.files.reading import LARGEST_FILE as LARGEST_FILE
from saltline.files.reading import read_text as read_text
from saltline.files.reading import too_large
from saltline.quantity import Place
from saltline.record import record
from saltline.words import quoted, visible

DEEPEST = 20
MOST_NODES = 5_000

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_UNPRINTABLE = re.compile(
    r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\x80-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]"
)


# -- the nodes ------------------------------------------------------------------------------------


@record
class TextNode:
    """A scalar as it is written; `plain` where it stands without quotes."""

    text: str
    place: Place
    plain: bool = True

    @property
    def is_null(self) -> bool:
        """Whether nothing is written here."""
        return self.plain and self.text in ("", "~", "null", "Null", "NULL")


@record
class ListNode:
    """A list."""

    items: tuple[Node, ...]
    place: Place


@record
class MappingNode:
    """A mapping: key -> (place of the key, value)."""

    entries: dict[str, tuple[Place, Node]]
    place: Place


@record
class BrokenNode:
    """Something already complained of, to be passed over in silence."""

    place: Place


Node = TextNode | ListNode | MappingNode | BrokenNode


def compose(text: str, log: Log) -> MappingNode:
    """The nodes of a YAML text whose top is a mapping.

    Notes in `log` what can be passed over, and raises InputError where reading cannot go on.
    """
    text = text.removeprefix("\ufeff")
    if len(text) > LARGEST_FILE:
        raise too_large(log, LARGEST_FILE)
    strange = _UNPRINTABLE.search(text)
    if strange:
        before = text[: strange.start()]
        place = Place(before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1)
        raise log.fail(place, f"here is the control character {strange[0]!r}; is it a text file?")
    try:
        root = _Composer(log, yaml.parse(text, Loader=_LOADER)).document()
    except yaml.YAMLError as fault:
        raise _syntax_error(text, log, fault) from None
    if root is None or (isinstance(root, TextNode) and root.is_null):
        raise log.fail(None, 'the file is empty; begin with what it is, for example "kind: beam"')
    if isinstance(root, BrokenNode):
        log.raise_if_any()
    if not isinstance(root, MappingNode):
        what = "a list" if isinstance(root, ListNode) else "plain text"
        raise log.fail(root.place, f'the file is {what}; it must be lines of "key: value"')
    return root


def top_keys(path: str | os.PathLike[str]) -> list[str]:
    """The keys at the top of a file, which tell its kind; none where it cannot be read."""
    try:
        return list(compose(read_text(path), Log(os.fspath(path))).entries)
    except InputError:
        return []


def _syntax_error(text: str, log: Log, fault: yaml.YAMLError) -> InputError:
    mark = getattr(fault, "problem_mark", None) or getattr(fault, "context_mark", None)
    place = None
    if mark is not None:
        place = Place(mark.line + 1, mark.column + 1)
        line = "".join(text.splitlines()[mark.line : mark.line + 1])
        if line[mark.column : mark.column + 1] == "\t":
            return log.fail(place, "a tab stands in the indentation; YAML allows only spaces there")
    problem = visible(getattr(fault, "problem", None) or str(fault))
    return log.fail(
        place,
        f"the file is not YAML: {problem}; look here and just before for indentation that "
        "differs, a colon without a space after it, or an open bracket or quotation mark",
    )


class _Composer:
    """Builds nodes from parsing events, bounded in depth and size.

    An alias is the very node it points at, so that a file of aliases of aliases costs nothing to
    hold; `sizes` counts what it would be written out, which is what a reader will visit.
    """

    def __init__(self, log: Log, events: Iterator[yaml.Event]) -> None:
        self._log = log
        self._events = events
        self._anchors: dict[str, tuple[Node, int] | None] = {}
        self._size = 0

    def document(self) -> Node | None:
        """The one document of the stream, None where there is none."""
        root: Node | None = None
        for event in self._events:
            if not isinstance(event, yaml.DocumentStartEvent):
                continue
            if root is not None:
                raise self._log.fail(
                    _place(event), 'a second document begins; remove the line "---" or split it'
                )
            root = self._node(next(self._events), 0)
        return root

    def _node(self, event: yaml.Event, depth: int) -> Node:
        place = _place(event)
        before = self._size
        self._count(1, place)
        if depth > DEEPEST:
            raise self._log.fail(
                place, f"this is nested more than {DEEPEST} deep; no input file needs that"
            )
        if isinstance(event, yaml.AliasEvent):
            return self._alias(event, place)
        anchor = getattr(event, "anchor", None)
        if anchor is not None:
            self._anchors[anchor] = None
        node = self._content(event, place, depth)
        tag = getattr(event, "tag", None)
        if tag is not None:
            self._log.add(place, f"this has the tag {quoted(tag)}; tags are not taken, remove it")
            node = BrokenNode(place)
        if anchor is not None:
            self._anchors[anchor] = (node, self._size - before)
        return node

    def _content(self, event: yaml.Event, place: Place, depth: int) -> Node:
        if isinstance(event, yaml.ScalarEvent):
            return TextNode(event.value, place, plain=not event.style)
        if isinstance(event, yaml.SequenceStartEvent):
            return ListNode(_rejoined(self._until(yaml.SequenceEndEvent, depth)), place)
        return self._mapping(place, depth)

    def _until(self, end: type[yaml.Event], depth: int) -> Iterator[Node]:
        for event in self._events:
            if isinstance(event, end):
                return
            yield self._node(event, depth + 1)

    def _mapping(self, place: Place, depth: int) -> MappingNode:
        entries: dict[str, tuple[Place, Node]] = {}
        nodes = self._until(yaml.MappingEndEvent, depth)
        last = ""
        for key in nodes:
            value = next(nodes)
            if isinstance(key, BrokenNode):
                continue
            if last and isinstance(value, TextNode) and value.is_null:
                whole = _one_number(entries[last][1], key)
                if whole is not None:
                    entries[last] = (entries[last][0], whole)
                    continue
            if not isinstance(key, TextNode):
                self._log.add(key.place, "this key is a list or a mapping; a key must be one word")
            elif key.text in entries:
                line = entries[key.text][0].line
                self._log.add(
                    key.place,
                    f"{quoted(key.text)} is given twice, first in line {line}; remove one",
                )
            else:
                last = key.text
                entries[last] = (key.place, value)
        return MappingNode(entries, place)

    def _alias(self, event: yaml.AliasEvent, place: Place) -> Node:
        name = str(event.anchor)
        if name not in self._anchors:
            self._log.add(place, f"{quoted('*' + name)} refers to nothing before it; remove it")
            return BrokenNode(place)
        known = self._anchors[name]
        if known is None:
            raise self._log.fail(
                place, f"{quoted('*' + name)} stands in what it refers to; remove it"
            )
        node, size = known
        self._count(size, place)
        return node

    def _count(self, size: int, place: Place) -> None:
        self._size += size
        if self._size > MOST_NODES:
            raise self._log.fail(
                place, f"the file holds more than {MOST_NODES:,} values; no input file needs that"
            )


def _one_number(before: Node, after: Node) -> TextNode | None:
    """The number that was meant where a decimal comma within brackets made two texts of it."""
    if not (isinstance(before, TextNode) and isinstance(after, TextNode)):
        return None
    end = Place(before.place.line, before.place.column + len(before.text))
    is_next = before.plain and after.plain and after.place == Place(end.line, end.column + 1)
    if is_next and before.text[-1:].isdigit() and after.text[:1].isdigit():
        return TextNode(f"{before.text},{after.text}", before.place)
    return None


def _rejoined(items: Iterator[Node]) -> tuple[Node, ...]:
    """The items of a list; a text with a unit after a bare number is the end of that number."""
    found: list[Node] = []
    for item in items:
        whole = _one_number(found[-1], item) if found else None
        if whole is not None and not whole.text[-1].isdigit():
            found[-1] = whole
        else:
            found.append(item)
    return tuple(found)


def _place(event: yaml.Event) -> Place:
    mark = event.start_mark
    assert mark is not None  # both loaders mark every event
    return Place(mark.line + 1, mark.column + 1)
