"""Every mistake in an input file, collected with its place and said line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import field

from saltline.quantity import Place
from saltline.record import record
from saltline.words import visible


@record
class Complaint:
    """One mistake in an input file: what was found, what is allowed, what puts it right.

    place: where it stands; None for the file as a whole.
    """

    place: Place | None
    message: str


class InputError(Exception):
    """Everything that is wrong with one input file.

    path: the file as the user named it; complaints: sorted by place.
    """

    def __init__(self, path: str, complaints: Sequence[Complaint]) -> None:
        self.path = path
        self.complaints = tuple(sorted(dict.fromkeys(complaints), key=_by_place))
        super().__init__(path, self.complaints)

    def __str__(self) -> str:
        return "\n".join(self._line(complaint) for complaint in self.complaints)

    def _line(self, complaint: Complaint) -> str:
        place = complaint.place
        where = visible(self.path)
        if place:
            where += f":{place.line}:{place.column}"
        return f"{where}: {complaint.message}"


def _by_place(complaint: Complaint) -> tuple[int, int]:
    place = complaint.place or Place(0, 0)
    return (place.line, place.column)


@record
class Log:
    """Where complaints about one file are collected while it is read."""

    path: str
    complaints: list[Complaint] = field(default_factory=list)

    def add(self, place: Place | None, message: str) -> None:
        """Note one mistake and go on."""
        self.complaints.append(Complaint(place, message))

    def fail(self, place: Place | None, message: str) -> InputError:
        """The error to raise where reading cannot go on, with all that was noted before."""
        self.add(place, message)
        return InputError(self.path, self.complaints)

    def raise_if_any(self) -> None:
        """Raise InputError when a mistake was noted."""
        if self.complaints:
            raise InputError(self.path, self.complaints)
