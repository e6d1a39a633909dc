"""What the exciter alone can do: crossovers and levels against the kinematics of a sine."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.planning.envelope import Level, LevelError, parse_level, reach, zones
from saltline.planning.rig import Exciter, Rig
from saltline.quantity import Quantity

G = 9.80665
"""Standard gravity, m/s2, by definition (3rd CGPM 1901; NIST SP 811, from memory)."""


def rig(
    *,
    force: float = 100.0,
    stroke: float = 10e-3,
    velocity: float | None = 1.2,
    acceleration: float | None = 300.0,
    low: float = 2.0,
    high: float = 5000.0,
) -> Rig:
    return Rig(
        "bench",
        Exciter(
            force=Quantity(force),
            stroke=Quantity(stroke),
            lowest_frequency=Quantity(low),
            highest_frequency=Quantity(high),
            moving_mass=Quantity(0.2),
            velocity=None if velocity is None else Quantity(velocity),
            acceleration=None if acceleration is None else Quantity(acceleration),
        ),
    )


def test_crossovers_are_those_of_displacement_velocity_and_acceleration() -> None:
    """v = pi f s and a = 2 pi f v of a sine with the stroke s peak-to-peak (mechanics)."""
    bands = zones(rig(force=1e4), 0.2)
    assert [band.limited_by for band in bands] == ["stroke", "velocity", "acceleration"]
    first, second = 1.2 / (math.pi * 0.01), 300.0 / (2.0 * math.pi * 1.2)
    borders = [bands[0].low_hz, *(band.high_hz for band in bands)]
    assert borders == pytest.approx([2.0, first, second, 5000.0])
    assert [b.low_hz for b in bands[1:]] == [b.high_hz for b in bands[:-1]]


def test_a_heavy_load_meets_the_force_before_the_acceleration() -> None:
    bands = zones(rig(), 2.0)
    assert [band.limited_by for band in bands] == ["stroke", "force"]
    # Where omega^2 s/2 = F/m.
    assert bands[0].high_hz == pytest.approx(math.sqrt(2.0 * 50.0 / 0.01) / (2.0 * math.pi))


def test_without_velocity_the_stroke_meets_the_acceleration() -> None:
    bands = zones(rig(velocity=None, force=1e4), 0.2)
    assert [band.limited_by for band in bands] == ["stroke", "acceleration"]
    assert bands[0].high_hz == pytest.approx(math.sqrt(2.0 * 300.0 / 0.01) / (2.0 * math.pi))


# -- levels ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "drive"),
    [
        ("0.5 g", "acceleration", 0.5 * G),
        ("3 m/s2", "acceleration", 3.0),
        ("20 mm/s", "velocity", 0.02 * 100.0),
        ("1 mm", "length", 1e-3 * 100.0**2),
        ("1/8 in", "length", 0.125 * 0.0254 * 100.0**2),
    ],
)
def test_a_level_is_an_amplitude_of_the_base(text: str, kind: str, drive: float) -> None:
    level = parse_level(text, through="boundary")
    assert level.kind == kind
    assert level.drive(100.0 / (2.0 * math.pi)) == pytest.approx(drive)


def test_a_level_at_a_point_is_a_force() -> None:
    level = parse_level("5 N", through="point")
    assert (level.kind, level.drive(3.0), level.drive(300.0)) == ("force", 5.0, 5.0)


BASE = (
    ', or a velocity or displacement of the base ("20 mm/s", "1 mm"), all amplitudes, '
    "for the drive goes through the supports"
)


@pytest.mark.parametrize(
    ("text", "through", "message"),
    [
        ("0.5", "boundary", f'level needs a unit, for example "0.5 g"{BASE}'),
        (
            "5 N",
            "boundary",
            'level "5 N" is a force or a rotational stiffness per length; it must be an '
            f'acceleration, for example "0.5 g"{BASE}',
        ),
        (
            "1 mm",
            "point",
            'level "1 mm" is a length; it must be a force, for example "120 N", for the drive '
            "goes through a point",
        ),
        (
            "loud",
            "boundary",
            'level "loud" does not begin with a number; it must be an acceleration, for example '
            f'"0.5 g"{BASE}',
        ),
        (
            "3 kg",
            "boundary",
            'level "3 kg" is a mass; it must be an acceleration, for example "0.5 g"' + BASE,
        ),
        ("-1 g", "boundary", 'level "-1 g" must be more than zero'),
        ("0 mm", "boundary", 'level "0 mm" must be more than zero'),
    ],
)
def test_a_level_that_is_none_is_refused(text: str, through: str, message: str) -> None:
    with pytest.raises(LevelError) as caught:
        parse_level(text, through=through)
    assert str(caught.value) == message


# -- where a level can be held --------------------------------------------------------------------


def test_a_level_of_acceleration_begins_where_the_stroke_allows_it() -> None:
    found = reach(parse_level("2 g", through="boundary"), rig(), 0.2)
    # Of stroke and velocity the later one: sqrt(2 a/s)/(2 pi) is 10 Hz, a/(2 pi v) 2.6 Hz.
    assert (found.low_by, found.high_by) == ("stroke", "frequency")
    assert found.low_hz == pytest.approx(math.sqrt(2.0 * 2.0 * G / 0.01) / (2.0 * math.pi))
    assert found.high_hz == 5000.0
    assert not found.is_empty


def test_a_level_of_displacement_ends_where_velocity_or_force_do() -> None:
    found = reach(parse_level("1 mm", through="boundary"), rig(), 0.2)
    # v/(2 pi X) = 191 Hz; sqrt(a/X)/(2 pi) = 87 Hz.
    assert (found.low_by, found.high_by) == ("frequency", "acceleration")
    assert found.high_hz == pytest.approx(math.sqrt(300.0 / 1e-3) / (2.0 * math.pi))


def test_a_level_beyond_a_flat_limit_can_be_held_nowhere() -> None:
    for text, by in (("60 g", "acceleration"), ("6 mm", "stroke"), ("2 m/s", "velocity")):
        found = reach(parse_level(text, through="boundary"), rig(), 0.2)
        assert found.is_empty
        assert (found.low_by, found.high_by) == (by, by)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(
    st.sampled_from(
        [("length", 1e-4, 1e-2), ("velocity", 0.01, 2.0), ("acceleration", 1.0, 400.0)]
    ),
    st.floats(0.0, 1.0),
    st.floats(0.1, 3.0),
    st.floats(2.0, 5000.0),
)
def test_a_level_can_be_held_just_where_no_limit_of_a_sine_is_passed(
    kind: tuple[str, float, float], part: float, moved: float, f: float
) -> None:
    name, low, high = kind
    level = Level(Quantity(low * (high / low) ** part), name)
    found = reach(level, rig(), moved)
    a, omega = level.drive(f), 2.0 * math.pi * f
    worst = max(2.0 * a / omega**2 / 10e-3, a / omega / 1.2, a / 300.0, moved * a / 100.0)
    if abs(worst - 1.0) > 1e-9:
        assert (found.low_hz <= f <= found.high_hz) == (worst < 1.0)
