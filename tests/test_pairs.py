"""Partners: which modes lie so close that a small imperfection mixes their figures, into what."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import scipy.linalg
from click.testing import CliRunner
from skfem import Basis, BilinearForm, ElementTriArgyris, MeshTri
from skfem.helpers import dd, ddot, trace

from outside import record
from saltline.arrays import Values
from saltline.cli import main
from saltline.files.specimen_file import read_specimen
from saltline.mixture import as_driven
from saltline.modes import Modes
from saltline.pairs import Pair, figures, pairs, partners
from saltline.show.mixing import pair_notes, pairs_data, unlisted_notes
from saltline.solver import find_modes
from saltline.turning import MASS_SHARE, TURNED

SHEET = """
kind: plate
material: {{youngs_modulus: 69 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}}
geometry: {{length: 240 mm, width: {width}, thickness: 2 mm}}
boundary: {{left: {edge}, right: {edge}, bottom: {edge}, top: {edge}}}
{extra}
"""
PER_AREA = 2700.0 * 0.002
FILES = Path(__file__).parent.parent / "docs" / "files.md"


def modes_of(
    width: float = 240.0,
    extra: str = "",
    count: int = 8,
    *,
    edge: str = "free",
    tolerance: float = 0.0,
) -> Modes:
    side = f"{width} mm ± {tolerance} mm" if tolerance else f"{width} mm"
    text = SHEET.format(width=side, extra=extra, edge=edge)
    return as_driven(find_modes(read_specimen(text), count=count))


def pair_of(modes: Modes, first: int) -> Pair:
    return next(pair for pair in pairs(modes) if pair.first.rank == first)


def words(pair: Pair) -> dict[int, tuple[int | None, int | None, str]]:
    """Angle in whole degrees -> what is counted, or the word for it."""
    return {
        round(shown.angle_deg): (shown.pattern.lines_x, shown.pattern.lines_y, shown.pattern.word)
        for shown in figures(pair)
    }


# -- which are partners ---------------------------------------------------------------------------


def test_a_square_free_plate_has_its_two_degenerate_pairs() -> None:
    """Modes 4, 5 and 6, 7 of the free square plate (Leissa 1973, from memory)."""
    modes = modes_of()
    assert partners(modes) == {4: [5], 5: [4], 6: [7], 7: [6]}
    found = pairs(modes)
    assert [(p.first.rank, p.second.rank) for p in found] == [(4, 5), (6, 7)]
    assert all(p.is_exact for p in found)
    assert all(p.angle_deg == pytest.approx(45.0, abs=0.1) for p in found)
    assert all(p.is_fragile for p in found)
    assert all(p.turns[0].enough == 0.0 for p in found)


def test_an_oblong_plate_has_lost_those_partners() -> None:
    modes = modes_of(width=200.0, count=7)
    assert partners(modes) == {}
    assert pairs(modes) == []


def test_a_beam_and_a_disc_have_no_figures_that_mix() -> None:
    disc = "kind: disc\nmaterial: steel\ngeometry: {diameter: 0.3 m, thickness: 3 mm}\n"
    found = find_modes(read_specimen(disc + "boundary: {rim: free}"), count=30)
    assert partners(found)
    assert pairs(found) == []


# -- how far they turn, by finite elements --------------------------------------------------------


class Sheet:
    """A sheet 240 mm long by Argyris elements: its modes between places that stretch with it."""

    def __init__(self, width: float, edge: str, load: tuple[float, float, float] | None = None):
        cells = [np.linspace(0.0, side, 7) for side in (0.24, width)]
        mesh = MeshTri.init_tensor(*cells)
        basis = Basis(mesh, ElementTriArgyris(), intorder=8)
        D = 69e9 * 0.002**3 / 12.0 / 0.91
        K = BilinearForm(
            lambda u, v, _: 0.7 * ddot(dd(u), dd(v)) + 0.3 * trace(dd(u)) * trace(dd(v))
        ).assemble(basis)
        M = PER_AREA * BilinearForm(lambda u, v, _: u * v).assemble(basis)
        if load is not None:
            mass, *at = load
            row = basis.probes(np.array(at)[:, None])
            M = M + mass * row.T @ row
        kept = np.arange(K.shape[0])
        if edge == "clamped":
            kept = np.setdiff1d(kept, clamped_dofs(basis))
        K, M = (matrix.toarray()[np.ix_(kept, kept)] for matrix in (D * K, M))
        rigid = 3 if edge == "free" else 0
        _, q = scipy.linalg.eigh(K, M, subset_by_index=(rigid, rigid + 6))
        t = (np.arange(20) + 0.5) / 20.0
        X, Y = (side * grid for side, grid in zip((0.24, width), np.meshgrid(t, t), strict=True))
        rows = basis.probes(np.vstack([X.ravel(), Y.ravel()])).toarray()[:, kept]
        self.shapes = (rows @ q).T

    def turned_deg(self, plain: Sheet, first: int) -> float:
        """How far the figure that was `first` is turned toward the next one, without its sign."""
        u, v = plain.shapes[first - 1 : first + 1]
        shares = [
            abs(float(w @ v) / float(w @ u) * float(np.linalg.norm(u) / np.linalg.norm(v)))
            for w in self.shapes[first - 1 : first + 1]
        ]
        return math.degrees(math.atan(min(shares)))


def clamped_dofs(basis: Basis) -> Values:
    """Degrees of freedom that a clamped rectangle holds: values, slopes, and those along edges."""
    ends = basis.mesh.p.max(axis=1)
    found = []
    for axis in (0, 1):
        for end in (0.0, ends[axis]):
            facets = basis.mesh.facets_satisfying(
                lambda x, axis=axis, end=end: np.abs(x[axis] - end) < 1e-9
            )
            along = "u_yy" if axis == 0 else "u_xx"
            names = ["u", "u_x", "u_y", "u_n", "u_xy", along]
            found.append(basis.get_dofs(facets).all(names))
    return np.unique(np.concatenate(found))


@pytest.mark.parametrize("width", [239.0, 236.0])
def test_the_least_mass_that_turns_a_pair_does_so_on_a_plate_of_finite_elements(
    width: float,
) -> None:
    modes = modes_of(width=width, count=7)
    mass = pair_of(modes, 4).turns[0]
    plain = Sheet(width / 1000.0, "free")
    loaded = Sheet(width / 1000.0, "free", (mass.enough, *mass.at))
    # First-order theory leaves the other modes out.
    record(
        "the mass that turns a free plate's pair by 10 degrees (angle)",
        "Argyris finite elements (scikit-fem)",
        abs(loaded.turned_deg(plain, 4) / math.degrees(TURNED) - 1.0),
        0.03,
    )


def test_a_side_that_is_off_turns_the_x_and_the_ring_of_a_clamped_square() -> None:
    """Modes 5 and 6, (3, 1) less and plus (1, 3), 0.5 % apart (Leissa 1973, from memory)."""
    pair = pair_of(modes_of(edge="clamped", tolerance=0.4, count=7), 5)
    assert pair.apart == pytest.approx(132.205 / 131.581 - 1.0, rel=2e-2)
    by_width = pair.turns[2]
    assert (by_width.deviation, by_width.amount) == ("width", pytest.approx(0.4e-3))
    plain = Sheet(0.24, "clamped")
    for angle, width in ((by_width.low_deg, 0.2396), (by_width.high_deg, 0.2404)):
        record(
            "what a side that is off does to a clamped square's pair (angle)",
            "Argyris finite elements (scikit-fem)",
            abs(abs(angle) / Sheet(width, "clamped").turned_deg(plain, 5) - 1.0),
            0.03,
        )
    assert by_width.low_deg < 0.0 < by_width.high_deg


def test_a_side_mixes_no_figures_of_different_symmetry() -> None:
    for pair in pairs(modes_of(width=238.0, count=7)):
        assert all(turn.low_deg == turn.high_deg == 0.0 for turn in pair.turns[1:])
        assert pair.turns[0].high_deg > 10.0


def test_a_smaller_gap_needs_a_smaller_mass() -> None:
    masses = [
        pair_of(modes_of(width=width, count=7), 4).turns[0].enough
        for width in (240.0, 239.0, 238.0, 236.0)
    ]
    assert masses[0] == 0.0
    assert np.all(np.diff(masses) > 0.0)
    # In proportion to the gap, which is in proportion to the difference of the sides.
    assert masses[2] / masses[1] == pytest.approx(2.0, rel=0.05)


def test_the_mass_that_is_tried_is_a_hundredth_of_the_plates() -> None:
    assert pair_of(modes_of(), 4).turns[0].amount == pytest.approx(
        MASS_SHARE * PER_AREA * 0.24**2, rel=1e-12
    )


# -- into which figures ---------------------------------------------------------------------------


def test_halfway_between_the_figures_of_a_square_a_diagonal_is_a_node_line() -> None:
    """The half sum of two figures that are mirror images in a diagonal is odd about the other."""
    found = {first: words(pair_of(modes_of(), first)) for first in (4, 6)}
    assert found[4] == {
        -45: (None, None, "diagonal + 2 arcs"),
        0: (2, 1, ""),
        45: (None, None, "diagonal + 2 arcs"),
        90: (1, 2, ""),
    }
    assert found[6] == {
        -45: (None, None, "diagonal + ring"),
        0: (0, 3, ""),
        45: (None, None, "diagonal + ring"),
        90: (3, 0, ""),
    }


def test_the_ends_of_a_range_that_is_narrow_are_both_shown() -> None:
    pair = pair_of(modes_of(width=236.0, count=7), 4)
    narrow = Pair(pair.first, pair.second, pair.apart, pair.turns[1:], pair.shapes)
    assert list(words(narrow)) == [0, 90]
    assert len(words(pair)) >= 4


# -- with a drive ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("at", "angle"),
    [
        ("[30 mm, 30 mm]", 45.0),
        ("[210 mm, 30 mm]", 45.0),
        ("[10 mm, 120 mm]", 0.0),
        ("[120 mm, 10 mm]", 90.0),
    ],
)
def test_the_mixture_that_a_drive_excites_is_told_by_its_angle(at: str, angle: float) -> None:
    modes = modes_of(extra=f"drive: {{through: point, at: {at}}}")
    pair = pair_of(modes, 4)
    assert pair.driven_deg is not None
    assert -90.0 < pair.driven_deg <= 90.0
    # The two listed figures may be either way round: by symmetry only these angles occur.
    turned = abs(pair.driven_deg)
    assert min(turned, 90.0 - turned) == pytest.approx(min(angle, 90.0 - angle), abs=1e-6)


def test_a_drive_takes_no_pair_out_of_the_list() -> None:
    driven = pairs(modes_of(extra="drive: {through: point, at: [30 mm, 50 mm]}"))
    plain = pairs(modes_of())
    for one, other in zip(driven, plain, strict=True):
        assert one.turns == other.turns
        assert other.driven_deg is None


# -- in words and as data -------------------------------------------------------------------------

SKEWED = "so a skewed figure there is still one of the two"


def test_an_exact_pair_in_words() -> None:
    assert pair_notes(pairs(modes_of()))[0] == (
        "modes 4 and 5 share a frequency: any mixture of their figures is a mode, halfway "
        f'"diagonal + 2 arcs", {SKEWED}'
    )


def test_a_driven_pair_in_words() -> None:
    modes = modes_of(extra="drive: {through: point, at: [30 mm, 50 mm]}")
    assert pair_notes(pairs(modes))[0] == (
        "modes 4 and 5 share a frequency: listed are the mixture of their figures that the drive "
        f"excites and the one that it does not; a light mass off centre turns both, {SKEWED}"
    )


def test_a_near_pair_in_words() -> None:
    modes = modes_of(width=238.0, count=5)
    grams = 1e3 * pair_of(modes, 4).turns[0].enough
    assert pair_notes(pairs(modes)) == [
        f"modes 4 and 5 are 0.61 % apart: {grams:.2g} g off centre begins to mix their figures, in "
        f'the end into "diagonal + 2 arcs", {SKEWED}'
    ]


def test_a_side_that_turns_figures_is_named() -> None:
    pair = pair_of(modes_of(edge="clamped", tolerance=0.4, count=7), 5)
    (note,) = pair_notes([pair])
    assert " g off centre or a length off by 0.48 mm or a width off by 0.40 mm begins" in note


def test_of_many_pairs_most_are_only_named() -> None:
    notes = pair_notes(pairs(modes_of(count=40)))
    assert len(notes) == 3
    assert notes[2].startswith("likewise the pairs 11 and 12; 15 and 16; ")
    assert notes[2].endswith(" more; --format json has the details")


def test_the_json_form_has_the_range_and_names_its_figures() -> None:
    data = pairs_data(pairs(modes_of(width=238.0, count=5)))
    (pair,) = data
    assert pair["ranks"] == [4, 5]
    assert pair["fragile"] is True
    mass, length, width = pair["deviations"]
    assert mass["deviation"] == "mass"
    assert 0.0 < mass["fragile_from_kg"] < mass["mass_kg"]
    assert [length["change_m"], width["change_m"]] == pytest.approx([0.48e-3, 0.476e-3])
    listed = {round(shown["angle_deg"]): shown for shown in pair["figures"]}
    assert (listed[0]["lines_x"], listed[0]["lines_y"]) == (2, 1)
    assert (listed[90]["lines_x"], listed[90]["lines_y"]) == (1, 2)
    assert {shown["pattern"] for shown in pair["figures"]} > {"diagonal + 2 arcs"}


def test_the_pages_name_every_key() -> None:
    def keys(part: object) -> set[str]:
        if isinstance(part, dict):
            return set(part).union(*(keys(value) for value in part.values()))
        return set().union(*(keys(value) for value in part)) if isinstance(part, list) else set()

    page = FILES.read_text(encoding="utf-8")
    for key in keys(pairs_data(pairs(modes_of()))) | {"pairs"}:
        assert f"`{key}`" in page


def test_predict_writes_the_pairs_of_a_plate_and_only_as_json(tmp_path: Path) -> None:
    file = tmp_path / "sheet.yaml"
    file.write_text(SHEET.format(width="240 mm", extra="", edge="free"), encoding="utf-8")
    as_json, as_table = (
        CliRunner().invoke(main, ["predict", str(file), *form]) for form in (["--format=json"], [])
    )
    assert '"pairs": [' in as_json.stdout
    assert "pairs" not in as_table.stdout
    assert "modes 4 and 5 share a frequency" in as_table.stderr


def test_a_list_that_ends_within_a_pair_says_so() -> None:
    known = modes_of(count=5)
    listed = replace(known, modes=known.modes[:4])
    (note,) = unlisted_notes(known, listed)
    assert note.startswith("mode 5, not listed, has the same frequency as mode 4: ")
    assert unlisted_notes(known, known) == []
