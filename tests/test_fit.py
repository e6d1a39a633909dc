"""Fitting: truths that are found again, what is refused and why, and what is written."""

import importlib
import json
import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from outside import record
from saltline import load
from saltline.cli import main
from saltline.files.measured import Measured, load_measured
from saltline.files.specimen_file import read_specimen
from saltline.fitting.adjustable import adjustables, parse_bound, values_at, without_priors
from saltline.fitting.fit import FitError, fit, new_text
from saltline.fitting.fittable import ChoiceError, default_names, kind_of
from saltline.fitting.followed import follow
from saltline.quantities_of import quantities, with_values
from saltline.quantity import Quantity, parse_quantity
from saltline.show.fitted import fitted as shown
from saltline.show.fitted_words import remarks, sentences
from saltline.solver import find_modes
from specimens import table

EXAMPLES = Path(__file__).parent.parent / "examples"

STEEL = "{youngs_modulus: 200 GPa, density: 7850 kg/m3, poisson_ratio: 0.3}"
STRIP = "{length: 300 mm, section: {shape: rectangle, width: 20 mm, thickness: 3 mm}}"


def beam(start="clamped", *, material=STEEL, geometry=STRIP, extra=""):
    return read_specimen(
        f"kind: beam\nmaterial: {material}\ngeometry: {geometry}\n"
        f"boundary: {{start: {start}{'' if 'end:' in start else ', end: free'}}}\n{extra}"
    )


def predicted(specimen, values, *, count=6, uncertainty=0.0, families=None, theory=None):
    """What would be measured on the specimen with other values."""
    changed = with_values(specimen, values)
    modes = find_modes(changed, count=count, families=families, theory=theory)
    return [
        Measured(
            mode.frequency_hz,
            family=mode.family if families else None,
            uncertainty_hz=uncertainty * mode.frequency_hz,
        )
        for mode in modes.modes
    ]


def fitted(specimen, lines, *names, **options):
    return fit(specimen, lines, adjustables(specimen, names or default_names(specimen)), **options)


def estimates(found):
    return {parameter.path: parameter.value for parameter in found.parameters}


# -- truths that do not come from saltline --------------------------------------------------------


def test_the_modulus_of_a_bar_whose_frequencies_are_exact_roots():
    """f = (beta L)^2 / (2 pi L^2) sqrt(E I / (rho A)) with the roots of beam_roots.csv."""
    worst = 0.0
    for start, ends in (("clamped", "clamped-free"), ("free", "free-free")):
        roots = [float(row["beta_l"]) for row in table("beam_roots.csv") if row["ends"] == ends][:5]
        hz = [
            x**2 / (2 * math.pi * 0.3**2) * math.sqrt(215e9 * 0.003**2 / 12 / 7850) for x in roots
        ]
        found = fitted(beam(start), [Measured(f) for f in hz], theory="euler")
        worst = max(worst, abs(found.parameters[0].value / 215e9 - 1.0))
    record("modulus fitted to exact roots", "tests/reference/beam_roots.csv", worst, 1e-7)


def test_errors_are_as_large_as_they_are_said_to_be():
    """A small run of tests/benchmarks/fit.py, which describes the cases and has many more."""
    import test_benchmarks

    benchmark = test_benchmarks.load("fit")
    for number, cases in ((0, 20), (2, 10)):
        errors = np.array(list(benchmark.errors(benchmark.SCENARIOS[number], cases, 4)))
        # In standard errors, of which the interval has two: their mean square is 1 +- 0.32 for 20.
        assert 0.4 < np.mean((2.0 * errors) ** 2) < 1.7
        assert np.mean(np.abs(errors) <= 1.0) >= 0.88


# -- truths that are found again ------------------------------------------------------------------

SOFT = "{deflection: rigid, rotation: 250 N m/rad}"
TIP = "attached: [{mass: 20 g, at: 300 mm}]"
SHEET = """
kind: plate
material: {youngs_modulus_x: 11 GPa, youngs_modulus_y: 850 MPa, shear_modulus: 700 MPa,
  poisson_ratio: 0.37, density: 420 kg/m3}
geometry: {length: 420 mm, width: 200 mm, thickness: 3 mm}
boundary: {left: free, right: free, bottom: free, top: free}
"""
DISC = """
kind: disc
material: {youngs_modulus: 103 GPa, density: 8500 kg/m3, poisson_ratio: 0.34}
geometry: {diameter: 300 mm, thickness: 3 mm}
boundary: {rim: free}
"""
POSTS = """
kind: plate
material: {youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.33}
geometry: {length: 300 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: clamped, right: free, bottom: free, top: free}
supports: [{at: [250 mm, 60 mm], deflection: 5e4 N/m}]
"""

SHEET_TRUTH = {
    "material.youngs_modulus_x": 9.5e9,
    "material.youngs_modulus_y": 1.0e9,
    "material.shear_modulus": 0.6e9,
}

