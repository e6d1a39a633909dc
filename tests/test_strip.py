"""Where a strip stops being a beam: against finite elements of the same strip, and exact beams."""

import math

import numpy as np
import pytest
from click.testing import CliRunner

from outside import record
from saltline.cli import main
from saltline.files.specimen_file import read_specimen
from saltline.show.beyond import reach_note
from saltline.solver import find_modes
from saltline.specimen import PredictionError
from saltline.strip import HOLDS_TO, Reach, compare, reach
from saltline.strip_form import why_no_plate, width_of
from saltline.strip_plate import plate_modes
from specimens import grouped, worst

STRIP = """
kind: beam
material: {{youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.33}}
geometry:
  length: {length} mm
  section: {{shape: rectangle, width: 20 mm, thickness: 1 mm}}
  tension: {tension}
boundary: {{start: {start}, end: {end}}}
supports: {supports}
attached: {attached}
"""

BOTH = ("flatwise", "torsion")


def strip(length=300.0, start="clamped", end="free", tension="0 N", supports="[]", attached="[]"):
    return read_specimen(STRIP.format(**locals()))


# -- finite elements ------------------------------------------------------------------------------


def finite_elements(specimen, count, columns):
    """The lowest plate frequencies by Morley's triangles (scikit-fem), and each mode's motion.

    What holds and loads the strip acts along lines across it: springs and rigid lines at the
    vertices of a column (and, for the slope, at the middles of its edges), masses on the mean.
    """
    from scipy.sparse.linalg import eigsh
    from skfem import Basis, BilinearForm, ElementTriMorley, FacetBasis, MeshTri
    from skfem.helpers import dd, ddot, dot, eye, grad, trace

    (a,), b, material = specimen.geometry.size, width_of(specimen), specimen.material
    h = specimen.geometry.segments[0].section_start.dimensions["thickness"].value
    nu = material.poisson_ratio.value
    D = material.youngs_modulus.value * h**3 / 12.0 / (1.0 - nu**2)
    pull = specimen.geometry.tension.value / b
    rows = max(4, round(columns * b / a))
    mesh = MeshTri.init_tensor(np.linspace(0, a, columns + 1), np.linspace(0, b, rows + 1))
    basis = Basis(mesh, ElementTriMorley())

    @BilinearForm
    def bending(u, v, _):
        curvature = dd(u)
        bent = D * ddot((1 - nu) * curvature + nu * eye(trace(curvature), 2), dd(v))
        return bent + pull * grad(u)[0] * grad(v)[0]

    @BilinearForm
    def mass(u, v, _):
        return material.density.value * h * u * v

    @BilinearForm
    def across(u, v, _):
        return u * v

    @BilinearForm
    def turning(u, v, w):
        return dot(grad(u), w.n) * dot(grad(v), w.n)

    K, M = bending.assemble(basis).tolil(), mass.assemble(basis).tolil()
    forbidden = [np.zeros(0, dtype=int)]
    for place, hold in [
        (0.0, specimen.boundary["start"]),
        (a, specimen.boundary["end"]),
        *((s.at[0].value, s.hold) for s in specimen.supports),
    ]:
        facets = mesh.facets_satisfying(lambda x, at=place: np.isclose(x[0], at))
        line = FacetBasis(mesh, ElementTriMorley(), facets=facets)
        for stiffness, name, form in (
            (hold.deflection.value, "u", across), (hold.rotation.value, "u_n", turning),
        ):  # fmt: skip
            if math.isinf(stiffness):
                forbidden.append(basis.get_dofs(facets).all([name]))
            elif stiffness > 0.0:
                K = K + stiffness / b * form.assemble(line)
    weights = np.full(rows + 1, 1.0 / rows)
    weights[[0, -1]] /= 2.0
    for thing in specimen.attached:
        column = np.flatnonzero(np.isclose(mesh.p[0], thing.at[0].value))
        dofs = basis.nodal_dofs[0][column[np.argsort(mesh.p[1, column])]]
        M[np.ix_(dofs, dofs)] += thing.mass.value * np.outer(weights, weights)
    kept = np.setdiff1d(np.arange(K.shape[0]), np.concatenate(forbidden))
    K, M = K.tocsc(), M.tocsc()
    values, vectors = eigsh(
        K[kept][:, kept], k=count + 3, M=M[kept][:, kept], sigma=-1e3, which="LM"
    )
    order = np.argsort(values)
    corners = basis.nodal_dofs[0][np.lexsort((mesh.p[1], mesh.p[0]))]
    eta = np.linspace(-1.0, 1.0, rows + 1)
    motions = []
    for k in order:
        w = np.zeros(K.shape[0])
        w[kept] = vectors[:, k]
        table = w[corners].reshape(columns + 1, rows + 1)
        even, slope = table @ weights, table @ (weights * eta) / (weights @ eta**2)
        shares = np.array([np.sum(even**2), np.sum(slope**2) * (weights @ eta**2)])
        rest = np.sum(table**2 @ weights) - shares.sum()
        motions.append(("flatwise", "torsion", "chordwise")[int(np.argmax([*shares, rest]))])
    omega2 = values[order]
    elastic = omega2 > 1e2
    hz = np.sqrt(omega2[elastic]) / (2.0 * math.pi)
    return hz[:count], [m for m, keep in zip(motions, elastic, strict=True) if keep][:count]


