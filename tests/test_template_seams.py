"""Where templates are parted into pages: nothing that is read is lost on a seam."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from saltline.files.specimen_file import load, read_specimen
from saltline.show.paper import PAPERS
from saltline.show.pictures import look
from saltline.show.table import INCHES, MILLIMETRES
from saltline.show.template import Label, Line, Template
from saltline.show.template_draw import page_figures
from saltline.show.template_file import encoded_template
from saltline.show.template_rings import rings as rings_on
from saltline.show.template_seams import LEAST_OVERLAP_MM, OVERLAP_MM, SHIFT_MM, spans
from saltline.show.template_sheet import template_of
from saltline.show.template_tiles import pages_of
from saltline.solver import find_modes
from seen import overlapping, seen
from vector_files import POINT_MM, svg_lines

EXAMPLES = Path(__file__).parent.parent / "examples"

RING_MM = 3.0
"""Half the size of a ring's cross."""

TOUCHING_MM = 0.2
"""Boxes of texts hold some air; less than so much of one is nothing that anybody reads."""

PANEL = """
kind: plate
material: brass
geometry: {length: 410 mm, width: 250 mm, thickness: 1.5 mm}
boundary: {left: free, right: free, bottom: free, top: free}
"""

FAMILIES = ("flatwise", "edgewise", "torsion")

CASES = {
    "strip": lambda: find_modes(load(EXAMPLES / "aluminium-strip.yaml"), count=5),
    "strip, all families": lambda: find_modes(
        load(EXAMPLES / "aluminium-strip.yaml"), count=10, families=FAMILIES
    ),
    "disc": lambda: find_modes(load(EXAMPLES / "free-disc.yaml"), count=5),
    "bolted plate": lambda: find_modes(load(EXAMPLES / "bolted-plate.yaml"), count=4),
    "panel": lambda: find_modes(read_specimen(PANEL), count=4),
}


@cache
def modes_of(case):
    return CASES[case]()


@cache
def drawn(case, paper, unit):
    """A template's pages, and what is seen and drawn of each."""
    modes = modes_of(case)
    template = template_of(modes, unit=unit)
    pages = pages_of(template, paper)
    with look():
        texts = [seen(figure) for figure in page_figures(template, pages)]
    files = encoded_template(modes, ".svg", paper, unit=unit)
    return template, pages, texts, [svg_lines(content)[1] for _, content in files]


def seams(groups):
    """The seams on a page, by the axis that they part: where it is cut and where it is glued."""
    found = []
    for line in groups.get("glue-edge", []) + groups.get("cut-edge", []):
        axis = 0 if line[0, 0] == line[1, 0] else 1
        found.append((axis, float(line[0, axis])))
    return found


def rings(groups):
    return [line.mean(axis=0) for line in groups["registration"] if len(line) > 2]


def boxes_of(page):
    """Texts and the corners of their boxes, mm."""
    return [
        (text, POINT_MM * np.array([[box.x0, box.y0], [box.x1, box.y1]]))
        for text, box in page.boxes
    ]


@pytest.mark.parametrize("unit", [MILLIMETRES, INCHES], ids=lambda unit: unit.sign)
@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("case", CASES)
def test_no_seam_strikes_a_text(case, paper, unit):
    _, pages, texts, groups = drawn(case, paper, unit)
    assert len(pages) > 1
    struck = []
    for page, shown, lines in zip(pages, texts, groups, strict=True):
        for axis, at in seams(lines):
            other = 1 - axis
            struck += [
                (page.number, text)
                for text, (low, high) in boxes_of(shown)
                if low[axis] + TOUCHING_MM < at < high[axis] - TOUCHING_MM
                and high[other] > page.low[other]
                and low[other] < page.high[other]
            ]
    assert struck == []


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("case", ["strip", "strip, all families"])
def test_a_rank_its_leader_and_its_node_line_are_on_one_page(case, paper):
    """On the one whose part of the strip is seen when the pages are glued."""
    template, pages, _, _ = drawn(case, paper, MILLIMETRES)
    cuts = [page.low[0] - page.origin[0] for page in pages[1:]]
    leaders = [p for line in template.lines if line.name.endswith("leaders")
               for p in line.polylines]  # fmt: skip
    ranks = [label for label in template.labels if label.name.startswith("mode-")]
    assert len(leaders) == len(ranks) > 10
    for leader in leaders:
        (rank,) = [label for label in ranks if abs(label.at[0] - leader[-1, 0]) < 1e-9
                   and label.at[1] * leader[-1, 1] > 0.0]  # fmt: skip
        ends = [*leader[:, 0], *rank.box[:, 0]]
        assert len({int(np.searchsorted(cuts, x)) for x in ends}) == 1


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("case", CASES)
def test_rings_stand_clear_of_all_lines_and_texts(case, paper):
    _, _, texts, groups = drawn(case, paper, MILLIMETRES)
    for shown, lines in zip(texts, groups, strict=True):
        others = np.vstack([
            line[:-1, None] + np.linspace(0.0, 1.0, 400)[:, None] * (line[1:] - line[:-1])[:, None]
            for name, some in lines.items()
            if not name.startswith(("registration", "glue", "cut", "patch")) and name
            for line in some
        ]).reshape(-1, 2)  # fmt: skip
        assert len(rings(lines)) >= 2
        for ring in rings(lines):
            assert np.linalg.norm(others - ring, axis=1).min() > RING_MM + 0.2
            for text, (low, high) in boxes_of(shown):
                away = np.maximum(np.maximum(low - ring, ring - high), 0.0)
                assert np.linalg.norm(away) > RING_MM - TOUCHING_MM, text


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("case", CASES)
def test_both_pages_at_a_seam_have_the_same_two_rings(case, paper):
    _, pages, _, groups = drawn(case, paper, MILLIMETRES)
    on = [
        {tuple(np.round(ring - page.origin, 2)) for ring in rings(lines)}
        for page, lines in zip(pages, groups, strict=True)
    ]
    for page in pages:
        for axis, neighbour in ((0, page.right), (1, page.below)):
            if neighbour:
                shared = sorted(on[page.number - 1] & on[neighbour - 1])
                assert len(shared) == 2
                assert abs(shared[0][1 - axis] - shared[1][1 - axis]) > 30.0