TRUTHS = {
    "clamp": (beam(SOFT), {"boundary.start.rotation": 120.0}),
    "clamp and modulus": (
        beam(SOFT),
        {"boundary.start.rotation": 60.0, "material.youngs_modulus": 206e9},
    ),
    "far clamp": (beam(SOFT), {"boundary.start.rotation": 9.0}),
    "tip mass": (beam(extra=TIP), {"attached.0.mass": 0.033}),
    "place of a mass": (
        beam(extra="attached: [{mass: 20 g, at: 150 mm}]"),
        {"attached.0.at": 0.171},
    ),
    "length with a tip mass": (
        beam(extra=TIP),
        {"geometry.length": 0.29, "attached.0.at": 0.29},
    ),
    "tension": (
        beam("pinned, end: pinned", geometry=f"{STRIP[:-1]}, tension: 100 N}}"),
        {"geometry.tension": -40.0},
    ),
    "disc": (
        read_specimen(DISC),
        {"material.youngs_modulus": 99e9, "material.poisson_ratio": 0.31},
    ),
    "post under a plate": (read_specimen(POSTS), {"supports.0.deflection": 2e4}),
}


@pytest.mark.parametrize("name", TRUTHS)
def test_a_truth_is_found_again(name):
    specimen, truth = TRUTHS[name]
    lines = predicted(specimen, truth, uncertainty=1e-4, count=4 if specimen.supports else 6)
    names = [path for path in truth if path != "attached.0.at" or len(truth) == 1]
    found = fitted(specimen, lines, *names)
    assert found.settled
    assert all(line.is_used for line in found.lines)
    for parameter in found.parameters:
        assert abs(parameter.value - truth[parameter.path]) < 0.2 * parameter.standard_error
        assert parameter.value == pytest.approx(truth[parameter.path], rel=1e-3)
    after = {path: q.value for path, q in quantities(found.fitted).items()}
    assert {path: after[path] for path in truth} == pytest.approx(truth, rel=1e-3)
    assert max(abs(line.residual) for line in found.lines) < 2e-5


def test_twins_of_a_disc_count_twice():
    specimen = read_specimen(DISC)
    one = predicted(specimen, {"material.youngs_modulus": 100e9}, count=3)
    pair = [Measured(hz * one[0].frequency_hz) for hz in (0.999, 1.001)]
    found = fitted(specimen, [*pair, *one[1:]])
    assert [line.is_used for line in found.lines] == [True] * 4
    assert found.parameters[0].value == pytest.approx(100e9, rel=1e-5)


def test_modes_that_cross_stay_what_they_are():
    """Between these two sheets the modes 3 to 5 change places."""
    specimen = read_specimen(SHEET)
    chosen = adjustables(specimen, default_names(specimen))
    modes = find_modes(specimen, count=8).modes
    truth = SHEET_TRUTH
    x = np.array([item.x(truth[item.path]) for item in chosen])
    there = np.exp(follow(specimen, chosen, modes).log_f(x))
    again = [m.frequency_hz for m in find_modes(with_values(specimen, truth), count=9).modes]
    assert list(there) != sorted(there)
    for hz in there:
        assert min(abs(math.log(hz / other)) for other in again) < 1e-6


def test_slopes_are_those_of_solving_again():
    specimen, _ = TRUTHS["clamp and modulus"]
    chosen = adjustables(specimen, ("rotation", "youngs_modulus", "geometry.length"))
    followed = follow(specimen, chosen, find_modes(specimen, count=4).modes)
    x = np.array([0.2, -0.1, 0.05])
    J = followed.slopes(x)
    for j in range(3):
        step = 1e-4 * (np.arange(3) == j)
        sides = [
            np.log(
                [
                    m.frequency_hz
                    for m in find_modes(
                        with_values(specimen, values_at(specimen, chosen, list(x + s * step))),
                        count=4,
                    ).modes
                ]
            )
            for s in (-1, 1)
        ]
        assert J[:, j] == pytest.approx((sides[1] - sides[0]) / 2e-4, abs=2e-5)


def test_a_wrong_match_is_left_for_a_better_one():
    """Scale-free matching alone takes some of these lines for nothing or for another mode."""
    specimen = read_specimen(SHEET)
    found = fitted(specimen, predicted(specimen, SHEET_TRUTH, count=12))
    assert estimates(found) == pytest.approx(SHEET_TRUTH, rel=1e-4)
    assert found.settled


# -- what takes part, and how much ----------------------------------------------------------------


def test_lines_that_contradict_are_left_out_and_named():
    study = load(EXAMPLES / "clamped-reed.yaml")
    found = study.fit(load_measured(EXAMPLES / "clamped-reed.measured.yaml").rows)
    assert [line.is_used for line in found.lines] == [True, True, True, False]
    assert found.lines[3].match.finding == "count differs"
    assert found.spread.basis == "assumed"