def by_motion(frequencies, motions):
    """(Motion, order) -> frequency. (Meshes may order bending and torsion differently.)"""
    found, orders = {}, {}
    for hz, motion in zip(frequencies, motions, strict=True):
        orders[motion] = orders.get(motion, 0) + 1
        found[motion, orders[motion]] = hz
    return found


LOADED = {
    "clamped": {},
    "free": {"start": "free"},
    "elastic ends": {
        "start": "{deflection: 2e5 N/m, rotation: 8 N m/rad}",
        "end": "{deflection: 300 N/m, rotation: free}",
    },
    "supports": {
        "supports": "[{at: 200 mm, deflection: rigid}, {at: 100 mm, deflection: 3e3 N/m}]",
    },
    "masses": {"attached": "[{mass: 5 g, at: 300 mm}, {mass: 3 g, at: 100 mm}]"},
    "pulled": {"tension": "60 N"},
}


@pytest.mark.parametrize("case", LOADED)
def test_the_first_modes_are_sorted_as_finite_elements_sort_them(case):
    """scikit-fem, Morley's triangle, two meshes extrapolated (its error falls as h^2)."""
    specimen = strip(**LOADED[case])
    coarse, fine = (by_motion(*finite_elements(specimen, 14, columns)) for columns in (60, 120))
    expected = {k: (4.0 * fine[k] - coarse[k]) / 3.0 for k in fine if k in coarse}
    rows = compare(find_modes(specimen, count=18, families=BOTH))
    found = {(row.motion, row.order): row.frequency_hz for row in rows}
    limit = sorted(expected.values())[9]
    first = [key for key, hz in expected.items() if hz <= limit]
    assert len(first) == 10
    assert set(BOTH) == {motion for motion, _ in first}
    error = max(abs(found[key] / expected[key] - 1.0) for key in first)
    record(f"strip as plate, {case}, 10 modes", "scikit-fem, Morley, extrapolated", error, 2e-3)


# -- exact beams ----------------------------------------------------------------------------------

DETAILS = grouped("beam_details.csv", "case", "ends", "parameters")
EXACT = [
    key
    for key in DETAILS
    if key[0] not in ("cone",)
    and key[2] != "tip=0"
    and ("kind=" not in key[2] or "thickness" in key[2])
]
LENGTH, WIDTH, THICKNESS, E, RHO = 1.0, 0.05, 0.01, 70e9, 2700.0
EI, MASS = E * WIDTH * THICKNESS**3 / 12.0, RHO * WIDTH * THICKNESS * LENGTH


