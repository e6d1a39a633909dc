"""Where `mark` says to put the pen: the course of node lines, and lengths in either unit."""

import numpy as np
import pytest

from saltline.files.specimen_file import read_specimen
from saltline.show.marked import course_of, marked
from saltline.show.table import INCHES, MILLIMETRES, render
from saltline.solver import find_modes
from saltline.tracing.line_order import NodeLine

SIZE = (0.3, 0.2)


@pytest.mark.parametrize(
    ("course", "start", "end", "said"),
    [
        ("across x", (0.1, 0.0), (0.12, 0.2), "across x"),
        ("closed", (0.1, 0.1), (0.1, 0.1), "closed"),
        ("diagonal", (0.0, 0.0), (0.3, 0.2), "diagonal"),
        ("other", (0.0, 0.1), (0.05, 0.0), "arc from the left to the bottom edge"),
        ("other", (0.1, 0.2), (0.3, 0.02), "arc from the top to the right edge"),
        ("other", (0.0, 0.05), (0.0, 0.15), "arc from the left edge and back"),
        ("other", (0.1, 0.1), (0.3, 0.1), "arc from the right edge, ends inside"),
        ("other", (0.0, 0.1), (0.1, 0.1), "arc from the left edge, ends inside"),
        ("other", (0.1, 0.1), (0.2, 0.1), "arc inside"),
    ],
)
def test_the_course_of_a_line_is_said_in_words(course, start, end, said):
    assert course_of(NodeLine(np.array([start, (0.15, 0.1), end]), course), SIZE) == said


def test_no_line_of_a_plate_is_just_called_other():
    """A plate pinned at two neighbouring edges: lines that join neighbouring edges are arcs."""
    plate = read_specimen("""
kind: plate
material: steel
geometry: {length: 300 mm, width: 240 mm, thickness: 1 mm}
boundary: {left: pinned, right: free, bottom: pinned, top: free}
""")
    rows = marked(find_modes(plate, count=4), unit=MILLIMETRES).tables[0].rows
    courses = {row["course"] for row in rows if "course" in row}
    assert "other" not in courses
    assert any(course.startswith("arc from the ") for course in courses)


def test_lengths_in_inches_are_those_in_millimetres_over_25_4():
    bar = read_specimen("""
kind: beam
material: steel
geometry: {length: 200 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: free, end: free}
""")
    modes = find_modes(bar, count=2)
    tables = [render(marked(modes, unit=u).tables[0]).splitlines() for u in (MILLIMETRES, INCHES)]
    for metric, imperial in zip(*(lines[3:] for lines in tables), strict=True):
        mm, inches = (float(line.split()[-2]) for line in (metric, imperial))
        assert inches == pytest.approx(mm / 25.4, abs=0.05 / 25.4 + 5e-4)
