"""The run sheet's figures, against closed forms, and what cannot be planned said in sentences."""

import math
from dataclasses import replace

import numpy as np
import pytest

from exact_response import UNIT, euler_beam
from outside import record
from saltline.files.rig_file import read_rig
from saltline.files.specimen_file import read_specimen
from saltline.forced.response import DriveError, absolute_acceleration
from saltline.planning.envelope import ASKED, LevelError, parse_level
from saltline.planning.limits import ACROSS, LIMITS
from saltline.planning.plan import plan
from saltline.planning.rig import Sensor
from saltline.planning.strobe import apparent
from saltline.quantity import Quantity
from saltline.specimen import PredictionError
from saltline.study import Study

G = 9.80665
MATERIAL = "material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}\n"
SECTION = "section: {shape: rectangle, width: 20 mm, thickness: 2 mm}"

CANTILEVER = f"""
kind: beam
{MATERIAL}
geometry: {{length: 200 mm, {SECTION}}}
boundary: {{start: clamped, end: free}}
damping_ratio: 0.2 %
drive: {{through: boundary}}
"""
PINNED = CANTILEVER.replace("start: clamped, end: free", "start: pinned, end: pinned")
FREE = CANTILEVER.replace("start: clamped", "start: free").replace("drive:", "# drive:")
PLATE = f"""
kind: plate
{MATERIAL}
geometry: {{length: 200 mm, width: 160 mm, thickness: 2 mm}}
boundary: {{left: pinned, right: pinned, bottom: pinned, top: pinned}}
damping_ratio: 0.3 %
drive: {{through: point, at: [50 mm, 40 mm]}}
"""
DISC = f"""
kind: disc
{MATERIAL}
geometry: {{diameter: 200 mm, thickness: 2 mm}}
boundary: {{rim: clamped}}
"""
RIG = """
exciter: {force: 100 N, stroke: 10 mm, lowest_frequency: 5 Hz, highest_frequency: 6 kHz,
          moving_mass: 230 g}
strobe: {lowest_rate: 1 Hz, highest_rate: 500 Hz}
"""


def made(text=CANTILEVER, rig=RIG, **asked):
    specimen = read_specimen(text)
    if "level" in asked:
        through = specimen.drive.through if specimen.drive else "boundary"
        asked["level"] = parse_level(asked["level"], through=through)
    return plan(specimen, rig=None if rig is None else read_rig(rig), **asked)


# -- figures --------------------------------------------------------------------------------------


def test_peaks_of_a_cantilever_are_those_of_the_textbook():
    """Tip against base: 1.5660 Q a/omega^2 in mode 1, 0.8679 in mode 2 (closed form, tip
    normalised; check values of Blevins's and Irvine's kind, recomputed with mpmath).
    """
    worst = 0.0
    found = made(level="0.05 g", theory="euler", count=2)
    for planned, factor in zip(found.modes, (1.56598351, 0.86787179), strict=True):
        driving = planned.driving
        assert driving is not None
        assert driving.limited_by == ASKED
        omega = 2.0 * math.pi * planned.mode.frequency_hz
        due = factor * 250.0 * 0.05 * G / omega**2
        worst = max(worst, abs(driving.peak.relative_displacement / due - 1.0))
        assert driving.peak.base_acceleration == pytest.approx(0.05 * G)
    # The other modes and the base's own motion are some 1/Q of it.
    record("resonant tip motion of a cantilever", "closed form, one mode alone", worst, 1e-2)


def test_salt_moves_where_the_tip_reaches_1_g():
    planned = made(count=1, theory="euler").modes[0]
    driving = planned.driving
    assert driving is not None
    assert driving.watch.salt_moves is not None
    base = driving.drive * driving.watch.salt_moves
    assert base == pytest.approx(G / (1.56598351 * 250.0), rel=0.01)
    assert driving.watch.salt_thrown is not None
    assert driving.watch.salt_thrown > driving.watch.salt_moves


