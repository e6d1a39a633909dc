"""Naming a measured list: scale-free, over the whole list, and honest where nothing fits."""

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.files.measured import Measured, read_measured
from saltline.files.specimen_file import read_specimen
from saltline.naming.beam_ended import beam_ended
from saltline.naming.check import check
from saltline.naming.counted import count_cost, counts_in_words
from saltline.naming.identify import identify
from saltline.nodes import pattern_of
from saltline.solver import find_modes

REED = """
kind: beam
material: {youngs_modulus: 103 GPa, density: 8500 kg/m3, poisson_ratio: 0.34}
geometry: {length: 180 mm, section: {shape: rectangle, width: 20 mm, thickness: 1.5 mm}}
boundary: {start: clamped, end: free}
"""

SHEET = """
kind: plate
material: {youngs_modulus: 69 GPa, density: 2700 kg/m3, poisson_ratio: 0.33}
geometry: {length: 300 mm, width: 220 mm, thickness: 2 mm}
boundary: {left: free, right: free, bottom: free, top: free}
"""


def orders(outcome):
    return [None if m.mode is None else m.mode.order for m in outcome.matches]


def findings(outcome):
    return [m.finding for m in outcome.matches]


@pytest.fixture(scope="module")
def reed():
    return read_specimen(REED)


@pytest.fixture(scope="module")
def reed_hz(reed):
    return [mode.frequency_hz for mode in find_modes(reed, count=12).modes]


@pytest.mark.parametrize("scale", [0.80, 0.9, 1.0, 1.1, 1.24])
def test_a_common_factor_is_found_and_changes_no_name(reed, reed_hz, scale):
    rows = [Measured(scale * f, {"nodes": n}) for n, f in enumerate(reed_hz[:6])]
    outcome = check(reed, rows)
    assert orders(outcome) == [1, 2, 3, 4, 5, 6]
    assert findings(outcome) == ["agrees"] * 6
    assert outcome.scale == pytest.approx(scale, rel=1e-6)
    assert outcome.fits


def test_without_counts_the_ratios_alone_name_the_modes(reed, reed_hz):
    rows = [Measured(0.87 * reed_hz[k]) for k in (1, 2, 4, 5)]
    assert orders(check(reed, rows)) == [2, 3, 5, 6]


def test_the_order_of_the_list_is_kept(reed, reed_hz):
    rows = [Measured(reed_hz[k]) for k in (3, 0, 2)]
    assert orders(check(reed, rows)) == [4, 1, 3]


def test_a_foreign_line_is_left_unexplained(reed, reed_hz):
    rows = [Measured(f) for f in (*reed_hz[:4], 1.25 * reed_hz[3])]
    outcome = check(reed, rows)
    assert orders(outcome) == [1, 2, 3, 4, None]
    assert findings(outcome)[-1] == "unexplained"
    assert "no mode fits; the nearest is flatwise 4" in outcome.matches[-1].why
    assert math.isnan(outcome.matches[-1].residual)
    assert not outcome.fits


def test_a_wrong_count_names_both_modes_and_their_frequencies(reed, reed_hz):
    rows = [Measured(f, {"nodes": n}) for n, f in enumerate(reed_hz[:4])]
    rows[2] = Measured(reed_hz[2], {"nodes": 3})
    outcome = check(reed, rows)
    assert orders(outcome) == [1, 2, 3, 4]
    assert findings(outcome) == ["agrees", "agrees", "count differs", "agrees"]
    assert outcome.matches[2].why == (
        f"by frequency flatwise 3 ({reed_hz[2]:.4g} Hz scaled), with 2 nodes; by the count "
        f"flatwise 4, which lies at {reed_hz[3]:.4g} Hz; the rest of the list supports the "
        "frequency"
    )


def test_a_line_that_strays_is_off_by_how_much(reed, reed_hz):
    rows = [Measured(f) for f in reed_hz[:5]]
    rows[3] = Measured(1.04 * reed_hz[3])
    outcome = check(reed, rows, tolerance=0.02)
    assert findings(outcome) == ["agrees", "agrees", "agrees", "off", "agrees"]
    assert outcome.matches[3].why.startswith(
        "flatwise 4, +3.5 % from its scaled prediction, beyond 2 %; likely at "
    )
    assert not outcome.matches[3].is_sure


