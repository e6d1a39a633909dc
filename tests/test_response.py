"""Forced responses against closed forms in complex arithmetic, and laws that hold always."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exact_response import (
    clamped_disc,
    euler_beam,
    pinned_plate,
    pushed_disc,
    timoshenko_beam,
)
from outside import record
from saltline.files.specimen_file import read_specimen
from saltline.forced.response import (
    ASSUMED_DAMPING,
    Damping,
    DriveError,
    Driven,
    absolute_acceleration,
    absolute_displacement,
    absolute_velocity,
    apparent_mass,
    damping_of,
    driven,
    for_drive,
    participations,
    reactions,
    relative_displacement,
)
from saltline.modes import Modes
from saltline.quantity import Quantity
from saltline.solver import find_modes
from saltline.specimen import Drive, Specimen
from specimens import UNIT, beam, mass, omegas, plate, spring, support

ZETA = 0.01
XS = (0.2, 0.5, 0.783, 1.0)


def at_point(specimen: Specimen, *place: float) -> Specimen:
    return replace(specimen, drive=Drive("point", tuple(Quantity(v) for v in place)))


def hertz(omega: np.ndarray) -> np.ndarray:
    return np.asarray(omega) / (2.0 * math.pi)


def places(*values: float | tuple[float, float]) -> np.ndarray:
    return np.array([np.atleast_1d(value) for value in values])


@cache
def cantilever(count: int = 6) -> Modes:
    return find_modes(beam("clamped-free"), count=count, theory="euler")


def sampled(modes: Modes) -> np.ndarray:
    """Frequencies past five resonances, and the resonances, in rad/s."""
    five = omegas(modes)[:5]
    return np.concatenate([np.linspace(0.5, 1.08 * five[-1], 25), five])


# -- beams on a moving base -----------------------------------------------------------------------


@pytest.mark.parametrize("ends", ["clamped-free", "pinned-free", "clamped-pinned", "pinned-guided"])
def test_a_base_driven_beam_is_the_closed_form(ends: str) -> None:
    modes = find_modes(beam(ends), count=6, theory="euler")
    omega = sampled(modes)
    exact = np.array([euler_beam(ends, o, ZETA, XS)[:, 0] for o in omega])
    found = absolute_acceleration(driven(modes, damping_ratio=ZETA), hertz(omega), places(*XS))
    record(
        f"base-driven {ends} beam over five resonances",
        "closed form with a complex modulus, mpmath",
        float(np.max(np.abs(found / exact - 1.0))),
        1e-6,
    )


def test_the_sum_converges_with_the_modes_beyond() -> None:
    """Each mode's share falls as 1/omega_n^2 times a participation that falls as 1/n: as n^-5."""
    modes = cantilever()
    omega = sampled(modes)
    exact = np.array([euler_beam("clamped-free", o, ZETA, XS)[:, 0] for o in omega])
    errors = []
    for beyond in (0, 3, 10, 60):
        known = driven(modes, damping_ratio=ZETA, beyond=beyond)
        found = absolute_acceleration(known, hertz(omega), places(*XS))
        errors.append(float(np.max(np.abs(found - exact))))
    assert errors[0] > 4.0 * errors[1] > 16.0 * errors[2]
    assert errors[-1] < 1e-6 * errors[0]


def test_a_stout_base_driven_beam_is_timoshenkos() -> None:
    modes = find_modes(beam("clamped-free", slenderness=10.0), count=6)
    omega = sampled(modes)
    exact = np.array([timoshenko_beam(o, ZETA, XS, slenderness=10.0) for o in omega])
    known = driven(modes, damping_ratio=ZETA)
    found = absolute_acceleration(known, hertz(omega), places(*XS))
    worst = float(np.max(np.abs(found / exact[:, :, 0] - 1.0)))
    source = "matrix exponential of Timoshenko's equations, complex moduli"
    record("base-driven stout cantilever over five resonances", source, worst, 1e-6)
    root = np.array([timoshenko_beam(o, ZETA, [0.0], slenderness=10.0)[0] for o in omega])
    # What the base must give: the shear and the bending moment at the root.
    force, moment = reactions(known, hertz(omega), [UNIT, UNIT / 2.0]).T
    worst = max(
        np.max(np.abs(force / (root[:, 3] / omega**2) - 1.0)),
        np.max(np.abs(moment / (root[:, 2] / omega**2) - 1.0)),
    )
    record("root shear and moment of a stout cantilever", source, worst, 1e-6)


