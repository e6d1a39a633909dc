"""Where on a specimen every mode is seen or driven, where not, and what a sensor's mass shifts."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from saltline.arrays import Flags, Indices, Values
from saltline.forced.shapes import deflections_of, grid
from saltline.modes import Modes
from saltline.record import record

BLIND = 0.1
"""A place that moves less than this part of a mode's largest motion hardly sees it (our choice)."""

SEEN = 0.2
"""A place that moves at least this part of it sees a mode well enough (our choice)."""

MARGIN = 0.02
"""A sensor's middle keeps this part of the length from the ends and edges, to have a footing."""

PAIRED = 250
"""About so many places are tried in pairs."""


@record
class Motions:
    """How the modes move at many places.

    places:   shape (count, dimensions): x on a beam, (x, y) on a plate, the radius on a disc; m.
    motion:   shape (modes, count), mass-normalised deflections, per root of kg; on a disc those
              along a diameter of antinodes. A beam in torsion turns: rad per root of kg m2.
    relative: the magnitudes of the same as parts of each mode's largest.
    inside:   which places keep the margin from the ends and edges.
    """

    modes: Modes
    places: Values
    motion: Values
    relative: Values
    inside: Flags


@record
class Spot:
    """A place and what it sees.

    at:   m, as in `Motions.places`.
    seen: of each mode the part of its largest motion.
    """

    at: tuple[float, ...]
    seen: tuple[float, ...]

    @property
    def weakest(self) -> float:
        """The part that is seen of the mode that is seen least."""
        return min(self.seen)


@record
class Trap:
    """A place that comes to mind but is blind to some modes; ranks: of these."""

    name: str
    at: tuple[float, ...]
    ranks: tuple[int, ...]


def motions(modes: Modes) -> Motions:
    """The modes' motions at a grid of places; at least one mode."""
    places = grid(modes.specimen.geometry)
    motion = deflections_of([mode.shape for mode in modes.modes], places)
    largest = np.maximum(np.abs(motion).max(axis=1, keepdims=True), np.finfo(float).tiny)
    low, high = places.min(axis=0), places.max(axis=0)
    margin = MARGIN * (high - low)
    inside = np.all((places >= low + margin) & (places <= high - margin), axis=1)
    return Motions(modes, places, motion, np.abs(motion) / largest, inside)


def best_spots(known: Motions) -> list[Spot]:
    """Where all modes are seen best: one spot if it sees all of them well, else two or three.

    The eye needs no footing, so an end or an edge is as good as any place. Spots are chosen so that
    the mode that all of them together see least is seen most; of three the third is added to the
    best two.
    """
    places = np.arange(len(known.places))
    chosen = [int(places[_first_of_largest(known.relative[:, places].min(axis=0))])]
    if known.relative[:, chosen].min() < SEEN:
        few = places[:: max(1, places.size // PAIRED)]
        chosen = _best_pair(known.relative, few)
        together = known.relative[:, chosen].max(axis=1, keepdims=True)
        if together.min() < SEEN:
            worst = np.maximum(known.relative[:, places], together).min(axis=0)
            third = int(places[_first_of_largest(worst)])
            chosen += [third] if worst.max() > together.min() else []
    return [_spot(known, index) for index in chosen]


def _best_pair(relative: Values, places: Indices) -> list[int]:
    """The two places that together see the least seen mode most."""
    seen = relative[:, places]
    worst = np.array([np.maximum(seen, column[:, None]).min(axis=0) for column in seen.T])
    first, second = divmod(_first_of_largest(worst.ravel()), places.size)
    return [int(places[first]), int(places[second])]


def gentle_spot(known: Motions) -> Spot | None:
    """Where a sensor sees all modes well and its mass shifts them least; None where no place does.

    The worst shift of any mode is made least, to first order.
    """
    good = known.inside & (known.relative.min(axis=0) >= SEEN)
    if not np.any(good):
        return None
    worst = np.where(good, (known.motion**2).max(axis=0), np.inf)
    return _spot(known, _first_of_largest(-worst))


def _first_of_largest(values: Values) -> int:
    """The index of the largest value; the first where symmetry makes several but for rounding."""
    return int(np.flatnonzero(values >= values.max() - 1e-9 * abs(values.max()))[0])


def _spot(known: Motions, index: int) -> Spot:
    return Spot(
        tuple(float(x) for x in known.places[index]),
        tuple(float(part) for part in known.relative[:, index]),
    )


def shifts(modes: Modes, mass_kg: float, at: Sequence[float]) -> list[float]:
    """How far a small mass at a place moves each frequency, relative: -m w^2/2 (Rayleigh 1877,
    first order; the shape mass-normalised).

    at: as in `Motions.places`. A mass on a beam's axis has no effect on its torsion.
    """
    here = deflections_of([mode.shape for mode in modes.modes], np.array([at], dtype=float))[:, 0]
    return [
        0.0 if mode.family == "torsion" else -mass_kg * float(w) ** 2 / 2.0
        for mode, w in zip(modes.modes, here, strict=True)
    ]


def traps(known: Motions) -> list[Trap]:
    """The places that come to mind (middles, quarters, ends, corners) and are blind to some modes.

    Those that move with no mode, being held, are left out.
    """
    modes = known.modes
    largest = np.abs(known.motion).max(axis=1)
    low, high = known.places.min(axis=0), known.places.max(axis=0)
    named = _NAMED[modes.specimen.kind]
    places = low + np.array(list(named.values())) * (high - low)
    motion = deflections_of([mode.shape for mode in modes.modes], places)
    found = []
    for name, at, here in zip(named, places, motion.T, strict=True):
        blind = np.abs(here) < BLIND * largest
        if np.any(blind) and not np.all(np.abs(here) < 1e-6 * largest):
            ranks = tuple(m.rank for m, b in zip(modes.modes, blind, strict=True) if b)
            if name == "the centre" and low[0] > 0.0:
                name = "the edge of the hole"
            found.append(Trap(name, tuple(float(x) for x in at), ranks))
    return found


_NAMED: dict[str, dict[str, tuple[float, ...]]] = {
    "beam": {
        "the start": (0.0,),
        "a quarter": (0.25,),
        "the middle": (0.5,),
        "three quarters": (0.75,),
        "the end": (1.0,),
    },
    "plate": {
        "the middle": (0.5, 0.5),
        "the middle of the left edge": (0.0, 0.5),
        "the middle of the right edge": (1.0, 0.5),
        "the middle of the bottom edge": (0.5, 0.0),
        "the middle of the top edge": (0.5, 1.0),
        "a quarter of both sides": (0.25, 0.25),
    },
    "disc": {
        "the centre": (0.0,),
        "half-way to the rim": (0.5,),
        "the rim": (1.0,),
    },
}
"""Kind -> name of a place -> fractions of the extent."""