def exact_strip(case, ends, text):
    """The beam of a row of the table as a strip whose material does not contract sideways."""
    p = dict(pair.split("=") for pair in text.split(";"))
    number = {k: float(v) for k, v in p.items() if k not in ("kind", "at")}
    start, end = ends.split("-")
    section = f"{{shape: rectangle, width: {WIDTH!r} m, thickness: %r m}}"
    pieces = [(LENGTH, THICKNESS, THICKNESS)]
    tension, extra = 0.0, ""
    k, t = EI * number.get("k", 0.0) / LENGTH**3, EI * number.get("t", 0.0) / LENGTH
    if case == "step":
        second = THICKNESS * number["m"]
        assert number["e"] == pytest.approx(number["m"] ** 3)
        pieces = [(0.5, THICKNESS, THICKNESS), (0.5, second, second)]
    elif case == "wedge":
        pieces = [(LENGTH, THICKNESS, THICKNESS * number["tip"])]
    elif case == "tension":
        tension = number["tau"] * EI / LENGTH**2
    elif case == "support":
        top, _, bottom = p["at"].partition("/")
        extra = f"supports: [{{at: {float(top) / float(bottom or 1)!r} m, deflection: rigid}}]"
    elif "mass" in case:
        inertia = number.get("eta", 0.0) * MASS * LENGTH**2
        thing = f"mass: {number['mu'] * MASS!r} kg, rotary_inertia: {inertia!r} kg m2"
        extra = f"attached: [{{{thing}, at: {LENGTH!r} m}}]"
    elif case in ("root-spring", "rotational-springs"):
        start = f"{{deflection: rigid, rotation: {t!r} N m/rad}}"
        end = start if case == "rotational-springs" else "free"
    elif case == "tip-spring":
        end = f"{{deflection: {k!r} N/m, rotation: free}}"
    else:
        assert case == "translational-springs"
        start = end = f"{{deflection: {k!r} N/m, rotation: free}}"
    segments = "".join(
        f"    - {{length: {long!r} m, section_start: {section % a}, section_end: {section % b}}}\n"
        for long, a, b in pieces
    )
    return read_specimen(
        "kind: beam\n"
        f"material: {{youngs_modulus: {E!r} Pa, density: {RHO!r} kg/m3, poisson_ratio: 0}}\n"
        f"geometry:\n  tension: {tension!r} N\n  segments:\n{segments}"
        f"boundary: {{start: {start}, end: {end}}}\n{extra}\n"
    )


@pytest.mark.parametrize("key", EXACT, ids=lambda key: "-".join(key))
def test_without_poissons_ratio_a_strip_bends_exactly_as_a_beam(key):
    """w(x) alone then solves the plate's equation and its free edges: transfer matrices, mpmath.

    So what holds and loads the strip, its steps, taper and preload are those of the beam.
    """
    rows = DETAILS[key]
    power = {"beta_l": 2, "lambda": 1}[rows[0]["quantity"]]
    true = np.array([float(row["value"]) ** power for row in rows])
    unit = math.sqrt(EI / (MASS * LENGTH**3)) / (2.0 * math.pi)
    modes = plate_modes(exact_strip(*key), 1.2 * unit * true[-1], fineness=0)
    found = [mode.frequency_hz / unit for mode in modes if mode.motion == "flatwise"]
    record(
        f"strip as plate, nu = 0, {key[0]}",
        "transfer matrices, mpmath",
        worst(np.array(found[: true.size]), true),
        1e-6,
    )


# -- side by side ---------------------------------------------------------------------------------


def test_matched_modes_are_near_and_differences_have_their_sign():
    rows = compare(find_modes(strip(), count=8))
    assert {row.motion for row in rows} == set(BOTH)
    # Up to the match of the last mode listed, with its torsion between.
    assert [row.order for row in rows if row.motion == "flatwise"] == list(range(1, 9))
    assert (rows[-1].motion, rows[-1].order) == ("flatwise", 8)
    for row in rows:
        assert row.beam is not None
        assert (row.beam.family, row.beam.order) == (row.motion, row.order)
        # A plate is stiffer: it holds its width (Poisson) and knows no shear.
        assert 0.0 < row.difference < 0.12
        assert row.reason != ""


def test_bending_across_the_width_is_named_and_has_no_beam():
    """A free strip's width bends as a free beam at about 4.73^2 (textbook), stiffer by Poisson."""
    wide = strip(length=60.0, start="free")
    rows = compare(find_modes(wide, count=6))
    across = [row for row in rows if row.motion == "chordwise"]
    assert across
    assert all(row.beam is None and math.isnan(row.difference) for row in across)
    assert {row.reason for row in across} == {"bends across the width, which no beam does"}
    D = 70e9 * 0.001**2 / 12.0 / (1.0 - 0.33**2) / 2700.0
    first = 4.730041**2 / 0.02**2 * math.sqrt(D) / (2.0 * math.pi)
    assert across[0].frequency_hz == pytest.approx(first, rel=0.1)