def test_force_and_moment_of_a_cantilever_are_those_at_its_root() -> None:
    modes = cantilever()
    omega = sampled(modes)
    exact = np.array([euler_beam("clamped-free", o, ZETA, [0.0])[0] for o in omega])
    EI = UNIT * (1.0 + 2.0j * ZETA)
    due = EI * np.stack([-exact[:, 3], exact[:, 2]], axis=1) / (omega**2)[:, None]
    found = reactions(driven(modes, damping_ratio=ZETA), hertz(omega), [UNIT, UNIT / 2.0])
    worst = float(np.max(np.abs(found / due - 1.0)))
    source = "closed form with a complex modulus, mpmath"
    record("apparent mass and root moment of a cantilever", source, worst, 1e-6)
    known = driven(modes, damping_ratio=ZETA)
    assert apparent_mass(known, hertz(omega)) == pytest.approx(found[:, 0])


def test_a_mass_at_the_tip_and_a_spring_below_are_in_the_sum() -> None:
    specimen = beam(
        (spring(80.0, "rigid"), "free"), attached=[mass(1.0, 0.4)]
    )  # a guided end that stands on a spring
    modes = find_modes(specimen, count=6, theory="euler")
    omega = sampled(modes)
    exact = np.array(
        [
            euler_beam("guided-free", o, ZETA, (0.0, *XS), tip_mass=0.4, start_spring=80.0)[:, 0]
            for o in omega
        ]
    )
    found = absolute_acceleration(driven(modes, damping_ratio=ZETA), hertz(omega), places(0.0, *XS))
    record(
        "base-driven beam on a spring with a mass at its tip",
        "closed form with a complex modulus, mpmath",
        float(np.max(np.abs(found / exact - 1.0))),
        1e-6,
    )


def test_relative_and_absolute_motion_and_their_rates_belong_together() -> None:
    known, f = driven(cantilever(), damping_ratio=ZETA), np.array([0.3, 1.7, 12.0])
    omega, where = 2.0 * math.pi * f[:, None], places(0.4, 1.0)
    acceleration = absolute_acceleration(known, f, where)
    assert acceleration == pytest.approx(1j * omega * absolute_velocity(known, f, where))
    assert acceleration == pytest.approx(-(omega**2) * absolute_displacement(known, f, where))
    base = -1.0 / omega**2
    relative = absolute_displacement(known, f, where) - base
    assert relative == pytest.approx(relative_displacement(known, f, where))


# -- participation --------------------------------------------------------------------------------


def test_participations_of_a_cantilever() -> None:
    """Printed (Wijker, from memory; recomputed): 1.566 -0.868 0.509 -0.364 at a tip of 1."""
    parts = participations(cantilever(10))
    roots = [
        mpmath.findroot(lambda x: mpmath.cos(x) + 1 / mpmath.cosh(x), guess)
        for guess in (1.8751, *((n - 0.5) * math.pi for n in range(2, 11)))
    ]
    sigma = [(mpmath.sinh(b) - mpmath.sin(b)) / (mpmath.cosh(b) + mpmath.cos(b)) for b in roots]
    factors = [float(4 * s / b) for s, b in zip(sigma, roots, strict=True)]
    shares = [
        factor**2 / 4.0 for factor in factors
    ]  # the mean square of a cantilever's mode is 1/4
    found = np.array([[abs(p.factor), p.share] for p in parts])
    worst = np.max(np.abs(found / np.array([factors, shares]).T - 1.0))
    record("participations of a cantilever, modes 1-10", "closed form, mpmath", worst, 1e-6)
    assert [p.share for p in parts][:4] == pytest.approx([0.6131, 0.1883, 0.0647, 0.0331], abs=6e-5)
    assert found[:4, 0] == pytest.approx([1.566, 0.868, 0.509, 0.364], abs=6e-4)
    assert parts[0].effective_mass_kg == pytest.approx(parts[0].share * UNIT)


def test_effective_masses_sum_to_the_mass() -> None:
    shares = [p.share for p in participations(cantilever(60))]
    assert 0.99 < sum(shares) < 1.0
    # 8/(n pi)^2 for odd n of a beam pinned at both ends, else nothing (textbook).
    pinned = find_modes(beam("pinned-pinned"), count=60, theory="euler")
    due = [8.0 / (n * math.pi) ** 2 if n % 2 else 0.0 for n in range(1, 61)]
    assert [p.share for p in participations(pinned)] == pytest.approx(due, abs=1e-9)


