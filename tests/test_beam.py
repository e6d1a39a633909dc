"""Beams by Euler and Bernoulli: exact solutions, and laws that hold for every beam."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

import mpmath
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mpmath import mpf

from outside import record
from saltline.arrays import Values
from saltline.modes import Modes
from saltline.nodes import pattern_of
from saltline.section import rectangle_torsion_constant
from saltline.solver import find_modes
from saltline.specimen import PredictionError, Specimen
from specimens import (
    CLASSIC_ENDS,
    Part,
    bar,
    beam,
    euler,
    grouped,
    lambdas,
    mass,
    omegas,
    section,
    spring,
    support,
    swept,
    tapered_beam,
    worst,
)

ROOTS = grouped("beam_roots.csv", "ends")
DETAILS = grouped("beam_details.csv", "case", "ends", "parameters")

ROUNDING = 1e-9
"""What rounding may leave: the worst measured is 6e-11, at the 60th mode of 60."""


def exact_lambda(ends: str, count: int) -> Values:
    """lambda = (beta L)^2 of the first elastic modes from the table of roots."""
    return np.array([float(row["beta_l"]) ** 2 for row in ROOTS[ends,][:count]])


# -- classic ends ---------------------------------------------------------------------------------


@pytest.mark.parametrize("ends", CLASSIC_ENDS)
def test_sixty_modes_between_classic_ends_match_roots_recomputed_with_mpmath(ends: str) -> None:
    found = euler(beam(ends), 60)
    record(
        "beam, ten pairs of classic ends, modes 1 to 60",
        "Euler-Bernoulli roots, mpmath",
        worst(found, exact_lambda(ends, 60)),
        ROUNDING,
    )


RIGID_MODES = {"free-free": 2, "pinned-free": 1, "guided-free": 1, "guided-guided": 1}


@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
@pytest.mark.parametrize("ends", CLASSIC_ENDS)
def test_rigid_modes_are_counted_and_left_out(ends: str, theory: str) -> None:
    for turned in (ends, "-".join(reversed(ends.split("-")))):
        found = find_modes(beam(turned), count=2, theory=theory)
        assert found.rigid == RIGID_MODES.get(ends, 0)
        # Far from zero, and not the second mode in the first one's place.
        assert omegas(found)[0] == pytest.approx(exact_lambda(ends, 1)[0], rel=1e-2)


@pytest.mark.parametrize(
    ("specimen", "rigid"),
    [
        (beam("free-free", supports=[support(0.4)]), 1),
        (beam("free-free", supports=[support(0.4, 2.0)]), 1),
        (beam("free-free", supports=[support(0.4), support(0.7, 2.0)]), 0),
        (beam("pinned-free", supports=[support(0.7)]), 0),
        (beam((spring(deflection=5.0), "free")), 1),
        (beam((spring(rotation=5.0), "free")), 1),
        (beam((spring(deflection=5.0), spring(deflection=5.0))), 0),
        (beam((spring(deflection=5.0), spring(rotation=5.0))), 0),
        (beam((spring("rigid", 5.0), "free")), 0),
        (beam(("guided", spring(deflection=5.0))), 0),
        (beam("free-free", tension=10.0), 1),
        (beam("pinned-free", tension=10.0), 0),
        (beam("guided-free", tension=10.0), 1),
        (beam("free-free", attached=[mass(0.3, 2.0, inertia=0.1)]), 2),
    ],
    ids=[
        "free on a support", "free on a soft support", "free on two", "pinned on a second",
        "a spring", "a turning spring", "two springs", "a spring and a turning one",
        "a turning spring at a pin", "guided on a spring", "free, pulled", "pinned, pulled",
        "guided, pulled", "free with a mass",
    ],
)  # fmt: skip
def test_rigid_modes_of_supported_and_pulled_beams(specimen: Specimen, rigid: int) -> None:
    for theory in ("euler", "timoshenko"):
        found = find_modes(specimen, count=3, theory=theory)
        assert found.rigid == rigid
        # A rigid mode counted as elastic would be far below the softest spring's.
        assert omegas(found)[0] > 0.5


# -- masses, springs, supports, tension, steps and tapers -----------------------------------------


def halves(e: float, m: float) -> list[tuple[float, Part]]:
    return [(0.5, section()), (0.5, section(stiffness=e, mass=m))]


def fraction(text: str) -> float:
    numerator, _, denominator = text.partition("/")
    return float(numerator) / float(denominator or 1.0)


Builder = Callable[[str, Mapping[str, str]], Specimen]

BUILD: Mapping[str, Builder] = {
    "tip-mass": lambda ends, p: beam(ends, attached=[mass(1.0, float(p["mu"]))]),
    "tip-mass-inertia": lambda ends, p: beam(
        ends, attached=[mass(1.0, float(p["mu"]), inertia=float(p["eta"]))]
    ),
    "free-end-mass": lambda ends, p: beam(ends, attached=[mass(1.0, float(p["mu"]))]),
    "root-spring": lambda ends, p: beam((spring("rigid", float(p["t"])), "free")),
    "tip-spring": lambda ends, p: beam(("clamped", spring(float(p["k"])))),
    "rotational-springs": lambda ends, p: beam((spring("rigid", float(p["t"])),) * 2),
    "translational-springs": lambda ends, p: beam((spring(float(p["k"])),) * 2),
    "support": lambda ends, p: beam(ends, supports=[support(fraction(p["at"]))]),
    "tension": lambda ends, p: beam(ends, tension=float(p["tau"])),
    "step": lambda ends, p: beam(ends, segments=halves(float(p["e"]), float(p["m"]))),
    "wedge": lambda ends, p: tapered_beam("wedge", float(p["tip"]) or SHARP),
    "cone": lambda ends, p: tapered_beam("cone", float(p["tip"]) or SHARP),
}
"""Case of the table -> (ends, parameters) -> the specimen."""

SHARP = 1e-5
"""The tip, relative to the root, that stands for a sharp one."""


def parameters(text: str) -> dict[str, str]:
    return dict(pair.split("=") for pair in text.split(";"))


def test_every_case_of_the_table_is_built() -> None:
    assert {case for case, _, _ in DETAILS} == set(BUILD)


@pytest.mark.parametrize(("case", "ends", "text"), DETAILS)
def test_beams_with_details_match_transfer_matrices_recomputed_with_mpmath(
    case: str, ends: str, text: str
) -> None:
    rows = DETAILS[case, ends, text]
    power = {"beta_l": 2, "lambda": 1}[rows[0]["quantity"]]
    true = np.array([float(row["value"]) ** power for row in rows])
    stated = parameters(text)
    found = euler(BUILD[case](ends, stated), len(rows))
    if stated.get("tip") == "0":
        # What is cut off a sharp tip moves next to nothing (the error is of second order in SHARP,
        # and measured), so the length to the vertex counts.
        found = found / (1.0 - SHARP) ** 2
    record(
        f"beam, {case}",
        "transfer matrices, mpmath",
        worst(found, true),
        # 15 digits are printed; a sharp tip: what is neglected, as said above.
        1e-7 if stated.get("tip") == "0" else ROUNDING,
    )


def brackets(equation: Callable[[mpf], mpf], lam: float, relative: float) -> bool:
    """Whether an equation in beta L changes its sign within a relative distance of lambda."""
    beta = mpmath.sqrt(mpf(lam))
    below, above = (equation(beta * (1 + side * mpf(relative) / 2)) for side in (-1, 1))
    return bool(below * above < 0)


@pytest.mark.parametrize("t", [0.01, 3.0, 700.0])
def test_root_spring_solves_its_frequency_equation_evaluated_with_mpmath(t: float) -> None:
    # t (1 + cos x cosh x) = x (sin x cosh x - cos x sinh x), x = beta L (textbook).
    def equation(x: mpf) -> mpf:
        c, s, ch, sh = mpmath.cos(x), mpmath.sin(x), mpmath.cosh(x), mpmath.sinh(x)
        return t * (1 + c * ch) - x * (s * ch - c * sh)

    found = euler(beam((spring("rigid", t), "free")), 8)
    with mpmath.workdps(40):
        assert all(brackets(equation, lam, ROUNDING) for lam in found)


@pytest.mark.parametrize("k", [0.5, 100.0, 1e5])
def test_spring_under_the_middle_solves_its_frequency_equation_evaluated_with_mpmath(
    k: float,
) -> None:
    # 1 + k alpha = 0 with the receptance at the middle of a pinned beam, in units of L^3/(E I):
    # alpha = (tan z - tanh z)/(4 x^3), z = x/2 (textbook; its static value is 1/48).
    def equation(x: mpf) -> mpf:
        z = x / 2
        difference = mpmath.sin(z) - mpmath.cos(z) * mpmath.tanh(z)
        return mpmath.cos(z) + k * difference / (4 * x**3)

    found = euler(beam("pinned-pinned", supports=[support(0.5, k)]), 9)
    unmoved = np.array([(n * math.pi) ** 2 for n in (2, 4, 6, 8)])
    is_odd = np.array([np.min(np.abs(lam / unmoved - 1.0)) < ROUNDING for lam in found])
    assert np.count_nonzero(is_odd) == 4, "the odd modes have their node over the spring"
    with mpmath.workdps(40):
        assert all(brackets(equation, lam, ROUNDING) for lam in found[~is_odd])


def test_pull_on_a_pinned_beam_has_its_closed_form() -> None:
    # lambda = (n pi)^2 sqrt(1 + tau/(n pi)^2) (Blevins 1979, eq. 8.20, from memory).
    n = np.arange(1, 31) * math.pi
    error = max(
        worst(euler(beam("pinned-pinned", tension=tau), 30), n**2 * np.sqrt(1.0 + tau / n**2))
        for tau in (-9.8, -3.0, 25.0, 1e4)
    )
    record("pinned beam under tension, modes 1 to 30", "closed form", error, ROUNDING)


# -- elastic ends ---------------------------------------------------------------------------------

DECADES = [10.0**n for n in (-7, -3, -1, 0, 1, 2, 3, 6, 12)]

SWEEPS: Mapping[str, tuple[Callable[[float], Part], str, str]] = {
    "turning, free": (lambda k: spring("free", k), "free", "guided"),
    "turning, pinned": (lambda k: spring("rigid", k), "pinned", "clamped"),
    "moving, free": (lambda k: spring(k, "free"), "free", "pinned"),
    "moving, guided": (lambda k: spring(k, "rigid"), "guided", "clamped"),
}
"""What is swept -> (stiffness -> hold, its soft limit, its stiff limit)."""


@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
@pytest.mark.parametrize("sweep", SWEEPS)
@pytest.mark.parametrize("at", ["start", "end"])
def test_an_elastic_end_runs_from_one_classic_end_to_the_other(
    sweep: str, at: str, theory: str
) -> None:
    hold, soft, stiff = SWEEPS[sweep]

    def found(end: Any) -> Values:
        ends = ("clamped", end) if at == "end" else (end, "clamped")
        return omegas(find_modes(beam(ends, slenderness=20.0), count=5, theory=theory))

    run = np.array([found(hold(k)) for k in DECADES])
    assert np.all(np.diff(run, axis=0) > -ROUNDING * run[1:])
    assert np.all(run[-1] > 1.05 * run[0])
    # A stiffness of 1e-7 is next to none, one of 1e12 next to rigid; each to well within 1e-6.
    assert worst(run[0], found(soft)) < 1e-6
    assert worst(run[-1], found(stiff)) < 1e-6


def test_a_soft_support_of_a_free_beam_adds_a_slow_mode_below_the_others() -> None:
    found = euler(beam((spring(deflection=1e-4), "free")), 4)
    # A rigid bar on a spring at one end moves there as a mass of m/4 does; that it turns about the
    # spring stays a rigid mode.
    assert found[0] == pytest.approx(math.sqrt(4e-4), rel=1e-5)
    assert worst(found[1:], exact_lambda("free-free", 3)) < 1e-6


# -- supports -------------------------------------------------------------------------------------


def test_a_support_raises_the_first_mode_to_the_second_and_only_at_its_node() -> None:
    # Courant's maximum-minimum principle.
    plain = euler(beam("clamped-free"), 2)
    node = pattern_of(find_modes(beam("clamped-free"), count=2, theory="euler").modes[1].shape)
    (best,) = node.nodes
    places = [0.2, 0.5, 0.7, 0.77, best, 0.8, 0.9, 1.0]
    firsts = {x: euler(beam("clamped-free", supports=[support(x)]), 1)[0] for x in places[:-1]}
    firsts[1.0] = euler(beam("clamped-pinned"), 1)[0]
    assert firsts.pop(best) == pytest.approx(plain[1], rel=ROUNDING)
    assert all(plain[0] < first < plain[1] * (1.0 - 1e-5) for first in firsts.values())
    assert list(firsts.values())[:4] == sorted(list(firsts.values())[:4])
    assert list(firsts.values())[4:] == sorted(list(firsts.values())[4:], reverse=True)


def test_an_elastic_support_runs_from_none_to_rigid() -> None:
    run = swept(lambda k: beam("clamped-free", supports=[support(0.6, k)]), DECADES, 5)
    assert np.all(np.diff(run, axis=0) > -ROUNDING * run[1:])
    assert worst(run[0], exact_lambda("clamped-free", 5)) < 1e-6
    assert worst(run[-1], euler(beam("clamped-free", supports=[support(0.6)]), 5)) < 1e-6


def test_a_support_that_holds_the_slope_too_parts_the_beam_in_two() -> None:
    both = {**support(0.4), "rotation": "rigid"}
    found = euler(beam("clamped-free", supports=[both]), 6)
    parts = np.concatenate(
        [
            exact_lambda("clamped-clamped", 6) / 0.4**2,
            exact_lambda("clamped-free", 6) / 0.6**2,
        ]
    )
    assert worst(found, np.sort(parts)[:6]) < ROUNDING


@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
@pytest.mark.parametrize("segments", [(), [(0.3, section()), (0.7, section())]])
def test_two_equal_cells_have_their_modes_in_pairs(
    segments: list[tuple[float, Part]], theory: str
) -> None:
    both = {**support(0.5), "rotation": "rigid"}
    twice = beam("clamped-clamped", segments=segments, supports=[both])
    found = omegas(find_modes(twice, count=7, theory=theory))
    cell = omegas(find_modes(beam("clamped-clamped", length=0.5), count=4, theory=theory))
    assert worst(found, np.repeat(cell, 2)[:7]) < ROUNDING


# -- buckling -------------------------------------------------------------------------------------

CRITICAL = {
    "pinned-pinned": math.pi**2,
    "clamped-free": math.pi**2 / 4.0,
    "clamped-clamped": 4.0 * math.pi**2,
    "clamped-pinned": 4.493409457909064**2,
    "pinned-guided": math.pi**2 / 4.0,
    "clamped-guided": math.pi**2,
}
"""Euler's loads in units of E I/L^2 (textbook; 4.4934 is the first root of tan z = z)."""


