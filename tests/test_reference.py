"""The reference tables are what they say: counts, order, closed forms, published digits.

Nothing of saltline is tested here: only that the tables it is tested against can be trusted.
"""

import csv
import math
from collections import Counter, defaultdict
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent / "reference"

ROWS = {
    "beam_roots.csv": 10 * 60,
    "beam_nodes.csv": 6 * 190 + 3 * 210 + 230,
    "beam_antinodes.csv": 2200,
    "timoshenko.csv": 5 * 4 * 10,
    "beam_details.csv": 95 * 5,
    "plates.csv": 41 * 8,
    "plates_orthotropic.csv": 5 * 6,
    "plates_points.csv": 4 * 12,
    "discs.csv": 4 * 7 * 5 + 3 * 5,
    "disc_nodal_circles.csv": 2 * 15 + 5 * 10,
    "annuli.csv": 9 * 9 * 5 * 3,
    "torsion.csv": 2 * 14 + 5 * 10 + 6 * 6,
}
# The column that numbers the modes, the value that must not fall with it.
ORDERED = {
    "beam_roots.csv": ("mode", "beta_l"),
    "beam_nodes.csv": ("index", "x_over_l"),
    "beam_antinodes.csv": ("index", "x_over_l"),
    "timoshenko.csv": ("mode", "lambda"),
    "beam_details.csv": ("mode", "value"),
    "plates.csv": ("mode", "lambda"),
    "plates_orthotropic.csv": ("mode", "lambda"),
    "plates_points.csv": ("mode", "lambda"),
    "discs.csv": ("index", "lambda"),
    "disc_nodal_circles.csv": ("circle", "radius"),
    "annuli.csv": ("index", "lambda"),
}
# Columns that say how a value came about rather than which value it is.
REMARKS = {"uncertainty", "leissa", "circles", "quantity"}