def test_the_main_reason_is_the_largest_of_the_causes():
    def reasons(count=8, **changes):
        rows = compare(find_modes(strip(**changes), count=count, families=BOTH))
        return {(row.motion, row.order): row.reason for row in rows}

    clamped, free = reasons(), reasons(start="free")
    assert clamped["flatwise", 1] == "the clamp keeps the width from curling (Poisson)"
    assert clamped["torsion", 1] == "the ends keep the section from warping"
    assert free["torsion", 1] == "the finite thickness, which a thin plate leaves out"
    long = reasons(count=30)
    assert long["torsion", 6] == "the twist varies along the strip, which bends it too"
    pulled = reasons(tension="5 kN", start="pinned", end="pinned")
    assert pulled["torsion", 1] == "the preload, which in a beam acts on bending alone"


def test_a_pull_stiffens_torsion_by_n_over_a_times_the_polar_moment():
    """N I_p/A is added to G J (Timoshenko, twist of a pulled strip; textbook, from memory)."""
    slack, pulled = (
        compare(find_modes(strip(length=1000.0, start="pinned", end="pinned", tension=f"{n} N"),
                           count=1, families=["torsion"]))[-1].frequency_hz
        for n in (0, 300)
    )  # fmt: skip
    G, J = 70e9 / 2.66, 0.02 * 0.001**3 / 3.0
    expected = math.sqrt(1.0 + 300.0 * (0.02**2 + 0.001**2) / 12.0 / (G * J))
    assert pulled / slack == pytest.approx(expected, rel=5e-3)


def test_a_slender_strip_tends_to_the_beam():
    """Width over length 1/100: the first bending mode within 0.3 %."""
    first = compare(find_modes(strip(length=2000.0, start="free"), count=1))[0]
    assert abs(first.difference) < 3e-3


@pytest.mark.parametrize("fineness", [0, 1, 2])
def test_a_finer_plate_moves_ever_less_and_falls(fineness):
    """Ritz: more functions, lower frequencies."""
    coarse, fine = (plate_modes(strip(), 1500.0, fineness=n)[:10] for n in (fineness, fineness + 1))
    fall = np.array(
        [a.frequency_hz / b.frequency_hz - 1.0 for a, b in zip(coarse, fine, strict=False)]
    )
    assert [mode.motion for mode in coarse] == [mode.motion for mode in fine]
    assert np.all(fall > -2e-6)
    assert np.all(fall < (3e-4, 6e-5, 1e-5)[fineness])


# -- the note -------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", LOADED)
def test_the_quick_reach_agrees_with_the_full_comparison(case):
    specimen = strip(**LOADED[case])
    modes = find_modes(specimen, count=14)
    found, full = reach(specimen, modes.modes), compare(modes)
    torsion = next(row.frequency_hz for row in full if row.motion == "torsion")
    assert found.first_lines["torsion"] == pytest.approx(torsion, rel=1e-3)
    bending = [row for row in full if row.motion == "flatwise"]
    off = [abs(r.frequency_hz / (r.beam.euler_hz or r.beam.frequency_hz) - 1.0) for r in bending]
    beyond = next(n for n, difference in enumerate(off) if difference > HOLDS_TO)
    before, after = (bending[n].beam.frequency_hz for n in (beyond - 1, beyond))
    assert before < found.holds_to_hz < after
    assert found.looked_to_hz == math.inf


def test_of_a_hundred_modes_the_note_looks_at_so_many_as_cost_no_time():
    found = reach(strip(length=2000.0), find_modes(strip(length=2000.0), count=100).modes)
    assert found.holds_to_hz == math.inf
    assert 0.0 < found.looked_to_hz < math.inf


