"""How often the truth lies within the interval that `fit` gives: it should be 95 times in 100.

Run by hand:  python tests/benchmarks/fit.py [CASES [SEED]]
The truth is not saltline's: frequencies come from the closed forms of Euler and Bernoulli's beam,
whose characteristic equations are solved here. Every case draws its own truth and its own noise.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import math
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.optimize import brentq

from saltline.files.measured import Measured
from saltline.files.specimen_file import read_specimen
from saltline.fitting.adjustable import adjustables
from saltline.fitting.fit import fit

SEED = 1
DUE, ALLOWED = 95.0, 3.0
"""Percent of the cases within the interval, and how far from it is still right for 400 of them."""

E, RHO, L, B, T = 200e9, 7850.0, 0.3, 0.02, 0.003
ROOT = 10.0
"""The clamp's stiffness of the specimen with a soft one, in E I / L."""

Random = np.random.Generator


@dataclass(frozen=True, slots=True)
class Scenario:
    """What is fitted to what.

    quantities: paths; text: the specimen; start_is_known: tolerances are used.
    draw: random -> (true values of the quantities, true frequencies).
    noise: relative standard deviation of a frequency; stated: whether the list says so.
    """

    name: str
    quantities: tuple[str, ...]
    text: str
    draw: Callable[[Random], tuple[tuple[float, ...], np.ndarray]]
    noise: float
    stated: bool = True


def roots(function: Callable[[float], float], count: int) -> np.ndarray:
    """The lowest positive roots, bracketed on a grid far finer than their distance."""
    grid = np.arange(0.5, (count + 1.5) * math.pi, 0.05)
    found: list[float] = []
    for a, b in pairwise(grid):
        if function(a) * function(b) < 0.0:
            found.append(brentq(function, a, b, xtol=1e-13))
    return np.array(found[:count])


def free_free(x: float) -> float:
    """cos x cosh x = 1, divided by cosh x (textbook)."""
    return math.cos(x) - 1.0 / math.cosh(x)


def cantilever(x: float) -> float:
    """cos x cosh x = -1, divided by cosh x (textbook)."""
    return math.cos(x) + 1.0 / math.cosh(x)


def soft_cantilever(k: float) -> Callable[[float], float]:
    """A root that gives, k in E I / L, divided by cosh x (textbook)."""
    return lambda x: (
        cantilever(x) + x / k * (math.cos(x) * math.tanh(x) - math.sin(x))
    )  # fmt: skip


def bending(x: np.ndarray, *, E: float = E, t: float = T, L: float = L) -> np.ndarray:
    """Hz, of roots x = beta L."""
    return x**2 / (2.0 * math.pi * L**2) * math.sqrt(E * t**2 / (12.0 * RHO))


def specimen(start: str, *, modulus: str = "200 GPa", thickness: str = "3 mm") -> str:
    """The text of the specimen that is described; Euler's theory reads no Poisson's ratio."""
    return f"""
kind: beam
material: {{youngs_modulus: {modulus}, density: {RHO} kg/m3, poisson_ratio: 0.3}}
geometry:
  length: 300 mm
  section: {{shape: rectangle, width: 20 mm, thickness: {thickness}}}
boundary: {{start: {start}, end: free}}
"""


FREE, CLAMPED = roots(free_free, 6), roots(cantilever, 6)


def modulus_alone(random: Random) -> tuple[tuple[float, ...], np.ndarray]:
    """A free bar whose modulus is up to some 10 % from the one in the file."""
    true = E * math.exp(0.05 * random.standard_normal())
    return (true,), bending(FREE, E=true)


def soft_clamp(random: Random) -> tuple[tuple[float, ...], np.ndarray]:
    """A soft clamp and a modulus, both unknown."""
    true = E * math.exp(0.03 * random.standard_normal())
    k = ROOT * math.exp(0.2 * random.standard_normal())
    stiffness = k * true * B * T**3 / 12.0 / L
    return (true, stiffness), bending(roots(soft_cantilever(k), 6), E=true)


def two_priors(random: Random) -> tuple[tuple[float, ...], np.ndarray]:
    """Modulus and thickness as likely as their tolerances say; the frequencies know E t^2 alone."""
    true = E * (1.0 + 0.015 * random.standard_normal())
    t = T * (1.0 + 0.005 * random.standard_normal())
    return (true, t), bending(CLAMPED, E=true, t=t)


def thickness_held(random: Random) -> tuple[tuple[float, ...], np.ndarray]:
    """The modulus alone, while the thickness is not quite what the file says."""
    true = E * math.exp(0.05 * random.standard_normal())
    return (true,), bending(FREE, E=true, t=T * (1.0 + 0.005 * random.standard_normal()))


E_PATH, T_PATH = "material.youngs_modulus", "geometry.section.thickness"
CLAMP_TEXT = f"{{deflection: rigid, rotation: {ROOT * E * B * T**3 / 12.0 / L:.6g} N m/rad}}"

SCENARIOS = (
    Scenario("modulus, uncertainty stated", (E_PATH,), specimen("free"), modulus_alone, 2e-3),
    Scenario("modulus, scatter estimated", (E_PATH,), specimen("free"), modulus_alone, 2e-3, False),
    Scenario(
        "modulus and clamp stiffness",
        (E_PATH, "boundary.start.rotation"),
        specimen(CLAMP_TEXT),
        soft_clamp,
        1e-3,
    ),
    Scenario(
        "modulus and thickness, both with priors",
        (E_PATH, T_PATH),
        specimen("clamped", modulus="200 GPa ± 3 %", thickness="3 mm ± 1 %"),
        two_priors,
        2e-3,
    ),
    Scenario(
        "modulus, thickness held at a wrong value",
        (E_PATH,),
        specimen("free", thickness="3 mm ± 1 %"),
        thickness_held,
        2e-3,
    ),
)


def errors(scenario: Scenario, cases: int, seed: int) -> Iterator[tuple[float, ...]]:
    """Of each case, how far each quantity is from the truth, in half-widths of its interval."""
    random = np.random.default_rng(seed)
    described = read_specimen(scenario.text)
    for _ in range(cases):
        truth, hz = scenario.draw(random)
        noisy = hz * np.exp(scenario.noise * random.standard_normal(hz.size))
        stated = 2.0 * scenario.noise if scenario.stated else 0.0
        lines = [Measured(float(f), uncertainty_hz=float(stated * f)) for f in noisy]
        found = fit(described, lines, adjustables(described, scenario.quantities), theory="euler")
        yield tuple(
            (parameter.value - true) / parameter.half_width
            for parameter, true in zip(found.parameters, truth, strict=True)
        )


def coverage(cases: int, seed: int) -> Iterator[tuple[str, str, int]]:
    """(scenario, quantity, cases within the interval)."""
    for scenario in SCENARIOS:
        hits = np.abs(list(errors(scenario, cases, seed))) <= 1.0
        for path, count in zip(scenario.quantities, hits.sum(axis=0), strict=True):
            yield scenario.name, path, int(count)


def main() -> None:
    """Print the table."""
    cases, seed = [*map(int, sys.argv[1:]), *(400, SEED)[len(sys.argv) - 1 :]]
    print(f"seed {seed}; due {DUE:g} ± {ALLOWED:g} % of 400 cases")
    for name, path, count in coverage(cases, seed):
        print(f"{100.0 * count / cases:6.2f} % of {cases}  {name}: {path}", flush=True)


if __name__ == "__main__":
    main()