def test_a_stated_uncertainty_widens_what_agrees(reed, reed_hz):
    rows = [Measured(f) for f in reed_hz[:5]]
    rows[3] = Measured(1.04 * reed_hz[3], uncertainty_hz=0.02 * reed_hz[3])
    assert findings(check(reed, rows, tolerance=0.02)) == ["agrees"] * 5


def test_modes_passed_over_and_below_are_listed_with_a_reason(reed, reed_hz):
    outcome = check(reed, [Measured(reed_hz[k]) for k in (1, 2, 4, 5)])
    assert [(u.mode.order, u.why) for u in outcome.unseen] == [
        (1, "below the lowest frequency measured"),
        (4, "nothing explains its absence"),
        (7, "above the highest frequency measured"),
    ]


def test_hum_among_the_lines_takes_no_mode(reed, reed_hz):
    rows = [Measured(f) for f in (reed_hz[0], 50.0, 100.0, *reed_hz[1:4])]
    assert orders(check(reed, rows)) == [1, None, None, 2, 3, 4]


@pytest.fixture(scope="module")
def reed_named(reed):
    """Names a list of the reed's; its modes are found once."""
    modes = find_modes(reed, count=17).modes
    due = {mode.rank: pattern_of(mode.shape).counts for mode in modes}
    return lambda rows: identify(rows, modes, counts=lambda m: due[m.rank], tolerance=0.05)


def test_noise_of_one_percent_and_missing_modes_do_not_mislead(reed_named, reed_hz):
    """Fifty seeded lists; every line must be named rightly."""
    rng = np.random.default_rng(20)
    for _ in range(50):
        scale = rng.uniform(0.82, 1.2)
        kept = sorted(rng.choice(10, size=6, replace=False))
        rows = [
            Measured(scale * reed_hz[k] * (1 + 0.01 * rng.standard_normal()), {"nodes": int(k)})
            for k in kept
        ]
        assert orders(reed_named(rows)) == [k + 1 for k in kept]


def test_a_plate_is_named_by_its_lines():
    sheet = read_specimen(SHEET)
    modes = find_modes(sheet, count=9).modes
    rows = []
    for mode in modes:
        pattern = pattern_of(mode.shape)
        counted = {key: n for key, n in pattern.counts.items() if n is not None}
        rows.append(Measured(0.93 * mode.frequency_hz, counted))
    outcome = check(sheet, rows)
    assert orders(outcome) == list(range(1, 10))
    assert findings(outcome) == ["agrees"] * 9


def test_lines_counted_on_a_pattern_without_such_a_count_differ():
    assert count_cost({"lines_x": 1}, {"lines_x": None, "lines_y": None}) > 0.0
    assert count_cost({"nodes": 3}, {"nodes": 3}) == 0.0
    assert count_cost({"nodes": 3}, {"nodes": 4}) < count_cost({"nodes": 3}, {"nodes": 5})


def test_counts_are_said_in_words():
    assert counts_in_words({"nodes": 1}) == "1 node"
    assert counts_in_words({"nodes": 4}) == "4 nodes"
    assert counts_in_words({"lines_x": 1, "lines_y": 2}) == "1 across x and 2 across y"
    assert counts_in_words({"lines_x": None, "lines_y": None}) == "no such lines"


def test_one_line_alone_is_named_by_its_nearness_and_count(reed, reed_hz):
    outcome = check(reed, [Measured(0.97 * reed_hz[2], {"nodes": 2})])
    assert orders(outcome) == [3]


