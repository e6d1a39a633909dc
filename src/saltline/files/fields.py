"""How an input file is taken apart: readers of values and of mappings that collect complaints.

No reader raises: a mistake is noted in the log and None returned, so that reading goes on.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from saltline.files.document import BrokenNode, ListNode, Log, MappingNode, Node, TextNode
from saltline.quantity import KINDS, Place, Quantity, QuantityError, parse_quantity
from saltline.quantity_kinds import example_of
from saltline.words import listed, nearest, quoted

LONGEST_TEXT = 200
MOST_ITEMS = 200


class Value:
    """One value of an input file.

    path: its dotted name ("attached.0.mass"); name: the last word of it, for messages.
    """

    def __init__(self, node: Node, *, path: str, log: Log) -> None:
        self.path = path
        self._node = node
        self._log = log

    @property
    def name(self) -> str:
        """The key that it belongs to; a list's item goes by the list's key."""
        return [word for word in self.path.split(".") if not word.isdigit()][-1]

    @property
    def place(self) -> Place:
        """Where it stands."""
        return self._node.place

    @property
    def word(self) -> str | None:
        """The text as written, None where it is not text."""
        return self._node.text if isinstance(self._node, TextNode) else None

    @property
    def is_mapping(self) -> bool:
        """Whether it is a mapping."""
        return isinstance(self._node, MappingNode)

    @property
    def keys(self) -> list[str]:
        """The keys of a mapping in the order of the file; none of anything else."""
        return list(self._node.entries) if isinstance(self._node, MappingNode) else []

    @property
    def is_empty_list(self) -> bool:
        """Whether it is a list of nothing."""
        return isinstance(self._node, ListNode) and not self._node.items

    def complain(self, message: str) -> None:
        """Note a mistake in this value."""
        self._log.add(self.place, message)

    def text(self, due: str = "one line of text") -> str | None:
        """One line of text; `due` says for messages what it is."""
        text = self._scalar(due)
        if text is not None and (len(text) > LONGEST_TEXT or not text.isprintable()):
            self.complain(
                f"{self.name} must be one line of at most {LONGEST_TEXT} printable characters"
            )
            return None
        return text

    def choice(
        self, words: Iterable[str], *, also: str = "", meant: Mapping[str, str] | None = None
    ) -> str | None:
        """One of the given words.

        also: for messages, what else may stand here; meant: other words for the same thing, in
        small letters, each with the one that is taken.
        """
        known = list(words)
        allowed = listed([*known, also] if also else known)
        text = self._scalar(allowed)
        if text is None or text in known:
            return text
        same = (meant or {}).get(text.casefold())
        near = [same] if same else nearest(text, known)
        hint = f'; did you mean "{near[0]}"?' if near else ";"
        self.complain(f"{self.name} {quoted(text)} is not known{hint} it must be {allowed}")
        return None

    def quantity(
        self, kind: str, *, low: float = -math.inf, high: float = math.inf
    ) -> Quantity | None:
        """A quantity of the given kind whose SI value lies in low..high.

        A low limit above zero also means that the tolerance must not reach zero.
        """
        text = self._scalar(f'a quantity such as "{example_of(self.path, kind)}"')
        if text is None:
            return None
        try:
            quantity = parse_quantity(text, kind, path=self.path, place=self.place)
        except QuantityError as fault:
            self.complain(str(fault))
            return None
        fault_found = _outside(quantity, kind, low=low, high=high)
        if fault_found:
            self.complain(f"{self.name} {quoted(text)} {fault_found}")
            return None
        return quantity

    def fields(self, example: str = "") -> Fields | None:
        """The reader of a mapping; `example` shows one where something else stands here."""
        if isinstance(self._node, MappingNode):
            return Fields(self._node, path=self.path, log=self._log)
        if not isinstance(self._node, BrokenNode):
            shown = f", for example {example}" if example else ""
            self.complain(f'{self.name} must hold "key: value" pairs{shown}')
        return None

    def items(self, example: str, *, most: int = MOST_ITEMS) -> list[Value]:
        """The items of a list; `example` shows one where something else stands here."""
        if isinstance(self._node, BrokenNode):
            return []
        if not isinstance(self._node, ListNode):
            self.complain(f"{self.name} must be a list, for example {example}")
            return []
        if len(self._node.items) > most:
            self.complain(f"{self.name} has {len(self._node.items)} items; at most {most} are read")
            return []
        return [
            Value(node, path=f"{self.path}.{i}", log=self._log)
            for i, node in enumerate(self._node.items)
        ]

    def _scalar(self, due: str) -> str | None:
        if isinstance(self._node, TextNode):
            if not self._node.is_null:
                return self._node.text
            self.complain(f"{self.name} is empty; it must be {due}")
        elif not isinstance(self._node, BrokenNode):
            what = "a list" if isinstance(self._node, ListNode) else "a mapping"
            self.complain(f"{self.name} is {what}; it must be {due}")
        return None


def _spoken(path: str) -> str:
    """A path for a person, who counts from one: "attached.0" is entry 1 of attached."""
    words: list[str] = []
    for word in path.split("."):
        if word.isdigit():
            words = [f"entry {int(word) + 1} of {'.'.join(words)}"]
        else:
            words.append(word)
    return ".".join(words)


def _outside(quantity: Quantity, kind: str, *, low: float, high: float) -> str:
    """What is wrong with a value outside of low..high; "" where nothing is."""
    unit = f" {KINDS[kind].si}".rstrip()
    if low > 0.0 and quantity.value <= 0.0:
        return "must be more than zero"
    if low == 0.0 and quantity.value < 0.0:
        return "must not be negative"
    if not low <= quantity.value <= high:
        return f"is out of range; it must be between {low:g}{unit} and {high:g}{unit}"
    if low > 0.0 and quantity.tolerance >= quantity.value:
        return "has a tolerance that reaches zero; it must be less than the value"
    return ""


class Fields:
    """A mapping of an input file, read key by key; `finish` then complains of what is left."""

    def __init__(self, node: MappingNode, *, path: str, log: Log) -> None:
        self.path = path
        self._node = node
        self._log = log
        self._known: list[str] = []
        self._lacking: dict[str, str] = {}

    @property
    def place(self) -> Place:
        """Where the mapping begins."""
        return self._node.place

    @property
    def keys(self) -> list[str]:
        """The keys that are written, in the order of the file."""
        return list(self._node.entries)

    def complain(self, message: str) -> None:
        """Note a mistake in this mapping as a whole."""
        self._log.add(self.place, message)

    def allow(self, *keys: str) -> None:
        """Let keys stand here, whether or not they are read."""
        self._known += [key for key in keys if key not in self._known]

    def find(self, key: str) -> Value | None:
        """The value of an optional key, None where it is not written."""
        self.allow(key)
        if key not in self._node.entries:
            return None
        path = f"{self.path}.{key}" if self.path else key
        return Value(self._node.entries[key][1], path=path, log=self._log)

    def need(self, key: str, example: str) -> Value | None:
        """The value of a required key; `example` shows the line to add where it is missing."""
        value = self.find(key)
        if value is None:
            self._lacking[key] = example
        return value

    def quantity(
        self,
        key: str,
        kind: str,
        *,
        required: bool = True,
        low: float = -math.inf,
        high: float = math.inf,
    ) -> Quantity | None:
        """A quantity; None where it is wrong, or optional and not written."""
        example = f"{key}: {example_of(f'{self.path}.{key}', kind)}"
        value = self.need(key, example) if required else self.find(key)
        return value.quantity(kind, low=low, high=high) if value else None

    def refuse(self, key: str, message: str) -> None:
        """Complain of a key that may not stand here for a reason better than "unknown"."""
        value = self.find(key)
        if value is not None:
            self._log.add(self._node.entries[key][0], message)

    def finish(self) -> None:
        """Complain of keys that nothing asked for, and of required ones that are missing."""
        lacking = dict(self._lacking)
        where = f" in {_spoken(self.path)}" if self.path else ""
        for key, (place, _) in self._node.entries.items():
            if key in self._known:
                continue
            free = [known for known in self._known if known not in self._node.entries]
            near = nearest(key, free) or nearest(key, self._known)
            meant = f'; did you mean "{near[0]}"?' if near else ";"
            allowed = listed(self._known) if self._known else "nothing"
            self._log.add(place, f"unknown key {quoted(key)}{where}{meant} allowed: {allowed}")
            if near:
                # A misspelt key is one mistake, not also a missing one.
                lacking.pop(near[0], None)
        for key, example in lacking.items():
            whole = _spoken(self.path) or "the file"
            self.complain(f'{whole} lacks "{key}"; add for example {example}')
