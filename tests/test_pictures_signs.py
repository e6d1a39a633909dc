"""Every sign stands in a region of that sign, clear of the node lines, the rim and the holes."""

from collections import Counter
from functools import cache

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from saltline.files.specimen_file import read_specimen
from saltline.nodes import pattern_of
from saltline.show.face import face_of, surface_of
from saltline.show.outline import outline_of
from saltline.show.pictures import MM, look, put_sign
from saltline.show.pictures_face import HELD_MM
from saltline.show.pictures_modes import face_size
from saltline.show.pictures_signs import SIZES, SPOT_MM, signs_of
from saltline.solver import find_modes

PLATE = """
kind: plate
material: steel
geometry: {{length: {} mm, width: {} mm, thickness: 2 mm}}
boundary: {{left: {}, right: free, bottom: free, top: free}}
"""
BOLTED = (
    PLATE.format(360, 220, "free")
    + """
supports:
  - {at: [20 mm, 20 mm], deflection: rigid}
  - {at: [340 mm, 200 mm], deflection: rigid}
attached:
  - {mass: 8 g, at: [250 mm, 110 mm]}
"""
)
RING = """
kind: disc
material: steel
geometry: {{diameter: 200 mm, thickness: 2 mm, hole_diameter: {} mm}}
boundary: {{rim: free, hole: free}}
"""
DISC = """
kind: disc
material: brass
geometry: {diameter: 300 mm, thickness: 3 mm}
boundary: {rim: free}
"""
SHAPES = {
    "square": PLATE.format(300, 300, "free"),
    "strip": PLATE.format(900, 30, "free"),
    "clamped": PLATE.format(200, 30, "clamped"),
    "bolted": BOLTED,
    "ring": RING.format(60),
    "narrow ring": RING.format(150),
    "disc": DISC,
}


@cache
def faces(name: str):
    """Eight modes of a specimen, each with its surface, and the scale of a sheet's panel, mm/m."""
    text = SHAPES[name]
    specimen = read_specimen(text)
    outline = outline_of(specimen)
    _, width, _ = face_size(outline, ["mode 8: 2114.6 Hz"] * 8)
    room = 2.0 * (HELD_MM + 0.5) if "clamped" in text else 1.0
    per_metre = (width - room) / float((outline.high - outline.low)[0])
    found = []
    for mode in find_modes(specimen, count=8).modes:
        face = face_of(mode.shape, pattern_of(mode.shape), outline)
        found.append((mode, surface_of(mode.shape, face)))
    return found, per_metre


def distance(at, line) -> float:
    """How far a place is from the nearest point of a polyline."""
    start, way = line[:-1], np.diff(line, axis=0)
    squared = np.maximum(np.einsum("ij,ij->i", way, way), 1e-300)
    part = np.einsum("ij,ij->i", at - start, way) / squared
    return float(np.linalg.norm(start + np.clip(part, 0, 1)[:, None] * way - at, axis=1).min())


@pytest.mark.parametrize("name", SHAPES)
def test_signs_stand_where_the_specimen_has_them(name):
    found, per_metre = faces(name)
    for mode, surface in found:
        face = surface.face
        signs = signs_of(surface, per_metre)
        assert signs, mode.rank
        for sign in signs:
            turned = np.linspace(0.0, 2.0 * np.pi, 9)
            reach = 0.9 * sign.radius / per_metre
            x = sign.at[0] + np.array([0.0, *(reach * np.cos(turned))])
            y = sign.at[1] + np.array([0.0, *(reach * np.sin(turned))])
            w = mode.shape.at_points(x, y) * face.phases.sense * sign.sign
            assert np.all(w > 0.0), (mode.rank, sign)
            for line in (*face.lines, *face.outline.rims):
                assert distance(np.array(sign.at), line) * per_metre > 0.95 * sign.radius
            for spot in face.outline.spots:
                apart = np.linalg.norm(np.array(spot.at) - sign.at) * per_metre
                assert apart > SPOT_MM + 0.95 * sign.radius, (mode.rank, sign)


def test_both_signs_stand_where_a_mode_has_both():
    for name in ("square", "strip", "clamped"):
        found, per_metre = faces(name)
        for mode, surface in found:
            regions = surface.face.phases.regions
            expected = {region.sign for region in regions if region.height > 0.2}
            assert expected <= {sign.sign for sign in signs_of(surface, per_metre)}, mode.rank


@pytest.mark.parametrize("width_mm", [40.0, 43.3, 47.0, 60.0, 80.0])
def test_equal_sectors_of_a_disc_have_one_sign_each(width_mm):
    """Also where lines cross and regions of one sign meet."""
    found, _ = faces("disc")
    for mode, surface in found:
        pattern = pattern_of(mode.shape)
        if not pattern.diameters:
            continue
        sectors, places = 2 * pattern.diameters, Counter()
        for sign in signs_of(surface, width_mm / 0.3):
            ring = sum(float(np.hypot(*sign.at)) > radius for radius in pattern.radii_m)
            turned = np.arctan2(sign.at[1], sign.at[0]) * sectors / (2.0 * np.pi)
            places[ring, round(turned) % sectors] += 1
            # Half way between two lines the sector moves most; at the salt's heaps it rests.
            assert abs(turned - round(turned)) < 0.2, (mode.rank, sign)
        expected = {(ring, k): 1 for ring in range(pattern.circles + 1) for k in range(sectors)}
        assert places == expected, mode.rank


def test_a_region_of_several_tops_has_a_sign_at_each():
    """The corners and the middle of a square's eighth figure are one region, narrow between."""
    found, per_metre = faces("square")
    signs = signs_of(found[7][1], per_metre)
    assert sorted(sign.sign for sign in signs) == [-1] * 4 + [1] * 5


@pytest.mark.parametrize(("radius", "points", "pad"), SIZES)
def test_a_sign_is_drawn_no_larger_than_its_radius(radius, points, pad):
    with look():
        figure = Figure(figsize=(1, 1))
        canvas = FigureCanvasAgg(figure)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
        for sign in (1, -1):
            text = put_sign(axes, (0.5, 0.5), sign, points=points, pad=pad)
            canvas.draw()
            box = text.get_bbox_patch().get_window_extent(canvas.get_renderer())
            assert max(box.width, box.height) / figure.dpi / MM / 2.0 <= radius