@pytest.mark.parametrize("ends", CRITICAL)
@pytest.mark.parametrize("count", [1, 8])
def test_a_beam_vibrates_just_below_eulers_load_and_not_just_beyond_it(
    ends: str, count: int
) -> None:
    near = find_modes(
        beam(ends, tension=-CRITICAL[ends] * (1.0 - 1e-6)), count=count, theory="euler"
    )
    assert len(near.modes) == count
    # omega^2 falls nearly in line to zero: a millionth of the load leaves about that of omega^2.
    assert 0.0 < (omegas(near)[0] / exact_lambda(ends, 1)[0]) ** 2 < 2e-6
    with pytest.raises(PredictionError) as caught:
        find_modes(beam(ends, tension=-CRITICAL[ends] * (1.0 + 1e-6)), count=count, theory="euler")
    assert str(caught.value) == (
        "the compression is at or beyond buckling, so there is no vibration about the straight "
        "form; lower it, or hold the specimen more firmly"
    )


@pytest.mark.parametrize("ends", ["free-free", "pinned-free"])
def test_what_can_turn_freely_bears_no_compression(ends: str) -> None:
    with pytest.raises(PredictionError):
        find_modes(beam(ends, tension=-1e-3), count=3)
    assert find_modes(beam(ends, tension=1e-3), count=3).modes