@pytest.mark.parametrize("first", ["13.5", "13.75"])
@pytest.mark.parametrize(
    ("modulus", "density", "length", "width", "thickness"),
    [
        (80, 2700, 305, 25, 1.55),
        (59, 2700, 305, 25, 1.55),
        (237, 7850, 300, 20, 1.5),
        (175, 7850, 300, 12, 1.5),
        (118, 8500, 250, 25, 1.5),
        (88, 8500, 330, 30, 1.8),
    ],
)
def test_a_strip_known_roughly_is_named_as_the_trade_names_it(
    first, modulus, density, length, width, thickness
):
    """A cantilever strip driven at its clamp: common practice, no source.

    Lines at 13.5 to 14, 84, 233.5, 454.5 and 752.5 Hz with 0 to 4 nodes, 2691 Hz with 8, and one
    near 12.6 kHz where 15 were counted: its frequency is that of mode 19. The strip is any thin one
    of metal, with a modulus 15 % too high or too low.
    """
    strip = read_specimen(f"""
kind: beam
material:
  {{youngs_modulus: {modulus} GPa, density: {density} kg/m3, poisson_ratio: 0.3}}
geometry:
  length: {length} mm
  section: {{shape: rectangle, width: {width} mm, thickness: {thickness} mm}}
boundary: {{start: clamped, end: free}}
""")
    rows = read_measured(
        f"frequency_hz,nodes\n{first},0\n84,1\n233.5,2\n454.5,3\n752.5,4\n2691,8\n12600,15\n",
        "pad.csv",
    ).rows
    outcome = check(strip, rows)
    assert findings(outcome)[:6] == ["agrees"] * 6
    assert orders(outcome)[:6] == [1, 2, 3, 4, 5, 9]
    last = outcome.matches[6]
    assert last.finding == "count differs"
    assert last.mode.order == 19
    by_count = re.search(r"by the count flatwise 16, which lies at (\d+) Hz", last.why)
    assert 8500 < float(by_count[1]) < 9500
    assert last.why.endswith("the rest of the list supports the frequency")
    (said,) = beam_ended(outcome)
    assert "the strip acts as a plate" in said
    assert "7 (12600 Hz)" in said


def test_what_speaks_against_a_near_mode_is_named(reed, reed_hz):
    rows = [Measured(f, {"nodes": n}) for n, f in enumerate(reed_hz[:4])]
    rows.append(Measured(reed_hz[4], family="torsion"))
    outcome = check(reed, rows)
    assert outcome.matches[4].finding == "unexplained"
    assert outcome.matches[4].why.endswith("but the family stated is torsion")


@pytest.mark.parametrize("scale", [0.5, 0.7, 2.0])
def test_a_wrong_size_in_the_file_is_seen_by_the_counts(reed, reed_hz, scale):
    """Half the thickness halves every frequency: the counts still name each line."""
    rows = [Measured(scale * f, {"nodes": n}) for n, f in enumerate(reed_hz[:5])]
    outcome = check(reed, rows)
    assert orders(outcome) == [1, 2, 3, 4, 5]
    assert outcome.scale == pytest.approx(scale, rel=1e-6)


def test_too_few_lines_support_nothing(reed, reed_hz):
    outcome = check(reed, [Measured(reed_hz[2], {"nodes": 3})])
    assert "the rest of the list supports" not in outcome.matches[0].why


def test_the_twins_of_a_disc_are_both_named():
    disc = read_specimen("""
kind: disc
material: {youngs_modulus: 103 GPa, density: 8500 kg/m3, poisson_ratio: 0.34}
geometry: {diameter: 300 mm, thickness: 3 mm}
boundary: {rim: free}
""")
    modes = find_modes(disc, count=4).modes
    hz = [mode.frequency_hz for mode in modes]
    rows = [
        Measured(0.995 * hz[0], {"diameters": 2, "circles": 0}),
        Measured(1.005 * hz[0], {"diameters": 2, "circles": 0}),
        Measured(hz[1], {"diameters": 0, "circles": 1}),
        Measured(hz[2], {"diameters": 3, "circles": 0}),
    ]
    outcome = check(disc, rows)
    assert orders(outcome) == [1, 1, 2, 3]
    assert findings(outcome) == ["agrees"] * 4
    assert [m.why for m in outcome.matches] == [
        "",
        "the twin of row 1: two modes of one figure, turned",
        "",
        "",
    ]


@pytest.mark.parametrize("hz", [50.0, 163.1])
def test_one_line_without_a_count_names_nothing(reed, hz):
    (match,) = check(reed, [Measured(hz)]).matches
    assert match.finding == "unexplained"
    assert match.why.startswith("one line without a count cannot name a mode")
    assert ("mains frequency" in match.why) == (hz == 50.0)


def test_a_lone_name_among_strangers_is_no_name(reed):
    outcome = check(reed, [Measured(f) for f in (31.0, 77.0, 120.0, 301.0, 640.0, 703.0)])
    assert findings(outcome) == ["unexplained"] * 6
    assert outcome.scale == 1.0


