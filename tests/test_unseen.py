"""Why a mode was not seen: range, drive, sensor, a neighbour, a line without a name."""

import pytest

from saltline.files.measured import Measured
from saltline.files.specimen_file import read_specimen
from saltline.naming.check import check
from saltline.planning.rig import Exciter, Rig, Sensor
from saltline.quantity import Quantity
from saltline.solver import find_modes

REED = """
kind: beam
material: {youngs_modulus: 103 GPa, density: 8500 kg/m3, poisson_ratio: 0.34}
geometry: {length: 180 mm, section: {shape: rectangle, width: 20 mm, thickness: 1.5 mm}}
boundary: {start: clamped, end: free}
"""
BAR = REED.replace("start: clamped, end: free", "start: pinned, end: pinned")


def rig(*, at=(), low=5.0, high=5000.0):
    """An exciter of some range, with a sensor at a place or without one."""
    exciter = Exciter(*(Quantity(v) for v in (100.0, 0.01, low, high, 0.1)))
    sensor = Sensor(Quantity(1e-3), tuple(Quantity(v) for v in at)) if at else None
    return Rig("bench", exciter, sensor=sensor)


def whys(text, missing, *, count=6, factor=1.0, families=None, **options):
    """Rank -> why, of a list of the first modes without some."""
    specimen = read_specimen(text)
    modes = find_modes(specimen, count=count, families=families).modes
    rows = [Measured(factor * m.frequency_hz) for m in modes if m.rank not in missing]
    outcome = check(specimen, rows, families=families, **options)
    return {item.mode.rank: item.why for item in outcome.unseen}


def test_what_nothing_explains_is_said_to_be_so():
    assert whys(REED, {3}) == {
        3: "nothing explains its absence",
        7: "above the highest frequency measured",
    }


def test_modes_below_the_range_are_said_to_be_below():
    found = whys(REED, {1, 2})
    assert found[1] == found[2] == "below the lowest frequency measured"


def test_the_exciters_range_explains_better_than_the_lists():
    found = whys(REED, {1, 2}, rig=rig(low=100.0, high=2300.0))
    assert found[1] == "below the exciter's range"
    assert found[2] == "below the lowest frequency measured"
    assert found[7] == "above the exciter's range"


def test_supports_that_move_together_excite_no_odd_mode():
    found = whys(BAR + "drive: {through: boundary}\n", {2, 4}, count=5)
    assert found[2] == found[4] == "the supports, moving together, cannot excite it"


def test_a_drive_on_a_node_excites_nothing_and_near_it_little():
    """The second mode of a pinned bar has its node in the middle (closed form)."""
    found = whys(BAR + "drive: {through: point, at: 90 mm}\n", {2})
    assert found[2] == "the drive point is on its node"
    found = whys(BAR + "drive: {through: point, at: 91 mm}\n", {2})
    assert found[2] == "the drive point is near its node, where it moves 3 % of its most"


@pytest.mark.parametrize(
    ("drive", "said"),
    [
        ("through: boundary", "a motion of the supports out of the wide face"),
        ("through: point, at: 100 mm", "a force out of the wide face"),
    ],
)
def test_a_family_that_the_drive_does_not_excite_is_named(drive, said):
    families = ("flatwise", "torsion")
    specimen = read_specimen(REED)
    modes = find_modes(specimen, count=6, families=families).modes
    twisting = {m.rank for m in modes if m.family == "torsion"}
    found = whys(REED + f"drive: {{{drive}}}\n", twisting, families=families)
    assert twisting
    assert all(f"{said} excites no torsion mode" in found[rank] for rank in twisting)


def test_a_sensor_on_a_node_sees_nothing():
    found = whys(BAR, {2, 3}, rig=rig(at=(0.09,)))
    assert found[2] == "the sensor sits on its node"
    assert found[3] == "nothing explains its absence"


def test_what_is_attached_may_be_the_sensor():
    found = whys(BAR + "attached: [{mass: 0.5 g, at: 90 mm}]\n", {2, 3})
    assert found[2].startswith("what is attached sits on its node")
    assert found[3] == "nothing explains its absence"


def test_a_mode_may_hide_behind_a_neighbour():
    square = """
kind: plate
material: {youngs_modulus: 69 GPa, density: 2700 kg/m3, poisson_ratio: 0.33}
geometry: {length: 220 mm, width: 220 mm, thickness: 2 mm}
boundary: {left: free, right: free, bottom: free, top: free}
"""
    found = whys(square, {5}, count=6)
    assert found[5] == "at the frequency of plate 4, which was found: one peak may hold both"


def test_a_line_without_a_name_nearby_is_pointed_at():
    specimen = read_specimen(REED)
    hz = [mode.frequency_hz for mode in find_modes(specimen, count=7).modes]
    rows = [Measured(f) for k, f in enumerate(hz) if k != 3]
    rows.append(Measured(1.07 * hz[3]))
    outcome = check(specimen, rows)
    assert outcome.matches[-1].mode is None
    (item,) = [item for item in outcome.unseen if item.mode.order == 4]
    assert item.why == "row 7, which has no name, is +7.0 % from it"
