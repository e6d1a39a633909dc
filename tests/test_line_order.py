"""Node lines begin, run and follow each other as the figure says, not as they were found."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.files.specimen_file import read_specimen
from saltline.nodes import pattern_of
from saltline.solver import find_modes
from saltline.tracing.line_order import NodeLine, in_order

EXAMPLES = settings(max_examples=40, deadline=None, derandomize=True)
"""The same ones in every run."""

SIZE = (0.3, 0.2)
TURN = np.linspace(0.0, 2.0 * np.pi, 41)[:-1]
OVAL = np.column_stack([0.15 + 0.1 * np.cos(TURN), 0.1 + 0.06 * np.sin(TURN)])
SQUARE = """
kind: plate
material: steel
geometry: {length: 300 mm, width: 300 mm, thickness: 2 mm}
boundary: {left: free, right: free, bottom: free, top: free}
"""


@EXAMPLES
@given(st.integers(0, 39), st.booleans(), st.integers(0, 2**32 - 1))
def test_a_closed_line_begins_at_one_place_whatever_vertex_was_first(first, is_turned, seed):
    noise = 1e-9 * np.random.default_rng(seed).standard_normal(OVAL.shape)
    points = np.roll(OVAL + noise, first, axis=0)
    points = points[::-1] if is_turned else points
    (line,) = in_order([NodeLine(np.vstack([points, points[:1]]), "closed")], SIZE)
    assert np.all(line.points[0] == line.points[-1])
    quarters = line.evenly(5)
    expected = [[0.25, 0.1], [0.15, 0.16], [0.05, 0.1], [0.15, 0.04], [0.25, 0.1]]
    assert quarters == pytest.approx(np.array(expected), abs=2e-5)


@EXAMPLES
@given(st.permutations(range(4)), st.integers(0, 15), st.integers(0, 2**32 - 1))
def test_lines_that_cross_in_the_middle_keep_their_numbers(order, turned, seed):
    ends = [
        ([[0.0, 0.0], [0.3, 0.2]], "diagonal"),
        ([[0.0, 0.2], [0.3, 0.0]], "diagonal"),
        ([[0.15, 0.0], [0.15, 0.2]], "across x"),
        ([[0.0, 0.1], [0.3, 0.1]], "across y"),
    ]
    random = np.random.default_rng(seed)
    lines = []
    for k in order:
        points = np.array(ends[k][0]) + 1e-9 * random.standard_normal((2, 2))
        lines.append(NodeLine(points[::-1] if turned >> k & 1 else points, ends[k][1]))
    found = in_order(lines, SIZE)
    for line, k in zip(found, (2, 3, 0, 1), strict=True):
        assert line.course == ends[k][1]
        assert line.points == pytest.approx(np.array(ends[k][0]), abs=1e-7)


def test_the_places_of_a_squares_lines_do_not_depend_on_how_many_modes_are_sought():
    specimen = read_specimen(SQUARE)
    found = [
        [
            line.evenly(5)
            for rank in (2, 3)
            for line in pattern_of(
                find_modes(specimen, count=count).modes[rank - 1].shape
            ).net.lines
        ]
        for count in (3, 9, 21)
    ]
    for few, more in ((found[0], found[1]), (found[0], found[2])):
        assert np.array(few) == pytest.approx(np.array(more), abs=5e-5)  # not seen on a ruler
