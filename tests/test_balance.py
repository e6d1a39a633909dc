"""Moments about the drive axis against statics, exact beams and the law of levers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from exact_response import clamped_disc, euler_beam
from outside import record
from saltline.files.specimen_file import read_specimen
from saltline.forced.response import driven
from saltline.modes import Modes
from saltline.planning.axis import drive_axis
from saltline.planning.balance import balance, moments, residual
from saltline.planning.limits import at_resonances
from saltline.planning.loaded import Asked, loaded, loose_force
from saltline.planning.rig import Exciter, Rig, Sensor
from saltline.quantity import Quantity
from saltline.solver import find_modes
from saltline.specimen import Drive, Specimen
from saltline.spread import Band, bands
from specimens import UNIT, beam, mass, plate

G = 9.80665
ZETA = 0.01


def bench(**changed: float) -> Rig:
    parts = {
        "force": 100.0, "stroke": 0.01, "lowest_frequency": 1.0, "highest_frequency": 1e4,
        "moving_mass": 0.2, **changed,
    }  # fmt: skip
    return Rig("bench", Exciter(**{name: Quantity(v) for name, v in parts.items()}))


def twin(modes: Modes) -> Modes:
    return replace(modes, specimen=replace(modes.specimen, drive=Drive(layout="twin")))


def modes_of(specimen: Specimen, count: int = 4) -> Modes:
    theory = "euler" if specimen.kind == "beam" else None
    return find_modes(specimen, count=count, theory=theory)


# -- at rest --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("specimen", "distance", "arm"),
    [
        (beam("clamped-free"), 0.0, 0.5),
        (beam("clamped-free"), 0.2, 0.7),
        (beam("free-clamped"), 0.2, 0.7),
        # A mass of the beam's own at its tip moves the centre to 3/4.
        (beam("clamped-free", attached=[mass(1.0, 1.0)]), 0.0, 0.75),
        (plate("CFFF", width=0.6), 0.1, 0.6),
        (plate("FFFC", width=0.6), 0.1, 0.4),
        # The axis of a clamped side is at its middle: a mass at a corner turns across it too.
        (
            plate("CFFF", width=0.6, attached=[mass((1.0, 0.6), 1.0)]),
            0.1,
            math.hypot(0.1 + (0.6 * 0.5 + 1.0) / 1.6, 0.3 / 1.6),
        ),
        # Held on both sides, the axis is midway between them,
        (beam("clamped-clamped"), 0.2, 0.0),
        (plate("SSSS"), 0.2, 0.0),
        # ... and a mass of the beam's own at 0.8 of it moves the centre to 0.65.
        (beam("clamped-clamped", attached=[mass(0.8, 1.0)]), 0.2, 0.15),
    ],
)
def test_the_weight_turns_with_its_arm(specimen: Specimen, distance: float, arm: float) -> None:
    modes = modes_of(specimen, 2)
    found = balance(driven(modes), bench(clamp_distance=distance))
    whole = found.mass
    assert found.arm == pytest.approx(arm)
    assert found.at_rest == found.alone == pytest.approx(whole * G * arm)
    held = [name for name, hold in specimen.boundary.items() if hold.word != "free"]
    assert found.overhangs == (len(held) == 1)


def test_a_reed_of_brass_by_hand() -> None:
    text = """