def test_a_stated_uncertainty_weighs():
    specimen = beam("free")
    sharp, blunt = predicted(specimen, {"material.youngs_modulus": 210e9}, count=2)
    off = [
        Measured(sharp.frequency_hz, uncertainty_hz=1e-3 * sharp.frequency_hz),
        Measured(0.99 * blunt.frequency_hz, uncertainty_hz=0.1 * blunt.frequency_hz),
    ]
    found = fitted(specimen, off)
    weights = np.array([1e-3, 0.1 / 0.99]) ** -2
    due = 210e9 * math.exp(2.0 * math.log(0.99) * weights[1] / weights.sum())
    assert found.parameters[0].value == pytest.approx(due, rel=1e-7)
    assert found.spread.basis == "stated"
    # ln E = 2 ln f: the relative uncertainty doubles.
    assert found.parameters[0].standard_error / due == pytest.approx(
        2.0 / math.sqrt(weights.sum()) / 2.0, rel=1e-4
    )


def test_a_tolerance_of_what_is_held_makes_its_part_of_the_uncertainty():
    """E ~ f^2 rho L^4 / t^2: 1 % of thickness is 2 % of E, 0.5 % of density as much (textbook)."""
    strip = STRIP.replace("thickness: 3 mm", "thickness: 3 mm ± 1 %")
    material = STEEL.replace("7850 kg/m3", "7850 kg/m3 ± 0.5 %")
    specimen = beam("free", material=material, geometry=strip)
    lines = predicted(specimen, {}, uncertainty=1e-6, theory="euler")
    found = fitted(specimen, lines, theory="euler")
    shares = {path: abs(effect[0]) for path, effect in found.held.items()}
    assert shares["geometry.section.thickness"] == pytest.approx(0.01, rel=2e-3)
    assert shares["material.density"] == pytest.approx(0.0025, rel=2e-3)
    whole = math.hypot(0.01, 0.0025)
    assert found.parameters[0].standard_error / 200e9 == pytest.approx(whole, rel=2e-3)
    assert found.parameters[0].own_error / 200e9 < 1e-5
    exact = fitted(beam("free"), lines, theory="euler")
    assert exact.held == {}
    assert exact.parameters[0].standard_error == exact.parameters[0].own_error


def test_priors_share_a_discrepancy_as_their_widths_say():
    """The lines know E t^2: ln E takes u_E^2 and 2 ln t takes (2 u_t)^2 of it (normal theory)."""
    specimen = beam(
        material=STEEL.replace("200 GPa", "200 GPa ± 4 %"),
        geometry=STRIP.replace("thickness: 3 mm", "thickness: 3 mm ± 1 %"),
    )
    lines = predicted(
        specimen, {"material.youngs_modulus": 206e9}, uncertainty=1e-5, theory="euler"
    )
    found = fitted(specimen, lines, "youngs_modulus", "thickness", theory="euler")
    excess = math.log(206 / 200)
    E, t = found.parameters
    assert math.log(E.value / 200e9) == pytest.approx(
        excess * 0.02**2 / (0.02**2 + 0.01**2), rel=5e-3
    )
    assert math.log(t.value / 0.003) == pytest.approx(excess / 2 * 0.2, rel=2e-2)
    assert found.correlation[0, 1] < -0.99
    assert E.prior_share + t.prior_share == pytest.approx(1.0, abs=1e-3)
    (direction,) = found.directions
    assert direction.by_prior
    chosen = without_priors(adjustables(specimen, ("youngs_modulus", "thickness")))
    with pytest.raises(FitError, match="cannot be told apart"):
        fit(specimen, lines, chosen, theory="euler")


def test_a_tolerance_that_the_list_contradicts_is_left_out_and_its_interval_holds():
    """A material that is not what the file says: 25 % off, of a tolerance of 3 %."""
    specimen = beam(start="free", material=STEEL.replace("200 GPa", "200 GPa ± 3 %"))
    truth = {"material.youngs_modulus": 250e9}
    exact = predicted(specimen, truth, count=6)
    rng = np.random.default_rng(4)
    inside = 0
    for _ in range(20):
        noise = 1.0 + 0.01 * rng.standard_normal(6)
        read = [
            replace(r, frequency_hz=n * r.frequency_hz) for r, n in zip(exact, noise, strict=True)
        ]
        found = fitted(specimen, read)
        (parameter,) = found.parameters
        inside += parameter.low < 250e9 < parameter.high
        (off,) = found.contradicted.values()
        assert off == pytest.approx(math.log(parameter.value / 200e9) / 0.03, rel=1e-6)
    assert inside >= 17
    assert "whose tolerance was therefore left out, as --no-priors does" in " ".join(remarks(found))


