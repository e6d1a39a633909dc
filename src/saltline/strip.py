"""Where a strip stops being a beam: the same strip solved as a plate, mode matched to mode."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from saltline.modes import Mode, Modes
from saltline.record import record
from saltline.section import section_properties
from saltline.solver import find_modes
from saltline.specimen import BeamGeometry, PredictionError, Specimen
from saltline.strip_form import why_no_plate
from saltline.strip_plate import MOTIONS, PlateMode, plate_modes, within_reach

HOLDS_TO = 0.02
"""Beam theory is said to hold while it is within this of the plate (relative)."""

MOVED = 2e-4
"""The plate beside the beam has settled when a finer one moves no mode by more (relative)."""

LOOKED_ALONG, LOOKED_ACROSS = 45.0, 5.2
"""How far the note looks: waves of bending, in radians, over the length and over the width. Where
width curls or bends at all it does so within the second."""

WIDEST = 40.0
"""A strip so wide that the wave of its first mode has more radians across it is not looked at."""

EVEN = 0.002
"""No reason is looked for where the plate is nearer to the beam than this (relative)."""

ABOVE = 1.3
"""How far above the beam's frequency the plate's is looked for."""


@record
class StripMode:
    """A mode of the strip as a plate.

    motion: "flatwise", "torsion" or "chordwise"; order within that motion.
    beam:   the beam's mode of the same family and order, or None.
    reason: why the two differ, in a few words; "" where they do not.
    """

    frequency_hz: float
    motion: str
    order: int
    beam: Mode | None
    reason: str

    @property
    def difference(self) -> float:
        """Plate over beam, less one; NaN without a beam mode."""
        return math.nan if self.beam is None else self.frequency_hz / self.beam.frequency_hz - 1.0


@record
class Reach:
    """How far beam theory reaches.

    holds_to_hz:  up to this frequency flatwise bending is within `HOLDS_TO` of the plate; 0 where
                  already the first mode exceeds it, infinite where none does.
    looked_to_hz: up to this frequency was looked; infinite where the whole range was, 0 where the
                  strip is too wide for it.
    first_lines:  motion with a node line along the strip -> its lowest frequency, Hz.
    """

    holds_to_hz: float
    looked_to_hz: float
    first_lines: dict[str, float]


# -- side by side ---------------------------------------------------------------------------------


def compare(modes: Modes) -> list[StripMode]:
    """The strip as a plate beside the beam, up to the plate's mode that matches the list's last.

    Raises PredictionError where the specimen is no strip, is on the point of buckling, or the list
    has neither bending nor torsion.
    """
    specimen = modes.specimen
    objection = why_no_plate(specimen)
    if objection:
        raise PredictionError(f"--as-plate needs a rectangular beam of one width; {objection}")
    listed = {(m.family, m.order): m for m in modes.modes if m.family in MOTIONS}
    if not listed:
        raise PredictionError("--as-plate compares flatwise bending and torsion; list one of them")
    highest = max(mode.frequency_hz for mode in listed.values())
    found = _ordered(_settled(specimen, ABOVE * highest))
    matched = [n for n, (key, _) in enumerate(found, start=1) if key in listed]
    shown = found[: max(matched, default=len(found))]
    beam = listed | _unlisted(modes, {key for key, _ in shown} - listed.keys())
    clamp = _of_the_clamp(specimen, dict(shown), beam)
    return [
        StripMode(
            mode.frequency_hz, *key, beam.get(key), _reason(specimen, mode, beam.get(key), clamp)
        )
        for key, mode in shown
    ]


def _settled(specimen: Specimen, highest_hz: float) -> list[PlateMode]:
    """The plate's modes, finer and finer until none moves by more than `MOVED`."""
    coarse = dict(_ordered(plate_modes(specimen, highest_hz, fineness=0)))
    for fineness in (1, 2, 3):
        fine = plate_modes(specimen, highest_hz, fineness=fineness)
        by_order = dict(_ordered(fine))
        moved = [
            abs(coarse[key].frequency_hz / mode.frequency_hz - 1.0)
            for key, mode in by_order.items()
            if key in coarse
        ]
        if max(moved, default=0.0) <= MOVED:
            break
        coarse = by_order
    return fine


def _ordered(found: Sequence[PlateMode]) -> list[tuple[tuple[str, int], PlateMode]]:
    """Each mode with its motion and its order within that motion."""
    orders = dict.fromkeys(MOTIONS, 0)
    rows = []
    for mode in found:
        orders[mode.motion] += 1
        rows.append(((mode.motion, orders[mode.motion]), mode))
    return rows


def _unlisted(modes: Modes, keys: set[tuple[str, int]]) -> dict[tuple[str, int], Mode]:
    """The beam's modes of these families and orders, which the list does not have."""
    found: dict[tuple[str, int], Mode] = {}
    for family in MOTIONS[:2]:
        orders = [order for name, order in keys if name == family]
        if orders:
            more = find_modes(
                modes.specimen, count=max(orders), theory=modes.theory, families=(family,)
            )
            found |= {(mode.family, mode.order): mode for mode in more.modes}
    return found


# -- why they differ ------------------------------------------------------------------------------


