"""Node lines of plates: on the exact zero, in the right places, and counted as they are seen."""

from __future__ import annotations

import math
from functools import cache
from itertools import product

import numpy as np
import pytest
from scipy import ndimage

from saltline.arrays import Values
from saltline.modes import Modes
from saltline.nodes import PlatePattern, pattern_of
from saltline.plates.plate_shape import PlateShape
from saltline.quantities_of import with_values
from saltline.solver import find_modes
from saltline.tracing.line_order import NodeLine
from specimens import plate, support

ROUNDING = 1e-9
"""Of the largest deflection, or of the plate's length."""


@cache
def modes_of(edges: str, width: float = 1.0) -> Modes:
    return find_modes(plate(edges, width=width), count=9)


def shapes(edges: str, width: float = 1.0) -> list[PlateShape]:
    found = [mode.shape for mode in modes_of(edges, width).modes]
    assert all(isinstance(shape, PlateShape) for shape in found)
    return [shape for shape in found if isinstance(shape, PlateShape)]


@cache
def patterns(edges: str, width: float = 1.0) -> tuple[PlatePattern, ...]:
    found = [pattern_of(shape) for shape in shapes(edges, width)]
    return tuple(pattern for pattern in found if isinstance(pattern, PlatePattern))


def size(shape: PlateShape) -> tuple[float, float]:
    return float(shape.x.breaks[-1]), float(shape.y.breaks[-1])


def sampled(shape: PlateShape, columns: int, rows: int) -> Values:
    """The deflection at the middles of so many cells."""
    a, b = size(shape)
    return shape.at((np.arange(columns) + 0.5) / columns * a, (np.arange(rows) + 0.5) / rows * b)


CASES = [
    ("FFFF", 1.0), ("FFFF", 0.6), ("SSSS", 0.7), ("SCSC", 1.0), ("CSCS", 0.7), ("SFSF", 0.7),
    ("SSSF", 1.0), ("SSFF", 1.0), ("SFFF", 0.8),
]  # fmt: skip

# -- what is seen ---------------------------------------------------------------------------------


def test_free_square_plate_shows_the_figures_known_since_chladni() -> None:
    # Cross, X, ring, then pairs: the sequence of Ritz 1909 and Waller 1939 (from memory).
    first = patterns("FFFF")[:8]
    counts = [(p.lines_x, p.lines_y) for p in first]
    assert [p.word for p in first] == ["", "X", "ring", "", "", "", "", ""]
    assert counts[:3] == [(1, 1), (None, None), (None, None)]
    assert set(counts[3:5]) == {(2, 1), (1, 2)}
    assert set(counts[5:7]) == {(3, 0), (0, 3)}
    # In the eighth the two lines each way bend and just miss each other; they are seen crossing.
    assert counts[7] == (2, 2)
    assert len(first[7].net.crossings) == 0
    assert first[7].counts == {"lines_x": 2, "lines_y": 2}


def test_cross_and_x_meet_in_the_middle_and_the_ring_lies_about_it() -> None:
    cross, diagonals, ring = patterns("FFFF")[:3]
    for pattern in (cross, diagonals):
        np.testing.assert_allclose(pattern.net.crossings, [[0.5, 0.5]], rtol=0, atol=ROUNDING)
    assert [line.course for line in cross.net.lines] == ["across x", "across y"]
    assert [line.course for line in diagonals.net.lines] == ["diagonal", "diagonal"]
    for line in diagonals.net.lines:
        x, y = line.points.T
        assert np.minimum(np.abs(x - y), np.abs(x + y - 1.0)).max() < ROUNDING
    (closed,) = ring.net.lines
    np.testing.assert_array_equal(closed.points[0], closed.points[-1])
    middle = (closed.points.max(axis=0) + closed.points.min(axis=0)) / 2.0
    np.testing.assert_allclose(middle, [0.5, 0.5], rtol=0, atol=1e-4)


@pytest.mark.parametrize(
    ("where", "words", "counts"),
    [
        (
            [(0.0, 0.0), (0.0, 1.0), (1.0, 0.0), (1.0, 1.0)],
            ["", "", "", "X"],
            [{(0, 0)}, {(0, 1), (1, 0)}, {(0, 1), (1, 0)}, {(None, None)}],
        ),
        ([(0.5, 0.5)], ["", "", "X"], [{(0, 0)}, {(1, 1)}, {(None, None)}]),
    ],
    ids=["on its corners", "on its middle"],
)
def test_a_free_plate_on_points_shows_no_line_but_those_between_parts_that_move(
    where: list[tuple[float, float]], words: list[str], counts: list[set[tuple[int, int]]]
) -> None:
    found = find_modes(plate("FFFF", supports=[support(p) for p in where]), count=len(words)).modes
    seen = [pattern_of(mode.shape) for mode in found]
    assert [p.word for p in seen if isinstance(p, PlatePattern)] == words
    assert all(tuple(p.counts.values()) in allowed for p, allowed in zip(seen, counts, strict=True))


