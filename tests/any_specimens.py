"""Any specimen that can be: hypothesis strategies for whole beams, plates and discs, in SI.

Every quantity knows how it grows with the size, the modulus and the density, so that a specimen
similar to another one can be made, of any kind and with whatever is fixed to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import yaml
from hypothesis import strategies as st

from saltline.files.specimen_file import read_specimen
from saltline.specimen import Specimen

Parts = dict[str, Any]

ENDS = ("clamped", "pinned", "guided", "free")


@dataclass(frozen=True, slots=True)
class Grown:
    """A value in SI, its unit, and by which powers of size, modulus and density it grows."""

    value: float
    unit: str
    powers: tuple[int, int, int]

    def text(self, factors: tuple[float, float, float]) -> str:
        """As a specimen file has it, of one that is so many times as large, stiff and dense."""
        grown = self.value
        for factor, power in zip(factors, self.powers, strict=True):
            grown *= factor**power
        return f"{grown!r} {self.unit}"


_POWERS = {
    "m": (1, 0, 0),
    "Pa": (0, 1, 0),
    "kg/m3": (0, 0, 1),
    "kg": (3, 0, 1),
    "kg m2": (5, 0, 1),
    "N": (2, 1, 0),
    "N/m": (1, 1, 0),
    "N m/rad": (3, 1, 0),
    "N/m/m": (0, 1, 0),
    "N m/rad/m": (2, 1, 0),
}


def grown(value: float, unit: str) -> Grown:
    """A quantity in one of the SI units that specimens have."""
    return Grown(value, unit, _POWERS[unit])


def built(
    parts: Parts, *, size: float = 1.0, modulus: float = 1.0, density: float = 1.0
) -> Specimen:
    """The specimen, or one so many times as large in every direction, as stiff and as dense."""
    factors = (size, modulus, density)

    def written(part: Any) -> Any:
        if isinstance(part, Grown):
            return part.text(factors)
        if isinstance(part, Mapping):
            return {key: written(value) for key, value in part.items()}
        return [written(item) for item in part] if isinstance(part, list) else part

    return read_specimen(yaml.safe_dump(written(parts), allow_unicode=True))


def powers_of_ten(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers of three digits, evenly over the decades."""
    return st.floats(math.log10(low), math.log10(high)).map(lambda x: float(f"{10.0**x:.3g}"))


MATERIALS = st.builds(
    lambda E, rho, nu: {
        "youngs_modulus": grown(E, "Pa"),
        "density": grown(rho, "kg/m3"),
        "poisson_ratio": nu,
    },
    powers_of_ten(1e9, 4e11),
    powers_of_ten(300.0, 2e4),
    st.sampled_from((0.0, 0.3, 0.45)),
)


# -- beams ----------------------------------------------------------------------------------------


@st.composite
def sections(draw: st.DrawFn, depth: float) -> Parts:
    """A section about so deep in the direction of flatwise bending, m."""
    shape = draw(st.sampled_from(("rectangle", "rod", "tube", "box")))
    wide = draw(st.floats(1.0, 8.0).map(lambda x: round(x, 1)))
    wall = draw(st.sampled_from((0.05, 0.2, 0.4)))
    sizes = {
        "rectangle": {"width": wide * depth, "thickness": depth},
        "rod": {"diameter": depth},
        "tube": {"outer_diameter": depth, "wall": wall * depth},
        "box": {"width": wide * depth, "height": depth, "wall": wall * depth},
    }[shape]
    return {"shape": shape, **{name: grown(size, "m") for name, size in sizes.items()}}


def _shrunk(section: Parts, factor: float) -> Parts:
    return {
        key: grown(value.value * factor, "m") if isinstance(value, Grown) else value
        for key, value in section.items()
    }


@st.composite
def segments(draw: st.DrawFn, depth: float) -> Parts:
    """A piece of a beam, even or tapered, from 8 to 100 times as long as it is deep."""
    length = grown(depth * draw(powers_of_ten(8.0, 100.0)), "m")
    section = draw(sections(depth))
    if draw(st.booleans()):
        return {"length": length, "section": section}
    thinner = _shrunk(section, draw(st.sampled_from((0.3, 0.8))))
    return {"length": length, "section_start": section, "section_end": thinner}