kind: beam
material: {youngs_modulus: 103 GPa, density: 8500 kg/m3, poisson_ratio: 0.34}
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 3 mm}}
boundary: {start: clamped, end: free}
"""
    found = balance(driven(modes_of(read_specimen(text))), bench(clamp_distance=0.015))
    # 8500 * 0.2 * 0.02 * 0.003 = 0.102 kg at 115 mm.
    assert found.mass == pytest.approx(0.102)
    assert found.at_rest == pytest.approx(0.102 * G * 0.115)


def test_the_static_moment_of_the_rig_is_held_against_it() -> None:
    modes = modes_of(beam("clamped-free"), 1)
    at_rest = UNIT * G * 0.5
    for limit, too_much in ((0.99 * at_rest, True), (1.01 * at_rest, False)):
        assert balance(driven(modes), bench(static_moment=limit)).too_much_at_rest is too_much
        assert balance(driven(twin(modes)), bench(static_moment=limit)).too_much_at_rest is False
    assert balance(driven(modes), bench()).too_much_at_rest is None


# -- at the resonances ----------------------------------------------------------------------------


@pytest.mark.parametrize("distance", [0.0, 0.3])
def test_the_moment_at_resonance_is_that_of_the_exact_beam(distance: float) -> None:
    """Root moment plus root shear times the distance, per base acceleration."""
    modes = modes_of(beam("clamped-free"))
    rig = bench(clamp_distance=distance, dynamic_moment=1e3)
    found = balance(driven(modes, damping_ratio=ZETA), rig).turnings
    EI = UNIT * (1.0 + 2.0j * ZETA)
    errors = []
    for turning, root in zip(found, (1.8751040687, 4.6940911330, 7.8547574382), strict=False):
        omega = root**2
        (state,) = euler_beam("clamped-free", omega, ZETA, [0.0])
        force, moment = -EI * state[3] / omega**2, EI * state[2] / omega**2
        due = abs(moment + distance * force)
        assert turning.allowed == pytest.approx(1e3 / due, rel=1e-5)
        errors += [abs(turning.moment / due - 1.0), abs(turning.force / abs(force) - 1.0)]
    source = "closed form with a complex modulus, mpmath"
    record("moment and force of a cantilever on the exciter", source, max(errors), 1e-6)


def test_far_below_resonance_the_moment_is_that_of_the_mass() -> None:
    """m (xc + d) per m/s2; of a plate held at its bottom along y."""
    for specimen, due in ((beam("clamped-free"), 0.7), (plate("FCFF", width=0.6), 0.6 * 0.5)):
        modes = modes_of(specimen, 3)
        f = np.array([1e-5 * modes.modes[0].frequency_hz])
        found = moments(driven(modes), bench(clamp_distance=0.2), f)
        assert found == pytest.approx(UNIT * due)


def test_a_twin_has_no_moment_at_rest_and_twice_the_force() -> None:
    modes, rig = modes_of(beam("clamped-free")), bench(clamp_distance=0.2, dynamic_moment=1.0)
    single, both = balance(driven(modes), rig), balance(driven(twin(modes)), rig)
    assert (single.layout, both.layout) == ("single", "twin")
    assert both.at_rest == 0.0
    assert both.alone == single.at_rest
    f = np.array([modes.modes[0].frequency_hz])
    # What one specimen does is the same in both.
    assert moments(driven(twin(modes)), rig, f) == moments(driven(modes), rig, f)
    assert [t.moment for t in both.turnings] == [t.moment for t in single.turnings]


def test_a_symmetric_beam_over_the_axis_turns_it_in_no_mode() -> None:
    modes = modes_of(beam("clamped-clamped"))
    found = balance(driven(modes), bench(dynamic_moment=1.0)).turnings
    for turning in found:
        assert turning.moment == pytest.approx(0.0, abs=1e-6 * UNIT)
    assert [turning.excited for turning in found] == [True, False, True, False]


def test_a_beam_held_unevenly_turns_the_axis_though_its_weight_does_not() -> None:
    modes = modes_of(beam("clamped-pinned"))
    found = balance(driven(modes), bench())
    assert found.at_rest == 0.0
    assert found.turnings[0].moment > 0.1 * UNIT


def test_a_driven_point_takes_no_moment() -> None:
    specimen = replace(beam("clamped-free"), drive=Drive("point", (Quantity(0.3),)))
    found = balance(driven(modes_of(specimen)), bench(clamp_distance=0.2))
    assert (found.at_rest, found.turnings) == (0.0, ())


# -- held at points -------------------------------------------------------------------------------

STUDDED = """
kind: plate
material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.33}
geometry: {length: 300 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: free, right: free, bottom: free, top: free}
"""
ONE_STUD = """
supports:
  - {at: [60 mm, 80 mm], deflection: rigid, rotation: rigid, diameter: 10 mm}
"""
THREE_POINTS = """
supports:
  - {at: [0 mm, 0 mm], deflection: rigid}
  - {at: [90 mm, 0 mm], deflection: rigid}
  - {at: [0 mm, 150 mm], deflection: 2e6 N/m}
"""
LINE = """
supports:
  - {from: [90 mm, 0 mm], to: [90 mm, 160 mm], deflection: rigid, rotation: rigid}