@pytest.mark.parametrize("edges", ["CCCC", "CFFF", "CCFF"])
def test_the_first_mode_of_a_plate_held_at_its_edges_shows_no_line(edges: str) -> None:
    # Near a right-angled clamped corner the shape does change its sign (Coffman 1982), and no grain
    # of sand can tell: what lies beyond is at rest to some 2e-5 of the middle.
    first = pattern_of(find_modes(plate(edges), count=1).modes[0].shape)
    assert isinstance(first, PlatePattern)
    assert (first.lines_x, first.lines_y, first.word) == (0, 0, "")


# -- exactness ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("edges", "width"), [*CASES, ("CFFF", 1.0), ("CCCC", 0.8)])
def test_every_vertex_lies_on_the_zero_of_the_shape(edges: str, width: float) -> None:
    for shape, pattern in zip(shapes(edges, width), patterns(edges, width), strict=True):
        largest = np.abs(sampled(shape, 60, 60)).max()
        for line in pattern.net.lines:
            assert np.abs(shape.at_points(*line.points.T)).max() < ROUNDING * largest


@pytest.mark.parametrize(("edges", "width"), CASES)
def test_an_open_line_ends_on_the_edges_and_stays_inside(edges: str, width: float) -> None:
    for pattern in patterns(edges, width):
        for line in pattern.net.lines:
            from_edges = np.minimum(line.points, [1.0, width] - line.points).min(axis=1)
            assert np.all(from_edges >= 0.0)
            if line.course != "closed":
                assert max(from_edges[0], from_edges[-1]) < 1e-12


@pytest.mark.parametrize("width", [0.7, 0.37])
def test_lines_of_a_pinned_plate_are_straight_and_in_their_places(width: float) -> None:
    products = sorted(
        product(range(1, 12), repeat=2), key=lambda mn: mn[0] ** 2 + (mn[1] / width) ** 2
    )
    for (m, n), pattern in zip(products, patterns("SSSS", width), strict=False):
        assert (pattern.lines_x, pattern.lines_y, pattern.word) == (m - 1, n - 1, "")
        wanted = {
            "across x": np.arange(1, m) / m,
            "across y": np.arange(1, n) / n * width,
        }
        for axis, (course, places) in enumerate(wanted.items()):
            lines = [line.points for line in pattern.net.lines if line.course == course]
            at = sorted(line[:, axis].mean() for line in lines)
            np.testing.assert_allclose(at, places, rtol=0, atol=ROUNDING)
            assert all(np.ptp(line[:, axis]) < ROUNDING for line in lines)
            along = [np.sort(line[[0, -1], 1 - axis]) for line in lines]
            full = [0.0, (width, 1.0)[axis]]
            assert all(np.abs(ends - full).max() < ROUNDING for ends in along)
        crossings = sorted(product(wanted["across x"], wanted["across y"]))
        found = sorted(map(tuple, np.round(pattern.net.crossings, 12)))
        np.testing.assert_allclose(
            np.reshape(found, (-1, 2)), np.reshape(crossings, (-1, 2)), rtol=0, atol=ROUNDING
        )


def test_lines_reach_a_clamped_edge_where_the_curvature_there_changes_its_sign() -> None:
    # Bottom and top are clamped: the shape vanishes there as the square of the distance, and a line
    # across x meets the edge at a zero of the second derivative.
    met = 0
    for shape, pattern in zip(shapes("SCSC"), patterns("SCSC"), strict=True):
        bend = np.abs(shape.at(np.linspace(0.0, 1.0, 60), np.array([0.0, 1.0]), dy=2)).max()
        for line in pattern.net.lines:
            if line.course == "across x":
                ends = line.points[[0, -1]]
                assert sorted(ends[:, 1]) == [0.0, 1.0]
                assert np.abs(shape.at_points(*ends.T, dy=2)).max() < ROUNDING * bend
                met += 1
    assert met >= 5


# -- counts that hang together --------------------------------------------------------------------


def flooded(shape: PlateShape) -> int:
    """The parts of a grid of points in which the motion has one sign, by flooding them.

    What moves by less than 1e-4 of the most counts as neither: that parts the cells at a crossing.
    """
    level = sampled(shape, 400, 400)
    least = 1e-4 * np.abs(level).max()
    return int(ndimage.label(level > least)[1] + ndimage.label(level < -least)[1])


@pytest.mark.parametrize(("edges", "width"), [c for c in CASES if c[0] != "SSFF"])
def test_regions_are_the_parts_that_flooding_a_grid_finds(edges: str, width: float) -> None:
    for shape, pattern in list(zip(shapes(edges, width), patterns(edges, width), strict=True))[:8]:
        assert pattern.net.regions == flooded(shape)
        if pattern.word == "" and all("across" in line.course for line in pattern.net.lines):
            assert pattern.lines_x is not None
            assert pattern.lines_y is not None
            assert pattern.net.regions == (pattern.lines_x + 1) * (pattern.lines_y + 1)


