"""How strongly each resonance may be driven, and what forbids more.

Each limit allows some largest drive: base acceleration where the supports move together, the force
on the specimen where the exciter pushes at a point. The least of them is the level. What the
specimen does is taken at its worst across the resonance, within the half-power band and as much
again; what the exciter's base does, at the resonance itself. SI throughout.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np

from saltline.arrays import Values
from saltline.forced.drive import NOT_EXCITED, driving_place
from saltline.forced.response import (
    Driven,
    acceleration_of,
    acceleration_with,
    apparent_mass,
    readings,
    superposed,
)
from saltline.forced.shapes import grid
from saltline.forced.strain import (
    Surface,
    at_worst_phase,
    principal,
    strain_readings,
    stress,
    surface,
)
from saltline.modes import Mode
from saltline.planning.balance import moment_left, moments
from saltline.planning.envelope import Level
from saltline.planning.loaded import loose_force
from saltline.planning.rig import Rig
from saltline.record import record
from saltline.spread import Band

ACROSS = np.linspace(-2.0, 2.0, 17)
"""Where across a resonance its worst is looked for: ln(f/f_n) in half half-power bands (zeta)."""

ROUNDING = 1e-12
"""A unit of drive that makes less than this part of a limit makes nothing."""

LIMITS = (
    "frequency", "force", "stroke", "velocity", "acceleration", "sensor", "strain", "moment",
)  # fmt: skip
"""What may forbid a level, by the words of the plan."""


@record
class Peak:
    """Amplitudes at a resonance, SI; places in m as in `shapes`.

    displacement, acceleration: of the place that moves most, against the ground.
    relative_displacement:      the same against the base; where a point is driven the ground.
    strain, stress:  largest principal ones at the surface; None where a section does not state its
                     thickness.
    severity:        the larger of that strain and that stress over Young's modulus, which is what
                     endurance is compared with.
    force:           that the exciter gives, moving parts and fixture included.
    base_displacement, base_velocity, base_acceleration: of what the exciter moves.
    moment:          across the drive axis; of a twin what two that are not quite equal may leave;
                     0 where a point is driven.
    sensor:          the acceleration where the sensor is; None without one.
    moves_most_at, strained_most_at: where.
    """

    displacement: float
    acceleration: float
    relative_displacement: float
    strain: float | None
    stress: float | None
    severity: float | None
    force: float
    base_displacement: float
    base_velocity: float
    base_acceleration: float
    moment: float
    sensor: float | None
    moves_most_at: tuple[float, ...]
    strained_most_at: tuple[float, ...] | None

    def times(self, drive: float) -> Peak:
        """The amplitudes under a drive so many times as strong."""
        own = {f.name: getattr(self, f.name) for f in fields(self)}
        scaled: dict[str, Any] = {k: drive * v for k, v in own.items() if isinstance(v, float)}
        return replace(self, **scaled)


@record
class Resonance:
    """One resonance and how strongly it may be driven.

    share:      how strongly the drive excites it, 0 to 1, as `drive.excitation` has it.
    per_unit:   what one unit of drive makes of it: 1 m/s2 of base acceleration, or 1 N on a point.
    allowed:    the largest drive, m/s2 or N, under each limit that there is.
    """

    mode: Mode
    through: str
    share: float
    per_unit: Peak
    allowed: Mapping[str, float]

    @property
    def is_excited(self) -> bool:
        """Whether the drive excites the mode at all."""
        return self.share >= NOT_EXCITED

    @property
    def limited_by(self) -> str:
        """The limit that allows least."""
        return min(self.allowed, key=lambda name: self.allowed[name])

    @property
    def drive(self) -> float:
        """The largest drive that no limit forbids, m/s2 or N; 0 beyond the exciter's range."""
        return self.allowed[self.limited_by]

    @property
    def peak(self) -> Peak:
        """The amplitudes under that drive."""
        return self.per_unit.times(self.drive)

    def exceeded(self, level: Level) -> dict[str, float]:
        """The limits that a level exceeds here, the worst first, and how many times it does."""
        drive = level.drive(self.mode.frequency_hz)
        over = {name: drive / a if a > 0.0 else math.inf for name, a in self.allowed.items()}
        return dict(sorted(((n, r) for n, r in over.items() if r > 1.0), key=lambda p: -p[1]))


def at_resonances(
    known: Driven, rig: Rig, *, bands: Sequence[Band | None] | None = None
) -> list[Resonance]:
    """The levels of all modes of a driven specimen on a rig.

    bands: of the modes, from the specimen's tolerances; they say how unlike twins may be.
    """
    watched, modes = _watched(known, rig), known.modes.modes
    found = []
    known_bands = [None] * len(modes) if bands is None else bands
    for mode, share, band in zip(modes, known.shares, known_bands, strict=True):
        left = moment_left(known, mode, band)
        per_unit = _per_unit(watched, mode.frequency_hz, moment_left=left)
        found.append(
            Resonance(
                mode,
                known.through,
                share,
                per_unit,
                _allowed(watched, mode, per_unit),
            )
        )
    return found


