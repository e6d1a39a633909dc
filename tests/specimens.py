"""Specimens for the tests of the mechanics, read from YAML as a user's are, in units that cancel.

A unit beam is 1 m long and has E I = 1000 N m2 and rho A = 1000 kg/m, a unit plate is 1 m long and
has D = 1000 N m and 1000 kg/m2: omega in rad/s is then the textbook's lambda, and a mass, a spring
or a tension in the textbook's ratio is a thousand times that in SI.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import yaml

from saltline.arrays import Values
from saltline.files.specimen_file import read_specimen
from saltline.modes import Modes
from saltline.plate import plate_problems
from saltline.problem import solve
from saltline.solver import find_modes
from saltline.specimen import Specimen

REFERENCE = Path(__file__).parent / "reference"
UNIT = 1000.0
"""E I in N m2 and rho A in kg/m of the unit beam, D in N m and kg/m2 of the unit plate."""

CLASSIC_ENDS = (
    "clamped-clamped", "clamped-pinned", "clamped-guided", "clamped-free", "pinned-pinned",
    "pinned-guided", "pinned-free", "guided-guided", "guided-free", "free-free",
)  # fmt: skip

Part = Mapping[str, Any]


@cache
def table(name: str) -> list[dict[str, str]]:
    """The rows of a reference table, each by column, as printed there."""
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def grouped(name: str, *columns: str) -> dict[tuple[str, ...], list[dict[str, str]]]:
    """The rows of a reference table by the values of some columns."""
    groups: dict[tuple[str, ...], list[dict[str, str]]] = {}
    for row in table(name):
        groups.setdefault(tuple(row[column] for column in columns), []).append(row)
    return groups


def spring(deflection: float | str = "free", rotation: float | str = "free") -> Part:
    """A hold at a beam's end, each stiffness a word or in the unit beam's E I / L^3 or E I / L."""
    return {
        "deflection": _or_word(deflection, "N/m"),
        "rotation": _or_word(rotation, "N m/rad"),
    }


def edge_spring(deflection: float | str = "free", rotation: float | str = "free") -> Part:
    """A hold along an edge, each stiffness a word or in the unit plate's D / a^3 or D / a."""
    return {
        "deflection": _or_word(deflection, "N/m/m"),
        "rotation": _or_word(rotation, "N m/rad/m"),
    }


def _or_word(value: float | str, unit: str) -> str:
    return value if isinstance(value, str) else f"{value * UNIT!r} {unit}"


def support(at: float | tuple[float, float], deflection: float | str = "rigid") -> Part:
    """A support between the ends, or at a point of a plate."""
    return {"at": _place(at), "deflection": _or_word(deflection, "N/m")}


def mass(
    at: float | tuple[float, float],
    ratio: float,
    *,
    inertia: float = 0.0,
    foot: float | None = None,
) -> Part:
    """An attached mass in units of the unit specimen's own, and its inertia in mass * length^2.

    foot: the diameter on which it stands on a plate.
    """
    thing = {
        "at": _place(at),
        "mass": f"{ratio * UNIT!r} kg",
        "rotary_inertia": f"{inertia * UNIT!r} kg m2",
    }
    return thing if foot is None else thing | {"diameter": f"{foot!r} m"}


def _place(at: float | tuple[float, float]) -> Any:
    return f"{at!r} m" if isinstance(at, float) else [f"{v!r} m" for v in at]


def section(*, slenderness: float = 100.0, stiffness: float = 1.0, mass: float = 1.0) -> Part:
    """A square section of side 1/slenderness and kappa = 5/6, scaled to the unit beam's area.

    stiffness, mass: E I and rho A in the unit beam's.
    """
    return {
        "shape": "custom",
        "area": f"{mass!r} m2",
        "second_moment": f"{stiffness / (12.0 * slenderness**2)!r} m4",
        "shear_coefficient": 5 / 6,
    }


def beam(
    ends: str | tuple[Any, Any] = "clamped-free",
    *,
    slenderness: float = 100.0,
    length: float = 1.0,
    density: float = UNIT,
    segments: Sequence[tuple[float, Part]] = (),
    tension: float = 0.0,
    attached: Sequence[Part] = (),
    supports: Sequence[Part] = (),
) -> Specimen:
    """A unit beam, or one of several uniform pieces.

    ends:     "start-end" in words, or two holds.
    segments: (length in m, section) of each piece.
    tension:  in units of E I / L^2.
    """
    start, end = ends.split("-") if isinstance(ends, str) else ends
    if segments:
        pieces = [{"length": f"{long!r} m", "section": part} for long, part in segments]
        geometry: dict[str, Any] = {"segments": pieces}
    else:
        geometry = {"length": f"{length!r} m", "section": section(slenderness=slenderness)}
    return _read(
        kind="beam",
        material={
            "youngs_modulus": f"{UNIT * 12.0 * slenderness**2!r} Pa",
            "density": f"{density!r} kg/m3",
            "poisson_ratio": 0.3,
        },
        geometry={**geometry, "tension": f"{tension * UNIT!r} N"},
        boundary={"start": start, "end": end},
        attached=list(attached),
        supports=list(supports),
    )


