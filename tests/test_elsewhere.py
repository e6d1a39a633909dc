"""What lines without a name may be, on lists whose truth is known."""

from dataclasses import replace

import numpy as np
import pytest

from saltline.files.specimen_file import read_specimen
from saltline.measured_list import Measured
from saltline.naming.check import check
from saltline.naming.elsewhere import other_families, other_unit, read_twice
from saltline.solver import find_modes

STRIP = read_specimen("""
kind: beam
material: steel
geometry: {length: 180 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
""")


def bending(count=4):
    modes = find_modes(STRIP, count=count).modes
    return [Measured(0.97 * mode.frequency_hz, {"nodes": k}) for k, mode in enumerate(modes)]


def first(family):
    return find_modes(STRIP, count=1, families=(family,)).modes[0].frequency_hz


def test_lines_of_other_families_are_pointed_at():
    lines = [*bending(), Measured(0.97 * first("edgewise")), Measured(0.98 * first("torsion"))]
    (said,) = other_families(check(STRIP, lines))
    assert "row 5 (" in said
    assert "may be edgewise 1" in said
    assert "may be torsion 1" in said
    assert said.endswith("--all compares with all of them")
    assert other_families(check(STRIP, lines[::-1]))[0].count(" may be ") == 2
    every = ("flatwise", "edgewise", "torsion", "axial")
    assert other_families(check(STRIP, lines, families=every)) == []


def test_a_line_that_is_near_nothing_is_not_pointed_at():
    assert other_families(check(STRIP, [*bending(), Measured(600.0)])) == []


def test_a_resonance_that_was_read_twice_is_told():
    lines = bending()
    again = replace(lines[1], frequency_hz=1.002 * lines[1].frequency_hz)
    (said,) = read_twice(check(STRIP, [*lines, again]))
    assert said.startswith("rows 2 and 5 (")
    apart = replace(again, counts={"nodes": 2})
    assert read_twice(check(STRIP, [*lines, apart])) == []
    assert read_twice(check(STRIP, lines)) == []


def test_the_two_of_a_square_plate_are_not_one_read_twice():
    square = read_specimen("""
kind: plate
material: steel
geometry: {length: 200 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: free, right: free, bottom: free, top: free}
""")
    lines = [Measured(mode.frequency_hz) for mode in find_modes(square, count=5).modes]
    lines[4] = replace(lines[4], frequency_hz=1.002 * lines[4].frequency_hz)
    assert read_twice(check(square, lines)) == []


@pytest.mark.parametrize(("factor", "said"), [(1e3, "1000 times too large"), (1e-3, "too small")])
def test_another_unit_is_asked_after(factor, said):
    lines = [replace(line, frequency_hz=factor * line.frequency_hz) for line in bending()]
    (words,) = other_unit(check(STRIP, lines))
    assert said in words


def test_no_unit_is_asked_after_where_it_explains_nothing():
    assert other_unit(check(STRIP, bending())) == []
    high = [Measured(float(f)) for f in 1e5 * np.array([1.0, 1.37, 2.9, 4.4])]
    assert other_unit(check(STRIP, high)) == []
