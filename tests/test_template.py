"""True-scale templates, measured back from the coordinates in the files."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from outside import record
from saltline.files.specimen_file import load, read_specimen
from saltline.nodes import pattern_of
from saltline.show.paper import PAPERS
from saltline.show.pictures import look
from saltline.show.table import INCHES, MILLIMETRES
from saltline.show.template import MOST_MODES
from saltline.show.template_draw import page_figures
from saltline.show.template_file import encoded_template
from saltline.show.template_seams import OVERLAP_MM
from saltline.show.template_sheet import template_of
from saltline.show.template_tiles import BARS, pages_of
from saltline.solver import find_modes
from seen import overlapping, seen
from specimens import grouped
from vector_files import away, length, pdf_pages, svg_lines

EXAMPLES = Path(__file__).parent.parent / "examples"
ALLOWED_MM = 0.05

LONG_BAR = """
name: long bar
kind: beam
material: steel
geometry: {length: 640 mm, section: {shape: rectangle, width: 30 mm, thickness: 4 mm}}
boundary: {start: %s, end: %s}
"""

SHAFT = """
name: stepped shaft
kind: beam
material: steel
geometry:
  segments:
    - {length: 60 mm, section: {shape: rod, diameter: 12 mm}}
    - {length: 200 mm, section: {shape: rod, diameter: 24 mm}}
    - {length: 60 mm, section: {shape: rod, diameter: 12 mm}}
boundary: {start: pinned, end: pinned}
"""

SUPPORTED_PLATE = """
name: supported plate
kind: plate
material: steel
geometry: {length: 410 mm, width: 250 mm, thickness: 2 mm}
boundary: {left: pinned, right: pinned, bottom: pinned, top: pinned}
"""

DISC = """
name: disc
kind: disc
material: {youngs_modulus: 200 GPa, density: 7800 kg/m3, poisson_ratio: 0.3}
geometry: {diameter: 160 mm, thickness: 1 mm}
boundary: {rim: free}
"""


@cache
def example(name: str, count: int):
    return find_modes(load(EXAMPLES / f"{name}.yaml"), count=count)


@cache
def shown(case: str):
    """A specimen's template, and what is seen of each of its pages."""
    template = template_of(CASES[case](), unit=MILLIMETRES)
    with look():
        return template, [seen(f) for f in page_figures(template, pages_of(template, "a4"))]


def bar(start: str, end: str, count: int):
    """A bar by Euler and Bernoulli's theory, whose node places have closed forms."""
    return find_modes(read_specimen(LONG_BAR % (start, end)), count=count, theory="euler")


def only(files):
    assert [added for added, _ in files] == [""]
    return files[0][1]


def svg_of(modes, unit=MILLIMETRES):
    return svg_lines(only(encoded_template(modes, ".svg", None, unit=unit)))


def steps_of(modes, paper):
    """How much farther to the left than on the first page a template lies on each, mm."""
    pages = pages_of(template_of(modes, unit=MILLIMETRES), paper)
    return [pages[0].origin[0] - page.origin[0] for page in pages]


def along_beam(groups, name):
    """Places of lines across a beam, from its datum, mm."""
    zero = groups["datum"][0][0, 0]
    return np.sort([line[0, 0] - zero for line in groups[name]])


# -- node lines are where they belong -------------------------------------------------------------


def test_nodes_of_a_pinned_bar_are_measured_at_even_parts_of_its_length():
    modes = bar("pinned", "pinned", 6)
    _, groups = svg_of(modes)
    worst = max(
        np.abs(along_beam(groups, f"mode-{n}-nodes") - 640.0 * np.arange(1, n) / n).max()
        for n in range(2, 7)
    )
    record("node lines on a template (SVG), pinned bar", "x = k L / n, textbook", worst / 640.0,
           ALLOWED_MM / 640.0)  # fmt: skip


