"""Pictures as they are seen: no text over another, none cut, grey alone, type of 8 pt and more."""

from __future__ import annotations

from functools import cache, partial
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

from saltline.files.measured import Measured, load_measured
from saltline.files.specimen_file import load, read_specimen
from saltline.kinds import KINDS
from saltline.naming.check import check
from saltline.nodes import pattern_of
from saltline.show import pictures_file
from saltline.show.face import face_of, surface_of
from saltline.show.outline import hatch, outline_of
from saltline.show.pictures import MINUS, look
from saltline.show.pictures_beam import CURVE_MM, beam_view, draw_beam_mode
from saltline.show.pictures_compare import comparison_sheet
from saltline.show.pictures_face import (
    RELIEF_WORDS,
    SALT_WORDS,
    draw_relief,
    draw_salt,
    shaded,
)
from saltline.show.pictures_map import map_sheet, marks_of
from saltline.show.pictures_modes import modes_sheet, specimen_line
from saltline.show.pictures_sheet import PAGE_MM, WIDTH_MM, on_one_sheet, on_pages, wrapped
from saltline.show.table import INCHES, MILLIMETRES
from saltline.solver import find_modes
from seen import colours, overlapping, seen
from test_template import SHAFT

EXAMPLES = Path(__file__).parent.parent / "examples"
SPECIMENS = {
    "reed": lambda: load(EXAMPLES / "clamped-reed.yaml"),
    "stepped shaft": lambda: read_specimen(SHAFT),
    "square plate": lambda: load(EXAMPLES / "square-plate.yaml"),
    "bolted plate": lambda: load(EXAMPLES / "bolted-plate.yaml"),
    "disc": lambda: load(EXAMPLES / "free-disc.yaml"),
    "held annulus": lambda: load(Path(__file__).parent / "good" / "cymbal.yaml"),
}


@cache
def modes_of(name: str, count: int):
    return find_modes(SPECIMENS[name](), count=count)


def listed(name: str):
    """The measured list of an example."""
    files = {
        "reed": "clamped-reed.measured.yaml",
        "bolted plate": "bolted-plate.measured.yaml",
        "disc": "free-disc.measured.csv",
    }
    return load_measured(EXAMPLES / files[name]).rows


def drawn(sheet) -> Figure:
    with look():
        return on_one_sheet(sheet)


PICTURES = {
    **{
        f"{name}, modes": partial(
            lambda name, unit: modes_sheet(
                modes_of(name, 4), unit=unit, draw=draw_salt, explained=SALT_WORDS
            ),
            name,
            INCHES if name == "stepped shaft" else MILLIMETRES,
        )
        for name in SPECIMENS
    },
    "held annulus, relief": lambda: modes_sheet(
        modes_of("held annulus", 4), unit=MILLIMETRES, draw=draw_relief, explained=RELIEF_WORDS
    ),
    "reed, map": lambda: map_sheet(
        find_modes(SPECIMENS["reed"](), count=20, families=KINDS["beam"].families), listed("reed")
    ),
    "reed, all families": lambda: modes_sheet(
        find_modes(SPECIMENS["reed"](), count=9, families=KINDS["beam"].families),
        unit=MILLIMETRES,
        draw=draw_salt,
        explained=(),
    ),
    "reed, comparison of all families": lambda: comparison_sheet(
        SPECIMENS["reed"](),
        check(SPECIMENS["reed"](), listed("reed"), families=KINDS["beam"].families),
        tolerance=0.03,
    ),
    "bolted plate, comparison": lambda: comparison_sheet(
        SPECIMENS["bolted plate"](),
        check(SPECIMENS["bolted plate"](), listed("bolted plate")),
        tolerance=0.03,
    ),
    "disc, map": lambda: map_sheet(modes_of("disc", 16), listed("disc")),
    "reed, comparison": lambda: comparison_sheet(
        SPECIMENS["reed"](),
        check(SPECIMENS["reed"](), [*listed("reed"), Measured(300.0), Measured(1500.0)]),
        tolerance=0.03,
    ),
}


@cache
def shown(name: str):
    """A picture and what is seen of it."""
    figure = drawn(PICTURES[name]())
    with look():
        return figure, seen(figure)


@pytest.fixture(scope="module", params=PICTURES)
def picture(request):
    return shown(request.param)


def test_no_text_overlaps_another_or_is_cut(picture):
    assert overlapping(picture[1]) == []