def test_a_stiffness_as_good_as_rigid_is_said_to_be_whatever_the_guess():
    """The list is that of a rigid clamp, read to 0.02 %."""
    lines = [
        Measured(f * line.frequency_hz)
        for f, line in zip(
            (1.0002, 0.9999, 0.9998, 1.0002, 0.9999), predicted(beam(), {}, count=5), strict=True
        )
    ]
    for guess in ("50 N m/rad", "1000 N m/rad", "1e5 N m/rad"):
        soft = beam(f"{{deflection: rigid, rotation: {guess}}}")
        found = fitted(soft, lines, "rotation")
        assert found.parameters[0].at_bound == 1
        assert "a hold that cannot be told from rigid" in remarks(found)[0]
        with pytest.raises(FitError, match="rotation hardly acts on the lines of this list"):
            fitted(soft, lines, "rotation", "youngs_modulus")


def test_a_bound_of_the_users_is_said_to_be_one():
    soft = beam("{deflection: rigid, rotation: 60 N m/rad}")
    lines = predicted(soft, {"boundary.start.rotation": 30.0}, count=5)
    bounds = {"boundary.start.rotation": (50.0, 900.0)}
    found = fit(soft, lines, adjustables(soft, ("rotation",), bounds))
    assert "the list asks for less than --bound allows, so widen that" in remarks(found)[0]


def test_a_trend_beside_a_fitted_clamp_asks_for_the_modulus():
    soft = beam("{deflection: rigid, rotation: 900 N m/rad}")
    truth = {"boundary.start.rotation": 600.0, "material.youngs_modulus": 185e9}
    said = sentences(fitted(soft, predicted(soft, truth, count=6), "rotation"))
    assert "the modulus, or a size, is off besides the clamp, so fit that too" in " ".join(said)


def test_one_line_alone_is_held_against_the_tolerances():
    specimen = beam(material=STEEL.replace("200 GPa", "200 GPa ± 1 %"))
    (line,) = predicted(specimen, {"material.youngs_modulus": 203.5e9}, count=1, uncertainty=1e-2)
    said = " ".join(remarks(fitted(specimen, [replace(line, counts={"nodes": 0})])))
    assert "the other lines" not in said


def test_a_weighed_mass_tells_density_from_modulus():
    specimen = beam("free")
    truth = {"material.youngs_modulus": 190e9, "material.density": 7700.0}
    lines = predicted(specimen, truth, uncertainty=1e-4)
    mass = 7700.0 * 0.3 * 0.02 * 0.003
    names = ("youngs_modulus", "density")
    with pytest.raises(FitError, match="the specimen's mass \\(--weighed\\)"):
        fitted(specimen, lines, *names)
    found = fitted(specimen, lines, *names, weighed=Quantity(mass, 0.002 * mass))
    assert estimates(found) == pytest.approx(truth, rel=1e-5)
    density = found.parameters[1]
    assert density.standard_error / density.value == pytest.approx(0.001, rel=1e-3)
    assert abs(found.mass_residual) < 1e-6
    with pytest.raises(FitError, match="the mass of the specimen depends on none"):
        fitted(specimen, lines, "youngs_modulus", weighed=Quantity(mass))


def test_what_is_held_shifts_a_weighed_mass_too():
    """t = m/(rho b L) and E ~ rho L^4 f^2/t^2 ~ rho^3: 0.5 % of rho is 1.5 % of E (textbook)."""
    specimen = beam("free", material=STEEL.replace("7850 kg/m3", "7850 kg/m3 ± 1 %"))
    lines = predicted(specimen, {}, uncertainty=1e-6, theory="euler")
    mass = 7850.0 * 0.3 * 0.02 * 0.003
    found = fitted(
        specimen, lines, "youngs_modulus", "thickness", weighed=Quantity(mass, 2e-6 * mass),
        theory="euler",
    )  # fmt: skip
    E, t = found.parameters
    assert E.standard_error / E.value == pytest.approx(0.015, rel=2e-3)
    assert t.standard_error / t.value == pytest.approx(0.005, rel=2e-3)
    assert found.correlation[0, 1] == pytest.approx(-1.0, abs=1e-3)


def test_a_hold_that_the_list_wants_rigid_stops_at_its_bound():
    soft = beam("{deflection: rigid, rotation: 5 N m/rad}")
    lines = [Measured(1.003 * line.frequency_hz, uncertainty_hz=1e-4 * line.frequency_hz)
             for line in predicted(beam(), {}, count=5)]  # fmt: skip
    (parameter,) = fitted(soft, lines, "rotation").parameters
    assert parameter.at_bound == 1
    assert math.isnan(parameter.standard_error)
    assert parameter.value == pytest.approx(5e6, rel=1e-2)


# -- what is refused ------------------------------------------------------------------------------


