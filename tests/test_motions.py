"""What holds and loads each family of a beam, against exact equations evaluated with mpmath."""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import mpmath
import numpy as np
import pytest
from mpmath import mpf

from outside import record
from saltline.arrays import Values
from saltline.section import rectangle_torsion_constant
from saltline.solver import find_modes
from saltline.specimen import Specimen
from specimens import bar, beam, mass, omegas, spring, support, worst

ROUNDING = 1e-9

# -- torsion and axial motion ---------------------------------------------------------------------

WIDTH, THICKNESS = 0.03, 0.01
G, E, RHO = 1e9, 2.6e9, 1000.0
AREA = WIDTH * THICKNESS
J = float(rectangle_torsion_constant(np.asarray(WIDTH), np.asarray(THICKNESS)))
POLAR = AREA * (WIDTH**2 + THICKNESS**2) / 12.0

FAMILIES = {
    "torsion": (G * J, math.sqrt(G * J / (RHO * POLAR)), WIDTH**2 / 12.0),
    "axial": (E * AREA, math.sqrt(E / RHO), 1.0),
}
"""Family -> stiffness G J or E A, wave speed, and what a deflection stiffness k is against it: one
spread over the width b resists a twist with k b^2/12."""


def roots_between_poles(equation: Callable[[mpf], mpf], count: int) -> Values:
    """The one root z of an equation in each ((n - 1/2) pi, n pi), n = 1, 2, ... count."""
    found = []
    with mpmath.workdps(30):
        for n in range(1, count + 1):
            low, high = (n - mpf("0.5")) * mpmath.pi, n * mpmath.pi
            bracket = (low + mpf("1e-18"), high - mpf("1e-18"))
            found.append(float(mpmath.findroot(equation, bracket, solver="anderson", tol=1e-40)))
    return np.array(found)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("ratio", [0.02, 1.0, 40.0])
def test_a_bar_on_an_elastic_end_solves_its_equation(family: str, ratio: float) -> None:
    """Held at the start, a spring of `ratio` times G J/L or E A/L at the end: z cot z = -ratio."""
    stiffness, speed, share = FAMILIES[family]
    end = {"deflection": f"{ratio * stiffness / share!r} N/m", "rotation": "free"}
    found = find_modes(bar(("clamped", end), WIDTH, THICKNESS), count=6, families=[family])
    true = roots_between_poles(lambda z: z * mpmath.cos(z) + ratio * mpmath.sin(z), 6)
    record(
        f"bar on an elastic end, {family}",
        "roots of z cot z = -k, mpmath",
        worst(omegas(found) / speed, true),
        ROUNDING,
    )


@pytest.mark.parametrize("ratio", [0.05, 1.0, 20.0])
def test_an_elastic_support_in_the_middle_holds_the_twist(ratio: float) -> None:
    """A free bar with a spring of `ratio` times G J/L under its middle, z = omega L/(2 c).

    Each half carries half the spring: z tan z = ratio/4. The other modes have their node over the
    spring: z = (n - 1/2) pi (own derivation).
    """
    stiffness, speed, share = FAMILIES["torsion"]
    held = {"at": "0.5 m", "deflection": f"{ratio * stiffness / share!r} N/m"}
    specimen = bar("free-free", WIDTH, THICKNESS, supports=[held])
    found = omegas(find_modes(specimen, count=5, families=["torsion"])) / (2.0 * speed)
    with mpmath.workdps(30):
        even = [
            float(
                mpmath.findroot(
                    lambda z: z * mpmath.sin(z) - mpf(ratio) / 4 * mpmath.cos(z),
                    (n * mpmath.pi + mpf("1e-18"), (n + mpf("0.5")) * mpmath.pi - mpf("1e-18")),
                    solver="anderson",
                    tol=1e-40,
                )
            )
            for n in range(3)
        ]
    true = np.sort([*even, math.pi / 2.0, 1.5 * math.pi])
    record(
        "bar on an elastic support, torsion",
        "roots of z tan z = k/4, mpmath",
        worst(found, true),
        ROUNDING,
    )


