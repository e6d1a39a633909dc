"""What the residuals say: each rule on a specimen that has what the rule speaks of."""

import numpy as np
import pytest

from saltline.files.measured import Measured
from saltline.files.specimen_file import read_specimen
from saltline.modes import find_modes
from saltline.naming.beam_ended import beam_ended
from saltline.naming.check import check
from saltline.naming.misfit import CHANCE, _Named, _pattern, misfit

STRIP = """
kind: beam
material: {youngs_modulus: 103 GPa, density: 8500 kg/m3, poisson_ratio: 0.34}
geometry: {length: 180 mm, section: {shape: rectangle, width: 8 mm, thickness: 1.5 mm}}
boundary: {start: clamped, end: free}
"""
STOUT = STRIP.replace("width: 8 mm, thickness: 1.5 mm", "width: 12 mm, thickness: 9 mm")


def hz(text, count=8, **options):
    found = find_modes(read_specimen(text), count=count, **options)
    return np.array([mode.frequency_hz for mode in found.modes])


def remarks(text, measured, **options):
    """The remarks on a list with its counts, of a cantilever."""
    rows = [Measured(float(f), {"nodes": n}) for n, f in enumerate(measured)]
    return misfit(check(read_specimen(text), rows, **options))


def percent_of(said):
    """The number after "lies"."""
    return float(said.split(" lies ")[1].split(" %")[0])


def read(measured, count):
    """Frequencies as somebody reads them: to 0.1 %."""
    rng = np.random.default_rng(count)
    return measured * (1.0 + 0.001 * rng.standard_normal(measured.size))


def test_a_list_that_fits_gets_no_remark():
    assert remarks(STRIP, read(0.95 * hz(STRIP), 1)) == []


def test_a_soft_clamp_is_read_from_low_modes_that_fall_short():
    soft = STRIP.replace("start: clamped", "start: {deflection: rigid, rotation: 20 N m/rad}")
    (said,) = remarks(STRIP, read(hz(soft), 2))
    fall = 1.0 - hz(soft)[0] / hz(STRIP)[0] / (hz(soft)[-1] / hz(STRIP)[-1])
    assert said.startswith("the low modes fall short most: flatwise 1 lies ")
    assert percent_of(said) == pytest.approx(100 * fall, abs=1.0)
    assert "a clamp that gives does that" in said


def test_tension_is_read_from_low_modes_that_lie_high():
    pulled = STRIP.replace("geometry: {", "geometry: {tension: 20 N, ")
    pulled = pulled.replace("end: free", "end: pinned")
    held = STRIP.replace("end: free", "end: pinned")
    (said,) = remarks(held, read(hz(pulled), 3))
    assert said.startswith("the low modes lie high most: flatwise 1 lies ")
    assert "tension" in said


def test_tension_of_a_cantilever_is_no_line_alone():
    """Tension stiffens by T / (EI k^2): as 1/p, nearly all of it in the first mode."""
    measured = hz(STRIP) * (1.0 + 0.06 * hz(STRIP)[0] / hz(STRIP))
    (said,) = remarks(STRIP, read(measured, 5))
    assert said.startswith("the low modes lie high most: flatwise 1 lies ")
    assert "tension" in said


def test_shear_is_read_from_high_modes_that_fall_short():
    """Timoshenko's frequencies against Euler and Bernoulli's prediction of the same bar."""
    (said,) = remarks(STOUT, read(hz(STOUT, 6), 4), theory="euler")
    assert said.startswith("the high modes fall short most: flatwise 6 lies ")
    assert "Euler and Bernoulli's theory leaves out" in said


def test_one_line_alone_is_a_local_mass_and_its_antinodes_are_named():
    measured = read(hz(STRIP), 5)
    measured[3] *= 0.97
    (said,) = remarks(STRIP, measured)
    assert said.startswith("flatwise 4 alone lies ")
    assert percent_of(said) == pytest.approx(3.0, abs=0.2)
    assert "(at 37, 90, 140, 180 mm)" in said
    measured[3] *= 1.06
    (said,) = remarks(STRIP, measured)
    assert percent_of(said) == pytest.approx(2.8, abs=0.2)
    assert "above the others" in said


def test_another_family_that_lies_apart_as_a_whole_is_named():
    specimen = read_specimen(STRIP)
    found = find_modes(specimen, count=9, families=("flatwise", "torsion"))
    rows = [
        Measured(m.frequency_hz * (1.03 if m.family == "torsion" else 1.0), family=m.family)
        for m in found.modes
    ]
    outcome = check(specimen, rows, families=("flatwise", "torsion"))
    (said,) = [remark for remark in misfit(outcome) if remark.startswith("torsion")]
    assert said.startswith("torsion lies 3.0 % above flatwise: it hangs on the shear modulus")


def test_counts_that_are_all_one_more_are_remarked_on_once():
    rows = [Measured(float(f), {"nodes": n + 1}) for n, f in enumerate(hz(STRIP, 5))]
    outcome = check(read_specimen(STRIP), rows)
    assert [m.mode.order for m in outcome.matches] == [1, 2, 3, 4, 5]
    assert misfit(outcome) == [
        "every count is one more than is due: a place where the specimen is held is no node"
    ]


def test_four_lines_carry_no_pattern():
    measured = hz(STRIP, 4)
    measured[0] *= 0.95
    assert remarks(STRIP, measured) == []


def test_noise_alone_is_seldom_taken_for_a_pattern():
    """Student's test at CHANCE for one line and CHANCE for a trend, over a thousand lists."""
    rng = np.random.default_rng(6)
    log_p = np.log(hz(STRIP, 7))
    found = [_pattern(_Named((), log_p, 0.02 * rng.standard_normal(7))) for _ in range(1000)]
    due = 1000 * 2 * CHANCE
    assert sum(pattern is not None for pattern in found) <= due + 4 * due**0.5


WIDE = STRIP.replace("width: 8 mm", "width: 40 mm")


def test_where_a_wide_strip_is_a_plate_is_said_with_its_rows():
    rows = [Measured(float(f)) for f in hz(WIDE, 9)]
    (said,) = beam_ended(check(read_specimen(WIDE), rows))
    assert "the strip acts as a plate, where beam theory is off by more than 2 %" in said
    assert "9 (" in said
    assert "1 (" not in said.split("(rows ")[1].split(" Hz")[0]


def test_a_narrow_strip_stays_a_beam():
    rows = [Measured(float(f)) for f in hz(STRIP, 3)]
    assert beam_ended(check(read_specimen(STRIP), rows)) == []
