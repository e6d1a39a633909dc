"""How a user's word is shown in a message, and which known word it may have been meant for."""

from __future__ import annotations

from collections.abc import Iterable

_SHOWN = 60
_LONGEST_COMPARED = 60


def quoted(text: str) -> str:
    """The text in double quotes, shortened, and with nothing in it that a terminal would obey."""
    return f'"{visible(text if len(text) <= _SHOWN else text[:_SHOWN] + "…")}"'


def visible(text: str) -> str:
    """The text with what cannot be printed written as an escape."""
    return "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)


def nearest(word: str, known: Iterable[str], *, count: int = 1) -> list[str]:
    """Up to `count` of the known words that resemble `word`, the nearest first.

    Words that differ in case only come before all others.
    """
    if len(word) > _LONGEST_COMPARED:
        return []
    from difflib import get_close_matches  # only a mistake pays for it

    candidates = list(dict.fromkeys(known))
    same = [k for k in candidates if k.casefold() == word.casefold()]
    others = [k for k in get_close_matches(word, candidates, n=count, cutoff=0.6) if k not in same]
    return (same + others)[:count]


def listed(words: Iterable[str], conjunction: str = "or") -> str:
    """The words as an enumeration: "a", "a or b", "a, b or c"."""
    *most, last = words
    return f"{', '.join(most)} {conjunction} {last}" if most else last


def together(words: Iterable[str]) -> str:
    """The words as an enumeration: "a", "a and b", "a, b and c"."""
    return listed(words, "and")