def test_a_motion_is_visible_from_the_drive_at_which_it_spans_what_the_rig_says():
    def visible(rig):
        driving = made(rig=rig, count=2).modes[1].driving  # 257 Hz: a strobe may be used
        assert driving is not None
        return 2.0 * driving.peak.displacement / driving.drive * driving.visible

    assert visible(RIG) == pytest.approx(0.2e-3)
    assert visible(RIG + "smallest_visible_motion: 0.1 mm\n") == pytest.approx(0.1e-3)
    # Without a strobe the eye needs 2.5 times as much, and so it does where all rates are unsafe.
    dark = "\n".join(line for line in RIG.splitlines() if "strobe" not in line)
    assert visible(dark) == pytest.approx(0.5e-3)
    assert visible(RIG.replace("500 Hz", "60 Hz")) == pytest.approx(0.5e-3)


@pytest.mark.parametrize(("at", "seen"), [("200 mm", True), ("156 mm", False)])
def test_a_sensor_sees_no_mode_from_its_node(at, seen):
    """The second mode's node: 0.7834 of the length, a little less with the sensor beyond it."""
    found = made(rig=RIG + f"sensor: {{mass: 1 mg, at: {at}}}\n", count=2).modes[1].driving
    assert found is not None
    assert ("sensor" in found.watch.ways) == seen


@pytest.mark.parametrize("text", [CANTILEVER, PLATE, DISC])
def test_every_kind_of_specimen_is_planned(text):
    found = made(text, count=4)
    assert found.sweep is not None
    assert found.placing is not None
    assert [p.mode.rank for p in found.modes] == [1, 2, 3, 4]
    for planned in found.modes:
        assert planned.search.low_hz < planned.mode.frequency_hz < planned.search.high_hz
        assert planned.flashes is not None
        for flash in (*planned.flashes.frozen, *planned.flashes.slowed):
            seen = apparent(planned.mode.frequency_hz, flash.flash_hz)
            assert seen == pytest.approx(flash.apparent_hz, abs=1e-9)
        if planned.driving is not None:
            assert planned.driving.limited_by in LIMITS
            assert planned.driving.drive == planned.driving.most > 0.0
    assert any(planned.driving for planned in found.modes)


def test_a_level_that_goes_beyond_a_limit_is_cut_and_said():
    found = made(level="9 g", count=2)
    first, second = (p.driving for p in found.modes)
    assert first is not None
    assert second is not None
    assert first.drive == first.most < 9.0 * G
    assert max(first.exceeded.values()) == pytest.approx(9.0 * G / first.most)
    assert first.limited_by == next(iter(first.exceeded))
    gentle = made(level="0.001 g", count=2).modes[0].driving
    assert gentle is not None
    assert (gentle.limited_by, dict(gentle.exceeded)) == (ASKED, {})
    assert gentle.peak.displacement < first.peak.displacement


def test_a_displacement_asked_for_is_an_acceleration_that_rises_with_the_frequency():
    found = made(level="1 um", count=2)
    for planned in found.modes:
        assert planned.driving is not None
        omega = 2.0 * math.pi * planned.mode.frequency_hz
        assert planned.driving.drive == pytest.approx(1e-6 * omega**2)


def test_a_sensor_on_the_specimen_lowers_what_is_looked_for():
    specimen, rig = read_specimen(CANTILEVER), read_rig(RIG)
    sensor = Sensor(mass=Quantity(0.002), at=(Quantity(0.2),))
    bare = plan(specimen, rig=rig, count=2).modes[0]
    loaded = plan(specimen, rig=replace(rig, sensor=sensor), count=2).modes[0]
    assert bare.bare_hz is None
    assert loaded.bare_hz == pytest.approx(bare.mode.frequency_hz, rel=1e-9)
    # A tip mass M/mL = r: omega^2 falls as 1/(1 + 4 r), Rayleigh's quotient with the bare shape.
    ratio = 0.002 / (0.2 * 0.02 * 0.002 * 2700.0)
    due = bare.mode.frequency_hz / math.sqrt(1.0 + 4.0 * ratio)
    assert loaded.mode.frequency_hz == pytest.approx(due, rel=0.01)
    assert loaded.search.low_hz < bare.search.low_hz