def test_a_mass_that_rests_on_a_support_does_not_move_against_it() -> None:
    """The rest of the beam and of the masses does; mass 0.3 counts, 0.5 over a support does not."""
    specimen = beam(
        "free-free",
        supports=[support(0.3), support(0.8)],
        attached=[mass(0.5, 0.3), mass(0.8, 0.5)],
    )
    modes = find_modes(specimen, count=60, theory="euler")
    total = sum(p.effective_mass_kg for p in participations(modes))
    assert 0.97 * 1.3 * UNIT < total < 1.3 * UNIT


# -- a force at a point ---------------------------------------------------------------------------


@pytest.mark.parametrize("ends", ["free-free", "pinned-free", "clamped-free", "guided-free"])
def test_a_beam_pushed_at_a_point_is_the_closed_form(ends: str) -> None:
    modes = find_modes(for_drive(at_point(beam(ends), 0.3)), count=6, theory="euler")
    omega = sampled(modes)
    where = (0.1, 0.3, 0.62, 0.93)
    exact = np.array([euler_beam(ends, o, ZETA, where, force_at=0.3)[:, 0] for o in omega])
    known = driven(modes, damping_ratio=ZETA)
    found = absolute_displacement(known, hertz(omega), places(*where))
    record(
        f"{ends} beam under a force at 0.3 L over five resonances",
        "closed form with a complex modulus, mpmath",
        float(np.max(np.abs(found / exact - 1.0))),
        1e-5,
    )
    point = 1.0 / (-(omega**2) * exact[:, 1])
    assert apparent_mass(known, hertz(omega)) == pytest.approx(point, rel=1e-5)


@pytest.mark.parametrize(
    ("specimen", "at", "place", "due"),
    [
        # 1/m + (x0 - xc)(x - xc)/J with J = m (L^2 + h^2)/12 of a bar about its middle (mechanics).
        (beam("free-free"), (0.3,), (0.9,), 1.0 + 12.0 * (-0.2) * 0.4 / (1.0 + 1e-4)),
        # ... and of a square plate about both of its middle lines.
        (plate("FFFF"), (0.3, 0.4), (0.9, 1.0), 1.0 + 12.0 * (-0.2 * 0.4 - 0.1 * 0.5)),
        # About a pinned end x0 x/J with J = m (L^2/3 + h^2/12).
        (beam("pinned-free"), (0.3,), (0.9,), 3.0 * 0.3 * 0.9 / (1.0 + 0.25e-4)),
        # A plate hinged along its left edge likewise.
        (plate("SFFF"), (0.3, 0.4), (0.9, 1.0), 3.0 * 0.3 * 0.9),
    ],
)
def test_far_below_resonance_a_specimen_moves_as_a_rigid_body(
    specimen: Specimen, at: tuple[float, ...], place: tuple[float, ...], due: float
) -> None:
    modes = find_modes(at_point(specimen, *at), count=4)
    f = np.array([1e-5 * modes.modes[0].frequency_hz])
    found = absolute_acceleration(driven(modes), f, np.array([place]))[0, 0]
    assert found.real * UNIT == pytest.approx(due, rel=1e-7)


def test_motion_and_force_may_change_places() -> None:
    """Maxwell and Betti: what a force here does there, the same force there does here."""
    f = np.array([0.7, 5.1, 20.3])
    found = []
    for here, there in ((0.3, 0.9), (0.9, 0.3)):
        modes = find_modes(at_point(beam("clamped-free"), here), count=8)
        found.append(absolute_displacement(driven(modes), f, places(there)))
    assert found[0] == pytest.approx(found[1], rel=1e-9)


def test_torsion_and_edgewise_modes_are_not_pushed() -> None:
    text = """
kind: beam
material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
drive: {through: point, at: 150 mm}
"""
    families = ("flatwise", "edgewise", "torsion", "axial")
    modes = find_modes(read_specimen(text), count=8, families=families)
    known = driven(modes)
    pushed = {
        mode.family for mode, work in zip(modes.modes, known.work, strict=False) if abs(work) > 0.0
    }
    assert pushed == {"flatwise"}
    assert len({mode.family for mode in modes.modes}) >= 3


# -- plates and discs -----------------------------------------------------------------------------


