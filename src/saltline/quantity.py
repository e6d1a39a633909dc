"""What a quantity is: "3.2 ± 0.05 mm" as an SI value with its tolerance, unit and place."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Place:
    """Where in a file something stands: line and column, both counted from 1."""

    line: int
    column: int


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in SI units with what is known about it.

    value:     in SI units (m, kg, s, rad and what they make); may be infinite (a rigid hold).
    tolerance: half-width of the 95 % interval (k = 2), SI, 0 where exact.
    unit:      the unit as the user wrote it ("mm"); "" for a pure number.
    path:      the name in the specimen file ("geometry.length"); "" where it has none.
    place:     where in the file it stands; None for built-in values and defaults.
    """

    value: float
    tolerance: float = 0.0
    unit: str = ""
    path: str = ""
    place: Place | None = field(default=None, compare=False)

    @property
    def standard_uncertainty(self) -> float:
        """Half the tolerance: a tolerance is a 95 % interval (JCGM 100:2008, 4.3.4, k = 2)."""
        return self.tolerance / 2.0
