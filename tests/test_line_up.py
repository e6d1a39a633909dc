"""Several sensors: nodes by changes of sign, on a cantilever whose response is known."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import saltline
from saltline.forced.response import driven, relative_displacement
from saltline.sweeps.line_up import lined_up, reversed_sensors
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording

REED = Path(__file__).parent.parent / "examples" / "clamped-reed.yaml"
HZ = np.geomspace(15.0, 1000.0, 2000)
PLACES = (0.02, 0.045, 0.07, 0.095, 0.12, 0.145, 0.17)


@pytest.fixture(scope="module")
def picked():
    """What is picked of what sensors at `PLACES` of the reed record, m/s2 per m/s2 of the base."""
    known = driven(saltline.load(REED).modes(count=5), damping_ratio=0.008)
    motion = relative_displacement(known, HZ, np.array([[x] for x in PLACES]))
    motion = motion * -((2 * np.pi * HZ[:, None]) ** 2)
    rng = np.random.default_rng(4)
    parts = rng.standard_normal((2, *motion.shape)) * 0.02
    return [
        pick(Recording(f"{k}.csv", HZ, column))
        for k, column in enumerate((motion + parts[0] + 1j * parts[1]).T)
    ]


def test_a_cantilevers_nodes_are_the_changes_of_sign(picked):
    modes = saltline.load(REED).modes(count=4).modes
    rows = lined_up(picked, PLACES)
    assert [row.changes for row in rows] == [0, 1, 2, 3]
    assert [row.nodes for row in rows] == [0, 1, 2, 3]
    for row, mode in zip(rows, modes, strict=True):
        assert row.pick.frequency_hz == pytest.approx(mode.frequency_hz, rel=1e-4)
        assert [one.at_m for one in row.seen] == list(PLACES)
    assert rows[0].row == len(PLACES) - 1  # the tip moves most
    assert rows[0].pick.frequency_error_hz < picked[-1].picks[0].frequency_error_hz


def test_too_few_sensors_give_a_least_number_and_no_count(picked):
    chosen = (1, 4, 6)
    rows = lined_up([picked[k] for k in chosen], [PLACES[k] for k in chosen])
    assert [row.nodes for row in rows] == [0, 1, None, None]
    assert rows[2].changes in (1, 2)


def test_order_of_the_files_does_not_matter(picked):
    order = (3, 0, 6, 1, 5, 2, 4)
    rows = lined_up([picked[k] for k in order], [PLACES[k] for k in order])
    assert [row.nodes for row in rows] == [0, 1, 2, 3]
    assert [one.at_m for one in rows[0].seen] == sorted(PLACES)


def test_without_phases_or_places_there_is_no_count(picked):
    still = [replace(one.recording, response=one.recording.magnitude) for one in picked[3:5]]
    rows = lined_up([pick(one) for one in still], PLACES[3:5])
    assert [row.changes for row in rows] == [None] * 4
    rows = lined_up(picked[3:5], ())
    assert [(row.seen, row.changes) for row in rows] == [((), None)] * 4


def test_one_recording_is_its_own_list(picked):
    found = picked[-1]
    rows = lined_up([found], ())
    assert [row.pick.frequency_hz for row in rows] == pytest.approx(
        [p.frequency_hz for p in found.picks]
    )


def test_a_sensor_on_a_node_stands_still_and_spoils_no_count(picked):
    node = saltline.load(REED).modes(count=2)
    place = float(node.modes[1].shape.line.breaks[-1]) * 0.7834  # of mode 2, Blevins, from memory
    known = driven(node, damping_ratio=0.008)
    motion = relative_displacement(known, HZ, np.array([[place]]))[:, 0]
    motion = motion * -((2 * np.pi * HZ) ** 2)
    rng = np.random.default_rng(6)
    motion = motion + 0.02 * (rng.standard_normal(HZ.size) + 1j * rng.standard_normal(HZ.size))
    on_node = pick(Recording("node.csv", HZ, motion))
    rows = lined_up([*picked, on_node], [*PLACES, place])
    assert [row.nodes for row in rows][:2] == [0, 1]
    assert next(one.sign for one in rows[1].seen if one.at_m == place) == 0


def test_a_sensor_that_is_turned_round_is_pointed_at_and_nothing_counted(picked):
    one = picked[3].recording
    turned = pick(replace(one, response=-one.response))
    rows = lined_up([*picked[:3], turned, *picked[4:]], PLACES)
    assert reversed_sensors(rows) == [PLACES[3]]
    assert {row.nodes for row in rows} == {None}
    assert reversed_sensors(lined_up(picked, PLACES)) == []
