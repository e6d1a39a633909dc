"""The level at each resonance against closed forms and hand calculation."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exact_response import euler_beam
from outside import record
from saltline.files.specimen_file import read_specimen
from saltline.forced.response import driven, for_drive
from saltline.material import Material
from saltline.modes import Modes
from saltline.planning.envelope import parse_level
from saltline.planning.limits import ACROSS, LIMITS, Resonance, at_resonances
from saltline.planning.rig import Exciter, Rig, Sensor
from saltline.quantity import Quantity
from saltline.solver import find_modes
from saltline.specimen import Drive
from specimens import UNIT, beam

ZETA = 0.004
H = 0.01
"""Thickness of the unit beam with the section that states one, m."""


def bench(sensor: Sensor | None = None, **changed: float | None) -> Rig:
    """A rig for the unit beam of 1000 kg, whose first mode has omega = 3.516 rad/s."""
    parts: dict[str, float | None] = {
        "force": 5e4, "stroke": 2.0, "velocity": 4.0, "acceleration": 40.0,
        "lowest_frequency": 0.01, "highest_frequency": 100.0, "moving_mass": 300.0,
        "fixture_mass": 100.0, **changed,
    }  # fmt: skip
    quantities = {name: Quantity(v) for name, v in parts.items() if v is not None}
    return Rig("bench", Exciter(**quantities), sensor=sensor)


@cache
def unit_beam() -> Modes:
    """The unit cantilever with a rectangle as its section, so that it has a surface."""
    E = UNIT * 12.0 / H**3
    text = f"""
kind: beam
material: {{youngs_modulus: {E!r} Pa, density: {UNIT / H!r} kg/m3, poisson_ratio: 0.3,
            endurance_strain: 0.001}}