@pytest.mark.parametrize("name", ["bolted plate, comparison", "reed, map"])
def test_no_line_is_seen_through_a_text(name):
    """What crosses a text, but the sign of a region, lies below its white ground."""
    figure, _ = shown(name)
    crossed = 0
    for axes in figure.axes:
        for text in (text for text in axes.texts if text.get_text() not in ("+", MINUS)):
            box = text.get_window_extent().padded(-1.0)
            for line in axes.lines:
                if line.get_transform().transform_path(line.get_path()).intersects_bbox(box, False):
                    crossed += 1
                    ground = text.get_bbox_patch()
                    assert ground is not None, text.get_text()
                    assert ground.get_facecolor() == (1.0, 1.0, 1.0, 1.0), text.get_text()
                    assert text.zorder > line.get_zorder(), text.get_text()
    assert crossed


def test_type_is_large_enough_at_the_printed_size(picture):
    figure, found = picture
    assert min(found.sizes) >= 8.0
    assert figure.get_size_inches()[0] * 25.4 == pytest.approx(WIDTH_MM)


def test_everything_is_black_or_grey(picture):
    for red, green, blue in colours(picture[0]):
        assert red == green == blue


def test_units_are_named(picture):
    words = " ".join(picture[1].texts)
    assert "Hz" in words
    assert any(unit in words for unit in (", mm", ", in", "frequency, Hz"))


# -- beams ----------------------------------------------------------------------------------------


def beam_axes(mode, specimen):
    """A beam's mode drawn on an axes of its own."""
    pattern = pattern_of(mode.shape)
    with look():
        view = beam_view(pattern, specimen.geometry.length, 174.0, MILLIMETRES)
        figure = Figure(figsize=(174.0 / 25.4, view.height / 25.4))
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        draw_beam_mode(axes, mode, pattern, specimen, unit=MILLIMETRES)
    return axes, view, pattern


def test_a_beams_curve_crosses_zero_at_its_marked_and_dimensioned_nodes():
    specimen = SPECIMENS["reed"]()
    mode = modes_of("reed", 9).modes[3]
    axes, view, pattern = beam_axes(mode, specimen)
    (curve,) = [line for line in axes.lines if len(line.get_xdata()) > 100]
    x, y = curve.get_data()
    crossings = x[:-1][np.diff(np.sign(y - view.middle)) != 0]
    expected = [view.x(node) for node in pattern.nodes]
    assert crossings[1:] == pytest.approx(expected, abs=0.4)
    circles = [line for line in axes.lines if line.get_marker() == "o"]
    assert [line.get_xdata()[0] for line in circles] == pytest.approx(expected)
    assert np.abs(y - view.middle).max() == pytest.approx(CURVE_MM, rel=1e-3)
    texts = [text.get_text() for text in axes.texts]
    assert {"64.5", "115.9", "163.0", "37.4", "90.1", "140.4", "180.0"} <= set(texts)


def test_a_beams_signs_alternate_and_stand_on_their_side():
    mode = modes_of("reed", 9).modes[4]
    axes, view, _ = beam_axes(mode, SPECIMENS["reed"]())
    signs = [text for text in axes.texts if text.get_text() in "+\N{MINUS SIGN}"]
    signs.sort(key=lambda text: text.get_position()[0])
    assert [text.get_text() for text in signs] == ["+", "\N{MINUS SIGN}"] * 2 + ["+"]
    for text in signs:
        above = text.get_position()[1] > view.middle
        assert above == (text.get_text() == "+")


# -- plates and discs -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["square plate", "disc"])
def test_salt_lies_where_the_plate_is_at_rest(name):
    mode = modes_of(name, 4).modes[3]
    outline = outline_of(SPECIMENS[name]())
    face = face_of(mode.shape, pattern_of(mode.shape), outline)
    surface = surface_of(mode.shape, face)
    with look():
        axes = Figure(figsize=(2, 2)).add_axes((0.0, 0.0, 1.0, 1.0))
        draw_salt(axes, surface, unit=MILLIMETRES)
    (grains,) = [line for line in axes.lines if line.get_marker() == "o"]
    x, y = np.asarray(grains.get_data()) / 1000.0
    w = np.abs(mode.shape.at_points(x, y)) / face.phases.largest
    assert len(w) > 300
    assert np.median(w) < 0.06
    assert w.max() < 0.3
    assert np.all((x >= outline.low[0]) & (x <= outline.high[0]))


def test_a_relief_is_as_light_as_the_plate_is_high():
    mode = modes_of("square plate", 4).modes[0]
    face = face_of(mode.shape, pattern_of(mode.shape), outline_of(SPECIMENS["square plate"]()))
    surface = surface_of(mode.shape, face)
    bright = shaded(surface.w)
    assert bright.shape == surface.w.T.shape
    assert 0.0 <= bright.min() < bright.max() <= 1.0
    # A square that twists moves alike at opposite corners.
    corners = bright[[0, 0, -1, -1], [0, -1, 0, -1]]
    assert abs(corners[0] - corners[3]) < 1e-6
    assert abs(corners[1] - corners[2]) < 1e-6
    order = np.argsort(surface.w.T, axis=None)
    assert np.all(np.diff(bright.flat[order]) >= 0.0)