# -- what one unit of drive does ------------------------------------------------------------------


@record
class _Watched:
    """What is read off the modes: deflections on a grid, where driven, at the sensor; strain."""

    known: Driven
    rig: Rig
    places: Values
    deflections: Values
    driven: Values | None
    sensor: Values | None
    surface: Surface
    strains: Values


def _watched(known: Driven, rig: Rig) -> _Watched:
    specimen = known.modes.specimen
    places, watched = grid(specimen.geometry), surface(known.modes)
    at = rig.sensor.at if rig.sensor is not None else ()
    is_pushed = known.through == "point"
    return _Watched(
        known,
        rig,
        places,
        readings(known, places),
        readings(known, driving_place(specimen)) if is_pushed else None,
        readings(known, np.array([[q.value for q in at]])) if at else None,
        watched,
        strain_readings(watched, known.shapes),
    )


def _per_unit(w: _Watched, frequency_hz: float, *, moment_left: float) -> Peak:
    hz = frequency_hz * np.exp(w.known.damping.ratio * ACROSS)
    omega = 2.0 * math.pi * frequency_hz
    motion = superposed(w.known, hz, w.deflections)
    acceleration = np.abs(acceleration_with(w.known, hz, motion))
    base = _base_acceleration(w, hz)
    displacement = acceleration / (2.0 * math.pi * hz[:, None]) ** 2
    most = int(np.argmax(displacement.max(axis=0)))
    carried = w.rig.carried_kg
    if w.driven is None:
        loose = w.known.copies * loose_force(w.known, w.rig, hz)
        force = np.abs(carried + apparent_mass(w.known, hz) + loose)
        turning = moment_left * float(moments(w.known, w.rig, hz).max())
    else:
        force = np.abs(1.0 + carried * base)
        turning = 0.0
    strain, tension, severity, where = _strain(w, hz)
    pushed = float(np.abs(base).max())
    return Peak(
        displacement=float(displacement.max()),
        acceleration=float(acceleration.max()),
        relative_displacement=float(np.abs(motion).max()),
        strain=strain,
        stress=tension,
        severity=severity,
        force=float(force.max()),
        base_displacement=pushed / omega**2,
        base_velocity=pushed / omega,
        base_acceleration=pushed,
        moment=turning,
        sensor=_sensor(w, hz, pushed),
        moves_most_at=tuple(float(x) for x in w.places[most]),
        strained_most_at=where,
    )


def _base_acceleration(w: _Watched, hz: Values) -> Values:
    """Of what the exciter moves, per unit of drive; complex, shape (frequencies,)."""
    if w.driven is None:
        return np.ones(hz.size)
    return acceleration_of(w.known, hz, w.driven)[:, 0]


def _sensor(w: _Watched, hz: Values, base: float) -> float | None:
    if w.rig.sensor is None:
        return None
    if w.sensor is None:
        return base
    return float(np.abs(acceleration_of(w.known, hz, w.sensor)).max())


def _strain(
    w: _Watched, hz: Values
) -> tuple[float | None, float | None, float | None, tuple[float, ...] | None]:
    """The largest strain, stress and severity at the surface, and where the last is."""
    n, count, _ = w.strains.shape
    sums = superposed(w.known, hz, w.strains.reshape(n, -1)).reshape(hz.size, count, 3)
    tensor = at_worst_phase(sums)
    strain, tension = principal(tensor), principal(stress(w.surface, tensor))
    severity = np.maximum(strain, tension / w.known.modes.specimen.material.youngs_modulus.value)
    if np.any(np.isnan(severity)):
        return None, None, None, None
    worst = int(np.argmax(severity.max(axis=0)))
    where = tuple(round(float(x), 9) for x in w.surface.places[worst])
    return float(strain.max()), float(tension.max()), float(severity.max()), where


# -- what each limit allows -----------------------------------------------------------------------


def _allowed(w: _Watched, mode: Mode, per_unit: Peak) -> dict[str, float]:
    exciter, sensor = w.rig.exciter, w.rig.sensor
    endurance = w.known.modes.specimen.material.endurance_strain
    low, high = exciter.lowest_frequency.value, exciter.highest_frequency.value
    found = {} if low <= mode.frequency_hz <= high else {"frequency": 0.0}
    pairs = {
        "force": (exciter.force.value, per_unit.force),
        "stroke": (exciter.stroke.value / 2.0, per_unit.base_displacement),
        "velocity": (exciter.velocity, per_unit.base_velocity),
        "acceleration": (exciter.acceleration, per_unit.base_acceleration),
        "sensor": (sensor.range if sensor is not None else None, per_unit.sensor),
        "strain": (endurance, per_unit.severity),
        "moment": (exciter.dynamic_moment, per_unit.moment),
    }
    for name, (limit, made) in pairs.items():
        if limit is None or made is None:
            continue
        most = limit if isinstance(limit, float) else limit.value
        if made > ROUNDING * most:
            found[name] = most / made
    return found
