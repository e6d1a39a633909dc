"""Hum, spikes, harmonics and notches: pointed out, and only where they are."""

from dataclasses import dataclass

import numpy as np
import pytest

from saltline.sweeps.picks import pick
from saltline.sweeps.strange import (
    HARMONIC,
    HUM,
    NOTCH,
    SPIKE,
    WANDER,
    drive_notches,
    lone_readings,
    may_be,
    swells,
)
from saltline.sweeps.sweep import Recording

HZ = np.linspace(20.0, 400.0, 3801)


@dataclass(frozen=True)
class Line:
    frequency_hz: float
    damping_ratio: float = 0.005
    amplitude: float = 1.0
    in_band: int = 20
    half_power: float | None = 0.005

    @property
    def bandwidth_hz(self):
        return 2.0 * self.damping_ratio * self.frequency_hz


def recording(response, drive=None):
    return Recording("a.csv", HZ, response, drive=drive)


def kinds(found):
    return [(one.kind, round(one.frequency_hz, 1), one.row) for one in found]


def test_a_lone_reading_is_hum_at_a_multiple_of_the_mains_and_a_spike_elsewhere():
    at = np.array([300, 1000, 1450])  # 50, 120, 165 Hz
    found = lone_readings(recording(np.ones(HZ.size)), at)
    assert kinds(found) == [(HUM, 50.0, None), (HUM, 120.0, None), (SPIKE, 165.0, None)]
    assert "not in the list, at the mains frequency of 50 Hz" in found[0].why
    assert "2 times the mains frequency of 60 Hz" in found[1].why


def test_a_resonance_near_a_multiple_of_the_mains_is_hum_only_where_it_is_a_line():
    lines = [Line(150.1, in_band=2), Line(250.2, in_band=40)]
    assert kinds(may_be(lines)) == [(HUM, 150.1, 0)]


def test_what_a_harmonic_of_the_drive_excites_is_as_sharp_and_weaker():
    true = Line(300.0, 0.005, 40.0)
    for hz, zeta, amplitude in ((150.0, 0.006, 2.0), (100.1, 0.005, 1.0)):
        found = may_be([Line(hz, zeta, amplitude), true])
        assert kinds(found) == [(HARMONIC, hz, 0)]
    for other in (Line(150.0, 0.02, 2.0), Line(150.0, 0.005, 30.0), Line(156.0, 0.005, 2.0)):
        assert may_be([other, true]) == []


def test_low_swells_are_a_gain_that_wanders():
    lines = [Line(100.0), Line(150.0, 0.04, half_power=None), Line(200.0), Line(300.0)]
    lines += [Line(320.0, 0.02, half_power=None), Line(340.0, 0.012, half_power=None)]
    lines += [Line(380.0, 0.04, half_power=0.04)]
    found = swells(lines)
    assert kinds(found) == [(WANDER, 150.0, 1), (WANDER, 320.0, 4)]
    assert found[0].why.startswith("a low swell, 8 times as damped as the peaks and without")
    assert found[1].why == "another low swell, 4 times as damped as the peaks"
    assert swells([Line(150.0, 0.04, half_power=None)]) == []


def test_a_gain_that_wanders_in_a_whole_sweep_is_pointed_out():
    """Two resonances and a drive whose level changes by a tenth over the octaves, no phase."""
    size = np.abs(sum(f**2 / (f**2 - HZ**2 + 2j * 0.01 * f * HZ) for f in (52.0, 240.0)))
    wander = 1.0 + 0.08 * np.sin(2.0 * np.pi * HZ / 60.0)
    found = pick(recording(size * wander))
    true = [f for f in (52.0, 240.0) if any(abs(p.frequency_hz - f) < 0.5 for p in found.picks)]
    assert true == [52.0, 240.0]
    false = {
        row for row, p in enumerate(found.picks) if min(abs(p.frequency_hz - f) for f in true) > 1
    }
    assert false and false == {one.row for one in found.strange if one.kind == WANDER}


def test_a_notch_of_the_drive_is_where_it_falls_by_half():
    drive = np.ones(HZ.size) - 0.8 * np.exp(-(((HZ - 210.0) / 6.0) ** 2))
    drive -= 0.3 * np.exp(-(((HZ - 100.0) / 6.0) ** 2))
    (found,) = drive_notches(recording(np.ones(HZ.size), drive))
    assert (found.kind, found.row) == (NOTCH, None)
    assert found.frequency_hz == pytest.approx(210.0, abs=1.0)
    assert "falls to 20 %" in found.why
    assert drive_notches(recording(np.ones(HZ.size))) == []


def test_hum_and_a_harmonic_in_a_whole_sweep():
    """The level that is read of a drive with 2 % of second harmonic, and of the mains."""

    def size(hz):
        return sum(hz**2 / np.abs(f**2 - hz**2 + 2j * 0.006 * f * hz) for f in (33.0, 260.0))

    rng = np.random.default_rng(2)
    level = np.hypot(size(HZ), 0.02 * size(2.0 * HZ)) + 0.002 * rng.standard_normal(HZ.size)
    level[300] += 0.5
    found = pick(recording(level))
    assert kinds(found.strange) == [(HUM, 50.0, None), (HARMONIC, 130.0, 1)]
    assert [round(p.frequency_hz) for p in found.picks] == [33, 130, 260]