def test_regions_of_a_plate_with_a_pinned_corner_are_what_flooding_finds() -> None:
    found = [pattern.net.regions for pattern in patterns("SSFF")]
    assert found == [flooded(shape) for shape in shapes("SSFF")]


def test_four_lines_through_the_middle_of_a_free_square_plate_cross_there() -> None:
    # Mode 9 is odd about both middle lines and both diagonals: w ~ x y (x^2 - y^2) in the middle,
    # which is no simple saddle. Lines through one point make two regions each.
    ninth = patterns("FFFF")[8]
    assert ninth.net.seen == ("across x", "across y", "diagonal", "diagonal")
    # In so flat a place the shape is below 1e-12 of its largest within a thousandth of the side.
    np.testing.assert_allclose(ninth.net.crossings, [[0.5, 0.5]], rtol=0, atol=1e-3)
    assert ninth.net.regions == flooded(shapes("FFFF")[8]) == 8


@pytest.mark.parametrize(
    ("edges", "turned"), [("CSCS", "SCSC"), ("SSSF", "SSFS"), ("SFFF", "FSFF")]
)
def test_a_plate_turned_by_a_quarter_shows_its_figures_turned(edges: str, turned: str) -> None:
    # Turned by exchanging x and y: left becomes bottom, right becomes top.
    for one, other in zip(patterns(edges), patterns(turned), strict=True):
        assert (one.lines_x, one.lines_y) == (other.lines_y, other.lines_x)
        assert (one.word == "") == (other.word == "")
        assert one.net.regions == other.net.regions


def test_figures_scale_with_the_plate() -> None:
    small = modes_of("FFFF", 0.6)
    specimen = with_values(
        plate("FFFF", width=0.6), {"geometry.length": 0.02, "geometry.width": 0.012}
    )
    for mode, other in zip(small.modes, find_modes(specimen, count=9).modes, strict=True):
        one, two = pattern_of(mode.shape), pattern_of(other.shape)
        assert isinstance(one, PlatePattern)
        assert isinstance(two, PlatePattern)
        assert one.counts == two.counts
        assert one.word == two.word
        for a, b in zip(one.net.lines, two.net.lines, strict=True):
            np.testing.assert_allclose(length(b), 0.02 * length(a), rtol=1e-6)


def length(line: NodeLine) -> float:
    return float(np.linalg.norm(np.diff(line.points, axis=0), axis=1).sum())


def test_points_along_a_line_are_evenly_spaced_from_its_start_to_its_end() -> None:
    ring = patterns("FFFF")[2].net.lines[0]
    points = ring.evenly(201)
    np.testing.assert_array_equal(points[[0, -1]], ring.points[[0, -1]])
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    # Chords of a curve: shorter than its arcs by the square of the angle that one turns.
    assert steps.max() / steps.min() < 1.01
    assert steps.sum() == pytest.approx(length(ring), rel=1e-3)


def test_a_finer_look_finds_the_same_lines_in_high_modes() -> None:
    # 60 modes of an oblong pinned plate: grids of every fineness, each counted rightly.
    width = 0.61
    found = find_modes(plate("SSSS", width=width), count=60).modes
    products = sorted(
        product(range(1, 40), repeat=2), key=lambda mn: mn[0] ** 2 + (mn[1] / width) ** 2
    )
    for (m, n), mode in list(zip(products, found, strict=False))[::7]:
        pattern = pattern_of(mode.shape)
        assert isinstance(pattern, PlatePattern)
        assert (pattern.lines_x, pattern.lines_y) == (m - 1, n - 1)
        assert pattern.net.regions == m * n
        assert math.isclose(
            sum(length(line) for line in pattern.net.lines), (m - 1) * width + (n - 1), rel_tol=1e-9
        )


def test_a_line_that_holds_the_plate_is_no_node_line() -> None:
    """Along it nothing moves in any mode, so it tells none from another."""
    held = {"from": ["0.4 m", "0.0 m"], "to": ["0.4 m", "0.6 m"], "deflection": "rigid"}
    part = {"from": ["0.0 m", "0.16 m"], "to": ["0.0 m", "0.44 m"], "deflection": "rigid"}
    for line, clamped in ((held, {}), (part, {"rotation": "rigid"})):
        specimen = plate("FFFF", width=0.6, supports=[line | clamped])
        at = float(line["from"][0].split()[0])
        for count in (3, 6):
            for mode in find_modes(specimen, count=count).modes[:3]:
                pattern = pattern_of(mode.shape)
                assert isinstance(pattern, PlatePattern)
                for found in pattern.net.lines:
                    x, y = found.points.T
                    on_it = (np.abs(x - at) < 1e-3) & (y > 0.17) & (y < 0.43)
                    assert np.count_nonzero(on_it) <= 3, "no more than a crossing"