def test_a_support_between_the_ends_leaves_axial_and_edgewise_motion_alone() -> None:
    held = {"at": "0.4 m", "deflection": "rigid", "rotation": "rigid"}
    for family in ("axial", "edgewise"):
        plain, supported = (
            omegas(
                find_modes(
                    bar("clamped-free", WIDTH, THICKNESS, supports=s), count=4, families=[family]
                )
            )
            for s in ((), (held,))
        )
        assert worst(supported, plain) < ROUNDING


# -- Timoshenko's beam ----------------------------------------------------------------------------

SLENDERNESS = 8.0
R2 = 1.0 / (12.0 * SLENDERNESS**2)
S2 = R2 * 2.6 / (5 / 6)
"""I/(A L^2) and E I/(kappa G A L^2) of the unit beam: nu = 0.3, kappa = 5/6."""

Jump = tuple[float, Callable[[mpf], Any]]
"""(place, lambda -> the 4 by 4 matrix of what is attached there)."""


def mismatch(lam: mpf, root: float, jumps: list[Jump]) -> mpf:
    """What is nothing at a natural frequency of a beam held in deflection at its start.

    State (w, psi, M, V): w' = psi + s2 V, psi' = M, M' = -V - lam^2 r2 psi, V' = -lam^2 w, carried
    along by the exponential of the matrix (Timoshenko 1921). root: stiffness that turns at the
    start. At the end M and V are nothing.
    """
    A = mpmath.matrix(
        [[0, 1, 0, S2], [0, 0, 1, 0], [0, -(lam**2) * R2, 0, -1], [-(lam**2), 0, 0, 0]]
    )
    states = mpmath.matrix([[0, 0], [1, 0], [root, 0], [0, 1]])
    at = mpf(0)
    for place, jump in jumps:
        states = jump(lam) * (mpmath.expm(A * (mpf(place) - at)) * states)
        at = mpf(place)
    states = mpmath.expm(A * (1 - at)) * states if at < 1 else states
    return states[2, 0] * states[3, 1] - states[2, 1] * states[3, 0]


def loaded(m: float = 0.0, inertia: float = 0.0, k: float = 0.0) -> Callable[[mpf], Any]:
    """What a mass, a rotary inertia and a spring at a place do to the state."""

    def jump(lam: mpf) -> Any:
        matrix = mpmath.eye(4)
        matrix[3, 0] = k - m * lam**2
        matrix[2, 1] = -inertia * lam**2
        return matrix

    return jump


CASES: dict[str, tuple[Specimen, float, list[Jump]]] = {
    "tip mass with inertia": (
        beam(
            (spring("rigid", 50.0), "free"),
            slenderness=SLENDERNESS,
            attached=[mass(1.0, 0.3, inertia=0.01)],
        ),
        50.0,
        [(1.0, loaded(m=0.3, inertia=0.01))],
    ),
    "elastic end and support": (
        beam(
            (spring("rigid", 5.0), spring(20.0)),
            slenderness=SLENDERNESS,
            supports=[support(0.6, 300.0)],
        ),
        5.0,
        [(0.6, loaded(k=300.0)), (1.0, loaded(k=20.0))],
    ),
    "mass between the ends": (
        beam(
            (spring("rigid", 1.0), "free"),
            slenderness=SLENDERNESS,
            attached=[mass(0.35, 0.5, inertia=0.002)],
        ),
        1.0,
        [(0.35, loaded(m=0.5, inertia=0.002))],
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_timoshenkos_beam_with_what_is_attached_solves_its_transfer_matrices(case: str) -> None:
    specimen, root, jumps = CASES[case]
    found = omegas(find_modes(specimen, count=5))
    with mpmath.workdps(30):

        def equation(lam: mpf) -> mpf:
            return mismatch(lam, root, jumps)

        true = [
            float(mpmath.findroot(equation, (mpf(lam), mpf(lam) * (1 + mpf("1e-8"))), tol=1e-20))
            for lam in found
        ]
        # None is missed: the mismatch changes its sign at each root, so it alternates between them.
        between = [mpf("1e-3"), *(mpf((a + b) / 2.0) for a, b in pairwise(true))]
        signs = [mpmath.sign(equation(lam)) for lam in between]
    assert all(a * b < 0 for a, b in pairwise(signs))
    record(
        f"Timoshenko beam, {case}",
        "transfer matrices, mpmath",
        worst(found, np.array(true)),
        ROUNDING,
    )