def read(name: str) -> list[dict[str, str]]:
    """Return the rows of a table as text."""
    with (FOLDER / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def series(name: str) -> dict[tuple[str, ...], list[float]]:
    """Return the values of a table in order of mode, under the other columns."""
    number, value = ORDERED[name]
    found = defaultdict(list)
    for row in read(name):
        key = tuple(row[c] for c in row if c not in {number, value, *REMARKS})
        found[key].append((int(row[number]), float(row[value])))
    for key, pairs in found.items():
        first = pairs[0][0]
        assert [mode for mode, _ in pairs] == list(range(first, first + len(pairs))), (name, key)
    return {key: [v for _, v in pairs] for key, pairs in found.items()}


def prints_as(value: float, text: str) -> bool:
    """Tell whether a value agrees with a printed number to half a unit of its last digit."""
    decimals = len(text.partition(".")[2])
    return abs(value - float(text)) <= 0.5 * 10**-decimals * (1 + 1e-9)


def assert_prints(values: list[float], text: str) -> None:
    """Assert that the first values agree with a printed row."""
    for value, printed in zip(values, text.split(), strict=False):
        assert prints_as(value, printed), (value, printed)


@pytest.mark.parametrize("name", ROWS)
def test_table_is_whole_and_names_its_source(name: str) -> None:
    assert len(read(name)) == ROWS[name]
    header = [line for line in (FOLDER / name).read_text().splitlines() if line.startswith("#")]
    assert "recomputed" in " ".join(header)
    assert all(None not in row and None not in row.values() for row in read(name))


def test_no_table_is_left_out() -> None:
    assert {path.name for path in FOLDER.glob("*.csv")} == set(ROWS)


@pytest.mark.parametrize("name", ORDERED)
def test_values_rise_with_the_mode(name: str) -> None:
    for key, values in series(name).items():
        assert values == sorted(values), (name, key)
        assert values[0] >= 0


def test_beam_roots_have_their_closed_forms() -> None:
    roots = series("beam_roots.csv")
    for n in range(1, 61):
        assert roots["pinned-pinned",][n - 1] == pytest.approx(n * math.pi, rel=1e-15)
        assert roots["guided-guided",][n - 1] == pytest.approx(n * math.pi, rel=1e-15)
        assert roots["pinned-guided",][n - 1] == pytest.approx((n - 0.5) * math.pi, rel=1e-15)
    assert roots["free-free",] == roots["clamped-clamped",]
    assert roots["pinned-free",] == roots["clamped-pinned",]
    assert roots["guided-free",] == roots["clamped-guided",]


def test_beam_roots_solve_their_equations() -> None:
    roots = series("beam_roots.csv")
    for x in roots["clamped-free",]:
        assert math.cos(x) + 1 / math.cosh(x) == pytest.approx(0, abs=1e-13)
    for x in roots["free-free",]:
        assert math.cos(x) - 1 / math.cosh(x) == pytest.approx(0, abs=1e-13)
    for x in roots["clamped-pinned",]:
        assert math.tan(x) == pytest.approx(math.tanh(x), abs=1e-12)


def test_beam_roots_match_printed_digits() -> None:
    roots = series("beam_roots.csv")
    # Thomson, Theory of Vibration, appendix D (seen).
    assert_prints(roots["clamped-free",], "1.8751 4.6941 7.8548")
    assert_prints(roots["clamped-clamped",], "4.7300 7.8532 10.9956")
    # Young and Felgar 1949 (from memory).
    assert_prints(roots["clamped-free",], "1.8751041 4.6940911 7.8547574 10.9955407 14.1371684")


def test_nodes_are_as_many_as_sturm_says_and_mirrored_when_the_ends_are_alike() -> None:
    rigid = {"pinned-free": 1, "guided-guided": 1, "guided-free": 1, "free-free": 2}
    nodes = series("beam_nodes.csv")
    for ends in {row["ends"] for row in read("beam_roots.csv")}:
        start, end = ends.split("-")
        for mode in range(1, 21):
            found = nodes.get((ends, str(mode)), [])
            assert len(found) == mode - 1 + rigid.get(ends, 0), (ends, mode)
            if start == end:
                assert found == pytest.approx([1 - x for x in reversed(found)], abs=1e-14)


def test_an_antinode_lies_between_neighbouring_nodes() -> None:
    nodes, antinodes = series("beam_nodes.csv"), series("beam_antinodes.csv")
    for key, peaks in antinodes.items():
        ends = key[0].split("-")
        borders = [-1.0 if ends[0] in ("free", "guided") else 0.0, *nodes.get(key, [])]
        borders.append(2.0 if ends[1] in ("free", "guided") else 1.0)
        assert len(peaks) == len(borders) - 1
        for low, peak, high in zip(borders, peaks, borders[1:], strict=False):
            assert low < peak < high


def test_free_free_nodes_match_the_supports_of_the_standards() -> None:
    # ASTM E1876, ISO 6721-3 (from memory): 0.224 of the length from each end.
    assert_prints(series("beam_nodes.csv")["free-free", "1"], "0.224 0.776")


def test_timoshenko_frequencies_lie_below_the_slender_ones_and_tend_to_them() -> None:
    roots = series("beam_roots.csv")
    for (ends, slenderness), values in series("timoshenko.csv").items():
        slender = [x**2 for x in roots[ends,][:10]]
        assert all(value < limit for value, limit in zip(values, slender, strict=True))
        assert values[0] == pytest.approx(slender[0], rel=6 / float(slenderness) ** 2 * 2)


def test_timoshenko_match_lee_and_schultz() -> None:
    # J. Sound Vib. 269 (2004) 609-621 (from memory): square roots of lambda at h/L = 0.1 and 0.2.
    printed = {
        ("pinned-pinned", "10"): "3.11568 6.09066 8.84052",
        ("pinned-pinned", "5"): "3.04533 5.67155 7.83952",
        ("free-free", "10"): "4.64849 7.49719 10.1255",
        ("free-free", "5"): "4.44958 6.80257 8.77287",
        ("clamped-clamped", "10"): "4.57955 7.33122 9.85611",
        ("clamped-clamped", "5"): "4.24201 6.41794 8.28532",
    }
    table = series("timoshenko.csv")
    for key, text in printed.items():
        assert_prints([math.sqrt(value) for value in table[key]], text)


def test_root_spring_is_the_tip_mass_turned_over() -> None:
    details = series("beam_details.csv")
    for t, mu in (("1", "1"), ("5", "0.2"), ("10", "0.1"), ("100", "0.01")):
        spring = details["root-spring", "pinned-free", f"t={t}"]
        mass = details["tip-mass", "clamped-free", f"mu={mu}"]
        assert spring == pytest.approx(mass, rel=1e-14)


def test_beam_details_have_their_closed_forms() -> None:
    details, roots = series("beam_details.csv"), series("beam_roots.csv")
    tension = details["tension", "pinned-pinned", "tau=10"]
    for n, value in enumerate(tension, start=1):
        assert value == pytest.approx((n * math.pi) ** 2 * math.sqrt(1 + 10 / (n * math.pi) ** 2))
    middle = details["support", "pinned-pinned", "at=1/2"]
    assert middle[0::2] == pytest.approx([2 * math.pi * n for n in (1, 2, 3)], rel=1e-14)
    assert middle[1::2] == pytest.approx([2 * x for x in roots["clamped-pinned",][:2]], rel=1e-14)
    # A support at the node of mode 2 changes nothing for that mode.
    node = read("beam_nodes.csv")
    at = next(r["x_over_l"] for r in node if (r["ends"], r["mode"]) == ("clamped-free", "2"))
    best = next(values for key, values in details.items() if key[2].startswith(f"at={at[:12]}"))
    assert best[0] == pytest.approx(roots["clamped-free",][1], rel=1e-12)


def test_beam_details_match_printed_digits() -> None:
    details = series("beam_details.csv")
    # Math. Probl. Eng. 2017, article 1568019, table 1, the column without rotary inertia (seen).
    tip = details["tip-mass", "clamped-free", "mu=1"]
    assert_prints([x**2 for x in tip], "1.557298 16.25009 50.89584 105.1983 179.2320")
    # Kirchhoff 1879 (from memory).
    assert_prints(details["wedge", "clamped-free", "tip=0"], "5.315 15.207 30.020")
    assert_prints(details["cone", "clamped-free", "tip=0"], "8.719 21.146 38.454")


def test_pinned_square_plate_has_its_closed_form() -> None:
    waves = sorted(m * m + n * n for m in range(1, 9) for n in range(1, 9))[:8]
    expected = [math.pi**2 * sum_of_squares for sum_of_squares in waves]
    assert series("plates.csv")["SSSS", "1"] == pytest.approx(expected, rel=1e-13)


@pytest.mark.parametrize("edges", ["FFFF", "CCCC"])
@pytest.mark.parametrize(("wide", "narrow"), [("1.5", "0.666666666667"), ("2.5", "0.4")])
def test_a_plate_turned_by_a_quarter_is_the_same_plate(edges: str, wide: str, narrow: str) -> None:
    plates = series("plates.csv")
    scaled = [lam * float(wide) ** 2 for lam in plates[edges, narrow]]
    assert plates[edges, wide] == pytest.approx(scaled, rel=2e-8)


def test_all_21_squares_are_there() -> None:
    squares = {row["edges"] for row in read("plates.csv") if row["aspect"] == "1"}
    assert len(squares) == 21
    # One of each kind: no two are the same plate turned or mirrored.
    kinds = Counter()
    for edges in squares:
        turns = [edges[i:] + edges[:i] for i in range(4)]
        kinds[min(turns + [turn[::-1] for turn in turns])] += 1
    assert set(kinds.values()) == {1}


def test_leissa_printed_exact_values_for_levy_plates_and_upper_bounds_for_the_others() -> None:
    # J. Sound Vib. 31 (1973) 257-293 (from memory).
    for row in read("plates.csv"):
        lam, printed = float(row["lambda"]), row["leissa"]
        if not printed or (row["edges"], row["aspect"], row["mode"]) == ("CFFF", "0.4", "6"):
            continue
        if row["edges"][0] == row["edges"][2] == "S":
            assert prints_as(lam, printed), row
        else:
            assert 0 <= float(printed) / lam - 1 < 0.01, row


def test_discs_match_printed_digits() -> None:
    discs = series("discs.csv")
    # Leissa and Narita, J. Sound Vib. 70 (1980) 221 (from memory).
    assert_prints(discs["pinned", "solid", "0"], "4.93515")
    # Leissa, NASA SP-160 (1969), clamped (from memory).
    assert_prints(discs["clamped", "solid", "0"], "10.2158 39.771 89.104")
    # Southwell 1922, held at the centre (from memory).
    assert_prints(discs["free", "held", "0"], "3.752 20.91")


def test_guided_disc_without_diameters_has_the_zeros_of_j1() -> None:
    # J0' = -J1; its zeros from Abramowitz and Stegun, table 9.5 (from memory).
    found = [math.sqrt(lam) for lam in series("discs.csv")["guided", "solid", "0"]]
    assert_prints(found, "3.83171 7.01559 10.17347 13.32369 16.47063")


def test_index_and_circles_of_solid_discs_differ_only_where_a_rigid_motion_went_before() -> None:
    rigid = {("free", "0"), ("free", "1"), ("guided", "0")}
    for row in read("discs.csv"):
        if row["centre"] == "solid":
            extra = (row["rim"], row["diameters"]) in rigid
            assert int(row["circles"]) == int(row["index"]) + extra, row


def test_holding_the_slope_too_raises_every_frequency_of_a_ring() -> None:
    rings = series("annuli.csv")
    for (rim, hole, *rest), values in rings.items():
        stiffer = []
        if rim == "pinned":
            stiffer.append(rings["clamped", hole, *rest])
        if hole == "pinned":
            stiffer.append(rings[rim, "clamped", *rest])
        for others in stiffer:
            assert all(a < b for a, b in zip(values, others, strict=True)), (rim, hole, *rest)


def test_narrow_rings_tend_to_beams_across() -> None:
    rings, roots = series("annuli.csv"), series("beam_roots.csv")
    for edges in ("clamped-clamped", "clamped-pinned", "pinned-pinned", "clamped-free"):
        rim, hole = edges.split("-")
        lam = rings[rim, hole, "0.9", "0"][0]
        assert math.sqrt(lam) * 0.1 == pytest.approx(roots[edges,][0], rel=0.02)


def test_torsion_constants_match_printed_digits() -> None:
    rows = read("torsion.csv")
    table = {row["parameters"]: float(row["value"]) for row in rows if row["case"] == "k"}
    # Lecture notes (seen); also Timoshenko and Goodier, Theory of Elasticity (from memory).
    ratios = ("1", "1.5", "2", "3", "4", "6", "8", "10")
    printed = "0.141 0.196 0.229 0.263 0.281 0.298 0.307 0.31"
    assert_prints([table[f"ratio={ratio}"] for ratio in ratios], printed)
    assert table["ratio=100"] == pytest.approx((1 - 0.63025 / 100) / 3, rel=1e-6)


def test_end_mass_roots_solve_their_equation() -> None:
    for row in read("torsion.csv"):
        if row["case"] == "end-mass":
            r, z = float(row["parameters"].removeprefix("r=")), float(row["value"])
            assert math.cos(z) == pytest.approx(r * z * math.sin(z), abs=1e-11)
