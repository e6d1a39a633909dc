"""Moving pictures: their rate, the reversal across nodes, and the forced shape's phase."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from outside import record
from saltline.files.specimen_file import load
from saltline.forced.response import driven
from saltline.planning.strobe import FLICKER_HZ
from saltline.show.pictures import look
from saltline.show.pictures_file import as_gif
from saltline.show.pictures_motion import SLOWEST_HZ, at_phase, frames_of, pace_of
from saltline.show.pictures_moving import moving_forced, moving_modes, moving_sheet
from saltline.show.pictures_sheet import on_one_sheet
from saltline.show.table import MILLIMETRES
from saltline.solver import find_modes

SAME = settings(max_examples=60, deadline=None, derandomize=True)
"""The same ones in every run."""

EXAMPLES = Path(__file__).parent.parent / "examples"
NEVER = FLICKER_HZ[0]


@SAME
@given(st.floats(SLOWEST_HZ, NEVER, exclude_max=True))
def test_a_picture_is_never_faster_than_asked_and_never_flickers(rate):
    pace = pace_of(rate)
    assert pace.rate_hz <= rate * (1.0 + 1e-9)
    assert pace.rate_hz < NEVER
    assert pace.rate_hz > 0.8 * rate
    assert pace.duration_ms % 10 == 0
    assert pace.frames >= 8


def test_half_a_turn_later_everything_is_reversed_and_nodes_are_still():
    motion = moving_modes(find_modes(load(EXAMPLES / "clamped-reed.yaml"), count=3))[2].motion
    for turns in (0.0, 0.1, 0.3):
        now, later = (at_phase(motion.amplitude, t) for t in (turns, turns + 0.5))
        assert later == pytest.approx(-now, abs=1e-12)
    for node in motion.nodes:
        for turns in (0.0, 0.2, 0.4):
            w = at_phase(motion.amplitude, turns)
            assert np.interp(node, motion.x, w) == pytest.approx(0.0, abs=2e-3)
            left, right = (np.interp(node + d, motion.x, w) for d in (-0.01, 0.01))
            assert left * right < 0.0


def test_the_frames_show_the_reversal_of_light_and_signs():
    """Of a plate's corner: light, then as dark as its neighbour was."""
    modes = find_modes(load(EXAMPLES / "square-plate.yaml"), count=1)
    pace = pace_of(2.9)
    told: list[int] = []
    with look():
        sheet, moves = moving_sheet(modes.specimen, moving_modes(modes), pace, unit=MILLIMETRES)
        figure = on_one_sheet(sheet)
        frames = frames_of(figure, moves, pace, told.append)
    assert told == [1] * pace.frames
    box = figure.axes[0].get_position()
    first, half = (np.asarray(frames[k], dtype=float) for k in (0, pace.frames // 2))
    height, width = first.shape

    def corner(image, x, y):
        column = int(width * (box.x0 + x * box.width))
        row = int(height * (1.0 - box.y0 - y * box.height))
        return image[row - 3 : row + 4, column - 3 : column + 4].mean()

    for x, y, sign in ((0.25, 0.25, 1), (0.75, 0.25, -1), (0.25, 0.75, -1), (0.75, 0.75, 1)):
        assert sign * (corner(first, x, y) - corner(half, x, y)) > 8.0
    picture = Image.open(io.BytesIO(as_gif(frames, pace.duration_ms)))
    assert (picture.n_frames, picture.info["duration"]) == (pace.frames, pace.duration_ms)
    assert picture.info["loop"] == 0


def test_a_base_driven_cantilever_follows_slowly_and_lags_a_quarter_turn_at_resonance():
    """Below its first resonance it moves as the base does; there it lags 90 deg (textbook)."""
    specimen = load(EXAMPLES / "clamped-reed.yaml")
    modes = find_modes(specimen, count=4)
    known = driven(modes)
    base_and_tip = [
        moving_forced(known, specimen, hz).motion.amplitude[[0, -1]]
        for hz in (0.02 * modes.modes[0].frequency_hz, modes.modes[0].frequency_hz)
    ]
    slow, resonant = (np.angle(tip / base, deg=True) for base, tip in base_and_tip)
    record("phase of a tip at resonance against the base, degrees of 90",
           "90 deg behind, textbook", abs(resonant + 90.0) / 90.0, 0.01)  # fmt: skip
    assert slow == pytest.approx(0.0, abs=0.5)


def test_a_driven_plate_and_a_driven_disc_move_too():
    plate = load(EXAMPLES / "bolted-plate.yaml")
    titled = moving_forced(driven(find_modes(plate, count=4), beyond=4), plate, 65.0)
    amplitude = titled.motion.amplitude
    assert np.abs(amplitude).max() == pytest.approx(1.0)
    middle = amplitude[tuple(n // 2 for n in amplitude.shape)]
    assert abs(middle) < 0.2  # at resonance the bolt moves little beside the corners
    assert "mm to either side per 9.81 m/s² of the base" in titled.title[1]
    disc = load(Path(__file__).parent / "good" / "cymbal.yaml")
    amplitude = moving_forced(driven(find_modes(disc, count=4)), disc, 140.0).motion.amplitude
    assert amplitude == pytest.approx(amplitude[::-1, :], abs=1e-9)
    assert amplitude == pytest.approx(amplitude.T, abs=1e-9)