@pytest.mark.parametrize(
    ("text", "at", "attached"),
    [
        (CANTILEVER, (0.2,), "attached: [{mass: 6 g, at: 200 mm}]\n"),
        (PLATE, (0.13, 0.11), "attached: [{mass: 6 g, at: [130 mm, 110 mm]}]\n"),
        (DISC, (0.0,), "attached: [{mass: 6 g}]\n"),
    ],
)
def test_all_is_planned_of_the_specimen_with_its_sensor(text, at, attached):
    """As if the specimen's file had it: strobe, sweep, search, levels and balance."""
    rig = read_rig(RIG)
    sensor = Sensor(mass=Quantity(0.006), at=tuple(map(Quantity, at)))
    loaded = plan(read_specimen(text), rig=replace(rig, sensor=sensor), count=3)
    file = plan(read_specimen(text + attached), rig=rig, count=3)
    assert loaded.specimen.attached == ()
    assert loaded.sweep == file.sweep
    assert loaded.balance is not None
    assert file.balance is not None
    assert loaded.balance.mass == file.balance.mass
    assert loaded.balance.alone == file.balance.alone
    for one, other in zip(loaded.modes, file.modes, strict=True):
        assert one.mode.frequency_hz == other.mode.frequency_hz
        assert one.bare_hz is not None
        assert one.bare_hz >= one.mode.frequency_hz
        assert (one.flashes, one.search, one.pace) == (other.flashes, other.search, other.pace)
        if other.driving is None:  # a disc's nodal diameters
            assert one.driving is None
            continue
        assert one.driving is not None
        assert one.driving.drive == pytest.approx(other.driving.drive, rel=1e-12)
        assert one.driving.peak.force == pytest.approx(other.driving.peak.force, rel=1e-12)
    assert loaded.modes[0].bare_hz > loaded.modes[0].mode.frequency_hz


def test_a_sensor_off_the_centre_of_a_disc_is_weighed_to_first_order():
    specimen, rig = read_specimen(DISC), read_rig(RIG)
    sensor = Sensor(mass=Quantity(0.001), at=(Quantity(0.03),))
    found = plan(specimen, rig=replace(rig, sensor=sensor), count=3)
    for planned in found.modes:
        assert planned.bare_hz is not None
        assert planned.mode.frequency_hz < planned.bare_hz
        assert planned.flashes is not None
        assert planned.flashes.frequency_hz == planned.mode.frequency_hz
        # Of two twins one rests at the sensor, and is not lowered: it is looked for too.
        if planned.mode.multiplicity > 1:
            assert planned.search.high_hz > planned.bare_hz


# -- what cannot be planned -----------------------------------------------------------------------


def test_modes_that_symmetry_forbids_are_not_driven():
    found = made(PINNED, count=4)
    assert [p.driving is not None for p in found.modes] == [True, False, True, False]
    assert [p.resonance is not None and p.resonance.is_excited for p in found.modes] == [
        True, False, True, False,
    ]  # fmt: skip


def test_an_exciter_that_reaches_no_mode_leaves_no_sweep():
    found = made(rig=RIG.replace("lowest_frequency: 5 Hz", "lowest_frequency: 5 kHz"), count=2)
    assert found.sweep is None
    assert [p.driving for p in found.modes] == [None, None]
    assert [p.resonance and p.resonance.limited_by for p in found.modes] == ["frequency"] * 2


def test_an_empty_range_names_its_neighbours():
    first, second = (p.mode for p in made(rig=None, count=2).modes)
    middle = math.sqrt(first.frequency_hz * second.frequency_hz)
    found = made(above_hz=0.9 * middle, below_hz=1.1 * middle)
    assert (found.modes, found.sweep, found.placing) == ((), None, None)
    assert [mode.rank for mode in found.neighbours] == [1, 2]
    lowest = made(below_hz=0.5 * first.frequency_hz)
    assert [mode.rank for mode in lowest.neighbours] == [1]


def test_a_range_holds_the_modes_inside_it():
    every = made(rig=None, count=5).modes
    bounds = [p.mode.frequency_hz for p in every]
    found = made(rig=None, above_hz=bounds[0] + 1.0, below_hz=bounds[3] + 1.0)
    assert [p.mode.rank for p in found.modes] == [2, 3, 4]