# -- the other families ---------------------------------------------------------------------------

END_MASS = {
    key: rows
    for key, rows in grouped("torsion.csv", "case", "parameters").items()
    if key[0] == "end-mass"
}
WIDTH, THICKNESS = 0.03, 0.01
POLAR = WIDTH * THICKNESS * (WIDTH**2 + THICKNESS**2) / 12.0


def torsion_speed(width: float, thickness: float) -> float:
    """sqrt(G J/(rho I_p)) in m/s of the bar in `specimens`, G/rho = 1e6 m2/s2."""
    J = float(rectangle_torsion_constant(np.asarray(width), np.asarray(thickness)))
    return 1e3 * math.sqrt(12.0 * J / (width * thickness * (width**2 + thickness**2)))


def of_family(specimen: Specimen, family: str, count: int) -> Modes:
    return find_modes(specimen, count=count, theory="euler", families=[family])


@pytest.mark.parametrize("family", ["axial", "torsion"])
@pytest.mark.parametrize("key", END_MASS, ids=lambda key: key[1])
def test_bars_with_an_end_mass_match_roots_recomputed_with_mpmath(
    key: tuple[str, str], family: str
) -> None:
    # cot z = r z, omega = z c/L; r: end mass over bar mass, or end inertia over bar inertia.
    rows = END_MASS[key]
    ratio = float(parameters(key[1])["r"])
    thing = {"at": "1.0 m", "mass": "1e-9 kg"}
    if family == "axial":
        thing["mass"] = f"{ratio * 1000.0 * WIDTH * THICKNESS!r} kg"
    else:
        thing["rotary_inertia"] = f"{ratio * 1000.0 * POLAR!r} kg m2"
    specimen = bar("clamped-free", WIDTH, THICKNESS, attached=[thing] if ratio else [])
    found = of_family(specimen, family, len(rows))
    speed = math.sqrt(2.6e6) if family == "axial" else torsion_speed(WIDTH, THICKNESS)
    record(
        f"bar with an end mass, {family}",
        "roots of cot z = r z, mpmath",
        worst(omegas(found) / speed, np.array([float(row["value"]) for row in rows])),
        ROUNDING,
    )


