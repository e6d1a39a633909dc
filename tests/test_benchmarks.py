"""The benchmarks run, and tell what they measured; no time is asserted."""

import importlib.util
import itertools
import math
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent / "benchmarks"
sys.path.append(str(FOLDER))  # as when one is run by hand: some share a module there


def load(name):
    spec = importlib.util.spec_from_file_location(name, FOLDER / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def test_each_benchmark_gives_a_time_and_a_ratio():
    cost = load("cost")
    rows = [
        cost.start_up(1)[0],
        cost.solver("disc", cost.load(cost.EXAMPLES / "free-disc.yaml"), 4, 1),
    ]
    assert [name for name, _, _ in rows] == ["saltline --help, over import click", "disc"]
    for _, seconds, ratio in rows:
        # A program does what its yardstick does, and more; the yardstick's time is what is left.
        assert ratio > 0.5
        assert 1e-4 < seconds / ratio < 60.0


def test_the_matrices_that_lapack_is_timed_with_are_those_of_the_solver():
    cost = load("cost")
    reed = cost.load(cost.EXAMPLES / "clamped-reed.yaml")
    found = []
    matrices = cost.handed_to_lapack(
        lambda: found.append(cost.find_modes(reed, count=4, theory="euler"))
    )
    problem = found[0].modes[0].problem
    assert any(len(A) <= len(problem.K) for A, _, _ in matrices)
    mu, _ = cost.eigensolve(*matrices[-1])
    omega2 = 1.0 / mu[::-1]
    first = (2.0 * math.pi * found[0].modes[0].frequency_hz) ** 2
    # the eigenvalues are shifted, their distances are not
    second = (2.0 * math.pi * found[0].modes[1].frequency_hz) ** 2
    assert omega2[1] - omega2[0] == pytest.approx(second - first, rel=1e-6)


def test_a_higher_degree_is_larger_and_nearer():
    cost = load("cost")
    for coarse, fine in itertools.pairwise(cost.fineness(1, count=4, finest=1)):
        if coarse.kind == fine.kind:
            assert fine.size > coarse.size
            assert fine.worst_change <= max(coarse.worst_change, 1e-9)  # below it is rounding


def test_a_plate_is_compared_with_finite_elements_that_do_converge():
    plates = load("plates")
    coarse, fine = (plates.compared("SSFF", cells, 1) for cells in (6, 12))
    # Morley's frequencies converge as h^2.
    assert 2.5 < coarse.elements_error / fine.elements_error < 6.0
    assert fine.saltline_error < 1e-6 < fine.elements_error
    name, seconds, ratio = fine.row
    assert f"{fine.unknowns} unknowns" in name
    assert seconds > 0.0
    assert ratio > 0.0


def test_a_strips_plate_is_timed_beside_the_beam_and_as_a_whole_command():
    strip = load("strip")
    rows = [*strip.note(1, count=2), *strip.whole_process(1)]
    assert len(rows) == 3
    for name, seconds, ratio in rows:
        assert name
        assert seconds > 0.0
        assert ratio > 0.0


def test_the_intervals_of_fit_are_counted_by_scenario():
    fit = load("fit")
    rows = list(fit.coverage(2, fit.SEED))
    assert len(rows) == sum(len(scenario.quantities) for scenario in fit.SCENARIOS)
    assert sum(count for _, _, count in rows) > len(rows)


def test_a_plan_and_its_response_are_timed():
    plan = load("plan")
    rows = [plan.response(1, frequencies=50, count=3, places=4)]
    rows.append(plan.sheet(1, "clamped-reed", "--modes", "1"))
    assert all(name and seconds > 0.0 and ratio > 0.0 for name, seconds, ratio in rows)
    assert "50 frequencies x 3 modes" in rows[0][0]


def test_a_lot_is_predicted_and_timed():
    many = load("many")
    name, each, ratio = many.study(3, 2)
    assert "--jobs 2" in name
    assert each > 0.0
    assert ratio > 0.0


def test_random_lists_are_named_rightly():
    """The everyday size of what the benchmark measures on five hundred lists of each kind."""
    pads, identification = load("pads"), load("identification")
    for name, least in (("beams, flatwise", 0.97), ("plates", 0.92), ("discs", 0.92)):
        kind = next(kind for kind in pads.KINDS if kind.name == name)
        tally = identification.run(
            kind, pads.solve(kind, 1 if name == "plates" else 3), 12, pads.Law()
        )
        assert tally.lines >= 12 * pads.Law().least
        assert tally.foreign > 0
        assert tally.right >= least * tally.lines
        assert tally.bad <= 0.02 * tally.foreign
        assert f"12 lists, seed {pads.SEED}" in identification.report(kind, tally, 12)


def test_naming_is_timed_over_the_solve():
    identification = load("identification")
    rows = identification.cost(1, lines=4, count=8)
    assert len(rows) == 2
    assert all(name and seconds > 0.0 and ratio > 0.0 for name, seconds, ratio in rows)


def test_resonances_are_picked_out_of_random_sweeps():
    """The everyday size of what the benchmark measures on three hundred sweeps."""
    load("sweeps")
    pick = load("pick")
    for phase in (True, False):
        tally = pick.tallied(4, pick.SEED, phase=phase)
        assert tally.due["far"] > 20
        assert tally.share("far") >= 0.97
        assert tally.share("near") >= 0.75
        assert tally.false <= 1
        assert tally.within(1, pick.FREQUENCY) >= 0.94
        assert tally.within(2, pick.DAMPING) >= 0.9
    seconds, ratio, megabytes = pick.large(20_000)
    assert seconds > 0.0
    assert ratio > 0.0
    assert megabytes > 20.0