@pytest.mark.parametrize("paper", PAPERS)
def test_nodes_of_a_clamped_bar_are_measured_on_the_pages_where_the_table_has_them(paper):
    """Page by page, from the datum on the first one on; where each lies is known."""
    modes = bar("clamped", "free", 5)
    pages = pdf_pages(only(encoded_template(modes, ".pdf", paper, unit=MILLIMETRES)))
    steps = steps_of(modes, paper)
    found, zero = [], None
    for number, (_, lines) in enumerate(pages):
        upright = [line for line in lines if len(line) == 2 and line[0, 0] == line[1, 0]]
        if number == 0:
            (datum,) = [line for line in upright if abs(length(line) - 38.0) < 1e-3]
            zero = datum[0, 0]
        across = [line[0, 0] for line in upright if abs(length(line) - 32.0) < 1e-3]
        found += [x - zero + steps[number] for x in across]
    rows = grouped("beam_nodes.csv", "ends", "mode")
    expected = [
        640.0 * float(row["x_over_l"])
        for mode in range(1, 6)
        for row in rows.get(("clamped-free", str(mode)), ())
    ]
    assert len(expected) == 10
    distances = np.abs(np.subtract.outer(found, expected))
    worst = max(distances.min(axis=0).max(), distances.min(axis=1).max())
    record("node lines on a tiled template (PDF), cantilever",
           "roots of its shape (mpmath)", worst / 640.0, ALLOWED_MM / 640.0)  # fmt: skip


def test_node_lines_of_a_supported_plate_are_measured_as_straight_lines():
    modes = find_modes(read_specimen(SUPPORTED_PLATE), count=6)
    _, groups = svg_of(modes)
    (left, low), (right, high) = groups["outline"][0].min(axis=0), groups["outline"][0].max(axis=0)
    assert (right - left, high - low) == pytest.approx((410.0, 250.0), abs=1e-3)
    worst = 0.0
    for mode in modes.modes:
        counts = pattern_of(mode.shape).counts
        m, n = counts["lines_x"] + 1, counts["lines_y"] + 1
        lines = groups.get(f"mode-{mode.rank}-nodes", [])
        assert len(lines) == m + n - 2
        for line in lines:
            x, y = (line - [left, low]).T
            if np.ptp(x) < np.ptp(y):
                worst = max(worst, np.abs(x - 410.0 * np.round(x * m / 410.0) / m).max())
                assert np.ptp(y) == pytest.approx(250.0, abs=0.01)
            else:
                worst = max(worst, np.abs(y - 250.0 * np.round(y * n / 250.0) / n).max())
                assert np.ptp(x) == pytest.approx(410.0, abs=0.01)
    record("node lines on a template (SVG), supported plate", "sin sin, textbook", worst / 410.0,
           ALLOWED_MM / 410.0)  # fmt: skip


def test_nodal_circles_of_a_disc_are_measured_at_the_tables_radii():
    modes = find_modes(read_specimen(DISC), count=12)
    rows = grouped("disc_nodal_circles.csv", "diameters", "index")
    patterns = {mode.rank: pattern_of(mode.shape) for mode in modes.modes}
    chosen = [mode for mode in modes.modes if patterns[mode.rank].circles]
    _, groups = svg_of(replace(modes, modes=tuple(chosen)))
    centre = (groups["outline"][0].min(axis=0) + groups["outline"][0].max(axis=0)) / 2.0
    worst = 0.0
    for mode in chosen:
        # index counts the elastic modes of n diameters: of n = 0 and 1 the first has a circle.
        n, circles = patterns[mode.rank].diameters, patterns[mode.rank].circles
        expected = rows[str(n), str(circles - 1 if n < 2 else circles)]
        rings = [line for line in groups[f"mode-{mode.rank}-nodes"] if len(line) > 2]
        assert len(rings) == len(expected)
        for ring, row in zip(rings, expected, strict=True):
            radii = np.linalg.norm(ring - centre, axis=1)
            worst = max(worst, np.abs(radii - 80.0 * float(row["radius"])).max())
    assert len(chosen) >= 4
    record("nodal circles on a template (SVG), free disc", "exact equation (mpmath)", worst / 80.0,
           ALLOWED_MM / 80.0)  # fmt: skip