def test_thickness_and_modulus_are_refused_with_the_combination_and_the_way_out():
    specimen = beam()
    with pytest.raises(FitError) as error:
        fitted(specimen, predicted(specimen, {}), "youngs_modulus", "thickness")
    assert str(error.value) == (
        "material.youngs_modulus and geometry.section.thickness cannot be told apart by this list: "
        "the frequencies determine youngs_modulus · thickness^2 alone (youngs_modulus +1 % with "
        "thickness -0.5 % leaves every frequency as it is). What would separate them: edgewise "
        "frequencies in the list (--family), axial frequencies in the list (--family), the "
        "specimen's mass (--weighed) or a tolerance in the file for material.youngs_modulus or "
        "geometry.section.thickness, measured by other means; or fit fewer of them"
    )
    both = predicted(specimen, {}, count=8, families=("flatwise", "edgewise"))
    found = fitted(specimen, both, "youngs_modulus", "thickness", families=("flatwise", "edgewise"))
    assert estimates(found)["geometry.section.thickness"] == pytest.approx(0.003, rel=1e-5)


def test_more_quantities_than_lines_are_refused():
    specimen = beam(SOFT)
    lines = predicted(specimen, {}, count=2)
    with pytest.raises(FitError, match="which has 2 usable data for 3 quantities"):
        fitted(specimen, lines, "rotation", "youngs_modulus", "geometry.length")


def test_one_line_is_enough_where_it_says_which_mode_it_is():
    specimen = beam("free")
    (line,) = predicted(specimen, {"material.youngs_modulus": 210e9}, count=1)
    with pytest.raises(FitError, match="no line of the list can be used"):
        fitted(specimen, [line])
    found = fitted(specimen, [Measured(line.frequency_hz, {"nodes": 2})])
    assert found.parameters[0].value == pytest.approx(210e9, rel=1e-6)
    assert found.spread.basis == "assumed"


def test_a_quantity_without_effect_is_refused():
    specimen = beam()
    with pytest.raises(FitError) as error:
        fitted(specimen, predicted(specimen, {}), "youngs_modulus", "width")
    assert str(error.value) == (
        "geometry.section.width cannot be fitted: no frequency that was matched depends on it"
    )


def test_a_list_of_which_nothing_is_usable_is_refused():
    with pytest.raises(FitError, match="no line of the list can be used: 1 Hz, unexplained: "):
        fitted(beam(), [Measured(1.0)])


FAULTS = {
    (
        "thicknes",
    ): '"thicknes" is no quantity of specimen; did you mean geometry.section.thickness? '
    "it must be material.youngs_modulus, material.density, material.poisson_ratio, "
    "geometry.length, geometry.section.width, geometry.section.thickness, attached.0.at, "
    "attached.0.mass or supports.0.at",
    ("at",): '"at" may be attached.0.at or supports.0.at; write the whole path',
    ("boundary.start.rotation",): "boundary.start.rotation is rigid, so there is no value to begin "
    "with; write a first guess into the file, for example start: {deflection: rigid, "
    "rotation: 3000 N m/rad}",
    ("boundary.end.deflection",): "boundary.end.deflection is not there, or free, so there is no "
    "value to begin with; write a first guess into the file, for example end: {deflection: "
    "100000 N/m, rotation: free}",
    ("supports.0.deflection",): "supports.0.deflection is rigid, so there is no value to begin "
    "with; write a first guess into the file, for example deflection: 100000 N/m",
    ("attached.0.rotary_inertia",): "attached.0.rotary_inertia is not there, or free, so there is "
    "no value to begin with; write a first guess into the file, for example rotary_inertia: "
    "12 kg mm2",
    ("damping_ratio",): "damping_ratio cannot be fitted: no natural frequency depends on it",
}


@pytest.mark.parametrize("names", FAULTS, ids=" ".join)
def test_what_cannot_be_fitted_is_said(names):
    specimen = beam(
        extra="attached: [{mass: 20 g, at: 250 mm}]\nsupports: [{at: 200 mm, deflection: rigid}]\n"
        "damping_ratio: 0.3 %\n"
    )
    with pytest.raises(ChoiceError) as error:
        adjustables(specimen, names)
    assert str(error.value) == FAULTS[names]


def test_every_fault_is_said_at_once():
    with pytest.raises(ChoiceError) as error:
        adjustables(beam(), ("rotation", "nothing at all", "youngs_modulus", "damping"))
    assert str(error.value).count("\n") == 2


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("youngs_modulus", '"youngs_modulus" is no bound; write it like '
         "material.youngs_modulus=90..110 GPa"),
        ("youngs_modulus=90..110", 'youngs_modulus needs a unit, for example "110 GPa"'),
        ("youngs_modulus=110..90 GPa", '"youngs_modulus=110..90 GPa" has its bounds reversed; the '
         "lower one comes first"),
    ],
)  # fmt: skip
def test_a_bad_bound_is_said(text, said):
    with pytest.raises(ChoiceError) as error:
        parse_bound(beam(), text)
    assert str(error.value) == said


