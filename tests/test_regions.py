"""Regions of like phase: how many, their signs, and where each moves most."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from outside import record
from saltline.basis import c1_line
from saltline.files.specimen_file import read_specimen
from saltline.nodes import pattern_of
from saltline.plates.plate_shape import PlateShape
from saltline.solver import find_modes
from saltline.tracing.regions import phases_of
from specimens import beam, plate

DISC = """
kind: disc
material: steel
geometry: {diameter: 300 mm, thickness: 2 mm%s}
boundary: {rim: free%s}
"""


@pytest.mark.parametrize(("ends", "more"), [("clamped-free", 0), ("free-free", 2)])
def test_a_beams_regions_alternate_and_the_first_is_positive(ends, more):
    for n, mode in enumerate(find_modes(beam(ends), count=6).modes):
        signs = [region.sign for region in phases_of(mode.shape).regions]
        assert signs == [(-1) ** k for k in range(n + 1 + more)]


def test_a_support_between_parts_regions_too():
    held = beam("clamped-free", supports=[{"at": "0.5 m", "deflection": "rigid"}])
    mode = find_modes(held, count=1).modes[0]
    assert pattern_of(mode.shape).nodes == ()
    one, other = phases_of(mode.shape).regions
    assert one.sign == -other.sign


def test_the_sense_and_the_largest_make_every_shape_agree_with_its_signs():
    for mode in find_modes(plate("FFFF", width=0.71), count=8).modes:
        phases = phases_of(mode.shape)
        for region in phases.regions:
            x, y = np.array(region.peaks).T
            w = phases.sense / phases.largest * mode.shape.at_points(x, y)
            assert w == pytest.approx(region.sign * region.height, rel=0.02)
        assert phases.regions[0].sign == 1
        assert max(region.height for region in phases.regions) == pytest.approx(1.0)


def test_a_supported_plates_regions_are_the_cells_of_sin_sin():
    """w = sin(m pi x / a) sin(n pi y / b): m n cells, each with its peak in the middle."""
    worst = 0.0
    modes = find_modes(plate("SSSS", width=0.77), count=7)
    b = float(modes.modes[0].shape.y.breaks[-1])
    for mode in modes.modes:
        counts = pattern_of(mode.shape).counts
        m, n = counts["lines_x"] + 1, counts["lines_y"] + 1
        regions = phases_of(mode.shape).regions
        cells = {}
        for region in regions:
            (at,) = region.peaks
            i, j = int(at[0] * m), int(at[1] / b * n)
            cells[i, j] = region.sign
            worst = max(worst, abs(at[0] - (i + 0.5) / m), abs(at[1] - (j + 0.5) * b / n))
        assert cells == {(i, j): (-1) ** (i + j) for i in range(m) for j in range(n)}
    record("places of a supported plate's antinodes", "sin sin, textbook", worst, 1e-6)


def test_regions_are_as_many_as_the_node_lines_make():
    for mode in find_modes(plate("FFFF"), count=9).modes:
        assert len(phases_of(mode.shape).regions) == pattern_of(mode.shape).net.regions


@pytest.mark.parametrize("more", [("", ""), (", hole_diameter: 60 mm", ", hole: clamped")])
def test_a_discs_regions_are_the_sectors_of_its_rings(more):
    for mode in find_modes(read_specimen(DISC % more), count=8).modes:
        pattern = pattern_of(mode.shape)
        regions = phases_of(mode.shape).regions
        assert len(regions) == max(2 * pattern.diameters, 1) * (pattern.circles + 1)
        if pattern.diameters:
            assert set(Counter(region.sign for region in regions).values()) == {len(regions) // 2}


def test_equal_peaks_of_one_region_are_all_there():
    """The ring of a free square plate: outside of it the four corners move alike."""
    mode = find_modes(plate("FFFF"), count=3).modes[2]
    outer, inner = phases_of(mode.shape).regions
    corners = np.array([(0, 0), (0, 1), (1, 0), (1, 1)])
    assert np.array(sorted(outer.peaks)) == pytest.approx(corners)
    assert np.array(inner.peaks) == pytest.approx(np.array([(0.5, 0.5)]))


def test_an_edge_that_moves_straight_has_one_place_in_its_middle():
    """A cantilever plate's first mode: the free edge moves alike but for a part in a thousand."""
    mode = find_modes(plate("CFFF", width=0.15), count=1).modes[0]
    (region,) = phases_of(mode.shape).regions
    (at,) = region.peaks
    assert at == pytest.approx((1.0, 0.075), abs=0.15 / 40)


def test_a_ring_that_moves_alike_is_told_by_four_places_about_it():
    disc = read_specimen(DISC % ("", ""))
    (mode,) = [m for m in find_modes(disc, count=3).modes if pattern_of(m.shape).circles]
    inner, outer = phases_of(mode.shape).regions
    assert inner.peaks == ((0.0, 0.0),)
    assert np.linalg.norm(outer.peaks, axis=1) == pytest.approx(np.full(4, 0.15))


def test_a_mode_that_only_turns_has_no_regions():
    """Timoshenko's mode of pure shear: the deflection is nothing but rounding."""
    modes = find_modes(beam("pinned-pinned", slenderness=5.0), count=8).modes
    counts = [len(phases_of(mode.shape).regions) for mode in modes]
    assert counts.count(0) == 1
    (at,) = [n for n, count in enumerate(counts) if count == 0]
    assert pattern_of(modes[at].shape).antinodes == ()


def test_a_region_that_hardly_moves_does_not_choose_the_sign():
    """A cantilever on a support at half its length: the inner span moves little, the tip up."""
    held = beam("clamped-free", supports=[{"at": "0.5 m", "deflection": "rigid"}])
    inner, outer = phases_of(find_modes(held, count=1).modes[0].shape).regions
    assert inner.height < 0.1 < outer.height
    assert (inner.sign, outer.sign) == (-1, 1)


def test_a_strip_beside_a_steep_slope_is_a_region_too():
    """What tilts about a line close to its edge moves less on one side of it than next to it."""
    line = c1_line([0.0, 1.0], [3])
    along, across = np.zeros(line.size), np.zeros(line.size)
    for (field, end), dof in line.ends.items():
        along[dof] = 1.0 if field == "psi" else end - 0.005
        across[dof] = 0.0 if field == "psi" else 1.0
    narrow, wide = phases_of(PlateShape(line, line, np.outer(along, across), (0, 0, 0, 0))).regions
    assert narrow.at[0] == 0.0
    assert narrow.height == pytest.approx(0.005 / 0.995)
    assert (narrow.sign, wide.sign) == (-1, 1)
    assert wide.at[0] == 1.0
