"""How a motion is seen, against simulated grains."""

import math

import numpy as np
import pytest

from outside import record
from saltline.planning.watch import HOP, salt, watch

G = 9.80665


def highest_hop(frequency_hz, acceleration):
    """How far above its place of leaving a grain rises that lies on a shaking face, by small steps.

    It lies as long as the face pushes it; where the face accelerates downward by more than g it
    flies on alone.
    """
    w = 2.0 * math.pi * frequency_hz
    X = acceleration / w**2
    t = np.linspace(0.0, 1.0 / frequency_hz, 200_001)
    free = np.flatnonzero(-(w**2) * X * np.sin(w * t) < -G)
    if not free.size:
        return None
    start = t[free[0]]
    speed = w * X * math.cos(w * start)
    flight = np.linspace(0.0, 2.0 * speed / G + 1e-9, 10_001)
    return float((speed * flight - G * flight**2 / 2.0).max())


@pytest.mark.parametrize("frequency_hz", [12.0, 26.0, 163.0, 900.0, 4000.0])
def test_grains_leave_at_one_g_and_hop_out_at_the_upper_level(frequency_hz):
    band = salt(frequency_hz)
    assert highest_hop(frequency_hz, 0.999 * band.moves_m_s2) is None
    assert highest_hop(frequency_hz, 1.001 * band.moves_m_s2) is not None
    hop = highest_hop(frequency_hz, band.thrown_m_s2)
    record("height of a grain's hop", "simulated grain", abs(hop / HOP - 1.0), 1e-3)


def test_high_frequencies_keep_their_grains_longer():
    thrown = [salt(f).thrown_m_s2 for f in (20.0, 200.0, 2000.0)]
    assert thrown == sorted(thrown)
    assert thrown[0] < 5.0 * G < 100.0 * G < thrown[2]


@pytest.mark.parametrize(
    ("frequency_hz", "amplitude", "ways"),
    [
        (26.0, 3e-3, ("eye", "strobe", "salt", "sensor")),
        (26.0, 0.12e-3, ("strobe", "sensor")),  # 0.33 g
        (163.0, 0.1e-3, ("strobe", "salt", "sensor")),  # 11 g
        (163.0, 0.24e-3, ("strobe", "salt", "sensor")),
        (163.0, 0.26e-3, ("eye", "strobe", "salt", "sensor")),  # 0.52 mm peak-to-peak
        (1500.0, 5e-6, ("salt", "sensor")),  # 45 g
        (1500.0, 5e-8, ("sensor",)),  # 0.45 g
        (5.0, 8e-3, ("eye", "sensor")),
    ],
)
def test_ways_follow_from_displacement_and_acceleration(frequency_hz, amplitude, ways):
    found = watch(frequency_hz, amplitude, family="flatwise", can_flash=True, can_sense=True)
    assert found.ways == ways


def test_without_a_safe_flash_there_is_no_strobe_and_without_a_level_face_no_salt():
    assert "strobe" not in watch(163.0, 1e-4, family="plate", can_flash=False, can_sense=True).ways
    edge = watch(163.0, 1e-3, family="edgewise", can_flash=True, can_sense=True)
    assert "salt" not in edge.ways
    assert edge.salt_moves is None


def test_levels_for_salt_are_in_proportion_to_the_motion():
    found = watch(200.0, 1e-5, family="disc", can_flash=True, can_sense=True)
    acceleration = (2.0 * math.pi * 200.0) ** 2 * 1e-5
    assert found.salt_moves == pytest.approx(G / acceleration)
    assert found.salt_thrown == pytest.approx(salt(200.0).thrown_m_s2 / acceleration)
    assert watch(200.0, 0.0, family="disc", can_flash=True, can_sense=True).salt_moves is None


def test_without_a_strobe_a_motion_is_seen_from_the_larger_one_that_the_eye_needs():
    """0.2 mm peak-to-peak by strobe, 2.5 times that by eye."""
    both = watch(163.0, 1e-4, family="plate", can_flash=True, can_sense=False)
    assert (both.by_strobe, both.by_eye) == (pytest.approx(1.0), pytest.approx(2.5))
    assert both.visible == both.by_strobe
    eye = watch(163.0, 1e-4, family="plate", can_flash=False, can_sense=False)
    assert eye.by_strobe is None
    assert eye.visible == eye.by_eye == pytest.approx(2.5)
    slow = watch(5.0, 1e-4, family="plate", can_flash=True, can_sense=False)
    assert slow.by_strobe is None


def test_nothing_is_named_that_the_rig_has_not():
    assert watch(1500.0, 5e-8, family="flatwise", can_flash=False, can_sense=False).ways == ()
    assert watch(163.0, 0.0, family="plate", can_flash=True, can_sense=False).visible is None