def test_bounds_hold_and_belong_to_something():
    specimen = beam("free")
    lines = predicted(specimen, {"material.youngs_modulus": 215e9})
    bound = dict([(lambda p, low, high: (p, (low, high)))(*parse_bound(
        specimen, "youngs_modulus=150..205 GPa"))])  # fmt: skip
    found = fit(specimen, lines, adjustables(specimen, ("youngs_modulus",), bound))
    assert found.parameters[0].value == pytest.approx(205e9, rel=1e-5)
    assert found.parameters[0].at_bound == 1
    with pytest.raises(ChoiceError, match="youngs_modulus has a bound but is not fitted"):
        adjustables(specimen, ("density",), bound)
    with pytest.raises(ChoiceError, match="is 200 GPa in the file, which is not between its bound"):
        adjustables(specimen, ("youngs_modulus",), {"material.youngs_modulus": (1.0, 2.0)})


def test_kinds_are_those_that_the_reader_takes():
    """Every quantity of the example files is read again as the kind that its path says."""
    for path in [*EXAMPLES.glob("*.yaml"), *(Path(__file__).parent / "good").glob("*.yaml")]:
        if path.suffixes != [".yaml"]:
            continue
        specimen = load(path).specimen
        for name, q in quantities(specimen).items():
            if q.unit and math.isfinite(q.value):
                assert parse_quantity(f"1 {q.unit}", kind_of(specimen, name)).value > 0.0, name


# -- what is written ------------------------------------------------------------------------------

TAIL = """\
boundary:
  start: {deflection: rigid, rotation: 250 N m/rad}   # the clamp
  end: free
attached:
  - {mass: 20 g, at: 12 in}      # at the tip
"""
WRITTEN = {
    "block": f"""\
# a strip in a soft clamp
kind: beam
material: steel
geometry:
  length: 304.8 mm ± 0.5 mm   # from the face
  section: {{shape: rectangle, width: 20 mm, thickness: '1/8 in ± 1 mil'}}
{TAIL}""",
    "anchored": f"""\
kind: beam
material: {{youngs_modulus: &E "200 GPa ± 4 %", density: 490 lb/ft3, poisson_ratio: 30 %}}
geometry:
  segments:
    - {{length: 152.4 mm, section: &s {{shape: rectangle, width: 20 mm, thickness: 3 ± 0.1 mm}}}}
    - {{length: 152.4 mm, section: *s}}
{TAIL}""",
}
CHANGES = {
    "block": ("youngs_modulus", "geometry.length", "boundary.start.rotation"),
    "anchored": ("youngs_modulus", "segments.1.length", "segments.0.section.thickness"),
}


@pytest.mark.parametrize("name", WRITTEN)
def test_the_written_file_gives_the_fitted_frequencies(name):
    specimen = read_specimen(WRITTEN[name])
    random = np.random.default_rng(3)
    chosen = adjustables(specimen, CHANGES[name])
    moved = values_at(specimen, chosen, [0.03, -0.01, 0.05])
    lines = [
        Measured(f * math.exp(1e-3 * random.standard_normal()), uncertainty_hz=2e-3 * f)
        for f in (line.frequency_hz for line in predicted(specimen, moved, count=8))
    ]
    chosen = [item for item in chosen if item.path != "geometry.segments.1.length"]
    found = fit(specimen, lines, chosen)
    text = new_text(found)
    again = find_modes(read_specimen(text), count=8)
    for line, mode in zip(found.lines, again.modes, strict=True):
        assert mode.frequency_hz == pytest.approx(line.fitted_hz, rel=1e-5)
    kept = [part for part in WRITTEN[name].split("\n") if "#" in part]
    assert all(part.partition("#")[2] in text for part in kept)
    assert text.count("\n") == WRITTEN[name].count("\n") + (name == "block")


def test_an_alias_moves_with_its_anchor():
    specimen = read_specimen(WRITTEN["anchored"])
    (item,) = adjustables(specimen, ("geometry.segments.0.section.thickness",))
    assert item.paths[1:] == ("geometry.segments.1.section.thickness",)
    lines = predicted(specimen, dict.fromkeys(item.paths, 0.0031))
    found = fit(specimen, lines, without_priors([item]))
    assert "thickness: 3.1000" in new_text(found)
    assert shown(found).remarks[0] == (
        "geometry.segments.0.section.thickness took along: "
        "geometry.segments.1.section.thickness, which the file gives by the same text"
    )
    ends = [segment.section_end for segment in found.fitted.geometry.segments]
    assert [end.dimensions["thickness"].value for end in ends] == pytest.approx([0.0031, 0.0031])


def test_a_length_is_not_fitted_beyond_what_stands_on_it():
    specimen = beam(extra="attached: [{mass: 1 g, at: 295 mm}]")
    (item,) = adjustables(specimen, ("geometry.length",))
    assert item.low == pytest.approx(0.295)


# -- the command ----------------------------------------------------------------------------------

REED = str(EXAMPLES / "clamped-reed.yaml")
PAD = str(EXAMPLES / "clamped-reed.measured.yaml")


def run(*arguments):
    return CliRunner().invoke(main, ["fit", *arguments])


