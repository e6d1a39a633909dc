"""Random specimens of every kind, and random lists made from their modes, the truth beside them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import yaml

from saltline.files.measured import Measured
from saltline.files.specimen_file import read_specimen
from saltline.modes import Mode
from saltline.nodes import pattern_of
from saltline.solver import find_modes

SEED = 20
"""Of the specimens and of the lists."""


@dataclass(frozen=True, slots=True)
class Law:
    """How lists are made.

    scale:     the common factor is even between 1 - this and 1 + this.
    noise:     standard deviation of each frequency, relative.
    missed:    probability that a mode is not in the list.
    foreign:   lines that are no mode, for each line that is one.
    apart:     relative distance of such a line from every mode of the specimen, found or not.
    counted:   probability that a line has its count.
    miscounted: probability that a count is wrong by one.
    twins:     probability that both of a disc's two modes of one figure are found, a little apart.
    least:     true lines in a list.
    """

    scale: float = 0.20
    noise: float = 0.01
    missed: float = 0.3
    foreign: float = 0.2
    apart: float = 0.04
    counted: float = 0.6
    miscounted: float = 0.15
    twins: float = 0.1
    least: int = 4


@dataclass(frozen=True, slots=True)
class Solved:
    """A specimen's modes without their shapes, and what an observer would count on each."""

    name: str
    modes: tuple[Mode, ...]
    counts: tuple[Mapping[str, int | None], ...]