def test_damping_is_assumed_where_none_is_stated_and_replaced_where_it_is_given():
    text = CANTILEVER.replace("damping_ratio: 0.2 %\n", "")
    assert made(text, rig=None).damping.is_assumed
    given = made(text, damping_ratio=0.01, count=1)
    assert (given.damping.ratio, given.damping.is_assumed) == (0.01, False)
    bandwidth = given.modes[0].pace.bandwidth_hz
    assert bandwidth == pytest.approx(0.02 * given.modes[0].mode.frequency_hz)


def test_a_beam_pushed_beside_a_node_moves_there_as_the_closed_form_says():
    """There the first mode gives little, and the sharp bend under the force counts: an element has
    to end there, else the first figure is wrong by 1e-4.
    """
    bar = CANTILEVER.replace("start: clamped", "start: free")
    found = made(
        bar.replace("through: boundary", "through: point, at: 44 mm"),
        level="0.001 N",
        theory="euler",
        count=3,
    )
    mass = 2700.0 * 0.02 * 0.002 * 0.2
    stiffness = 70e9 * 0.02 * 0.002**3 / 12.0 / 0.2**3
    worst = 0.0
    for planned in found.modes:
        assert planned.driving is not None
        omegas = 2.0 * math.pi * planned.mode.frequency_hz * np.exp(0.002 * ACROSS)
        omegas *= math.sqrt(mass / stiffness)
        w = [euler_beam("free-free", float(o), 0.002, [0.22], force_at=0.22)[0, 0] for o in omegas]
        due = UNIT * np.abs(omegas**2 * np.array(w)).max()
        moved = planned.driving.peak.base_acceleration * mass / 0.001
        worst = max(worst, abs(moved / due - 1.0))
    source = "closed form with a complex modulus, mpmath"
    record("planned motion of a free bar pushed beside a node", source, worst, 1e-8)
    assert found.specimen.attached == ()  # what the solver needs is not in the plan's specimen


def test_the_python_interface_plans_as_the_command_does():
    study = Study(read_specimen(CANTILEVER))
    known = study.plan(read_rig(RIG), count=2, level="0.05 g", damping_ratio=0.004)
    same = made(count=2, level="0.05 g", damping_ratio=0.004)
    for one, other in zip(known.modes, same.modes, strict=True):
        assert one.driving == other.driving
    with pytest.raises(LevelError, match='level "5 N" is a force'):
        study.plan(read_rig(RIG), level="5 N")


def test_the_python_interface_gives_the_response_itself():
    """At rest the tip moves with the base; far from it 1.566 Q at the first resonance."""
    known = Study(read_specimen(CANTILEVER)).response(below_hz=500.0)
    tip = np.array([[0.2]])
    slow = absolute_acceleration(known, np.array([0.1]), tip)
    assert abs(slow[0, 0]) == pytest.approx(1.0, abs=1e-5)
    first = known.modes.modes[0].frequency_hz
    high = absolute_acceleration(known, np.array([first]), tip)
    assert abs(high[0, 0]) == pytest.approx(1.566 * 250.0, rel=0.01)


def test_without_a_rig_all_that_needs_none_is_planned():
    found = made(rig=None, count=3)
    assert found.sweep is not None
    assert found.sweep.level is None
    for planned in found.modes:
        assert (planned.driving, planned.resonance, planned.flashes) == (None, None, None)
        assert planned.share is not None


def test_what_floats_freely_is_not_driven_through_its_supports():
    with pytest.raises(DriveError, match="nothing holds the specimen"):
        made(FREE)


def test_heavy_damping_leaves_nothing_to_look_for():
    with pytest.raises(
        PredictionError, match="no resonance to look for; a plan takes at most 20 %"
    ):
        made(damping_ratio=0.5)


def test_the_exciter_holds_a_level_of_all_that_it_moves():
    """F = m a: 100 N move 230 g and the 21.6 g of the specimen with 40.5 g, not with 42 g."""
    below, beyond = (made(level=level, count=1).sweep for level in ("40 g", "42 g"))
    assert below is not None
    assert beyond is not None
    assert below.reach is not None
    assert beyond.reach is not None
    assert (below.reach.is_empty, beyond.reach.is_empty) == (False, True)
    assert beyond.reach.low_by == "force"
