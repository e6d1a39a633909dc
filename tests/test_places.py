"""Places that see all modes and places that are blind, against textbook nodes and exact roots."""

from dataclasses import replace

import mpmath
import numpy as np
import pytest

import specimens
from outside import record
from saltline.effects import sensor_effect
from saltline.files.specimen_file import read_specimen
from saltline.planning.places import (
    BLIND,
    SEEN,
    best_spots,
    gentle_spot,
    motions,
    shifts,
    traps,
)
from saltline.solver import find_modes


def disc(boundary="{rim: free}"):
    return read_specimen(
        f"""
kind: disc
material: brass
geometry: {{diameter: 200 mm, thickness: 2 mm}}
boundary: {boundary}
"""
    )


def test_a_cantilever_is_seen_best_near_its_tip():
    known = motions(find_modes(specimens.beam("clamped-free"), count=6))
    spot = best_spots(known)[0]
    assert spot.at[0] == pytest.approx(1.0, abs=1e-9)
    assert spot.weakest == pytest.approx(1.0)
    assert spot.weakest > 0.5


def test_the_middle_of_a_pinned_beam_is_blind_to_even_modes():
    found = {t.name: t.ranks for t in traps(motions(find_modes(specimens.beam("pinned-pinned"))))}
    assert found["the middle"] == (2, 4, 6, 8)
    assert found["a quarter"] == found["three quarters"] == (4, 8)
    assert "the start" not in found  # it is held, and nobody would look there


def test_a_pinned_beam_is_seen_where_no_sine_is_small():
    """The place where the least of |sin(n pi x)|, n = 1 ... 4, is largest: by brute force."""
    known = motions(find_modes(specimens.beam("pinned-pinned"), count=4))
    x = np.linspace(0.02, 0.98, 100_001)
    due = np.abs(np.sin(np.pi * np.outer(np.arange(1, 5), x))).min(axis=0)
    spot = best_spots(known)[0]
    assert spot.weakest == pytest.approx(due.max(), abs=0.01)


def test_where_one_place_cannot_see_all_modes_others_are_added():
    known = motions(find_modes(specimens.beam("pinned-pinned"), count=20))
    spots = best_spots(known)
    assert spots[0].weakest < SEEN
    assert len(spots) > 1
    assert len({spot.at for spot in spots}) == len(spots)
    together = np.max([spot.seen for spot in spots], axis=0)
    assert together.min() > max(spot.weakest for spot in spots)


def test_the_middle_of_a_pinned_plate_sees_odd_modes_alone():
    known = motions(find_modes(specimens.plate("SSSS", width=0.8), count=6))
    middle = next(t for t in traps(known) if t.name == "the middle")
    # sin(m pi x) sin(n pi y): 11, 21, 12, 22, 31, 13 by frequency at this ratio of sides.
    assert middle.ranks == (2, 3, 4)
    assert best_spots(known)[0].weakest > BLIND


def test_the_centre_of_a_disc_is_blind_to_all_diameters():
    modes = find_modes(disc(), count=6)
    centre = next(t for t in traps(motions(modes)) if "centre" in t.name)
    assert centre.ranks == tuple(m.rank for m in modes.modes if m.labels["diameters"])
    assert best_spots(motions(modes))[0].at[0] > 0.09


def tip_mass_root(mass, first):
    """beta L of a cantilever with a tip mass, in parts of its own (textbook frequency equation)."""
    return mpmath.findroot(
        lambda x: (
            1
            + mpmath.cos(x) * mpmath.cosh(x)
            + mass * x * (mpmath.cos(x) * mpmath.sinh(x) - mpmath.sin(x) * mpmath.cosh(x))
        ),
        first,
    )


def test_a_small_mass_shifts_as_the_exact_roots_say():
    modes = find_modes(specimens.beam("clamped-free"), count=3, theory="euler")
    ratio = 1e-5
    found = shifts(modes, ratio * specimens.UNIT, (1.0,))
    mpmath.mp.dps = 30
    worst = 0.0
    for shift, first in zip(found, (1.8751, 4.6941, 7.8548), strict=True):
        exact = (tip_mass_root(ratio, first) / tip_mass_root(0, first)) ** 2 - 1
        worst = max(worst, abs(float(shift / exact) - 1.0))
    record("shift by a small tip mass, modes 1-3", "frequency equation, mpmath", worst, 3e-4)


def test_shifts_agree_with_the_whole_calculation_on_a_plate():
    modes = find_modes(specimens.plate("CFFF"), count=4)
    mass, at = 1e-4 * specimens.UNIT, (0.9, 0.3)
    after = sensor_effect(modes, mass, at, families=("plate",))
    for shift, before, later in zip(shifts(modes, mass, at), modes.modes, after.modes, strict=True):
        assert shift == pytest.approx(later.frequency_hz / before.frequency_hz - 1.0, rel=2e-2)


def test_the_gentle_place_sees_all_modes_and_shifts_less():
    known = motions(find_modes(specimens.beam("clamped-free"), count=4))
    gentle, best = gentle_spot(known), best_spots(known)[0]
    assert gentle is not None
    assert gentle.weakest >= SEEN
    worst = {spot: min(shifts(known.modes, 0.1, spot.at)) for spot in (gentle, best)}
    assert worst[gentle] > worst[best]
    assert gentle_spot(motions(find_modes(specimens.beam("pinned-pinned"), count=20))) is None


def test_a_mass_on_the_axis_leaves_torsion_alone():
    modes = find_modes(specimens.bar("clamped-free", 0.1, 0.02), families=("torsion",), count=2)
    assert shifts(modes, 0.1, (1.0,)) == [0.0, 0.0]


def test_two_places_are_chosen_together():
    """The third place is the best alone, yet the first and second together see everything."""
    known = motions(find_modes(specimens.beam("clamped-free"), count=2))
    known = replace(
        known,
        places=np.array([[0.1], [0.2], [0.3]]),
        relative=np.array([[1.0, 0.0, 0.15], [0.0, 1.0, 0.12]]),
        inside=np.array([True, True, True]),
    )
    assert [spot.at for spot in best_spots(known)] == [(0.1,), (0.2,)]
