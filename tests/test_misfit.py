"""What the residuals say: each rule on a specimen that has what the rule speaks of."""

import re

import numpy as np
import pytest

from saltline.files.measured import Measured
from saltline.files.specimen_file import read_specimen
from saltline.naming.beam_ended import beam_ended
from saltline.naming.check import check
from saltline.naming.misfit import misfit
from saltline.naming.pairing import SCATTER_PRIORS, SCATTERS
from saltline.naming.residuals import CHANCE, Named, pattern_of_lines
from saltline.solver import find_modes

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


def test_a_strong_trend_of_four_lines_is_told_as_a_hint():
    soft = STRIP.replace("start: clamped", "start: {deflection: rigid, rotation: 10 N m/rad}")
    (said,) = remarks(STRIP, read(hz(soft, 4), 4))
    assert said.startswith("the low modes fall short most: flatwise 1 lies ")
    assert "(a hint only, from 4 lines); a clamp that gives does that" in said
    assert remarks(STRIP, read(0.95 * hz(STRIP, 4), 4)) == []


def test_four_lines_of_which_one_is_off_a_little_carry_no_pattern():
    measured = hz(STRIP, 4)
    measured[2] *= 0.97
    assert remarks(STRIP, measured) == []


def test_a_mass_between_the_ends_is_placed_and_weighed():
    """A sensor solved with the beam, not to the first order: 0.6 g on a bar of 18 g."""
    loaded = STRIP + "attached: [{mass: 0.6 g, at: 92 mm}]\n"
    (said,) = remarks(STRIP, read(hz(loaded, 6), 7))
    found = re.match(r"the lines miss as if a mass of some ([0-9.]+) g sat at ([0-9]+) mm", said)
    assert found, said
    assert float(found[1]) == pytest.approx(0.6, rel=0.25)
    assert float(found[2]) == pytest.approx(92.0, abs=3.0)


def test_on_a_bar_that_is_alike_from_both_ends_both_places_are_named():
    bar = STRIP.replace("start: clamped", "start: free")
    rows = [Measured(float(f)) for f in hz(bar + "attached: [{mass: 0.9 g, at: 50 mm}]\n", 7)]
    (said,) = misfit(check(read_specimen(bar), rows))
    places = sorted(int(x) for x in re.findall(r"at ([0-9]+) mm", said)[:2])
    assert places == pytest.approx([50, 130], abs=3)


def test_noise_alone_is_seldom_taken_for_a_pattern():
    """Student's test at CHANCE for one line, for a trend and for a mass, over a thousand lists."""
    rng = np.random.default_rng(6)
    modes = find_modes(read_specimen(STRIP), count=7).modes
    log_p = np.log([mode.frequency_hz for mode in modes])
    found = [
        pattern_of_lines(Named(modes, log_p, 0.02 * rng.standard_normal(7))) for _ in range(1000)
    ]
    due = 1000 * 3 * CHANCE
    assert sum(pattern is not None for pattern in found) <= due + 4 * due**0.5


@pytest.mark.parametrize("count", [3, 4])
def test_few_lines_give_a_hint_by_chance_as_seldom(count):
    """With the scatters as they are thought to be, over two thousand lists."""
    rng = np.random.default_rng(count)
    modes = find_modes(read_specimen(STRIP), count=count).modes
    log_p = np.log([mode.frequency_hz for mode in modes])
    scatters = rng.choice(SCATTERS, p=SCATTER_PRIORS, size=2000)
    found = [
        pattern_of_lines(Named(modes, log_p, s * rng.standard_normal(count))) for s in scatters
    ]
    due = 2000 * CHANCE
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