@pytest.mark.parametrize("family", ["axial", "torsion"])
@pytest.mark.parametrize(
    ("ends", "offset", "rigid"),
    [("free-free", 0.0, 1), ("clamped-clamped", 0.0, 0), ("clamped-free", -0.5, 0)],
)
def test_axial_and_torsional_modes_of_a_uniform_bar_have_their_closed_form(
    family: str, ends: str, offset: float, rigid: int
) -> None:
    found = of_family(bar(ends, WIDTH, THICKNESS), family, 20)
    assert found.rigid == rigid
    assert {mode.family for mode in found.modes} == {family}
    speed = math.sqrt(2.6e6) if family == "axial" else torsion_speed(WIDTH, THICKNESS)
    true = (np.arange(1, 21) + offset) * math.pi * speed
    record(f"uniform bar, {family}, modes 1 to 20", "closed form", worst(omegas(found), true), 1e-9)


def test_torsional_wave_speeds_of_rectangles_match_the_series_recomputed_with_mpmath() -> None:
    error = 0.0
    for row in grouped("torsion.csv", "case")["speed",]:
        ratio = float(parameters(row["parameters"])["ratio"])
        first = omegas(of_family(bar("free-free", 0.01 * ratio, 0.01), "torsion", 1))[0]
        error = max(error, abs(first / (math.pi * 1e3 * float(row["value"])) - 1.0))
    # The fifty terms of the torsion constant leave 1e-9 of the square's speed.
    record("torsional wave speed of a rectangle", "Saint-Venant's series, mpmath", error, 3e-9)