def test_hatching_lies_outside_of_a_held_edge():
    annulus = outline_of(SPECIMENS["held annulus"]())
    (hole,) = [edge for edge in annulus.edges if edge.name == "hole"]
    radius = np.linalg.norm(hole.points[0])
    for foot, tip in hatch(hole, apart=0.002, long=0.002):
        assert np.linalg.norm(tip) < np.linalg.norm(foot) <= radius * (1.0 + 1e-6)


# -- the map and the comparison -------------------------------------------------------------------


def test_the_map_has_every_family_and_every_measured_line():
    found = shown("reed, map")[1]
    words = {"flatwise", "edgewise", "torsion", "axial", "measured, Hz", "160.1", "1453"}
    assert words <= set(found.texts)
    modes = find_modes(SPECIMENS["reed"](), count=20, families=KINDS["beam"].families).modes
    assert {str(mode.order) for mode in modes} <= set(found.texts)


def test_a_map_says_where_what_was_asked_for_ends():
    reed, lines = SPECIMENS["reed"](), listed("reed")
    few, many = (map_sheet(find_modes(reed, count=n), lines).caption[0] for n in (3, 20))
    assert "no mode was asked for." in few
    assert "no mode was asked for" not in many


def test_a_curve_that_is_no_bending_says_what_it_is():
    texts = shown("reed, all families")[1].texts
    assert any("torsion 1 (twist angle): " in text for text in texts)
    assert any("edgewise 1 (seen from above): " in text for text in texts)
    (caption,) = PICTURES["reed, all families"]().caption
    assert "the centre line is at rest everywhere" in caption
    modes = modes_of("reed", 2)
    (caption,) = modes_sheet(modes, unit=MILLIMETRES, draw=draw_salt, explained=()).caption
    assert "rest" not in caption


def test_a_comparison_of_families_names_them():
    texts = set(shown("reed, comparison of all families")[1].texts)
    assert "flatwise 2" in texts
    assert {"flatwise", "1"} <= set(shown("reed, comparison")[1].texts)


def test_rows_of_a_map_are_named_by_what_is_counted():
    rows = {mark.row[1] for mark in marks_of(modes_of("disc", 16))}
    assert {"0 diameters", "1 diameter", "2 diameters"} <= rows
    rows = {mark.row[1] for mark in marks_of(modes_of("square plate", 4))}
    assert rows == {"1 across x", "2 across x", "other figures"}


def test_the_comparison_names_what_does_not_fit():
    found = shown("reed, comparison")[1]
    words = " ".join(found.texts)
    assert {"unexplained, Hz", "300", "1500", "flatwise"} <= set(found.texts)
    assert "square: the count differs" in words
    assert "cross: unexplained" in words


# -- sheets and files -----------------------------------------------------------------------------


def test_many_modes_take_several_pages_and_each_fits_on_paper():
    sheet = modes_sheet(modes_of("reed", 9), unit=MILLIMETRES, draw=draw_salt, explained=())
    with look():
        pages = on_pages(sheet)
    assert len(pages) > 1
    assert all(page.get_size_inches()[1] * 25.4 <= PAGE_MM for page in pages)
    assert sum(len(page.axes) for page in pages) == 9 + len(pages)  # and a scale on each


def test_lines_are_broken_to_the_sheets_width():
    parts = wrapped(["word " * 60])
    assert " ".join(parts).split() == ["word"] * 60
    assert len(parts) > 2


@cache
def drawn_twice():
    """Two figures of one picture with an image in it."""
    sheet = partial(modes_sheet, unit=MILLIMETRES, draw=draw_relief, explained=())
    return tuple(drawn(sheet(modes_of("disc", 1))) for _ in range(2))


@pytest.mark.parametrize("kind", ["png", "svg", "pdf"])
def test_the_same_picture_has_the_same_bytes_and_no_date(kind, monkeypatch):
    monkeypatch.delenv("SOURCE_DATE_EPOCH", raising=False)

    def content(figure):
        with look():
            if kind == "pdf":
                return pictures_file.as_pdf([figure], "disc")
            return {"png": pictures_file.as_png, "svg": pictures_file.as_svg}[kind](figure, "disc")

    one, other = map(content, drawn_twice())
    assert one == other
    # "Date" alone may stand by chance among the letters of a picture inside of it.
    assert b"dc:date" not in one
    assert b"CreationDate" not in one
    assert one.startswith({"png": b"\x89PNG", "svg": b"<?xml", "pdf": b"%PDF"}[kind])


def test_the_title_says_what_holds_a_specimen_beside_its_edges():
    line = specimen_line(load(EXAMPLES / "bolted-plate.yaml"))
    assert line == "bolted plate: plate of steel, all edges free, 1 support"