def test_a_curved_node_line_keeps_to_the_zero_of_the_shape_between_its_points():
    """The ring of a free square plate: every point of the drawn chords is where w is nothing."""
    modes = example("square-plate", 4)
    _, groups = svg_of(modes)
    low = groups["outline"][0].min(axis=0)
    (ring,) = groups["mode-3-nodes"]
    shape = modes.modes[2].shape
    middles = (ring[:-1] + ring[1:]) / 2.0
    x, y = (np.clip(np.vstack([ring, middles]) - low, 0.0, 240.0) / 1000.0).T
    w, wx, wy = shape.jet(x, y, ((0, 0), (1, 0), (0, 1)))
    assert (np.abs(w) / np.hypot(wx, wy)).max() < 1e-3 * ALLOWED_MM
    predicted = pattern_of(shape).net.lines[0].points * 1000.0 + low
    assert away(predicted, [ring]).max() < ALLOWED_MM


# -- pages ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", PAPERS)
def test_pages_have_the_papers_size_and_both_bars_their_length(paper):
    modes = example("clamped-reed", 2)
    ((size, lines),) = pdf_pages(only(encoded_template(modes, ".pdf", paper, unit=MILLIMETRES)))
    assert sorted(size) == pytest.approx(sorted(PAPERS[paper]), abs=1e-3)
    left = min(line[0, 0] for line in lines)
    flat = [line for line in lines if len(line) == 2 and line[0, 1] == line[1, 1]]
    lowest = sorted(flat, key=lambda line: line[0, 1])[:2]
    assert [line[0, 0] for line in lowest] == pytest.approx([left, left])
    for line, (long, _) in zip(lowest[::-1], BARS, strict=True):
        assert length(line) == pytest.approx(long, abs=0.005)


def test_the_bars_of_an_svg_are_100_mm_and_4_in():
    _, groups = svg_of(example("free-disc", 4))
    (metric,), (imperial,) = groups["check-100-mm"], groups["check-4-in"]
    assert length(metric) == pytest.approx(100.0, abs=0.005)
    assert length(imperial) == pytest.approx(4 * 25.4, abs=0.005)


def test_tiles_cover_the_template_and_agree_where_they_overlap():
    template, drawn_pages = shown("bolted plate")
    pages = pages_of(template, "a4")
    assert len(pages) == 4
    windows = np.array([[page.low - page.origin, page.high - page.origin] for page in pages])
    box = template.box
    assert np.all(windows.min(axis=(0, 1)) <= box[0])
    assert np.all(windows.max(axis=(0, 1)) >= box[1])
    first, right, below, _ = windows
    assert first[1, 0] - right[0, 0] == pytest.approx(OVERLAP_MM)
    assert below[1, 1] - first[0, 1] == pytest.approx(OVERLAP_MM)
    assert [(page.left, page.right, page.above, page.below) for page in pages] == [
        (0, 2, 0, 3), (1, 0, 0, 4), (0, 4, 1, 0), (3, 0, 2, 0),
    ]  # fmt: skip
    texts = [page.texts for page in drawn_pages]
    assert "glue page 2 here" in texts[0]
    assert "glue page 3 here" in texts[0]
    assert texts[3].count("cut here") == 2


def test_registration_marks_of_neighbours_lie_on_each_other():
    modes = bar("free", "free", 3)
    files = encoded_template(modes, ".svg", "a4", unit=MILLIMETRES)
    assert [added for added, _ in files] == ["-1", "-2", "-3"]
    pages = [svg_lines(content)[1] for _, content in files]
    zero = pages[0]["datum"][0][0, 0]
    step = steps_of(modes, "a4")[1]

    def middles(page):
        rings = [line for line in page["registration"] if len(line) > 2]
        return sorted(tuple(ring.mean(axis=0)) for ring in rings)

    right = [x - zero for x, _ in middles(pages[0]) if x > 148.0]
    left = [x - zero + step for x, _ in middles(pages[1]) if x < 148.0]
    assert len(right) == 2
    assert right == pytest.approx(left, abs=1e-3)
    glued = max(line[0, 0] - zero for line in pages[0]["glue-edge"])
    cut = min(line[0, 0] - zero + step for line in pages[1]["cut-edge"])
    assert glued == pytest.approx(cut, abs=1e-3)