def _reason(specimen: Specimen, plate: PlateMode, beam: Mode | None, clamp: float) -> str:
    """The main reason why the plate's frequency differs from the beam's, in a few words.

    clamp: what clamps do to a frequency of bending.
    """
    if beam is None:
        return "bends across the width, which no beam does"
    difference = plate.frequency_hz / beam.frequency_hz - 1.0
    if abs(difference) < EVEN:
        return ""
    if beam.family == "torsion":
        causes = _torsion_causes(specimen, beam)
        return max(causes, key=lambda cause: abs(causes[cause]))
    shear = (beam.euler_hz or beam.frequency_hz) / beam.frequency_hz - 1.0
    if shear > 0.6 * abs(difference):
        return "shear, which a thin plate leaves out"
    if abs(difference) < 2.0 * clamp:
        return "the clamp keeps the width from curling (Poisson)"
    return "the width keeps itself from curling (Poisson)"


def _of_the_clamp(
    specimen: Specimen,
    plate: Mapping[tuple[str, int], PlateMode],
    beam: Mapping[tuple[str, int], Mode],
) -> float:
    """What clamps do to a frequency of bending (relative): much the same to every mode.

    It is seen in the first mode, whose waves are too long for the width to matter otherwise.
    """
    first = ("flatwise", 1)
    clamped = any(hold.word == "clamped" for hold in specimen.boundary.values())
    if not clamped or first not in plate or first not in beam:
        return 0.0
    return abs(plate[first].frequency_hz / beam[first].frequency_hz - 1.0)


def _torsion_causes(specimen: Specimen, beam: Mode) -> dict[str, float]:
    """Estimates of what each cause does to a frequency of torsion (relative).

    With the twist t(x) a thin strip has the energy D b (1-nu) int t'^2 + D b^3/24 int t''^2 (own
    derivation from w = y t): the second term acts where t' varies, with the wave number k by
    b^2 k^2/(48 (1-nu)), and near an end that holds it, where t' dies away within b/sqrt(24 (1-nu)).
    A thin plate takes b t^3/3 for the torsion constant. A preload N adds N I_p/A to G J.
    """
    geometry, material = specimen.geometry, specimen.material
    assert isinstance(geometry, BeamGeometry)
    section = geometry.segments[0].section_start
    s = section_properties(section, material.poisson_ratio.value)
    b, t = (section.dimensions[name].value for name in ("width", "thickness"))
    G, J, I_p = material.G, float(s.J), float(s.I_polar)
    k2 = (2.0 * math.pi * beam.frequency_hz) ** 2 * material.density.value * I_p / (G * J)
    stiff = 24.0 * (1.0 - material.poisson_ratio.value)
    held = sum(math.isinf(h.rotation.value) for h in specimen.boundary.values())
    pulled = 1.0 + geometry.tension.value * I_p / float(s.A) / (G * J)
    return {
        "the finite thickness, which a thin plate leaves out": math.sqrt(b * t**3 / 3.0 / J) - 1.0,
        "the ends keep the section from warping": held * b / math.sqrt(stiff) / geometry.length,
        "the twist varies along the strip, which bends it too": b**2 * k2 / (2.0 * stiff),
        "the preload, which in a beam acts on bending alone": math.sqrt(max(pulled, 0.0)) - 1.0,
    }


# -- for a note under a beam's table --------------------------------------------------------------


def reach(specimen: Specimen, flatwise: Sequence[Mode]) -> Reach:
    """How far beam theory reaches within the range of these flatwise modes.

    A coarse plate is enough to tell, and costs milliseconds. `why_no_plate` must have no objection.
    Raises PredictionError where the strip is on the point of buckling.
    """
    highest = max(mode.frequency_hz for mode in flatwise)
    lowest = min(mode.frequency_hz for mode in flatwise)
    looked = within_reach(specimen, ABOVE * highest, phase=LOOKED_ALONG, across=LOOKED_ACROSS)
    if looked < ABOVE * lowest:  # wider than long: as far as the first mode, or not at all
        looked = within_reach(specimen, ABOVE * lowest, phase=LOOKED_ALONG, across=WIDEST)
    found = plate_modes(specimen, looked, fineness=0)
    bending = [mode.frequency_hz for mode in found if mode.motion == "flatwise"]
    lines: dict[str, float] = {}
    for motion in MOTIONS[1:]:
        first = min((m.frequency_hz for m in found if m.motion == motion), default=math.inf)
        if first <= highest:
            lines[motion] = first
    compared = list(zip(bending, flatwise, strict=False))
    if not compared and looked >= ABOVE * lowest:
        return Reach(0.0, math.inf, lines)  # the first mode of the plate is far above the beam's
    is_whole = len(compared) == len(flatwise)
    looked_to = math.inf if is_whole else max((m.frequency_hz for _, m in compared), default=0.0)
    return Reach(_holds_to(compared), looked_to, lines)


def _holds_to(compared: Sequence[tuple[float, Mode]]) -> float:
    """Where the difference from Euler and Bernoulli's beam comes to `HOLDS_TO`, Hz.

    compared: the plate's frequency and the beam's mode, by order. Between two modes the difference
    is taken to grow in line with the frequency.
    """
    before = (0.0, 0.0)
    for number, (hz, mode) in enumerate(compared):
        simple = mode.euler_hz or mode.frequency_hz
        here = (mode.frequency_hz, abs(hz / simple - 1.0))
        if here[1] > HOLDS_TO:
            if number == 0:
                return 0.0
            part = (HOLDS_TO - before[1]) / (here[1] - before[1])
            return before[0] + part * (here[0] - before[0])
        before = here
    return math.inf
