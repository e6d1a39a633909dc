"""The powers and functions of a plate's corners, against closed forms and their own conditions."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from outside import record
from saltline.plates.corners import Ray, corner_source, exponents
from saltline.plates.potentials import Source, roots
from saltline.plates.stiffness import Stiffness

CLAMPED, FREE, PINNED = (True, True), (False, False), (True, False)
MEDIA = {
    "isotropic": Stiffness(1.0, 1.0, 0.3, 0.35, 1.0),
    "orthotropic": Stiffness(1.0, 0.1, 0.03, 0.05, 1.0),
    "stiff in twist": Stiffness(1.0, 0.2, 0.05, 0.3, 1.0),
    "stretched": Stiffness(1.0, 0.1, 0.03, math.sqrt(0.1) / 2.0 - 0.015, 1.0),
}
CORNERS = {
    "left bottom": (1.0 + 0.0j, 1j),
    "left top": (1.0 + 0.0j, -1j),
    "right bottom": (-1.0 + 0.0j, 1j),
    "right top": (-1.0 + 0.0j, -1j),
}


def isotropic(nu: float) -> Stiffness:
    return Stiffness(1.0, 1.0, nu, (1.0 - nu) / 2.0, 1.0)


def powers(medium: Stiffness, one: Ray, other: Ray, inward: complex) -> tuple[complex, ...]:
    return exponents(medium, roots(medium.Dx, medium.H, medium.Dy), (one, other), inward)


@pytest.mark.parametrize("nu", [0.0, 0.2, 0.3, 0.45])
def test_a_clamped_free_corner_has_the_powers_of_williams(nu: float) -> None:
    found = powers(isotropic(nu), Ray(1.0 + 0j, CLAMPED), Ray(1j, FREE), 1.0 + 1j)
    assert len(found) >= 2
    worst = 0.0
    for s in found:
        # Williams (1952), plates under bending, clamped-free, from memory; r^(lambda + 1).
        power, angle = s - 1.0, math.pi / 2.0
        left = cmath.sin(power * angle) ** 2
        right = 4.0 / ((3.0 + nu) * (1.0 - nu)) - (1.0 - nu) / (3.0 + nu) * power**2
        worst = max(worst, abs(left - right) / (1.0 + abs(left)))
    record("powers of a clamped-free corner", "Williams 1952, from memory", worst, 1e-9)


@pytest.mark.parametrize("nu", [0.0, 0.3, 0.49])
def test_the_end_of_a_clamped_part_has_the_powers_of_a_half_plane(nu: float) -> None:
    found = powers(isotropic(nu), Ray(1j, CLAMPED), Ray(-1j, FREE), 1.0 + 0j)
    swing = math.log((3.0 + nu) / (1.0 - nu)) / (2.0 * math.pi)
    expected = [n + 0.5 + 1j * swing for n in (1, 2, 3, 4)]
    worst = max(min(abs(s - e) for s in found) for e in expected)
    # A half-plane clamped and free, as a crack between two media (Williams 1959), from memory.
    record("powers at the end of a clamped part", "closed form, from memory", worst, 1e-9)


def test_the_end_of_a_pinned_part_has_half_powers() -> None:
    found = powers(isotropic(0.3), Ray(1j, PINNED), Ray(-1j, FREE), 1.0 + 0j)
    assert all(min(abs(s - half) for s in found) < 1e-9 for half in (1.5, 2.5, 3.5, 4.5))


Jet = dict[tuple[int, int], float]


def jet(source: Source, place: complex) -> list[Jet]:
    """All derivatives up to the fourth of each function at a place."""
    orders = [(a, n - a) for n in range(5) for a in range(n + 1)]
    found = source.jets(np.array([place.real]), np.array([place.imag]), orders)
    return [
        {order: float(values[0, k]) for order, values in zip(orders, found, strict=True)}
        for k in range(source.size)
    ]


def turned(w: Jet, along: complex) -> Jet:
    """The jet with the derivative across an edge first and along it second."""
    return {(n, t): w[(t, n) if along.imag == 0.0 else (n, t)] for n, t in w}


@pytest.mark.parametrize("corner", CORNERS)
@pytest.mark.parametrize("medium", MEDIA)
def test_the_functions_obey_the_plate_and_both_edges(medium: str, corner: str) -> None:
    D, at = MEDIA[medium], 0.2 + 0.3j
    mu = roots(D.Dx, D.H, D.Dy)
    for clamped, free in (CORNERS[corner], CORNERS[corner][::-1]):
        rays = (Ray(clamped, CLAMPED), Ray(free, FREE))
        Dn = D.Dy if free.imag == 0.0 else D.Dx
        source = corner_source((at.real, at.imag), 1.0, D, mu, rays, clamped + free)
        inside = jet(source, at + 0.37 * clamped + 0.21 * free)
        scale = max(abs(v) for w in inside for v in w.values())
        assert scale > 1e-3
        for w in inside:
            load = D.Dx * w[4, 0] + 2.0 * D.H * w[2, 2] + D.Dy * w[0, 4]
            assert abs(load) < 1e-9 * scale
        for w in (turned(w, clamped) for w in jet(source, at + 0.3 * clamped)):
            assert max(abs(w[0, 0]), abs(w[1, 0])) < 1e-9 * scale
        for w in (turned(w, free) for w in jet(source, at + 0.3 * free)):
            moment = Dn * w[2, 0] + D.D1 * w[0, 2]
            shear = Dn * w[3, 0] + (D.D1 + 4.0 * D.Dk) * w[1, 2]
            assert max(abs(moment), abs(shear)) < 1e-8 * scale