@pytest.mark.parametrize("ends", ["clamped-free", "free-free", "clamped-guided"])
@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
def test_edgewise_is_the_flatwise_motion_of_the_section_turned(ends: str, theory: str) -> None:
    edgewise = find_modes(
        bar(ends, WIDTH, THICKNESS), count=6, theory=theory, families=["edgewise"]
    )
    by_hand = beam(ends, slenderness=1.0 / WIDTH)
    unit = math.sqrt(2.6e6 * WIDTH**2 / 12.0)
    if theory == "euler":
        assert worst(omegas(edgewise), unit * euler(by_hand, 6)) < ROUNDING
    else:
        # The square section of the same depth has another kappa, but for that it is the same beam.
        square = find_modes(bar(ends, WIDTH, WIDTH), count=6, theory=theory)
        assert worst(omegas(edgewise), omegas(square)) < ROUNDING


def test_families_are_merged_by_frequency_each_with_its_own_orders() -> None:
    specimen = bar("clamped-free", WIDTH, THICKNESS)
    families = ("flatwise", "edgewise", "torsion", "axial")
    all_of_them = find_modes(specimen, count=25, theory="euler", families=families)
    alone = {f: [m.frequency_hz for m in of_family(specimen, f, 25).modes] for f in families}
    assert [m.rank for m in all_of_them.modes] == list(range(1, 26))
    for family in families:
        mine = [m for m in all_of_them.modes if m.family == family]
        assert mine
        assert [m.order for m in mine] == list(range(1, len(mine) + 1))
        assert [m.frequency_hz for m in mine] == pytest.approx(alone[family][: len(mine)], rel=1e-8)
    below = sorted(f for many in alone.values() for f in many)[:25]
    assert [m.frequency_hz for m in all_of_them.modes] == pytest.approx(below, rel=1e-8)