"""


@pytest.mark.parametrize(
    ("holds", "axis"),
    [(ONE_STUD, (0.06, 0.08)), (THREE_POINTS, (0.03, 0.05)), (LINE, (0.09, 0.08))],
)
def test_a_plate_held_at_points_turns_about_the_middle_of_them(
    holds: str, axis: tuple[float, float]
) -> None:
    """m g times the distance from the centre at (150, 100) mm; 2700 * 0.3 * 0.2 * 0.002 kg."""
    modes = modes_of(read_specimen(STUDDED + holds), 2)
    known, arm = driven(modes), math.hypot(0.15 - axis[0], 0.1 - axis[1])
    found = balance(known, bench(clamp_distance=0.05))
    assert found.axis is not None
    assert found.axis.at == pytest.approx(axis)
    assert (found.axis.known, found.axis.is_assumed) == ("holds", True)
    assert found.at_rest == pytest.approx(0.324 * G * arm)
    slow = np.array([1e-4 * modes.modes[0].frequency_hz])
    assert moments(known, bench(), slow) == pytest.approx(0.324 * arm, rel=1e-5)


def test_the_rig_file_may_say_where_the_drive_axis_is() -> None:
    modes = modes_of(read_specimen(STUDDED + ONE_STUD), 2)
    rig = bench()
    stated = replace(rig.exciter, drive_axis=(Quantity(0.15), Quantity(0.07)))
    found = balance(driven(modes), replace(rig, exciter=stated))
    assert found.axis is not None
    assert (found.axis.at, found.axis.is_assumed) == ((0.15, 0.07), False)
    assert found.at_rest == pytest.approx(0.324 * G * 0.03)


def test_a_clamp_without_a_distance_is_assumed_to_stand_on_the_axis() -> None:
    for rig, known, at in (
        (bench(), "face", (0.0,)),
        (bench(clamp_distance=0.2), "clamp", (-0.2,)),
        (bench(clamp_distance=0.0), "clamp", (0.0,)),
    ):
        found = drive_axis(beam("clamped-free"), rig)
        assert (found.at, found.known) == (at, known)
        assert found.is_assumed == (known == "face")


@pytest.mark.parametrize("axis", [None, 0.45])
def test_a_beam_clamped_off_its_middle_turns_as_two_exact_cantilevers(axis: float | None) -> None:
    """Of the lengths 0.3 and 0.7: root moments E I w2/l^2, root forces -E I w3/l^3, with w2 and w3
    the second and third derivative by x/l. The one to the left turns the other way.
    """
    specimen = beam(
        "free-free", supports=[{"at": "300 mm", "deflection": "rigid", "rotation": "rigid"}]
    )
    known = driven(modes_of(specimen), damping_ratio=ZETA)
    rig = bench()
    if axis is not None:
        rig = replace(rig, exciter=replace(rig.exciter, drive_axis=(Quantity(axis),)))
    EI = UNIT * (1.0 + 2.0j * ZETA)
    errors = []
    for mode in known.modes.modes:
        omega = 2.0 * math.pi * mode.frequency_hz
        force = moment = 0.0j
        for length, side in ((0.3, -1.0), (0.7, 1.0)):
            (state,) = euler_beam("clamped-free", omega * length**2, ZETA, [0.0])
            force += -EI * state[3] / length**3 / omega**2
            moment += side * EI * state[2] / length**2 / omega**2
        due = abs(moment + (0.0 if axis is None else 0.3 - axis) * force)
        (found,) = moments(known, rig, np.array([mode.frequency_hz]))
        errors.append(abs(float(found) / due - 1.0))
    source = "two cantilevers in closed form with a complex modulus, mpmath"
    record("moment of a beam clamped off its middle, four resonances", source, max(errors), 1e-5)


# -- with a sensor on it --------------------------------------------------------------------------

EVERY = Asked(4, None, "euler", None)


def test_a_sensor_at_the_tip_is_in_force_and_moment_as_in_the_exact_beam() -> None:
    sensor = Sensor(Quantity(0.1 * UNIT), (Quantity(1.0),))
    rig = replace(bench(clamp_distance=0.2, dynamic_moment=1e3), sensor=sensor)
    modes = loaded(beam("clamped-free"), rig, EVERY).modes
    known = driven(modes, damping_ratio=ZETA)
    found = balance(known, rig)
    assert found.mass == pytest.approx(1.1 * UNIT)
    assert found.at_rest == pytest.approx(UNIT * G * (0.5 + 0.2) + 0.1 * UNIT * G * 1.2)
    EI = UNIT * (1.0 + 2.0j * ZETA)
    errors = []
    for turning, level in zip(found.turnings, at_resonances(known, rig), strict=True):
        omega = 2.0 * math.pi * turning.mode.frequency_hz
        (state,) = euler_beam("clamped-free", omega, ZETA, [0.0], tip_mass=0.1)
        force, moment = -EI * state[3] / omega**2, EI * state[2] / omega**2
        errors += [abs(turning.moment / abs(moment + 0.2 * force) - 1.0)]
        errors += [abs(turning.force / abs(force) - 1.0)]
        assert level.per_unit.moment >= turning.moment * (1.0 - 1e-9)
    source = "closed form with a complex modulus, mpmath"
    record("moment and force of a cantilever with a sensor at its tip", source, max(errors), 1e-6)


DISC = """
kind: disc
material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}
geometry: {diameter: 200 mm, thickness: 2 mm}
boundary: {rim: clamped}
"""


def test_a_sensor_off_a_discs_centre_turns_it_with_its_own_weight_and_motion() -> None:
    """m g r at rest; driven m r a, a the exact motion of its place; the disc itself stays level."""
    sensor = Sensor(Quantity(1e-9), (Quantity(0.04),))  # too light to shift anything
    rig = replace(bench(dynamic_moment=1e3), sensor=sensor)
    modes = loaded(read_specimen(DISC), rig, replace(EVERY, theory=None)).modes
    known = driven(modes, damping_ratio=ZETA)
    assert balance(known, rig).at_rest == pytest.approx(1e-9 * G * 0.04)
    first = modes.modes[0].frequency_hz
    lowest = 10.21583  # lambda of a clamped disc: Leissa 1969, from memory
    for f in (0.5 * first, first):
        (moved,) = clamped_disc(lowest * f / first, ZETA, [0.4])
        (found,) = moments(known, rig, np.array([f]))
        assert found == pytest.approx(1e-9 * 0.04 * abs(moved), rel=1e-3)


def test_a_sensor_off_a_discs_centre_is_moved_with_it() -> None:
    """At a hundredth of the first frequency all moves as one: its mass adds to the force."""
    rig = replace(bench(), sensor=Sensor(Quantity(0.002), (Quantity(0.04),)))
    modes = loaded(read_specimen(DISC), rig, replace(EVERY, theory=None)).modes
    known = driven(modes, damping_ratio=ZETA)
    slow = np.array([0.01 * modes.modes[0].frequency_hz])
    assert loose_force(known, rig, slow).real == pytest.approx(0.002, rel=1e-3)
    assert balance(known, rig).mass == pytest.approx(known.mass_kg + 0.002)


# -- twins that are not quite equal ---------------------------------------------------------------


@pytest.mark.parametrize("zeta", [0.001, 0.01])
@pytest.mark.parametrize("mismatch", [0.0, 1e-4, 1e-3, 4e-3])
def test_what_unequal_twins_leave(mismatch: float, zeta: float) -> None:
    """The exact responses of two resonators at their mean frequency."""
    one, other = (
        1.0 / ((1.0 + sign * mismatch / 2.0) ** 2 * (1.0 + 2.0j * zeta) - 1.0) for sign in (1, -1)
    )
    exact = abs(one - other) * 2.0 * zeta
    assert residual(mismatch, zeta) == pytest.approx(exact, rel=0.03, abs=1e-9)


def test_twins_are_as_unlike_as_their_tolerances_let_them() -> None:
    """f ~ h/L^2: 1 % of h and 0.5 % of L, each twin off on its own, are sqrt(2 (1 + 1)) % apart."""
    specimen = read_specimen("""
        kind: beam
        material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}
        geometry: {length: 200 mm ± 0.5 %, section: {shape: rectangle, width: 20 mm,
                   thickness: 2 mm ± 1 %}}
        boundary: {start: clamped, end: free}
        drive: {through: boundary, layout: twin}
        """)
    modes = find_modes(specimen, count=3, theory="euler")
    for zeta, may_part in ((0.005, True), (0.03, False)):
        known = driven(modes, damping_ratio=zeta)
        twins = balance(known, bench(), bands=bands(modes)).twins
        assert len(twins) == 3
        for one in twins:
            assert one.mismatch == pytest.approx(0.02, rel=1e-3)
            assert one.bandwidth == 2.0 * zeta
            assert one.may_part == may_part
            due = 1.0 if may_part else residual(0.02, zeta)
            assert one.left == pytest.approx(due, rel=1e-3)
    alone = replace(specimen, drive=Drive())
    assert balance(driven(find_modes(alone, count=1)), bench(), bands=bands(modes)).twins == ()


def test_twins_that_may_part_are_held_to_the_moment_of_one() -> None:
    """What is left of the moment of one lowers the level; without tolerances all of it is left."""
    one = modes_of(beam("clamped-free"), 1)
    rig = bench(dynamic_moment=1.0, force=1e9, stroke=1e9)
    f = one.modes[0].frequency_hz
    (alone,) = at_resonances(driven(one, damping_ratio=ZETA), rig)
    known = driven(twin(one), damping_ratio=ZETA)
    for half, left in ((0.1, 1.0), (1e-3, residual(math.sqrt(2.0) * 2e-3 / 2.0, ZETA)), (0.0, 0.0)):
        band = Band((1.0 - half) * f, (1.0 + half) * f, {})
        (found,) = at_resonances(known, rig, bands=[band])
        assert found.per_unit.moment == pytest.approx(left * alone.per_unit.moment)
        assert ("moment" in found.allowed) == (left > 0.0)
    (found,) = at_resonances(known, rig)
    assert found.allowed["moment"] == pytest.approx(alone.allowed["moment"])


def test_twins_a_bandwidth_apart_leave_the_whole_moment() -> None:
    assert residual(2.0 * ZETA, ZETA) == pytest.approx(1.0)
    assert residual(0.02 * ZETA, ZETA) == pytest.approx(0.02, rel=1e-3)
    assert math.isclose(residual(0.0, ZETA), 0.0)