@st.composite
def beams(draw: st.DrawFn, *, masses_alone: bool = False) -> Parts:
    """A beam of up to three pieces on any ends, with things fixed to it and supports between.

    masses_alone: nothing holds it between its ends, and nothing on it turns.
    """
    depth = draw(powers_of_ten(1e-3, 2e-2))
    material = draw(MATERIALS)
    steps = draw(st.lists(st.sampled_from((0.6, 1.0, 1.7)), min_size=1, max_size=3))
    pieces = [draw(segments(depth * step)) for step in steps]
    length = sum(piece["length"].value for piece in pieces)
    stiffness = material["youngs_modulus"].value * depth**4 / 12.0 / length**3
    weight = material["density"].value * depth**2 * length
    places = st.sampled_from([0.0, 0.12, 0.37, 0.5, 0.81, 1.0]).map(
        lambda x: grown(x * length, "m")
    )
    turning = st.just(0.0) if masses_alone else st.sampled_from((0.0, 1e-3))
    thing = st.builds(
        lambda at, ratio, inertia: {
            "at": at,
            "mass": grown(ratio * weight, "kg"),
            "rotary_inertia": grown(inertia * ratio * weight * length**2, "kg m2"),
        },
        places, powers_of_ten(1e-3, 3.0), turning,
    )  # fmt: skip
    ends = st.sampled_from(ENDS) | st.builds(
        lambda k, turn: {
            "deflection": "rigid" if k > 1e5 else grown(k * stiffness, "N/m"),
            "rotation": grown(turn * stiffness * length**2, "N m/rad"),
        },
        powers_of_ten(1.0, 1e6), powers_of_ten(1e-1, 1e3),
    )  # fmt: skip
    parts: Parts = {
        "kind": "beam",
        "material": material,
        "geometry": {"segments": pieces},
        "boundary": {"start": draw(ends), "end": draw(ends)},
        "attached": draw(st.lists(thing, max_size=2)),
    }
    if not masses_alone and draw(st.booleans()):
        at = draw(st.sampled_from((0.29, 0.66)))
        hold = draw(st.sampled_from(("rigid", grown(300.0 * stiffness, "N/m"))))
        parts["supports"] = [{"at": grown(at * length, "m"), "deflection": hold}]
    return parts


def length_of(parts: Parts) -> float:
    """A beam's length, m."""
    return float(sum(piece["length"].value for piece in parts["geometry"]["segments"]))


def mirrored(parts: Parts) -> Parts:
    """The beam turned end for end."""
    length = length_of(parts)
    other = {"section_start": "section_end", "section_end": "section_start"}

    def turned(things: list[Parts]) -> list[Parts]:
        return [{**thing, "at": grown(length - thing["at"].value, "m")} for thing in things]

    pieces = [
        {other.get(key, key): value for key, value in piece.items()}
        for piece in reversed(parts["geometry"]["segments"])
    ]
    start, end = parts["boundary"]["start"], parts["boundary"]["end"]
    return {
        **parts,
        "geometry": {"segments": pieces},
        "boundary": {"start": end, "end": start},
        "attached": turned(parts["attached"]),
        "supports": turned(parts.get("supports", [])),
    }


# -- plates and discs -----------------------------------------------------------------------------


def _edges(E: float, thickness: float, size: float) -> st.SearchStrategy[Any]:
    D = E * thickness**3 / 12.0
    elastic = st.builds(
        lambda k, turn: {
            "deflection": grown(k * D / size**3, "N/m/m"),
            "rotation": grown(turn * D / size, "N m/rad/m"),
        },
        powers_of_ten(1.0, 1e4), powers_of_ten(1e-1, 1e2),
    )  # fmt: skip
    return st.sampled_from(ENDS) | elastic


@st.composite
def plates(draw: st.DrawFn) -> Parts:
    """A plate on any edges; what stands on it at a point takes a second each (test_plate)."""
    size, material = draw(powers_of_ten(0.05, 1.0)), draw(MATERIALS)
    width, thickness = size * draw(st.sampled_from((0.4, 0.73, 1.0))), size / 100.0
    edges = _edges(material["youngs_modulus"].value, thickness, size)
    sizes = {"length": size, "width": width, "thickness": thickness}
    return {
        "kind": "plate",
        "material": material,
        "geometry": {name: grown(value, "m") for name, value in sizes.items()},
        "boundary": {name: draw(edges) for name in ("left", "right", "bottom", "top")},
    }


@st.composite
def discs(draw: st.DrawFn) -> Parts:
    """A disc on any edges, with or without a hole."""
    size, material = draw(powers_of_ten(0.05, 1.0)), draw(MATERIALS)
    edges = _edges(material["youngs_modulus"].value, size / 80.0, size)
    geometry = {"diameter": grown(size, "m"), "thickness": grown(size / 80.0, "m")}
    boundary = {"rim": draw(edges)}
    if draw(st.booleans()):
        geometry["hole_diameter"] = grown(size * draw(st.sampled_from((0.05, 0.3, 0.7))), "m")
        boundary["hole"] = draw(edges)
    return {"kind": "disc", "material": material, "geometry": geometry, "boundary": boundary}


KINDS: Mapping[str, Callable[[], st.SearchStrategy[Parts]]] = {
    "beam": beams, "plate": plates, "disc": discs,
}  # fmt: skip