def test_a_ruler_counts_whole_millimetres_or_inches_from_the_datum():
    modes = bar("clamped", "free", 1)
    for unit, step, long in ((MILLIMETRES, 10.0, 3.6), (INCHES, 25.4, 3.6)):
        _, groups = svg_of(modes, unit)
        zero = groups["datum"][0][0, 0]
        ticks = [line for line in groups["ruler"] if line[0, 0] == line[1, 0]]
        main = np.sort([line[0, 0] - zero for line in ticks if abs(length(line) - long) < 1e-3])
        assert main == pytest.approx(step * np.arange(main.size), abs=1e-3)
        assert main[-1] > 640.0 - step


STUD = """
kind: plate
material: brass
geometry: {length: 200 mm, width: 200 mm, thickness: 1.5 mm}
boundary: {left: free, right: free, bottom: free, top: free}
supports: [{at: [100 mm, 100 mm], deflection: rigid, rotation: rigid, diameter: 12 mm}]
"""
"""Antinodes of several modes lie near to each other at its corners and edges."""


# -- what is on it --------------------------------------------------------------------------------


CASES = {
    "reed": lambda: example("clamped-reed", 8),
    "stepped shaft": lambda: find_modes(read_specimen(SHAFT), count=6),
    "square plate": lambda: example("square-plate", 4),
    "bolted plate": lambda: example("bolted-plate", 4),
    "disc": lambda: example("free-disc", 4),
    "plate on a stud": lambda: find_modes(read_specimen(STUD), count=5),
}


@pytest.fixture(scope="module", params=CASES)
def drawn(request):
    return shown(request.param)


def test_no_text_overlaps_another_or_leaves_the_page(drawn):
    for page in drawn[1]:
        assert overlapping(page) == []


def test_a_long_node_line_bears_its_rank_on_every_page():
    panel = read_specimen(STUD.replace("200 mm", "400 mm").replace("100 mm", "200 mm"))
    template = template_of(find_modes(panel, count=2), unit=MILLIMETRES)
    names = [label.name for label in template.labels if label.name.endswith("-node-label")]
    assert len(set(names)) == 2
    assert all(names.count(name) >= 3 for name in set(names))


def test_type_is_large_enough(drawn):
    assert min(size for page in drawn[1] for size in page.sizes) >= 8.0


def test_every_mode_is_in_the_key_and_on_its_lines(drawn):
    template, pages = drawn
    texts = {text for page in pages for text in page.texts}
    for number, key in enumerate(template.keys, start=1):
        assert f"mode {number}, " in key.text
        assert any(text.startswith(f"mode {number}, ") for text in texts)
    named = {word for label in template.labels for word in label.text.split()}
    with_lines = {line.name.split("-")[1] for line in template.lines if line.name[:5] == "mode-"}
    assert with_lines <= named


def test_what_the_marks_mean_and_how_pages_are_joined_is_said():
    template, (page, *_) = shown("bolted plate")
    assert template.marks in " ".join(page.texts)
    assert "ring on ring, and glue." in " ".join(page.texts)
    template, (page,) = shown("reed")
    assert "nodes, with the numbers of their modes above" in " ".join(page.texts)
    assert "glue" not in " ".join(page.texts)
    assert "0 mm" in page.texts


def test_a_trace_stands_on_the_pages():
    template = template_of(example("clamped-reed", 2), unit=INCHES, trace="made today")
    with look():
        (figure,) = page_figures(template, pages_of(template, "a4"))
        assert {"made today", "0 in"} <= set(seen(figure).texts)


