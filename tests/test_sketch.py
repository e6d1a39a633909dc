"""Sketches in plain characters, in the table of `predict`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import main
from saltline.files.specimen_file import load, read_specimen
from saltline.nodes import pattern_of
from saltline.show.outline import outline_of
from saltline.show.sketch import HIGH, LONG, WIDE, sketch_of
from saltline.solver import find_modes

EXAMPLES = Path(__file__).parent.parent / "examples"


def sketches(path, count):
    specimen = load(path)
    modes = find_modes(specimen, count=count)
    outline = outline_of(specimen)
    return [(m, sketch_of(m.shape, pattern_of(m.shape), outline)) for m in modes.modes]


def predict(*arguments):
    return CliRunner().invoke(main, ["predict", *arguments])


def test_a_beams_nodes_stand_where_they_are_and_its_end_is_marked():
    for mode, lines in sketches(EXAMPLES / "clamped-reed.yaml", 6):
        nodes = pattern_of(mode.shape).nodes
        middle = lines[1]
        assert middle[0] == "#"
        places = [k - 1 for k, character in enumerate(middle) if character == "o"]
        assert places == [int(node / 0.18 * LONG) for node in nodes]
        assert max(map(len, lines)) <= LONG + 2


def test_a_cantilevers_first_mode_rises_from_the_clamp_to_the_tip():
    _, lines = sketches(EXAMPLES / "clamped-reed.yaml", 1)[0]
    heights = []
    for column in range(1, LONG + 1):
        (line,) = [n for n, text in enumerate(lines) if text[column : column + 1].strip()]
        heights.append(3 * (2 - line) + ".-'".index(lines[line][column]))
    assert heights == sorted(heights)
    assert (heights[0], heights[-1]) == (4, 8)


COVER = """
kind: plate
material: steel
geometry: {length: 360 mm, width: 220 mm, thickness: 3 mm}
boundary: {left: free, right: free, bottom: free, top: free}
supports:
  - {at: [20 mm, 20 mm], deflection: rigid}
  - {at: [340 mm, 20 mm], deflection: rigid}
  - {at: [340 mm, 200 mm], deflection: rigid}
  - {at: [20 mm, 200 mm], deflection: rigid}
"""


def test_a_straight_line_of_symmetry_keeps_to_its_row_and_supports_are_shown(tmp_path):
    path = tmp_path / "cover.yaml"
    path.write_text(COVER, encoding="utf-8")
    for mode, lines in sketches(path, 4):
        assert sum(line.count("x") for line in lines) == 4
        halves = {line.replace("-", "+") for line in lines}
        assert halves == {line[::-1] for line in halves}, mode.rank
        stars = [line.replace("+", " ").replace("-", " ") for line in lines]
        assert stars == stars[::-1], mode.rank
    assert ", x support" in predict(str(path), "--modes", "1", "--sketch").stdout


def test_a_square_plates_figures():
    found = [lines for _, lines in sketches(EXAMPLES / "square-plate.yaml", 3)]
    cross, diagonals, ring = found
    assert cross[5].strip(".") == "*" * (len(cross[5]) - 2)
    assert {line[len(line) // 2] for line in cross[1:-1]} == {"*"}
    assert (cross[1][1], cross[1][-2], cross[-2][1], cross[-2][-2]) == ("-", "+", "+", "-")
    assert diagonals[1][1] == diagonals[1][-2] == diagonals[-2][1] == diagonals[-2][-2] == "*"
    assert ring[5][len(ring[5]) // 2] == "-"
    assert all(line == line[::-1] for line in ring)


def test_a_held_edge_and_a_disc_have_their_rim():
    plate = read_specimen("""
kind: plate
material: steel
geometry: {length: 300 mm, width: 100 mm, thickness: 2 mm}
boundary: {left: clamped, right: free, bottom: pinned, top: guided}
""")
    mode = find_modes(plate, count=1).modes[0]
    lines = sketch_of(mode.shape, pattern_of(mode.shape), outline_of(plate))
    assert (set(lines[0][1:-1]), set(lines[-1][1:-1])) == ({"|"}, {"^"})
    assert {line[0] for line in lines[1:-1]} == {"#"}
    for mode, lines in sketches(EXAMPLES / "free-disc.yaml", 3):
        width = max(map(len, lines))
        assert lines[0].strip(" .") == ""
        assert width <= WIDE
        assert len(lines) <= HIGH
        stars = sum(line.count("*") for line in lines)
        assert stars > 10, mode


def test_every_character_is_plain():
    for name in ("clamped-reed", "free-disc", "spruce-sheet"):
        result = predict(str(EXAMPLES / f"{name}.yaml"), "--modes", "3", "--sketch")
        drawn = [line for line in result.stdout.splitlines() if line.lstrip()[:1] in set(".#*+-'")]
        assert drawn
        assert all(line.isascii() for line in drawn)


def test_the_table_keeps_a_row_a_mode_and_explains_its_characters():
    result = predict(str(EXAMPLES / "clamped-reed.yaml"), "--modes", "3", "--sketch")
    lines = result.stdout.splitlines()
    assert lines[0].split()[-1] == "sketch"
    assert "nodes at" not in lines[0]
    ranks = [line.split()[0] for line in lines if "flatwise" in line]
    assert ranks == ["1", "2", "3"]
    assert "sketch: o node, # clamped" in lines
    assert max(map(len, lines[: 3 + 4 * 3])) < 120


@pytest.mark.parametrize("form", ["json", "csv"])
def test_other_formats_are_as_without_a_sketch_and_say_so(form):
    path = str(EXAMPLES / "clamped-reed.yaml")
    plain, drawn = (
        predict(path, "--modes", "2", "--format", form, *o) for o in ((), ("--sketch",))
    )
    assert drawn.stdout == plain.stdout
    assert "note: --sketch has no effect: it draws in a table alone\n" in drawn.stderr
    if form == "json":
        assert len(json.loads(drawn.stdout)["modes"]) == 2
