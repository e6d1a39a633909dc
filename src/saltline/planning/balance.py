"""Balance on the drive axis: the moment of an overhanging specimen, and what a twin does to it.

A specimen whose mass lies beside the drive axis has its weight and its inertia forces beside it,
and their moment is on the exciter's bearings. Two equal specimens opposite each other cancel it as
far as they move alike. `axis` knows where the drive axis is. SI throughout.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from saltline.arrays import Values
from saltline.facts import STANDARD_GRAVITY, facts
from saltline.forced.drive import NOT_EXCITED
from saltline.forced.response import Driven, apparent_mass, reactions
from saltline.modes import Mode
from saltline.planning.axis import Axis, drive_axis, held_side
from saltline.planning.loaded import loose_force, loose_sensor
from saltline.planning.rig import Rig
from saltline.record import record
from saltline.spread import Band

ROUNDING = 1e-12
"""An arm of less than this part of the specimen's size is none."""


@record
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


@record
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


@record
class Balance:
    """A base-driven specimen's balance on the drive axis.

    overhangs: whether it is held at one side alone.
    layout:    "single" or "twin".
    mass:      of one specimen with what is on it, kg.
    axis:      where the drive axis meets the specimen; None where a point is driven.
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
    axis: Axis | None
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
    axis = drive_axis(specimen, rig) if known.through == "boundary" else None
    mass, arm = known.mass_kg, 0.0
    loose = loose_sensor(specimen, rig)
    if loose is not None and axis is not None:
        mass += loose.mass
        arm = loose.mass * loose.radius / mass
    elif axis is not None and axis.at:
        arm = math.dist(facts(specimen).centre_m, axis.at)
        arm = arm if arm > ROUNDING * max(specimen.geometry.size) else 0.0
    alone = mass * STANDARD_GRAVITY * arm
    at_rest = alone if known.copies == 1 else 0.0
    limit = rig.exciter.static_moment
    return Balance(
        overhangs=axis is not None and held_side(specimen) is not None,
        layout="single" if known.copies == 1 else "twin",
        mass=mass,
        axis=axis,
        arm=arm,
        alone=alone,
        at_rest=at_rest,
        too_much_at_rest=None if limit is None else at_rest > limit.value,
        turnings=() if axis is None else tuple(_turnings(replace(known, copies=1), rig)),
        twins=tuple(_twins(known, bands)) if known.copies == 2 else (),
    )


def _twins(known: Driven, bands: Sequence[Band | None]) -> Iterator[Twins]:
    for mode, band in zip(known.modes.modes, bands, strict=False):
        if band is not None:
            left = moment_left(known, mode, band)
            yield Twins(mode, _mismatch(mode, band), 2.0 * known.damping.ratio, left)


def _mismatch(mode: Mode, band: Band) -> float:
    """How far twins may be apart: either may lie anywhere in its band, root two is their share."""
    return math.sqrt(2.0) * (band.high_hz - band.low_hz) / 2.0 / mode.frequency_hz


def moment_left(known: Driven, mode: Mode, band: Band | None) -> float:
    """What part of one specimen's moment all that is mounted may have at a resonance.

    All of it for a single specimen, and for twins of which no tolerance says how alike they are.
    """
    if known.copies == 1 or band is None:
        return 1.0
    bandwidth = 2.0 * known.damping.ratio
    return residual(min(_mismatch(mode, band), bandwidth), known.damping.ratio)


def _turnings(one: Driven, rig: Rig) -> Iterator[Turning]:
    limit = rig.exciter.dynamic_moment
    modes = one.modes.modes
    hz = np.array([mode.frequency_hz for mode in modes])
    found = zip(
        modes,
        moments(one, rig, hz),
        np.abs(apparent_mass(one, hz) + loose_force(one, rig, hz)),
        one.shares,
        strict=True,
    )
    for mode, moment, force, share in found:
        allowed = None
        if limit is not None:
            allowed = limit.value / float(moment) if moment > 0.0 else math.inf
        yield Turning(mode, float(moment), float(force), allowed, share >= NOT_EXCITED)


def moments(known: Driven, rig: Rig, frequencies_hz: Values) -> Values:
    """The moment of one specimen across the drive axis per m/s2 of base acceleration, N m.

    Real, shape (frequencies,). Where a point is driven, nothing.
    """
    specimen = known.modes.specimen
    if known.through == "point":
        return np.zeros(len(frequencies_hz))
    loose = loose_sensor(specimen, rig)
    if loose is not None:
        return np.asarray(loose.radius * np.abs(loose_force(known, rig, frequencies_hz)))
    axis = np.array(drive_axis(specimen, rig).at)
    if axis.size == 0:
        return np.zeros(len(frequencies_hz))
    mass, centre = known.mass_kg, np.array(facts(specimen).centre_m)
    sums = reactions(known, frequencies_hz, [mass, *(mass * centre)])
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
