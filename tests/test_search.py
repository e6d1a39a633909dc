"""Where resonances are looked for, and the sweep over all of them."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.planning.pace import pace
from saltline.planning.rig import Exciter, Rig
from saltline.planning.search import first_level, held, search, sweep
from saltline.quantity import Quantity

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True)
"""The same ones in every run."""


@EXAMPLES
@given(st.floats(1.0, 1e4), st.floats(0.0, 0.5), st.floats(1e-5, 0.2))
def test_a_search_holds_the_whole_band_and_reaches_further_down(f, spread, zeta):
    low, high = f * (1.0 - spread), f * (1.0 + spread)
    known = pace(f, zeta)
    found = search(low, high, known)
    assert 0.0 < found.low_hz < 0.951 * low
    assert found.high_hz == pytest.approx(high + 2.0 * known.bandwidth_hz)
    assert found.seconds * known.sweep_hz_per_s == pytest.approx(found.high_hz - found.low_hz)
    assert (found.steps - 1) * known.step_hz < found.high_hz - found.low_hz
    assert found.steps * known.step_hz >= (found.high_hz - found.low_hz) * (1.0 - 1e-9)


def test_one_sweep_is_as_slow_as_its_slowest_resonance_and_parts_are_quicker():
    f, zeta = [26.0, 163.0, 456.0], 0.003
    found = sweep(f, zeta, above_hz=0.0, below_hz=None)
    assert found is not None
    assert found.octave_per_min == pytest.approx(pace(26.0, zeta).sweep_octave_per_min)
    assert (found.low_hz, found.high_hz) == pytest.approx((0.8 * 26.0, 1.1 * 456.0))
    assert sum(part.seconds for part in found.parts) < found.seconds
    stated = sweep(f, zeta, above_hz=10.0, below_hz=500.0)
    assert stated is not None
    assert (stated.low_hz, stated.high_hz) == (10.0, 500.0)


def test_the_rates_of_a_sweep_are_those_of_the_resonances_that_are_excited():
    f, zeta = [26.0, 163.0, 456.0], 0.003
    found = sweep(f, zeta, above_hz=0.0, below_hz=None, excited=[False, True, True])
    assert found is not None
    assert found.octave_per_min == pytest.approx(pace(163.0, zeta).sweep_octave_per_min)
    assert [part.number for part in found.parts] == [1, 2]
    # The range stays: a specimen that is not quite what its file says may show the first.
    assert (found.low_hz, found.parts[0].low_hz) == pytest.approx((0.8 * 26.0, 0.8 * 26.0))
    none = sweep(f, zeta, above_hz=0.0, below_hz=None, excited=[False] * 3)
    assert none is not None
    assert none.octave_per_min == pytest.approx(pace(26.0, zeta).sweep_octave_per_min)
    outside = sweep(f, zeta, above_hz=0.0, below_hz=None, within=(100.0, 1e3), excited=[True] * 3)
    assert outside is not None
    assert [part.number for part in outside.parts] == [1, 2]


def test_a_sweep_keeps_to_what_the_exciter_reaches():
    f = [26.0, 163.0, 456.0]
    found = sweep(f, 0.003, above_hz=0.0, below_hz=None, within=(100.0, 400.0))
    assert found is not None
    assert (found.low_hz, found.high_hz) == pytest.approx((0.8 * 163.0, 1.1 * 163.0))
    assert sweep(f, 0.003, above_hz=0.0, below_hz=None, within=(500.0, 900.0)) is None


def test_heavier_damping_is_swept_faster_but_no_faster_than_an_octave_a_minute():
    rates = [
        sweep([50.0], zeta, above_hz=0.0, below_hz=None).octave_per_min  # type: ignore[union-attr]
        for zeta in (0.0005, 0.005, 0.05)
    ]
    assert rates == sorted(rates)
    assert rates[-1] == 1.0


def test_a_first_level_is_a_tenth_of_the_least():
    level = first_level([3.0, 0.5, 8.0], "boundary")
    assert level is not None
    assert (level.quantity.value, level.kind) == (pytest.approx(0.05), "acceleration")
    force = first_level([3.0], "point")
    assert force is not None
    assert force.kind == "force"
    assert first_level([], "boundary") is None


def test_what_the_exciter_holds_ends_at_its_stroke():
    """a = omega^2 x: 10 mm peak-to-peak hold 1 m/s2 down to sqrt(1/0.005)/(2 pi) = 2.2508 Hz."""
    rig = Rig(
        "rig",
        Exciter(*(Quantity(value) for value in (100.0, 0.01, 1.0, 5000.0, 0.5))),
    )
    level = first_level([10.0], "boundary")
    assert level is not None
    found = held(level, rig, 1.0)
    assert found is not None
    assert (found.low_hz, found.low_by) == (pytest.approx(2.2508, abs=1e-4), "stroke")
    force = first_level([10.0], "point")
    assert force is not None
    assert held(force, rig, 1.0) is None