# -- laws -----------------------------------------------------------------------------------------

INTRICATE = {
    "segments": [(0.3, section()), (0.45, section(stiffness=0.4, mass=0.7)), (0.25, section())],
    "attached": [mass(0.55, 0.2, inertia=0.01)],
    "supports": [support(0.35, 300.0)],
    "tension": 4.0,
}


def mirrored(parts: Mapping[str, Any]) -> dict[str, Any]:
    def turned(thing: Part) -> Part:
        return {**thing, "at": f"{1.0 - float(thing['at'].split()[0])!r} m"}

    return {
        **parts,
        "segments": parts["segments"][::-1],
        "attached": [turned(thing) for thing in parts["attached"]],
        "supports": [turned(thing) for thing in parts["supports"]],
    }


@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
def test_a_beam_turned_end_for_end_has_the_same_modes_mirrored(theory: str) -> None:
    left, right = "clamped", spring(40.0, 0.5)
    one = find_modes(beam((left, right), **INTRICATE), count=8, theory=theory)
    other = find_modes(beam((right, left), **mirrored(INTRICATE)), count=8, theory=theory)
    assert worst(omegas(one), omegas(other)) < ROUNDING
    for a, b in zip(one.modes, other.modes, strict=True):
        here, there = pattern_of(a.shape), pattern_of(b.shape)
        for places, turned in ((here.nodes, there.nodes), (here.antinodes, there.antinodes)):
            np.testing.assert_allclose(
                np.array(places), 1.0 - np.array(turned[::-1]), rtol=0, atol=1e-9
            )


@pytest.mark.parametrize("theory", ["euler", "timoshenko"])
@pytest.mark.parametrize("lengths", [[0.5, 0.5], [0.001, 0.999], [0.2, 0.3, 0.1, 0.4]])
def test_a_uniform_beam_in_segments_is_the_same_beam(theory: str, lengths: list[float]) -> None:
    whole = find_modes(beam(), count=10, theory=theory)
    split = find_modes(
        beam(segments=[(length, section()) for length in lengths]), count=10, theory=theory
    )
    assert worst(omegas(split), omegas(whole)) < ROUNDING
    for a, b in zip(whole.modes, split.modes, strict=True):
        np.testing.assert_allclose(
            pattern_of(a.shape).nodes, pattern_of(b.shape).nodes, rtol=0, atol=1e-9
        )