@dataclass(frozen=True, slots=True)
class Pad:
    """A list and the truth: the mode of each row by its place in the specimen's modes, or None."""

    rows: tuple[Measured, ...]
    truth: tuple[int | None, ...]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of specimen.

    texts:    specimens as files have them.
    families: that the list may have.
    reach:    the list is made from the lowest so many modes: least and most.
    """

    name: str
    texts: Callable[[np.random.Generator, int], Iterator[dict[str, Any]]]
    families: tuple[str, ...] | None
    reach: tuple[int, int]


# -- specimens ------------------------------------------------------------------------------------

ENDS = ("clamped", "pinned", "guided", "free")
PAIRS = [(a, b) for i, a in enumerate(ENDS) for b in ENDS[i:]]
METALS = ("steel", "brass", "aluminium")


def beams(rng: np.random.Generator, count: int) -> Iterator[dict[str, Any]]:
    """Beams held in each of the ten classic ways by turns, slender and stout, some loaded."""
    for i in range(count):
        length = float(rng.uniform(100, 500))
        thickness = length / float(np.exp(rng.uniform(np.log(20), np.log(250))))
        width = thickness * float(rng.uniform(1.5, 12))
        shapes: list[dict[str, Any]] = [
            {"shape": "rectangle", "width": mm(width), "thickness": mm(thickness)},
            {"shape": "rod", "diameter": mm(thickness)},
            {"shape": "tube", "outer_diameter": mm(1.5 * thickness), "wall": mm(0.2 * thickness)},
        ]
        start, end = PAIRS[i % len(PAIRS)]
        part: dict[str, Any] = {
            "kind": "beam",
            "material": METALS[int(rng.integers(3))],
            "geometry": {
                "length": mm(length),
                "section": shapes[int(rng.choice(3, p=[0.7, 0.15, 0.15]))],
            },
            "boundary": {"start": start, "end": end},
        }
        if rng.random() < 0.2:
            grams = float(rng.uniform(0.02, 0.2) * length * width * thickness * 7.8e-3)
            part["attached"] = [
                {"mass": f"{grams:.4f} g", "at": mm(rng.uniform(0.1, 0.9) * length)}
            ]
        if rng.random() < 0.1:
            at = mm(rng.uniform(0.3, 0.7) * length)
            part["supports"] = [{"at": at, "deflection": "rigid"}]
        yield part


def plates(rng: np.random.Generator, count: int) -> Iterator[dict[str, Any]]:
    """Plates with every kind of edge, one in five square.

    No clamped edge meets a free one: the node lines at such a corner take seconds a mode to trace.
    """
    for i in range(count):
        length = float(rng.uniform(150, 500))
        width = length if i % 5 == 0 else length / float(rng.uniform(1.0, 2.5))
        while True:
            edges = rng.choice(["free", "clamped", "pinned"], size=4, p=[0.4, 0.35, 0.25])
            around = [set(map(str, edges[[a, b]])) for a in (0, 1) for b in (2, 3)]
            if {"free", "clamped"} not in around:
                break
        yield {
            "kind": "plate",
            "material": METALS[int(rng.integers(3))],
            "geometry": {"length": mm(length), "width": mm(width), "thickness": mm(length / 150)},
            "boundary": dict(zip(("left", "right", "bottom", "top"), map(str, edges), strict=True)),
        }


def discs(rng: np.random.Generator, count: int) -> Iterator[dict[str, Any]]:
    """Discs with every kind of rim, every second with a hole."""
    for i in range(count):
        diameter = float(rng.uniform(100, 400))
        geometry = {"diameter": mm(diameter), "thickness": mm(diameter / 100)}
        boundary = {"rim": str(rng.choice(["free", "clamped", "pinned"]))}
        if i % 2:
            geometry["hole_diameter"] = mm(diameter * rng.uniform(0.1, 0.6))
            boundary["hole"] = str(rng.choice(["free", "clamped"]))
        metal = METALS[int(rng.integers(3))]
        yield {"kind": "disc", "material": metal, "geometry": geometry, "boundary": boundary}


def mm(value: float) -> str:
    """A length as a file has it."""
    return f"{value:.4f} mm"


KINDS = (
    Kind("beams, flatwise", beams, ("flatwise",), (6, 14)),
    Kind("beams, all families", beams, ("flatwise", "edgewise", "torsion", "axial"), (8, 18)),
    Kind("plates", plates, None, (6, 20)),
    Kind("discs", discs, None, (6, 20)),
)

SPECIMENS = 50
"""Of each kind."""


def solve(kind: Kind, count: int = SPECIMENS) -> list[Solved]:
    """The specimens of a kind, each with as many modes as its lists can ask for."""
    number = KINDS.index(kind)
    rng = np.random.default_rng([SEED, number])
    solved = []
    for text in kind.texts(rng, count):
        specimen = read_specimen(yaml.safe_dump(text, sort_keys=False))
        wanted = 2 * kind.reach[1] + 4
        modes = find_modes(specimen, count=wanted, families=kind.families).modes
        counts = tuple(dict(pattern_of(mode.shape).counts) for mode in modes)
        bare = tuple(replace(m, shape=None, problem=None, q=None, labels={}) for m in modes)  # type: ignore[arg-type]
        solved.append(Solved(yaml.safe_dump(text, default_flow_style=True), bare, counts))
    return solved


# -- lists ----------------------------------------------------------------------------------------


def make_list(solved: Solved, kind: Kind, law: Law, rng: np.random.Generator) -> Pad:
    """A list with the truth beside it."""
    while True:
        reach = int(rng.integers(kind.reach[0], kind.reach[1] + 1))
        found = [j for j in range(reach) if rng.random() >= law.missed]
        if len(found) >= law.least:
            break
    scale = rng.uniform(1.0 - law.scale, 1.0 + law.scale)
    entries: list[tuple[Measured, int | None]] = []
    for j in found:
        twice = solved.modes[j].multiplicity > 1 and rng.random() < law.twins
        for _ in range(2 if twice else 1):
            hz = scale * solved.modes[j].frequency_hz * (1.0 + law.noise * rng.standard_normal())
            entries.append((Measured(hz, _counted(solved.counts[j], law, rng)), j))
    many = int(law.foreign * len(found) + rng.random())
    all_hz = np.array([scale * mode.frequency_hz for mode in solved.modes])
    low, high = np.log(0.9 * all_hz[found[0]]), np.log(1.1 * all_hz[found[-1]])
    for _ in range(50 * many):
        hz = float(np.exp(rng.uniform(low, high)))
        if many and np.min(np.abs(np.log(hz / all_hz))) > np.log(1.0 + law.apart):
            entries.append((Measured(hz), None))
            many -= 1
    order = rng.permutation(len(entries))
    return Pad(tuple(entries[i][0] for i in order), tuple(entries[i][1] for i in order))


def _counted(due: Mapping[str, int | None], law: Law, rng: np.random.Generator) -> dict[str, int]:
    """What the observer wrote: nothing, the count, or a count that is wrong by one."""
    stated = {key: int(value) for key, value in due.items() if value is not None}
    if rng.random() >= law.counted or not stated:
        return {}
    if rng.random() < law.miscounted:
        key = str(rng.choice(sorted(stated)))
        step = 1 if stated[key] == 0 or rng.random() < 0.5 else -1
        stated[key] += step
    return stated