def test_json_has_the_promised_fields():
    result = run(REED, PAD, "--format", "json")
    assert result.exit_code == 0
    data = json.loads(result.stdout)
    (parameter,) = data["parameters"]
    assert {"name", "value", "unit", "standard_error", "start"} <= set(parameter)
    assert (parameter["name"], parameter["unit"]) == ("material.youngs_modulus", "Pa")
    assert parameter["start"] == 103e9
    assert parameter["low"] < parameter["value"] < parameter["high"]
    assert len(data["residuals_percent"]) == 4
    assert data["residuals_percent"][3] is None
    assert data["correlation"] == [[1.0]]
    assert [line["used"] for line in data["measured"]] == [True, True, True, False]
    assert [item["mode"] for item in data["standards"]] == [f"flatwise {n}" for n in (1, 2, 3)]
    assert data["spread"]["basis"] == "assumed"


def test_the_page_names_every_key_and_prints_the_constants():
    page = (EXAMPLES.parent / "docs" / "fitting.md").read_text(encoding="utf-8")
    data = json.loads(run(REED, PAD, "--format", "json").stdout)
    inner = [*data["parameters"], *data["measured"], *data["standards"], data["spread"]]
    keys = set(data).union(*inner) - {"specimen"}
    assert {key for key in keys if f"`{key}`" not in page} == set()
    constants = re.findall(r"^\| `([\w.]+)\.([A-Z_]+)` \| (\S+) \|", page, flags=re.MULTILINE)
    assert len(constants) >= 7
    for module, name, printed in constants:
        value = getattr(importlib.import_module(f"saltline.{module}"), name)
        assert float(printed) == value, name


def test_the_table_and_what_is_said_below_it():
    result = run(REED, PAD)
    assert result.exit_code == 0
    assert "material.youngs_modulus  103 ± 6.18 GPa  99.6 ± 3.1 GPa" in result.stdout
    assert "row 4 (1453 Hz) left out, count differs: " in result.stdout
    assert "assumed where the list states no uncertainty" in result.stdout
    assert result.stderr.startswith("note: the standards' formulas are written from memory")
    header, row = run(REED, PAD, "--format", "csv").stdout.splitlines()
    assert header.startswith("name,before,written,change_percent,prior_share_percent,value,unit")
    assert row.startswith("material.youngs_modulus,103 ± 6.18 GPa,99.6 ± 3.1 GPa,")


def test_what_was_found_is_said_in_words():
    soft = beam("{deflection: rigid, rotation: 5 N m/rad}")
    lines = [
        Measured(1.003 * line.frequency_hz, uncertainty_hz=1e-4 * line.frequency_hz)
        for line in predicted(beam(), {}, count=5)
    ]
    result = shown(fitted(soft, lines, "rotation"))
    assert result.tables[0].rows[0]["written"] == "5e6 N m/rad, at its bound"
    assert result.remarks[0] == (
        "boundary.start.rotation stopped at its high bound, so nothing is known of its "
        "uncertainty; the list is explained best by a hold that cannot be told from rigid"
    )
    assert "times as large as the uncertainties make likely" in result.lines[0]

    exact = predicted(beam("free"), {}, uncertainty=1e-3)
    off = [*exact[:3], Measured(1.01 * exact[3].frequency_hz), *exact[4:]]
    remark = shown(fitted(beam("free"), [Measured(line.frequency_hz) for line in off])).remarks[0]
    assert remark.startswith(f"row 4 ({off[3].frequency_hz:.7g} Hz) lies +0.8")

    both = beam(
        material=STEEL.replace("200 GPa", "200 GPa ± 4 %"),
        geometry=STRIP.replace("thickness: 3 mm", "thickness: 3 mm ± 1 %"),
    )
    lines = predicted(both, {}, uncertainty=2e-3)
    said = shown(fitted(both, lines, "youngs_modulus", "thickness")).lines
    assert said[1] == (
        "the tolerance that the file had says part of what is known of material.youngs_modulus "
        "20 %, geometry.section.thickness 80 %; --no-priors leaves it out"
    )
    assert said[2].startswith("hardly separable: the frequencies determine youngs_modulus · ")
    assert said[2].endswith("; the tolerances of the file decide the rest")
    assert said[3].startswith("material.youngs_modulus and geometry.section.thickness are corre")


def test_a_wide_interval_is_told_as_a_factor():
    strip = STRIP.replace("thickness: 3 mm", "thickness: 3 mm ± 2 %")
    nearly_rigid = beam("{deflection: rigid, rotation: 3000 N m/rad}", geometry=strip)
    (row,) = shown(fitted(nearly_rigid, predicted(nearly_rigid, {}), "rotation")).tables[0].rows
    assert re.fullmatch(r"3000 N m/rad, to a factor of \d+(\.\d+)?", row["written"])
    assert row["high"] / row["value"] == pytest.approx(row["value"] / row["low"])