def test_a_base_driven_pinned_plate_is_levys() -> None:
    modes = find_modes(plate("SSSS"), count=12)
    omega = np.linspace(2.0, 200.0, 25)
    where = ((0.5, 0.5), (0.2, 0.3), (0.25, 0.6))
    exact = np.array([pinned_plate(o, ZETA, where) for o in omega])
    known = driven(modes, damping_ratio=ZETA)
    found = absolute_acceleration(known, hertz(omega), places(*where))
    record(
        "base-driven plate pinned all round, up to its twelfth mode",
        "single series of Levy with a complex modulus",
        float(np.max(np.abs(found / exact - 1.0))),
        1e-6,
    )


def test_a_plate_under_a_force_is_naviers() -> None:
    """The double series, 600 by 600 terms.

    The twelve modes end within a pair, (2, 4) and (4, 2), of which one is kept; driven there, too.
    """
    at, where = (0.3, 0.4), ((0.5, 0.5), (0.7, 0.2))
    modes = find_modes(at_point(plate("SSSS"), *at), count=12)
    omega = np.concatenate([np.linspace(2.0, 200.0, 15), omegas(modes)[[0, 11]]])
    k = np.pi * np.arange(1, 601)
    D = UNIT * (1.0 + 2.0j * ZETA)
    lattice = (k[:, None] ** 2 + k[None, :] ** 2) ** 2
    sides = [
        (np.sin(k * at[0]) * np.sin(k * x), np.sin(k * at[1]) * np.sin(k * y)) for x, y in where
    ]
    exact = np.array(
        [[a @ (4.0 / (D * lattice - UNIT * o**2)) @ b for a, b in sides] for o in omega]
    )
    known = driven(modes, damping_ratio=ZETA)
    found = absolute_displacement(known, hertz(omega), places(*where))
    size = np.abs(exact).max(axis=0)
    worst = float(np.max(np.abs(found - exact) / size))
    record("plate pinned all round under a force", "double series of Navier", worst, 1e-4)


@cache
def disc(rim: str, drive: str) -> Modes:
    h = 0.01
    text = f"""
kind: disc
material: {{youngs_modulus: {UNIT * 0.91 * 12.0 / h**3!r} Pa, density: {UNIT / h!r} kg/m3,
            poisson_ratio: 0.3}}
geometry: {{diameter: 2 m, thickness: {h} m}}
boundary: {{rim: {rim}}}
drive: {{through: {drive}}}
"""
    return find_modes(for_drive(read_specimen(text)), count=20)


def test_a_base_driven_clamped_disc_is_bessels() -> None:
    omega, where = np.linspace(2.0, 95.0, 20), (0.0, 0.3, 0.7)
    exact = np.array([clamped_disc(o, ZETA, where) for o in omega])
    known = driven(disc("clamped", "boundary"), damping_ratio=ZETA)
    found = absolute_acceleration(known, hertz(omega), places(*where))
    record(
        "base-driven clamped disc over three resonances",
        "Bessel functions of a complex argument, mpmath",
        float(np.max(np.abs(found / exact - 1.0))),
        1e-8,
    )


def test_the_apparent_mass_of_a_clamped_disc_is_that_of_its_mean_motion() -> None:
    omega = np.array([3.0, 10.2, 25.0, 60.0])
    xi, w = np.polynomial.legendre.leggauss(16)
    r, w = (xi + 1.0) / 2.0, w / 2.0
    mean = [2.0 * (w * r) @ clamped_disc(o, ZETA, list(r)) for o in omega]
    found = apparent_mass(driven(disc("clamped", "boundary"), damping_ratio=ZETA), hertz(omega))
    worst = float(np.max(np.abs(found / (math.pi * UNIT * np.array(mean)) - 1.0)))
    source = "Bessel functions of a complex argument, mpmath"
    record("apparent mass of a clamped disc", source, worst, 1e-8)


def test_a_plate_without_poissons_ratio_is_driven_like_a_beam() -> None:
    """Clamped along one edge it bends as a cantilever does, whatever its corners (closed form)."""
    sheet = plate("CFFF", width=0.4, ratios=(1.0, 1e-6, 0.5))
    shares = sorted((p.share for p in participations(find_modes(sheet, count=8))), reverse=True)
    assert shares[:2] == pytest.approx([0.61307609, 0.188300361], rel=1e-5)