@pytest.mark.parametrize(("length", "holds"), [(4.0, 0.0), (2.0, 0.0), (0.1, math.inf)])
def test_a_strip_wider_than_long_is_looked_at_while_that_is_cheap(length, holds):
    specimen = strip(length=length, start="pinned", end="pinned")
    found = reach(specimen, find_modes(specimen, count=8, theory="euler").modes)
    assert found.holds_to_hz == holds
    assert (found.looked_to_hz == 0.0) == (length < 1.0)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            Reach(math.inf, math.inf, {}),
            "in bending, beam theory holds to 2 % of plate theory in this range",
        ),
        (
            Reach(math.inf, 0.0, {}),
            "where beam theory ends is not said, for the strip has no plate beside it: it is far "
            "wider than long, so describe it as a plate",
        ),
        (
            Reach(math.inf, 1234.0, {}),
            "in bending, beam theory holds to 2 % of plate theory at least up to 1200 Hz",
        ),
        (
            Reach(2468.0, math.inf, {"torsion": 456.4, "chordwise": 9000.0}),
            "in bending, beam theory holds to 2 % of plate theory up to about 2500 Hz; the first "
            "mode with a node line along it is, by thin-plate theory, torsion at 456 Hz and "
            "bending across the width at 9000 Hz; --as-plate shows both theories",
        ),
        (
            Reach(0.0, math.inf, {"torsion": 456.4}),
            "in bending, beam theory is off by more than 2 % from the first mode on; the first "
            "mode with a node line along it is, by thin-plate theory, torsion at 456 Hz; "
            "--as-plate shows both theories",
        ),
    ],
)
def test_the_note_in_words(found, said):
    assert reach_note(found) == said


# -- what is a strip ------------------------------------------------------------------------------

OTHERS = {
    "its width changes along the beam": (
        "geometry: {segments: [{length: 300 mm,"
        " section_start: {shape: rectangle, width: 20 mm, thickness: 1 mm},"
        " section_end: {shape: rectangle, width: 10 mm, thickness: 1 mm}}]}",
        "steel",
    ),
    "its material is described along the beam alone": (
        "geometry: {length: 300 mm, section: {shape: rectangle, width: 20 mm, thickness: 1 mm}}",
        "spruce",
    ),
}


@pytest.mark.parametrize("objection", OTHERS)
def test_a_rectangle_that_has_no_plate_is_said_not_to_have_one(objection, tmp_path):
    geometry, material = OTHERS[objection]
    file = tmp_path / "odd.yaml"
    file.write_text(
        f"kind: beam\nmaterial: {material}\n{geometry}\nboundary: {{start: clamped, end: free}}\n"
    )
    notes = CliRunner().invoke(main, ["predict", str(file)]).stderr.splitlines()
    assert (
        "note: where beam theory ends is not said, for the strip has no plate beside it: "
        + objection
        in notes
    )
    refused = CliRunner().invoke(main, ["predict", str(file), "--as-plate"])
    assert refused.exit_code == 2
    assert refused.stderr.endswith(
        f"--as-plate needs a rectangular beam of one width; {objection}\n"
    )


def test_a_rod_is_no_strip_and_nothing_is_said_of_it(tmp_path):
    file = tmp_path / "rod.yaml"
    file.write_text(
        "kind: beam\nmaterial: steel\nboundary: {start: clamped, end: free}\n"
        "geometry: {length: 300 mm, section: {shape: rod, diameter: 5 mm}}\n"
    )
    assert "beam theory" not in CliRunner().invoke(main, ["predict", str(file)]).stderr
    refused = CliRunner().invoke(main, ["predict", str(file), "--as-plate"])
    assert refused.exit_code == 2
    assert "it is no beam of rectangular section" in refused.stderr


def test_a_strip_that_buckles_has_no_plate_modes():
    """A cantilever buckles at pi^2 E I/(4 L^2) (Euler), and so does its plate for nu = 0."""
    for tau, buckles in ((-2.4, False), (-2.5, True)):  # pi^2/4 = 2.467
        specimen = exact_strip("tension", "clamped-free", f"tau={tau}")
        if buckles:
            with pytest.raises(PredictionError, match="the compression is at its buckling load"):
                plate_modes(specimen, 100.0, fineness=0)
        else:
            assert plate_modes(specimen, 100.0, fineness=0)


def test_a_list_without_bending_or_torsion_has_nothing_to_compare():
    with pytest.raises(PredictionError, match="compares flatwise bending and torsion"):
        compare(find_modes(strip(), count=2, families=["axial"]))


def test_steps_and_tapers_of_one_width_are_strips():
    assert why_no_plate(exact_strip("wedge", "clamped-free", "tip=0.5")) == ""
    assert why_no_plate(exact_strip("step", "clamped-free", "e=8;m=2")) == ""