def test_a_file_is_written_whole_and_never_over_another(tmp_path):
    source, target = tmp_path / "reed.yaml", tmp_path / "fitted.yaml"
    source.write_bytes(b"\xef\xbb\xbf" + Path(REED).read_bytes())
    result = run(str(source), PAD, "--write", str(target))
    assert result.exit_code == 0
    assert result.stderr.endswith(f"wrote {target}\n")
    assert target.read_bytes().startswith(b"\xef\xbb\xbf# A brass reed for checking")
    assert load(target).specimen.material.youngs_modulus.value == pytest.approx(99.64e9, rel=1e-4)
    before = target.read_bytes()
    again = run(str(source), PAD, "--write", str(target))
    assert again.exit_code == 2
    assert "exists already" in again.stderr
    assert again.stdout == ""
    assert target.read_bytes() == before
    assert run(str(source), PAD, "--write", str(target), "--force").exit_code == 0
    assert [path.name for path in tmp_path.iterdir()] != []


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--quantity", "wdth"), "did you mean geometry.section.width?"),
        (("--bound", "youngs_modulus=1..2"), "needs a unit"),
        (("--weighed", "46"), 'needs a unit, for example "46 g"'),
        (("--weighed", "0 g"), "must be more than zero"),
        (("--write", "-"), "--write needs the name of a file"),
        (("--quantity", "youngs_modulus", "--quantity", "thickness", "--no-priors"),
         "cannot be told apart by this list"),
    ],
)  # fmt: skip
def test_bad_use_has_status_two(arguments, said):
    result = run(REED, PAD, *arguments)
    assert result.exit_code == 2
    assert said in result.stderr
    assert result.stdout == ""


def test_a_list_of_families_is_taken_at_its_word(tmp_path):
    bar = tmp_path / "bar.yaml"
    bar.write_text(f"kind: beam\nmaterial: {STEEL}\ngeometry: {STRIP}\n"
                   "boundary: {start: free, end: free}\n")  # fmt: skip
    lines = predicted(load(bar).specimen, {"material.poisson_ratio": 0.28}, count=6,
                      families=("flatwise", "torsion"))  # fmt: skip
    pad = tmp_path / "pad.csv"
    pad.write_text("frequency_hz,family\n"
                   + "".join(f"{m.frequency_hz:.7g},{m.family}\n" for m in lines))  # fmt: skip
    data = json.loads(
        run(str(bar), str(pad), "--quantity", "youngs_modulus", "--quantity", "poisson_ratio",
            "--format", "json").stdout
    )  # fmt: skip
    values = {item["name"]: item["value"] for item in data["parameters"]}
    assert values["material.poisson_ratio"] == pytest.approx(0.28, abs=1e-4)
    assert [item["quantity"] for item in data["standards"]] == ["youngs_modulus", "shear_modulus"]
    assert abs(data["standards"][0]["fitted_less_percent"]) < 0.1


def test_a_list_that_contradicts_a_tolerance_wins_and_is_remarked_on() -> None:
    """Lines that agree among themselves are no scatter because the file's modulus is wrong."""
    text = (
        "kind: beam\nmaterial: {youngs_modulus: 200 GPa ± 3 %, density: 7850 kg/m3, "
        "poisson_ratio: 0.3}\ngeometry: {length: 250 mm, section: {shape: rectangle, width: 20 mm, "
        "thickness: 3 mm}}\nboundary: {start: clamped, end: free}\n"
    )
    true = read_specimen(text.replace("200 GPa ± 3 %", "170 GPa"))
    lines = [
        Measured(mode.frequency_hz, {"nodes": mode.order - 1}) for mode in find_modes(true).modes
    ]
    specimen = read_specimen(text)
    found = fit(specimen, lines, adjustables(specimen, ["material.youngs_modulus"], {}))
    assert found.parameters[0].value == pytest.approx(170e9, rel=2e-3)
    assert any("the list contradicts the file" in said for said in remarks(found))


SOFT_PAD = "frequency_hz,nodes\n22.2,0\n143.5,1\n409.5,2\n813,3\n1357,4\n"


def test_a_trend_that_the_fit_leaves_is_no_scatter(tmp_path):
    pad = tmp_path / "soft.csv"
    pad.write_text(SOFT_PAD, encoding="utf-8")
    result = run(REED, str(pad))
    assert result.exit_code == 1
    assert "the fit does not explain the list: the low modes fall short most" in result.stdout
    assert "the fit does not explain" not in run(REED, PAD).stdout


def test_a_list_that_is_hardly_named_is_in_doubt_first_of_all(tmp_path):
    pad = tmp_path / "odd.csv"
    pad.write_text("frequency_hz\n25.6\n71\n160\n301\n622\n", encoding="utf-8")
    result = run(REED, str(pad))
    assert "IN DOUBT: " in result.stdout
    assert "IN DOUBT: " not in run(REED, PAD).stdout
