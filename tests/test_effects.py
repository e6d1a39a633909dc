"""What a soft clamp and a sensor do, against the exact equation and hand-made specimens."""

import math
from functools import partial

import mpmath
import pytest
from mpmath import mpf

from outside import record
from saltline.effects import CLAMP_STEPS, clamp_effect, sensor_effect, with_sensor
from saltline.files.specimen_file import read_specimen
from saltline.solver import find_modes
from saltline.specimen import PredictionError
from specimens import beam, mass, omegas, worst

SLENDER = 2000.0
"""So slender that shear does nothing (its share is 1e-6)."""


def test_a_clamp_that_gives_lowers_the_first_frequency_by_its_equation():
    """t (1 + cos x cosh x) = x (sin x cosh x - cos x sinh x), t = k L/(E I) (textbook)."""
    steps = clamp_effect(beam(slenderness=SLENDER))
    assert [step.ratio for step in steps] == list(CLAMP_STEPS)
    error = 0.0

    def equation(x, t):
        c, s, ch, sh = mpmath.cos(x), mpmath.sin(x), mpmath.cosh(x), mpmath.sinh(x)
        return t * (1 + c * ch) - x * (s * ch - c * sh)

    for step in steps[1:]:
        at_this = partial(equation, t=mpf(step.ratio))
        x = float(mpmath.findroot(at_this, (mpf("0.9"), mpf("1.9")), solver="anderson"))
        assert step.stiffness == pytest.approx(step.ratio * 1000.0)  # E I = 1000 N m2, L = 1 m
        error = max(error, abs(2.0 * math.pi * step.frequencies_hz[0] / x**2 - 1.0))
    record("first frequency in a soft clamp", "frequency equation, mpmath", error, 1e-5)


def test_under_compression_the_steps_end_where_the_beam_would_buckle():
    """Pinned at both ends it buckles at pi^2 E I/L^2 (Euler), clamped at four times that."""
    steps = clamp_effect(beam("clamped-clamped", slenderness=SLENDER, tension=-2.5 * math.pi**2))
    assert 1 < len(steps) < len(CLAMP_STEPS)
    assert [step.ratio for step in steps] == list(CLAMP_STEPS[: len(steps)])
    firm = clamp_effect(beam("clamped-clamped", slenderness=SLENDER, tension=-0.9 * math.pi**2))
    assert len(firm) == len(CLAMP_STEPS)


def test_without_a_clamp_there_is_nothing_to_give():
    with pytest.raises(PredictionError, match="--clamp needs a beam with a clamped end"):
        clamp_effect(beam("free-free"))


def test_a_sensor_is_a_mass_attached_at_its_place():
    modes = find_modes(beam(), count=4)
    sensed = sensor_effect(modes, 20.0, (0.7,), families=["flatwise"])
    heavy = find_modes(beam(attached=[mass(0.7, 0.02)]), count=4)
    assert worst(omegas(sensed), omegas(heavy)) < 1e-9


@pytest.mark.parametrize(
    ("at", "said"),
    [
        ((), 'on a beam a sensor is placed like this: "4.5 g at 300 mm"'),
        ((0.1, 0.2), 'on a beam a sensor is placed like this: "4.5 g at 300 mm"'),
        ((1.2,), "the sensor at 1200 mm is not on the specimen, which ends at 1000 mm"),
    ],
)
def test_a_sensor_beside_the_specimen_is_refused(at, said):
    with pytest.raises(PredictionError) as caught:
        with_sensor(beam(), 0.001, at)
    assert str(caught.value) == said


def test_a_sensor_over_the_hole_of_a_disc_is_refused():
    ring = read_specimen(
        "kind: disc\nmaterial: steel\n"
        "geometry: {diameter: 200 mm, hole_diameter: 20 mm, thickness: 2 mm}\n"
        "boundary: {rim: free, hole: free}\n"
    )
    with pytest.raises(PredictionError, match="at its centre, where this one has its hole"):
        with_sensor(ring, 0.001, ())