@pytest.mark.parametrize("case", ["bolted plate", "panel"])
def test_numbers_of_an_upright_ruler_stand_at_their_ticks(case):
    template, pages, texts, groups = drawn(case, "a4", MILLIMETRES)
    numbers = {label.text for label in template.labels if label.name == "ruler-number-y"}
    found = 0
    for page, shown, lines in zip(pages, texts, groups, strict=True):
        ticks = [line for line in lines.get("ruler-y", []) if abs(np.ptp(line[:, 0]) - 3.6) < 1e-3]
        if not ticks:
            continue
        ends = np.array([[line[:, 0].min(), line[0, 1]] for line in ticks])
        for text, (low, high) in boxes_of(shown):
            is_beside = 0.0 < ends[0, 0] - high[0] < 1.5 and page.low[1] < low[1]
            if text in numbers and is_beside and high[1] < page.high[1]:
                found += 1
                assert np.abs(ends[:, 1] - (low[1] + high[1]) / 2.0).min() < 0.3
    assert found > 15


@pytest.mark.parametrize("case", CASES)
def test_no_text_overlaps_another_on_either_paper(case):
    for paper in PAPERS:
        for shown in drawn(case, paper, MILLIMETRES)[2]:
            assert overlapping(shown) == []


# -- where there is no good place -----------------------------------------------------------------


def crowded(length, apart=1.0):
    """A template so full of texts that every seam parts some."""
    texts = [Label("long text", (x, 5.0 * (n % 7)), name="text")
             for n, x in enumerate(np.arange(0.0, length, apart))]  # fmt: skip
    line = Line("outline", (np.array([[0.0, -9.0], [length, -9.0]]),))
    return Template("full", "full", (line,), tuple(texts), (), "nothing")


def test_a_text_that_every_seam_parts_is_whole_again_when_the_pages_are_glued():
    """What lies under the page above is drawn on that one too, on white over the seam's line."""
    template = crowded(400.0)
    pages = pages_of(template, "a4")
    assert len(pages) == 2
    cut = pages[1].low[0] - pages[1].origin[0]
    parted = [label for label in template.labels if label.box[0][0] < cut < label.box[1][0]]
    assert parted
    with look():
        for page, figure in zip(pages, page_figures(template, pages), strict=True):
            for label in parted:
                x, y = np.array(label.at) + page.origin
                (text,) = [t for t in figure.texts if np.allclose(
                    25.4 * np.array(t.get_position()), (x, y), atol=1e-6)]  # fmt: skip
                assert text.get_bbox_patch() is not None


def marks(length):
    """Things in a row that are all as bad to part."""
    low = np.arange(0.0, length, 7.0)
    return np.column_stack([low, low + 6.0, np.ones(len(low))])


@pytest.mark.parametrize("room", [24.0, 180.0])
@pytest.mark.parametrize("spare", [0.0, 0.5, 3.0, 8.0])
@pytest.mark.parametrize("count", [2, 3, 5])
def test_pages_cover_all_overlap_enough_and_have_room(count, spare, room):
    length = count * (room - 14.0) + 14.0 - spare
    found = spans(marks(length), (0.0, length), room, count)
    assert found == sorted(found)
    assert (found[0][0], found[-1][1]) == pytest.approx((0.0, length))
    assert all(0.0 < high - low <= room + 1e-9 for low, high in found)
    shared = [one[1] - other[0] for one, other in pairwise(found)]
    assert all(LEAST_OVERLAP_MM - 1e-9 <= wide <= OVERLAP_MM + 1e-9 for wide in shared)


@pytest.mark.parametrize("long", [3.0, 12.0, 150.0])
def test_a_strip_has_two_rings_however_short_and_full_it_is(long):
    for along in (0, 1):
        strip = np.array([[20.0, 1.0], [20.0 + long, 15.0]])
        strip = strip[:, ::-1] if along else strip
        boxes = np.array([[[x, 2.0], [x + 1.0, 8.0]] for x in range(200)])
        pieces = np.array([[[0.0, 9.0], [200.0, 9.0]]])
        if along:
            boxes, pieces = boxes[..., ::-1], pieces[..., ::-1]
        found = np.array(rings_on(pieces, boxes, strip, along))
        assert found.shape == (2, 2)
        beside = np.sort(found[:, 1 - along])
        assert 1.0 + RING_MM <= beside[0] <= beside[1] <= 15.0 - RING_MM


def test_a_seam_lies_at_the_even_share_where_nothing_is_in_its_way():
    (left, right) = spans(np.empty((0, 3)), (0.0, 300.0), 200.0, 2)
    assert right[0] == pytest.approx(143.0)
    assert left[1] - right[0] == pytest.approx(OVERLAP_MM)
    _, right = spans(np.array([[138.0, 147.0, 1.0]]), (0.0, 300.0), 200.0, 2)
    assert not 138.0 < right[0] < 147.0
    assert abs(right[0] - 143.0) < min(SHIFT_MM, 5.0)
