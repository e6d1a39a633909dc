"""Varied quantities: how values are written, what is refused, and that a grid is what it says."""

from pathlib import Path

import pytest

from saltline.files.specimen_file import load, read_specimen
from saltline.many.grid import (
    GridError,
    check_grid,
    parse_varied,
    points_of,
    specimen_at,
)
from saltline.quantities_of import quantities
from saltline.solver import find_modes

REED = load(Path(__file__).parent.parent / "examples" / "clamped-reed.yaml")
TEXT = """kind: beam
material: steel
geometry: {length: &l 300 mm, section: {shape: tube, outer_diameter: 12 mm, wall: 1 mm}}
boundary: {start: clamped, end: free}
attached: [{mass: 4 g, at: *l}]
"""
TUBE = read_specimen(TEXT, "tube.yaml")


@pytest.mark.parametrize(
    ("text", "values", "unit"),
    [
        ("geometry.length=200..400 mm/5", (0.2, 0.25, 0.3, 0.35, 0.4), "mm"),
        ("length = 20 cm..0.2e2cm/2", None, ""),
        ("length=1, 2, 5 mm", (0.001, 0.002, 0.005), "mm"),
        ("length=5 cm, 100 mm", (0.05, 0.1), "mm"),
        ("poisson_ratio=0.25..0.35/3", (0.25, 0.3, 0.35), ""),
        ("boundary.start.rotation=1..100 N m/rad/3 log", (1.0, 10.0, 100.0), "N m/rad"),
        ("youngs_modulus=-1..1 GPa/3", (-1e9, 0.0, 1e9), "GPa"),
    ],
)
def test_values_are_read_as_they_are_written(text, values, unit):
    if values is None:
        with pytest.raises(GridError, match="ends reversed"):
            parse_varied(REED, text)
        return
    found = parse_varied(REED, text)
    assert found.values == pytest.approx(values, rel=1e-12)
    assert found.unit == unit


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("geometry.length", 'varies nothing; write it like "geometry.length=200..400 mm/21"'),
        ("length=1..2 mm", "does not say how many values; write their number after a slash"),
        ("length=2..1 mm/3", "has its ends reversed; the lower one comes first"),
        ("length=1..2 mm/1", "a range has from 2 to 20,000 values"),
        ("length=1 cm..20 mm/3", "must be two numbers of one unit"),
        ("length=0..1 mm/3 log", 'even ratios ("log") begin above zero'),
        ("length=1,,2 mm", "has an empty place in its list; remove a comma"),
        ("length=1,1 mm", "holds one value twice; remove one"),
        ("length=5", 'length needs a unit, for example "5 mm"'),
        ("length=5 kg", 'length "5 kg" is a mass; it must be a length, for example "310 mm"'),
        ("length=5 ± 1 mm", "carry a tolerance; write them without it"),
        ("lenght=1,2 mm", '"lenght" is no quantity of clamped reed'),
        ("damping_ratio=1,2 %", "no natural frequency depends on damping_ratio"),
    ],
)
def test_a_slip_is_told_with_its_cure(text, message):
    with pytest.raises(GridError) as caught:
        parse_varied(REED, text)
    assert message in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_hold_that_is_a_word_can_be_varied_and_is_named():
    with pytest.raises(GridError, match=r"boundary\.start\.rotation"):
        parse_varied(REED, "boundary.start=3")
    found = parse_varied(REED, "start.rotation=100, 200 N m/rad")
    assert found.paths == ("boundary.start.rotation",)  # not the deflection of the same word


def test_a_grid_is_every_combination_the_first_slowest():
    varied = [parse_varied(REED, "length=1,2 mm"), parse_varied(REED, "width=3,4,5 mm")]
    assert points_of(varied) == ((0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2))
    with pytest.raises(GridError, match="varied twice"):
        points_of([varied[0], varied[0]])
    many = parse_varied(REED, "length=1..2 mm/200")
    with pytest.raises(GridError, match="the grid has 40,000 points; at most 20,000"):
        points_of([many, parse_varied(REED, "width=1..2 mm/200")])


def test_a_point_is_the_specimen_whose_file_says_so():
    varied = [parse_varied(TUBE, "geometry.length=200,250 mm"), parse_varied(TUBE, "wall=2 mm")]
    made = specimen_at(TUBE, varied, (1, 0))
    written = read_specimen(TEXT.replace("300 mm", "250 mm").replace("1 mm", "2 mm"), "tube.yaml")
    assert {p: q.value for p, q in quantities(made).items()} == {
        p: q.value for p, q in quantities(written).items()
    }
    assert [m.frequency_hz for m in find_modes(made, count=4).modes] == [
        m.frequency_hz for m in find_modes(written, count=4).modes
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("wall=1,7 mm", "with geometry.section.wall = 7 mm this is no specimen: wall of 7 mm"),
        ("wall=-1,1 mm", "must be more than zero"),
        ("boundary.start.rotation=-1,1 N m/rad", "must not be negative"),
    ],
)
def test_what_no_file_could_say_is_refused(text, message):
    with pytest.raises(GridError) as caught:
        check_grid(TUBE, [parse_varied(TUBE, text)])
    assert message in str(caught.value)
