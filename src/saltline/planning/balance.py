"""Balance on the drive axis: the moment of an overhanging specimen, and what a twin does to it.

A specimen that is held at one side alone has its weight and its inertia forces beside the drive
axis, and its moment is on the exciter's bearings. Two equal specimens opposite each other cancel it
as far as they move alike. A specimen that is held otherwise is taken to be mounted with its centre
of gravity over the axis. SI throughout.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from saltline.arrays import Values
from saltline.facts import STANDARD_GRAVITY, facts
from saltline.forced.drive import NOT_EXCITED
from saltline.forced.response import Driven, apparent_mass, reactions
from saltline.modes import Mode
from saltline.planning.rig import Rig
from saltline.specimen import Specimen
from saltline.spread import Band

FAR = ("end", "right", "top")
"""Ends and edges at the far end of their axis."""


@dataclass(frozen=True, slots=True)
class Turning:
    """What one specimen does to the exciter at one resonance, per m/s2 of base acceleration.

    moment:  across the drive axis, N m; a twin opposite cancels it.
    force:   that the specimen takes, N; a twin takes as much again.
    allowed: the base acceleration, m/s2, at which the moment reaches the rig's dynamic one; None
             where that is not known, infinite where there is no moment.
    excited: whether an even motion of the base excites the mode. A twin has each mode twice: with
             both specimens alike, which is excited if this is, and with the two opposed, which
             never is: only a base that turns would do that.
    """

    mode: Mode
    moment: float
    force: float
    allowed: float | None
    excited: bool


@dataclass(frozen=True, slots=True)
class Twins:
    """How unlike two equal specimens may be at one mode, if each is off its description on its own.

    mismatch:  how far their natural frequencies may be apart, relative, 95 %.
    bandwidth: the half-power width, relative.
    left:      the moment that the two may leave at resonance, in parts of one specimen's.
    """

    mode: Mode
    mismatch: float
    bandwidth: float
    left: float

    @property
    def may_part(self) -> bool:
        """Whether the two may resonate one after the other, each alone with its moment."""
        return self.mismatch > self.bandwidth


@dataclass(frozen=True, slots=True)
class Balance:
    """A base-driven specimen's balance on the drive axis.

    overhangs: whether it is held at one side alone.
    layout:    "single" or "twin".
    mass:      of one specimen, kg.
    arm:       from the drive axis to one specimen's centre of gravity, m.
    alone:     the moment of one specimen's weight about the axis, N m.
    at_rest:   the same of all that is mounted: nothing for a twin.
    too_much_at_rest: whether that is more than the rig's static moment; None where not known.
    turnings:  one for each mode.
    twins:     of a twin one for each mode whose band is known.
    """

    overhangs: bool
    layout: str
    mass: float
    arm: float
    alone: float
    at_rest: float
    too_much_at_rest: bool | None
    turnings: tuple[Turning, ...]
    twins: tuple[Twins, ...]


def balance(known: Driven, rig: Rig, *, bands: Sequence[Band | None] = ()) -> Balance:
    """The balance of a specimen; a point is driven by a thin rod, which takes no moment.

    bands: of the modes, from the specimen's tolerances; they say how unlike twins may be.
    """
    specimen = known.modes.specimen
    is_based = known.through == "boundary"
    arm = float(np.linalg.norm(_arms(specimen, rig))) if is_based else 0.0
    alone = known.mass_kg * STANDARD_GRAVITY * arm
    at_rest = alone if known.copies == 1 else 0.0
    limit = rig.exciter.static_moment
    return Balance(
        overhangs=facts(specimen).overhang_n_m > 0.0,
        layout="single" if known.copies == 1 else "twin",
        mass=known.mass_kg,
        arm=arm,
        alone=alone,
        at_rest=at_rest,
        too_much_at_rest=None if limit is None else at_rest > limit.value,
        turnings=tuple(_turnings(replace(known, copies=1), rig)) if is_based else (),
        twins=tuple(_twins(known, bands)) if known.copies == 2 else (),
    )


def _twins(known: Driven, bands: Sequence[Band | None]) -> Iterator[Twins]:
    bandwidth = 2.0 * known.damping.ratio
    for mode, band in zip(known.modes.modes, bands, strict=False):
        if band is not None:
            # Either may lie anywhere in its band: their difference is the root of two wider.
            mismatch = math.sqrt(2.0) * (band.high_hz - band.low_hz) / 2.0 / mode.frequency_hz
            worst = min(mismatch, bandwidth)
            yield Twins(mode, mismatch, bandwidth, residual(worst, known.damping.ratio))


def _turnings(one: Driven, rig: Rig) -> Iterator[Turning]:
    limit = rig.exciter.dynamic_moment
    modes = one.modes.modes
    hz = np.array([mode.frequency_hz for mode in modes])
    found = zip(
        modes,
        moments(one, rig, hz),
        np.abs(apparent_mass(one, hz)),
        one.shares,
        strict=True,
    )
    for mode, moment, force, share in found:
        allowed = None
        if limit is not None:
            allowed = limit.value / float(moment) if moment > 0.0 else math.inf
        yield Turning(mode, float(moment), float(force), allowed, share >= NOT_EXCITED)


def moments(known: Driven, rig: Rig, frequencies_hz: Values) -> Values:
    """The moment across the drive axis per m/s2 of base acceleration, N m; real, (frequencies,).

    Of a twin, and where a point is driven, nothing.
    """
    if known.through == "point" or known.copies == 2:
        return np.zeros(len(frequencies_hz))
    specimen = known.modes.specimen
    mass, centre = known.mass_kg, np.array(facts(specimen).centre_m)
    if centre.size == 0:
        return np.zeros(len(frequencies_hz))
    sums = reactions(known, frequencies_hz, [mass, *(mass * centre)])
    axis = centre - _arms(specimen, rig)
    about = sums[:, 1:] - sums[:, :1] * axis
    return np.asarray(np.sqrt(np.sum(np.abs(about) ** 2, axis=1)))


def residual(mismatch: float, damping_ratio: float) -> float:
    """The moment at resonance that two not quite equal twins leave, in parts of one specimen's.

    mismatch: how far their natural frequencies are apart, relative. With e half of it, driven at
    their mean, the two answer as 1/(2 e + 2 i zeta) and 1/(-2 e + 2 i zeta) (light damping); the
    difference is 2 e zeta / (e^2 + zeta^2) of the one's peak 1/(2 zeta).
    """
    e, zeta = mismatch / 2.0, damping_ratio
    return 2.0 * e * zeta / (e**2 + zeta**2)


def _arms(specimen: Specimen, rig: Rig) -> Values:
    """From the drive axis to the centre of gravity along each direction, m."""
    known = facts(specimen)
    centre = np.array(known.centre_m)
    arms = np.zeros(centre.size)
    if known.overhang_n_m == 0.0:
        return arms
    (held,) = (name for name, hold in specimen.boundary.items() if hold.word != "free")
    axis = 1 if held in ("bottom", "top") else 0
    side = specimen.geometry.size[axis] if held in FAR else 0.0
    away = rig.exciter.clamp_distance.value
    arms[axis] = centre[axis] - (side + away if held in FAR else side - away)
    return arms