def bar(
    ends: str | tuple[Any, Any],
    width: float,
    thickness: float,
    *,
    attached: Sequence[Part] = (),
    supports: Sequence[Part] = (),
) -> Specimen:
    """A rectangular bar 1 m long with E = 2.6 GPa, G = 1 GPa, nu = 0.3, rho = 1000 kg/m3.

    An attached part states its mass and inertia in SI.
    """
    start, end = ends.split("-") if isinstance(ends, str) else ends
    return _read(
        kind="beam",
        material={"youngs_modulus": "2.6 GPa", "density": "1000 kg/m3", "poisson_ratio": 0.3},
        geometry={
            "length": "1 m",
            "section": {
                "shape": "rectangle",
                "width": f"{width!r} m",
                "thickness": f"{thickness!r} m",
            },
        },
        boundary={"start": start, "end": end},
        attached=list(attached),
        supports=list(supports),
    )


def tapered_beam(shape: str, tip: float) -> Specimen:
    """A cantilever whose thickness falls in line to `tip` of the root's, in units of the root's.

    shape: "wedge" (of even width) or "cone".
    """
    if shape == "wedge":
        width, thickness = 10.0, 0.1
        I = width * thickness**3 / 12.0
        sections = [
            {"shape": "rectangle", "width": f"{width!r} m", "thickness": f"{t!r} m"}
            for t in (thickness, thickness * tip)
        ]
    else:
        diameter = math.sqrt(4.0 / math.pi)
        I = 1.0 / (4.0 * math.pi)
        sections = [{"shape": "rod", "diameter": f"{d!r} m"} for d in (diameter, diameter * tip)]
    start, end = sections
    return _read(
        kind="beam",
        material={
            "youngs_modulus": f"{UNIT / I!r} Pa",
            "density": f"{UNIT!r} kg/m3",
            "poisson_ratio": 0.3,
        },
        geometry={"segments": [{"length": "1.0 m", "section_start": start, "section_end": end}]},
        boundary={"start": "clamped", "end": "free"},
    )


EDGE_WORDS = {"C": "clamped", "S": "pinned", "G": "guided", "F": "free"}


def plate(
    edges: str | Mapping[str, Any],
    *,
    width: float = 1.0,
    ratios: tuple[float, float, float] | None = None,
    attached: Sequence[Part] = (),
    supports: Sequence[Part] = (),
) -> Specimen:
    """A unit plate, nu = 0.3.

    edges:  letters in the order left, bottom, right, top, or a hold for each by name.
    width:  along y, in m; the length along x is 1 m.
    ratios: Dy, D1 and Dk in units of Dx for an orthotropic one.
    """
    if isinstance(edges, str):
        names = ("left", "bottom", "right", "top")
        edges = {n: EDGE_WORDS[letter] for n, letter in zip(names, edges, strict=True)}
    h = 0.01
    per_modulus = h**3 / 12.0
    material: dict[str, Any] = {"density": f"{UNIT / h!r} kg/m3"}
    if ratios is None:
        material["youngs_modulus"] = f"{UNIT * 0.91 / per_modulus!r} Pa"
        material["poisson_ratio"] = 0.3
    else:
        dy, d1, dk = ratios
        E = UNIT * (1.0 - d1**2 / dy) / per_modulus
        material["youngs_modulus_x"] = f"{E!r} Pa"
        material["youngs_modulus_y"] = f"{E * dy!r} Pa"
        material["poisson_ratio"] = d1 / dy
        material["shear_modulus"] = f"{UNIT * dk / per_modulus!r} Pa"
    return _read(
        kind="plate",
        material=material,
        geometry={"length": "1.0 m", "width": f"{width!r} m", "thickness": f"{h!r} m"},
        boundary=dict(edges),
        attached=list(attached),
        supports=list(supports),
    )


def _read(**parts: Any) -> Specimen:
    return read_specimen(yaml.safe_dump(parts, sort_keys=False, allow_unicode=True))


def omegas(modes: Modes) -> Values:
    """The natural frequencies in rad/s: lambda of a unit specimen."""
    return 2.0 * math.pi * np.array([mode.frequency_hz for mode in modes.modes])


def euler(specimen: Specimen, count: int) -> Values:
    """lambda of the first modes of a unit beam by Euler and Bernoulli."""
    return omegas(find_modes(specimen, count=count, theory="euler"))


def lambdas(specimen: Specimen, count: int) -> Values:
    """lambda of the first modes of a unit beam by Timoshenko, or of a unit plate."""
    return omegas(find_modes(specimen, count=count))


def ritz(specimen: Specimen, count: int, *, refinement: int) -> Values:
    """lambda of a plate's first modes at one fineness of the basis, settled or not."""
    problems = plate_problems(specimen, count=count, refinement=refinement)
    omega2 = np.concatenate([solve(problem, count).omega2 for problem in problems])
    return np.asarray(np.sqrt(np.sort(omega2)[:count]))


def worst(found: Values, true: Values) -> float:
    """The largest relative error."""
    return float(np.max(np.abs(np.asarray(found) / np.asarray(true) - 1.0)))


def swept(build: Callable[[float], Specimen], values: Sequence[float], count: int) -> Values:
    """lambda by Euler and Bernoulli along a parameter, shape (len(values), count)."""
    return np.array([euler(build(value), count) for value in values])
