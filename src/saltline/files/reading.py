"""The text of an input file or of the standard input, within bounds, or why it cannot be read."""

from __future__ import annotations

import os
import sys

from saltline.files.complaints import InputError, Log
from saltline.quantity import Place

LARGEST_FILE = 1_000_000
"""Bytes; an input file written by hand stays far below."""


def stem(path: str | os.PathLike[str]) -> str:
    """What a file is called without its folder and its ending."""
    return os.path.splitext(os.path.basename(path))[0]


def read_text(path: str | os.PathLike[str], *, largest: int = LARGEST_FILE) -> str:
    """The text of a UTF-8 file (a byte order mark is dropped).

    largest: bytes; more is refused before it is read. Raises InputError.
    """
    log = Log(os.fspath(path))
    try:
        if os.path.isdir(path):
            raise log.fail(None, "this is a directory; name a file in it")
        if os.stat(path).st_size > largest:
            raise too_large(log, largest)
        with open(path, "rb") as stream:
            # A device or a pipe states no size: read no more than one byte too many.
            content = stream.read(largest + 1)
    except FileNotFoundError:
        raise log.fail(None, "there is no such file; check its name and directory") from None
    except (OSError, ValueError) as fault:
        why = getattr(fault, "strerror", None) or str(fault)
        raise log.fail(None, f"the file cannot be read: {why}") from None
    if len(content) > largest:
        raise too_large(log, largest)
    return _decoded(content, log, "save it as plain text in UTF-8")


def read_stdin(*, largest: int = LARGEST_FILE) -> str:
    """The text of the standard input, as `read_text` has that of a file. Raises InputError."""
    log = Log("standard input")
    stream = getattr(sys.stdin, "buffer", None)
    if stream is None:
        raise log.fail(None, "there is nothing to read from; name a file")
    try:
        content: bytes = stream.read(largest + 1)
    except (OSError, ValueError) as fault:
        raise log.fail(None, f"it cannot be read: {fault}; name a file") from None
    if len(content) > largest:
        raise log.fail(None, f"there are more than {largest:,} bytes; is it the file you meant?")
    return _decoded(content, log, "send plain text in UTF-8")


def _decoded(content: bytes, log: Log, cure: str) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        before = fault.object[: fault.start].decode("utf-8", errors="replace")
        place = Place(before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1)
        byte = fault.object[fault.start]
        raise log.fail(place, f"here the text is not UTF-8 (byte 0x{byte:02X}); {cure}") from None


def too_large(log: Log, largest: int) -> InputError:
    """The refusal of a file that is larger than so many bytes."""
    return log.fail(None, f"the file is larger than {largest:,} bytes; is it the one you meant?")