geometry: {{length: 1 m, section: {{shape: rectangle, width: 1 m, thickness: {H} m}}}}
boundary: {{start: clamped, end: free}}
damping_ratio: {ZETA}
drive: {{through: boundary}}
"""
    return find_modes(read_specimen(text), count=5, theory="euler")


def levels(rig: Rig) -> list[Resonance]:
    return at_resonances(driven(unit_beam()), rig)


ROOTS = (1.8751040687, 4.6940911330, 7.8547574382, 10.9955407349, 14.1371683910)


@cache
def exact(number: int) -> np.ndarray:
    """(omega, tip motion over base motion, root w'' and w''' over it) across a resonance."""
    omegas = ROOTS[number] ** 2 * (1.0 + ZETA * ACROSS)
    ends = np.array([euler_beam("clamped-free", float(o), ZETA, [0.0, 1.0]) for o in omegas])
    return np.column_stack([omegas, ends[:, 1, 0], ends[:, 0, 2], ends[:, 0, 3]])


def test_what_the_exciter_alone_allows_is_kinematics() -> None:
    """stroke omega^2/2, velocity omega, acceleration."""
    for number, resonance in enumerate(levels(bench())):
        omega = ROOTS[number] ** 2
        due = {"stroke": 1.0 * omega**2, "velocity": 4.0 * omega, "acceleration": 40.0}
        for name, value in due.items():
            assert resonance.allowed[name] == pytest.approx(value, rel=1e-6)


def test_levels_by_force_strain_sensor_and_moment_are_those_of_the_exact_beam() -> None:
    sensor = Sensor(Quantity(1.0), (Quantity(1.0),), Quantity(50.0))
    rig = bench(sensor, dynamic_moment=9e3, clamp_distance=0.2)
    EI = UNIT * (1.0 + 2.0j * ZETA)
    errors = []
    for number, resonance in enumerate(levels(rig)):
        omega, tip, bend, shear = exact(number).T
        force = -EI * shear / omega**2
        due = {
            "force": 5e4 / np.abs(400.0 + force).max(),
            "sensor": 50.0 / np.abs(tip).max(),
            # Strain h/2 w'' of a base that moves by 1/omega^2 at 1 m/s2.
            "strain": 1e-3 / np.abs(H / 2.0 * bend / omega**2).max(),
            "moment": 9e3 / np.abs(EI * bend / omega**2 + 0.2 * force).max(),
        }
        errors += [abs(resonance.allowed[name] / value - 1.0) for name, value in due.items()]
        assert resonance.limited_by in LIMITS
        assert resonance.drive == min(resonance.allowed.values())
    record(
        "levels by force, sensor, strain and moment at five resonances of a cantilever",
        "closed form with a complex modulus, mpmath",
        max(errors),
        1e-5,
    )


def test_nothing_worse_lies_between_the_frequencies_that_are_looked_at() -> None:
    """The dense truth, twice as far out, is less than a hundredth worse."""
    EI = UNIT * (1.0 + 2.0j * ZETA)
    for number, resonance in enumerate(levels(bench())[:2]):
        omegas = ROOTS[number] ** 2 * (1.0 + ZETA * np.linspace(-4.0, 4.0, 65))
        ends = [euler_beam("clamped-free", float(o), ZETA, [0.0, 1.0]) for o in omegas]
        force = [400.0 - EI * e[0, 3] / o**2 for e, o in zip(ends, omegas, strict=True)]
        tip = [e[1, 0] for e in ends]
        for dense, found in (
            (force, resonance.per_unit.force),
            (tip, resonance.per_unit.acceleration),
        ):
            assert 1.0 - 1e-6 < np.abs(dense).max() / found < 1.01


def test_peaks_are_those_of_the_exact_beam() -> None:
    errors = []
    for number, resonance in enumerate(levels(bench())):
        omega, tip, bend, _ = exact(number).T
        unit = resonance.per_unit
        due = {
            "displacement": np.abs(tip / omega**2).max(),
            "acceleration": np.abs(tip).max(),
            "relative_displacement": np.abs((tip - 1.0) / omega**2).max(),
            "strain": np.abs(H / 2.0 * bend / omega**2).max(),
            "base_displacement": 1.0 / ROOTS[number] ** 4,
            "base_velocity": 1.0 / ROOTS[number] ** 2,
            "base_acceleration": 1.0,
        }
        errors += [abs(getattr(unit, name) / value - 1.0) for name, value in due.items()]
        assert unit.moves_most_at == (1.0,)
        assert unit.strained_most_at == (0.0,)
        E = UNIT * 12.0 / H**3
        assert unit.stress == pytest.approx(E * due["strain"], rel=1e-5)
        assert unit.severity == pytest.approx(due["strain"], rel=1e-5)
    source = "closed form with a complex modulus, mpmath"
    record("amplitudes at five resonances of a cantilever", source, max(errors), 1e-5)


def test_the_words_of_each_limit() -> None:
    """Whatever is made scarce becomes the limit."""
    sensor = Sensor(Quantity(1.0), (), Quantity(1e-6))
    scarce = {
        "force": bench(force=1e-3), "stroke": bench(stroke=1e-9), "velocity": bench(velocity=1e-9),
        "acceleration": bench(acceleration=1e-9), "sensor": bench(sensor),
        "moment": bench(dynamic_moment=1e-9), "frequency": bench(highest_frequency=0.02),
    }  # fmt: skip
    for name, rig in scarce.items():
        assert {resonance.limited_by for resonance in levels(rig)} == {name}
    assert levels(bench(force=1e9, acceleration=None, velocity=None))[0].limited_by == "strain"
    assert set(scarce) | {"strain"} == set(LIMITS)


def test_a_mode_beyond_the_exciters_frequencies_gets_no_level() -> None:
    first, second, *_ = levels(bench(highest_frequency=1.0))
    assert first.limited_by != "frequency"
    assert (second.limited_by, second.drive, second.peak.displacement) == ("frequency", 0.0, 0.0)


def test_what_is_not_known_does_not_limit() -> None:
    sensor = Sensor(Quantity(1.0))
    found = levels(bench(sensor, velocity=None, acceleration=None))[0]
    assert set(found.allowed) == {"force", "stroke", "strain"}
    hard = find_modes(replace(unit_beam().specimen, material=_without_endurance()), count=1)
    (only,) = at_resonances(driven(hard), bench(velocity=None, acceleration=None))
    assert set(only.allowed) == {"force", "stroke"}


def _without_endurance() -> Material:
    return replace(unit_beam().specimen.material, endurance_strain=None)


def test_a_section_without_thickness_has_no_strain_to_limit() -> None:
    known = driven(find_modes(beam("clamped-free"), count=2))
    for resonance in at_resonances(known, bench()):
        assert resonance.peak.strain is None
        assert resonance.peak.strained_most_at is None
        assert "strain" not in resonance.allowed


def test_a_mode_that_symmetry_keeps_at_rest_is_not_excited() -> None:
    known = driven(find_modes(beam("pinned-pinned"), count=4))
    assert [r.is_excited for r in at_resonances(known, bench())] == [True, False, True, False]


# -- a force at a point ---------------------------------------------------------------------------


def test_a_driven_point_is_limited_by_its_own_motion_and_by_what_moves_with_it() -> None:
    specimen = replace(beam("free-free"), drive=Drive("point", (Quantity(0.3),)))
    specimen = replace(specimen, damping_ratio=Quantity(ZETA))
    modes = find_modes(for_drive(specimen), count=3, theory="euler")
    found = at_resonances(driven(modes), bench())
    errors = []
    for resonance in found:
        omega0 = 2.0 * math.pi * resonance.mode.frequency_hz
        omegas = omega0 * np.exp(ZETA * ACROSS)
        w = np.array(
            [euler_beam("free-free", float(o), ZETA, [0.3], force_at=0.3)[0, 0] for o in omegas]
        )
        moved = -(omegas**2) * w
        due = {
            "force": 5e4 / np.abs(1.0 + 400.0 * moved).max(),
            "stroke": 1.0 * omega0**2 / np.abs(moved).max(),
            "velocity": 4.0 * omega0 / np.abs(moved).max(),
            "acceleration": 40.0 / np.abs(moved).max(),
        }
        errors += [abs(resonance.allowed[name] / value - 1.0) for name, value in due.items()]
        assert resonance.through == "point"
        assert resonance.per_unit.moment == 0.0
    source = "closed form with a complex modulus, mpmath"
    record("levels of a free beam pushed at a point, three resonances", source, max(errors), 1e-5)


@pytest.mark.parametrize("zeta", [0.3, 0.5, 0.9])
def test_heavy_damping_leaves_every_figure_finite(zeta: float) -> None:
    """Two widths below such a resonance lies no frequency, yet a worst is found."""
    modes = find_modes(beam("clamped-free"), count=2, theory="euler")
    for resonance in at_resonances(driven(modes, damping_ratio=zeta), bench()):
        peak = resonance.per_unit
        for value in (peak.displacement, peak.acceleration, peak.force, peak.moment):
            assert math.isfinite(value)
        assert 0.0 < resonance.drive < math.inf


# -- a level that is asked for --------------------------------------------------------------------


def test_a_level_is_held_against_every_limit() -> None:
    first = levels(bench())[0]
    omega = ROOTS[0] ** 2
    level = parse_level("3 g", through="boundary")
    over = first.exceeded(level)
    drive = 3.0 * 9.80665
    assert over == {
        name: pytest.approx(drive / allowed)
        for name, allowed in first.allowed.items()
        if drive > allowed
    }
    assert list(over.values()) == sorted(over.values(), reverse=True)
    assert "stroke" in over and over["stroke"] == pytest.approx(drive / omega**2, rel=1e-6)
    assert first.exceeded(parse_level("1e-6 g", through="boundary")) == {}


def test_beyond_the_exciters_frequencies_every_level_is_too_much() -> None:
    first = levels(bench(highest_frequency=0.02))[0]
    assert first.exceeded(parse_level("1e-9 g", through="boundary")) == {"frequency": math.inf}


# -- laws -----------------------------------------------------------------------------------------


@settings(max_examples=8, deadline=None, derandomize=True)
@given(
    st.sampled_from(["force", "stroke", "velocity", "acceleration", "dynamic_moment"]),
    st.floats(0.01, 100.0),
)
def test_a_stronger_rig_never_allows_less(part: str, factor: float) -> None:
    base = {"force": 5e4, "stroke": 2.0, "velocity": 4.0, "acceleration": 40.0}
    base["dynamic_moment"] = 5e3
    weaker = levels(bench(**base))
    stronger = levels(bench(**{**base, part: base[part] * (1.0 + factor)}))
    for one, other in zip(weaker, stronger, strict=True):
        assert other.drive >= one.drive * (1.0 - 1e-12)


def test_at_its_level_a_resonance_just_meets_its_limit() -> None:
    for resonance in levels(bench(dynamic_moment=9e3)):
        peak, limit = resonance.peak, resonance.limited_by
        made = {
            "force": peak.force / 5e4,
            "stroke": peak.base_displacement / 1.0,
            "velocity": peak.base_velocity / 4.0,
            "acceleration": peak.base_acceleration / 40.0,
            "strain": (peak.severity or 0.0) / 1e-3,
            "moment": peak.moment / 9e3,
        }
        assert made[limit] == pytest.approx(1.0)
        assert max(made.values()) <= 1.0 + 1e-9