def test_a_free_disc_pushed_at_its_centre_is_bessels() -> None:
    omega, where = np.linspace(2.0, 95.0, 3), (0.3, 1.0)
    exact = np.array([pushed_disc(o, ZETA, 0.3, where) for o in omega])
    known = driven(disc("free", "point"), damping_ratio=ZETA)
    found = absolute_displacement(known, hertz(omega), places(*where))
    record(
        "free disc under a force at its centre, over three resonances",
        "Bessel functions of a complex argument, mpmath",
        float(np.max(np.abs(found / exact - 1.0))),
        1e-6,
    )


def test_classes_of_symmetry_without_a_mode_are_in_the_sum_all_the_same() -> None:
    """One mode asked for: a plate's is even both ways, a disc's has two nodal diameters."""
    at, place, omega = (0.3, 0.4), (0.7, 0.2), np.array([3.0, 30.0, 49.0])
    modes = find_modes(at_point(plate("SSSS"), *at), count=1)
    k = np.pi * np.arange(1, 401)
    a, b = (np.sin(k * p) * np.sin(k * q) for p, q in zip(at, place, strict=True))
    stiffness = UNIT * (1.0 + 2.0j * ZETA) * (k[:, None] ** 2 + k[None, :] ** 2) ** 2
    exact = [a @ (4.0 / (stiffness - UNIT * o**2)) @ b for o in omega]
    found = absolute_displacement(driven(modes, damping_ratio=ZETA), hertz(omega), places(place))
    assert found[:, 0] == pytest.approx(exact, rel=1e-3)
    only = replace(disc("free", "point"), modes=disc("free", "point").modes[:1])
    assert only.modes[0].labels["diameters"] == 2
    found = absolute_displacement(driven(only, damping_ratio=ZETA), hertz(omega), places(1.0))
    exact = [pushed_disc(o, ZETA, 0.3, (1.0,))[0] for o in omega]
    assert found[:, 0] == pytest.approx(exact, rel=1e-5)


# -- what is assumed, and what is refused ---------------------------------------------------------


def test_damping_that_is_not_stated_is_assumed_and_said_to_be() -> None:
    specimen = beam("clamped-free")
    assert damping_of(specimen) == Damping(ASSUMED_DAMPING, True)
    stated = replace(specimen, damping_ratio=Quantity(0.002))
    assert damping_of(stated) == Damping(0.002, False)
    assert driven(replace(cantilever(), specimen=stated)).damping.ratio == 0.002


@pytest.mark.parametrize("specimen", [beam("free-free"), plate("FFFF"), beam("guided-free")])
def test_what_is_not_held_cannot_be_driven_by_its_supports(specimen: Specimen) -> None:
    with pytest.raises(DriveError, match="nothing holds the specimen against deflection"):
        driven(find_modes(specimen, count=2))


def test_a_twin_takes_twice_the_force() -> None:
    modes = cantilever()
    twin = replace(modes, specimen=replace(modes.specimen, drive=Drive(layout="twin")))
    f = np.array([0.2, 0.56, 3.0])
    assert apparent_mass(driven(twin), f) == pytest.approx(2.0 * apparent_mass(driven(modes), f))
    where = places(0.5, 1.0)
    alone, both = (absolute_acceleration(driven(m), f, where) for m in (modes, twin))
    assert both == pytest.approx(alone)


# -- laws -----------------------------------------------------------------------------------------


@cache
def known_cantilever(zeta: float) -> Driven:
    return driven(cantilever(), damping_ratio=zeta)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.floats(0.01, 40.0), st.floats(0.05, 1.0), st.sampled_from([0.002, 0.01, 0.1]))
def test_damping_takes_power_and_never_gives_it(f: float, x: float, zeta: float) -> None:
    """The base works against the reaction: its part in quadrature has one sign."""
    force = apparent_mass(known_cantilever(zeta), np.array([f]))[0]
    assert force.imag <= 0.0
    # Far below the first resonance everything moves with the base.
    still = absolute_acceleration(known_cantilever(zeta), np.array([1e-6]), places(x))
    assert still[0, 0] == pytest.approx(1.0, abs=1e-9)


def test_at_a_resonance_the_quality_factor_rules() -> None:
    """Light damping: Q = 1/(2 zeta) times participation at the tip, 1.566 (textbook)."""
    modes, zeta = cantilever(), 1e-5
    f = np.array([modes.modes[0].frequency_hz])
    tip = relative_displacement(driven(modes, damping_ratio=zeta), f, places(1.0))[0, 0]
    still = 1.0 / (2.0 * math.pi * f[0]) ** 2
    assert abs(tip) / still * 2.0 * zeta == pytest.approx(1.56598351, rel=1e-6)
