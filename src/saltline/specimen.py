"""What a specimen is: material, geometry, how it is held, what is fixed to it (SI throughout)."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field

from saltline.material import Material
from saltline.quantity import Quantity
from saltline.record import record
from saltline.section import Section

RIGID = math.inf

EDGES: Mapping[str, tuple[str, ...]] = {
    "beam": ("start", "end"),
    "plate": ("left", "right", "bottom", "top"),
    "disc": ("rim", "hole"),
}
"""The names of the ends or edges of each kind of specimen."""


class PredictionError(ValueError):
    """A specimen of which what is asked cannot be predicted, said in words for the user."""


@record
class Hold:
    """How a place is held: stiffness against deflection and against rotation.

    0 is free, infinity is rigid. At a beam's end or at a point N/m and N m/rad; along a plate's or
    disc's edge per unit length, N/m per m and N m/rad per m.
    """

    deflection: Quantity
    rotation: Quantity

    @property
    def word(self) -> str:
        """The trade's word for this hold, or "elastic"."""
        for word, (deflection, rotation) in BOUNDARY_WORDS.items():
            if (self.deflection.value, self.rotation.value) == (deflection, rotation):
                return word
        return "elastic"


BOUNDARY_WORDS: Mapping[str, tuple[float, float]] = {
    "clamped": (RIGID, RIGID),
    "pinned": (RIGID, 0.0),
    "guided": (0.0, RIGID),
    "free": (0.0, 0.0),
}
"""Word -> (deflection stiffness, rotation stiffness)."""


@record
class Support:
    """A support away from the ends or edges.

    at:       (x,) on a beam, (x, y) on a plate, () at a disc's centre.
    diameter: of the stud or washer that holds a plate's or disc's slope; None where there is none.
    to:       where a support along a line of a plate ends that begins at `at`, (x, y); the hold is
              then per unit length, its rotation the slope across the line. () where there is none.
    """

    at: tuple[Quantity, ...]
    hold: Hold
    diameter: Quantity | None = None
    to: tuple[Quantity, ...] = ()


@record
class Attachment:
    """A thing fixed to the specimen: mass in kg, rotary inertia in kg m2 about its own place.

    diameter: of the foot on which it stands on a plate or a disc, in m; the specimen is rigid under
              it. None for a thing that acts on a point.
    """

    at: tuple[Quantity, ...]
    mass: Quantity
    rotary_inertia: Quantity
    diameter: Quantity | None = None


@record
class Segment:
    """A piece of a beam whose section runs evenly from `section_start` to `section_end`."""

    length: Quantity
    section_start: Section
    section_end: Section

    @property
    def is_tapered(self) -> bool:
        """Whether its section changes along it."""
        return self.section_start != self.section_end


@record
class BeamGeometry:
    """Segments from the start to the end, and an axial preload in N (tension positive)."""

    segments: tuple[Segment, ...]
    tension: Quantity

    @property
    def length(self) -> float:
        """Free length in m."""
        return sum(segment.length.value for segment in self.segments)

    @property
    def size(self) -> tuple[float, ...]:
        """The extent in each direction in which a place is given, m."""
        return (self.length,)


@record
class PlateGeometry:
    """A rectangle: length along x, width along y, thickness; m."""

    length: Quantity
    width: Quantity
    thickness: Quantity

    @property
    def size(self) -> tuple[float, ...]:
        """The extent in each direction in which a place is given, m."""
        return (self.length.value, self.width.value)


@record
class DiscGeometry:
    """A disc, with a round hole at its centre or (None) without; m."""

    diameter: Quantity
    thickness: Quantity
    hole_diameter: Quantity | None = None

    @property
    def size(self) -> tuple[float, ...]:
        """The extent in each direction in which a place is given: none, all is at the centre."""
        return ()


Geometry = BeamGeometry | PlateGeometry | DiscGeometry


@record
class Drive:
    """How the exciter moves the specimen: `through` is "boundary" or "point"; `at` for a point.

    layout: "single", or "twin": two equal specimens stand symmetrically about the drive axis.
    """

    through: str = "boundary"
    at: tuple[Quantity, ...] = ()
    layout: str = "single"


@record
class Specimen:
    """The thing under test, all in SI.

    boundary maps the names in EDGES[kind] to how that end or edge is held.
    damping_ratio is None where the file states none.
    """

    name: str
    kind: str
    material: Material
    geometry: Geometry
    boundary: Mapping[str, Hold]
    attached: tuple[Attachment, ...] = ()
    supports: tuple[Support, ...] = ()
    damping_ratio: Quantity | None = None
    drive: Drive | None = None
    path: str | None = field(default=None, compare=False)
    text: str = field(default="", compare=False, repr=False)