def test_lists_of_random_lines_get_hardly_a_sure_name(reed_named):
    """Fifty seeded lists that have nothing to do with the specimen."""
    rng = np.random.default_rng(8)
    named = [
        match.is_sure
        for _ in range(50)
        for match in reed_named(
            [Measured(float(f)) for f in np.exp(rng.uniform(np.log(20), np.log(5000), 9))]
        ).matches
    ]
    assert np.mean(named) < 0.05


def test_the_two_of_a_degenerate_pair_are_named_and_neither_for_sure():
    square = read_specimen(SHEET.replace("220 mm", "300 mm"))
    modes = find_modes(square, count=7).modes
    outcome = check(square, [Measured(mode.frequency_hz) for mode in modes])
    assert orders(outcome) == [1, 2, 3, 4, 5, 6, 7]
    fourth = outcome.matches[3]
    assert fourth.confidence == pytest.approx(0.5, abs=0.02)
    assert fourth.runner_up[0].order == 5
    assert fourth.why.startswith("likely at 50 %, or plate 5 at 5")
    assert outcome.matches[0].is_sure


def test_neighbours_in_the_other_order_are_told_by_their_counts():
    """Modes 1.5 % apart, measured as if a wrong size had them change places; others scatter."""
    sheet = read_specimen(SHEET.replace("220 mm", "294 mm"))
    modes = find_modes(sheet, count=7).modes
    assert 1.01 < modes[4].frequency_hz / modes[3].frequency_hz < 1.02
    hz = [mode.frequency_hz for mode in modes]
    hz[3], hz[4] = hz[4], hz[3]
    rows = []
    for mode, f in zip(
        modes, hz * np.array([1.006, 0.993, 1.008, 1, 1, 0.995, 1.006]), strict=True
    ):
        counts = pattern_of(mode.shape).counts
        rows.append(Measured(f, {key: n for key, n in counts.items() if n is not None}))
    outcome = check(sheet, rows)
    assert orders(outcome) == [1, 2, 3, 4, 5, 6, 7]


def test_families_may_pass_each_other(reed):
    """Torsion 3 % lower than described passes below the third flatwise mode."""
    specimen = read_specimen(REED.replace("width: 20 mm", "width: 18.5 mm"))
    families = ("flatwise", "torsion")
    modes = find_modes(specimen, count=8, families=families).modes
    rows = [
        Measured(mode.frequency_hz * (0.97 if mode.family == "torsion" else 1.0)) for mode in modes
    ]
    crossed = sorted(range(8), key=lambda k: rows[k].frequency_hz)
    assert crossed != list(range(8))
    outcome = check(specimen, rows, families=families)
    assert [m.mode.rank for m in outcome.matches] == list(range(1, 9))


def test_a_stated_family_is_believed(reed):
    families = ("flatwise", "edgewise", "torsion")
    modes = find_modes(reed, count=7, families=families).modes
    rows = [Measured(mode.frequency_hz, family=mode.family) for mode in modes]
    outcome = check(reed, rows, families=families)
    assert [m.mode.rank for m in outcome.matches] == list(range(1, 8))


def test_half_a_mode_is_perhaps_the_drives_distortion(reed, reed_hz):
    rows = [Measured(f) for f in (*reed_hz[:4], reed_hz[4] / 2.0)]
    why = check(reed, rows).matches[4].why
    assert f"it lies at half of flatwise 5 ({reed_hz[4]:.4g} Hz scaled)" in why


def test_what_is_due_stands_beside_what_was_counted(reed, reed_hz):
    outcome = check(reed, [Measured(f) for f in reed_hz[:4]])
    assert [match.due for match in outcome.matches] == [{"nodes": n} for n in range(4)]


@settings(deadline=None, max_examples=50)
@given(st.floats(0.8, 1.25), st.sets(st.integers(0, 9), min_size=4))
def test_a_clean_list_is_named_whatever_the_scale_and_what_is_missing(
    reed_named, reed_hz, scale, kept
):
    outcome = reed_named([Measured(scale * reed_hz[k]) for k in sorted(kept)])
    assert orders(outcome) == [k + 1 for k in sorted(kept)]


def test_a_line_beyond_the_modes_compared_with_is_said_to_be_so(reed, reed_hz):
    outcome = check(reed, [Measured(f) for f in (*reed_hz[:3], reed_hz[5])], count=3)
    assert outcome.matches[3].why == (
        "it lies beyond the modes that were compared with, of which the last is flatwise 3 at "
        "456.4 Hz"
    )
    assert beam_ended(outcome) == []
