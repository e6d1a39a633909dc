"""Moments about the drive axis against statics, exact beams and the law of levers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from exact_response import euler_beam
from outside import record
from saltline.files.specimen_file import read_specimen
from saltline.forced.response import driven
from saltline.modes import Modes, find_modes
from saltline.planning.balance import balance, moments, residual
from saltline.planning.rig import Exciter, Rig
from saltline.quantity import Quantity
from saltline.specimen import Drive, Specimen
from saltline.spread import bands
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
        # Held on both sides it is mounted over the axis.
        (beam("clamped-clamped"), 0.2, 0.0),
        (plate("SSSS"), 0.2, 0.0),
    ],
)
def test_the_weight_turns_with_its_arm(specimen: Specimen, distance: float, arm: float) -> None:
    modes = modes_of(specimen, 2)
    found = balance(driven(modes), bench(clamp_distance=distance))
    whole = found.mass
    assert found.arm == pytest.approx(arm)
    assert found.at_rest == found.alone == pytest.approx(whole * G * arm)
    assert found.overhangs == (arm > 0.0)


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


def test_a_twin_has_no_moment_and_twice_the_force() -> None:
    modes, rig = modes_of(beam("clamped-free")), bench(clamp_distance=0.2, dynamic_moment=1.0)
    single, both = balance(driven(modes), rig), balance(driven(twin(modes)), rig)
    assert (single.layout, both.layout) == ("single", "twin")
    assert both.at_rest == 0.0
    assert both.alone == single.at_rest
    f = np.array([modes.modes[0].frequency_hz])
    assert moments(driven(twin(modes)), rig, f) == pytest.approx([0.0])
    # What one specimen does is the same in both.
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


def test_twins_a_bandwidth_apart_leave_the_whole_moment() -> None:
    assert residual(2.0 * ZETA, ZETA) == pytest.approx(1.0)
    assert residual(0.02 * ZETA, ZETA) == pytest.approx(0.02, rel=1e-3)
    assert math.isclose(residual(0.0, ZETA), 0.0)