def test_twice_the_length_is_a_quarter_of_the_frequency_and_fourfold_density_half() -> None:
    plain = euler(beam(), 6)
    assert worst(4.0 * euler(beam(length=2.0), 6), plain) < ROUNDING
    for theory in ("euler", "timoshenko"):
        light, heavy = (
            omegas(find_modes(beam(slenderness=10.0, density=rho), count=6, theory=theory))
            for rho in (1000.0, 4000.0)
        )
        assert worst(2.0 * heavy, light) < ROUNDING


places = st.floats(0.01, 0.99).map(lambda x: round(x, 3))
holds = st.sampled_from(CLASSIC_ENDS)
EXAMPLES = settings(max_examples=15, deadline=None, derandomize=True)


@EXAMPLES
@given(holds, places, st.floats(1e-3, 1e3), st.sampled_from(["euler", "timoshenko"]))
def test_a_mass_lowers_each_mode_but_not_below_the_one_before(
    ends: str, at: float, ratio: float, theory: str
) -> None:
    # Rayleigh: one degree of freedom made heavier; the frequencies interlace. A rigid mode is a
    # mode at zero.
    def all_modes(specimen: Specimen) -> Values:
        found = find_modes(specimen, count=7, theory=theory)
        return np.concatenate([np.zeros(found.rigid), omegas(found)])[:7]

    plain = all_modes(beam(ends))
    heavy = all_modes(beam(ends, attached=[mass(at, ratio)]))
    assert np.all(heavy <= plain * (1.0 + ROUNDING))
    assert np.all(heavy[1:] >= plain[:-1] * (1.0 - ROUNDING))


@EXAMPLES
@given(holds, places, st.floats(1e-2, 1e8), st.sampled_from(["deflection", "rotation"]))
def test_a_spring_raises_each_mode_but_not_beyond_the_next(
    ends: str, at: float, stiffness: float, way: str
) -> None:
    def all_modes(specimen: Specimen) -> Values:
        found = find_modes(specimen, count=8, theory="euler")
        return np.concatenate([np.zeros(found.rigid), omegas(found)])[:8]

    plain = all_modes(beam(ends))
    sprung = {**spring(**{way: stiffness}), "at": f"{at!r} m"}
    stiff = all_modes(beam(ends, supports=[sprung]))
    assert np.all(stiff >= plain * (1.0 - ROUNDING))
    assert np.all(stiff[:-1] <= plain[1:] * (1.0 + ROUNDING))


@EXAMPLES
@given(holds, st.floats(0.0, 1e3), st.floats(0.1, 1e3))
def test_tension_raises_every_mode(ends: str, pull: float, more: float) -> None:
    lower, higher = (
        find_modes(beam(ends, tension=tau), count=6, theory="euler") for tau in (pull, pull + more)
    )
    skipped = lower.rigid - higher.rigid
    assert np.all(omegas(higher)[skipped:] > omegas(lower)[: 6 - skipped])


def test_every_mode_has_settled_whatever_the_ends_and_the_count() -> None:
    for ends in CLASSIC_ENDS:
        for count in (1, 7, 120):
            assert not find_modes(beam(ends), count=count, theory="euler").unsettled


def test_a_very_high_mode_is_as_good_as_a_low_one() -> None:
    # No hyperbolic function, so none that overflows: mode 300 of a cantilever, beta L = 599 pi/2
    # to far more than sixteen digits.
    found = euler(beam(), 300)
    assert found[-1] == pytest.approx((299.5 * math.pi) ** 2, rel=ROUNDING)


def test_timoshenko_is_what_is_asked_for_by_default() -> None:
    stubby = beam(slenderness=5.0)
    assert find_modes(stubby, count=3).theory == "timoshenko"
    assert np.all(lambdas(stubby, 3) < euler(stubby, 3))
