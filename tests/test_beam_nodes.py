"""Nodes of many modes of a beam at a time are those of each alone; a span at rest has none."""

import pytest

from saltline.files.specimen_file import read_specimen
from saltline.nodes import pattern_of, patterns_of
from saltline.solver import find_modes

TEXT = """
kind: beam
material: steel
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
attached: [{mass: 5 g, at: 150 mm, rotary_inertia: 20 g mm2}]
"""

SPANS = """
kind: beam
material: steel
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
supports: [{at: 70 mm, deflection: rigid}]
"""


def test_modes_together_have_the_nodes_of_each_alone():
    modes = find_modes(read_specimen(TEXT), count=24, families=("flatwise", "torsion")).modes
    assert {mode.family for mode in modes} == {"flatwise", "torsion"}
    shapes = [mode.shape for mode in modes]
    for mode, pattern in zip(modes, patterns_of(shapes), strict=True):
        alone = pattern_of(mode.shape)
        assert pattern.nodes == pytest.approx(alone.nodes, abs=1e-12)
        assert pattern.antinodes == pytest.approx(alone.antinodes, abs=1e-12)
        assert len(pattern.nodes) >= mode.order - 1
    assert patterns_of([]) == []


def test_a_span_at_rest_has_no_nodes():
    """A support that is rigid across the width parts the twist into spans of 70 and 130 mm.

    One is held at both ends, the other at one: the n-th mode of the first has n - 1 nodes, the
    n-th of the second too, evenly spaced; 2 n 130 = (2 m - 1) 70 has no solution, so that each
    mode moves in one span alone.
    """
    held = [(n / (2 * 0.07), [0.07 * k / n for k in range(1, n)]) for n in range(1, 9)]
    loose = [
        ((2 * m - 1) / (4 * 0.13), [0.07 + 0.13 * 2 * k / (2 * m - 1) for k in range(1, m)])
        for m in range(1, 19)
    ]
    due = sorted(held + loose)[:20]
    modes = find_modes(read_specimen(SPANS), count=20, families=("torsion",)).modes
    for mode, (hz, nodes) in zip(modes, due, strict=True):
        assert mode.frequency_hz / modes[0].frequency_hz == pytest.approx(hz / due[0][0], rel=1e-6)
        assert pattern_of(mode.shape).nodes == pytest.approx(nodes, abs=1e-7)