def test_torsion_is_marked_at_both_edges_and_said_to_twist():
    specimen = read_specimen(LONG_BAR % ("clamped", "free"))
    modes = find_modes(specimen, count=2, families=("torsion",))
    template = template_of(modes, unit=MILLIMETRES)
    marks = next(line for line in template.lines if line.name == "mode-1-antinodes")
    middles = sorted(tuple(np.round(p[:-1].mean(axis=0), 6)) for p in marks.polylines)
    assert middles == [(640.0, -15.0), (640.0, 15.0)]
    assert "twists about the centre line, which is at rest; no node" in template.keys[0].text
    assert template.keys[0].text.endswith("antinode at 640.0 mm, at both edges")


@pytest.mark.parametrize("case", ["reed", "square plate"])
def test_every_id_of_an_svg_is_one_things_and_texts_tell_their_mode(case):
    every = set()
    for _, content in encoded_template(CASES[case](), ".svg", "a4", unit=MILLIMETRES):
        ids = re.findall(rb'<g id="([^"]*)"', content)
        assert len(ids) == len(set(ids))
        assert b"mode-2-key" in ids
        every |= set(ids)
    assert any(re.fullmatch(rb"mode-2-node-label(-\d+)?", one) for one in every)


def test_pages_of_a_tiled_template_share_it_evenly():
    """A square a little larger than a sheet: two by two halves, not a sheet and a strip."""
    template = template_of(example("bolted-plate", 4), unit=MILLIMETRES)
    pages = pages_of(template, "a4")
    low, high = template.box
    for page in pages:
        window = np.array([page.low, page.high]) - page.origin
        seen_part = np.minimum(window[1], high) - np.maximum(window[0], low)
        assert np.all(seen_part > 0.45 * (high - low))


def test_modes_differ_in_their_dashes():
    modes = bar("pinned", "pinned", MOST_MODES)
    template = template_of(modes, unit=MILLIMETRES)
    assert len({key.dashes for key in template.keys}) == MOST_MODES
    lines = {line.name: line.dashes for line in template.lines}
    for number, key in enumerate(template.keys, start=1):
        assert lines.get(f"mode-{number}-nodes", key.dashes) == key.dashes


def test_the_clamp_line_the_datum_and_the_centre_line_are_there():
    template = template_of(example("clamped-reed", 2), unit=MILLIMETRES)
    assert {"datum", "centre-line", "held", "outline", "ruler"} <= {t.name for t in template.lines}
    texts = {label.text for label in template.labels}
    assert {"datum 0 = clamp line at the start", "180.0 mm = end, free", "centre line"} <= texts


def test_a_width_that_is_not_stated_is_said():
    text = LONG_BAR.replace(
        "{shape: rectangle, width: 30 mm, thickness: 4 mm}",
        "{shape: custom, area: 100 mm2, second_moment: 900 mm4, shear_coefficient: 0.85}",
    )
    template = template_of(find_modes(read_specimen(text % ("free", "free")), count=2),
                           unit=MILLIMETRES)  # fmt: skip
    assert "width not stated in the file" in {label.text for label in template.labels}


def test_where_ranks_could_not_be_followed_they_are_left_out_and_it_is_said():
    text = (LONG_BAR % ("clamped", "free")).replace("640 mm", "30 mm")
    modes = find_modes(read_specimen(text), count=MOST_MODES, theory="euler")
    template = template_of(modes, unit=MILLIMETRES)
    texts = [label.text for label in template.labels]
    assert "too many lines for their ranks: choose fewer modes" in texts
    few = template_of(replace(modes, modes=modes.modes[:3]), unit=MILLIMETRES)
    assert {"1", "2", "3"} <= {label.text for label in few.labels}


def test_the_same_input_gives_the_same_bytes(monkeypatch):
    modes = example("clamped-reed", 2)
    for ending in (".pdf", ".svg"):
        monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)
        one, other = (only(encoded_template(modes, ending, None, unit=MILLIMETRES)) for _ in "ab")
        assert one == other
        assert re.search(rb"20\d\d-?\d\d-?\d\dT", one + other) is None
        monkeypatch.setenv("SOURCE_DATE_EPOCH", "1000000000")
        dated = only(encoded_template(modes, ending, None, unit=MILLIMETRES))
        assert re.search(rb"2001-?09-?09", dated)
