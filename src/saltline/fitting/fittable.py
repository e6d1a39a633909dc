"""Which quantities of a specimen can be fitted: their names, what they measure, how far they go."""

from __future__ import annotations

import math

from saltline.quantities_of import quantities
from saltline.quantity import KINDS, Quantity
from saltline.section import SHAPES, section_properties
from saltline.specimen import BeamGeometry, PlateGeometry, Specimen
from saltline.spread import WITHOUT_EFFECT, moved
from saltline.words import listed, nearest, quoted

WIDE = 1e6
"""A stiffness, an inertia or an attached mass is sought from its start over this to times this."""

NARROW = 10.0
"""... and any other positive quantity from its start over this to times it."""

POISSON = (-0.5, 0.499)
"""Poisson's ratio of an isotropic material is looked for here; hardly any has a negative one."""

WIDE_KINDS = ("stiffness", "rotational_stiffness", "mass", "rotary_inertia")
_SIGNED = ("poisson_ratio", "tension", "at", "from", "to")


class ChoiceError(ValueError):
    """A quantity or a bound that cannot be taken, in words for the user."""


def default_names(specimen: Specimen) -> tuple[str, ...]:
    """The modulus alone; of an orthotropic material both moduli and the shear modulus."""
    material = specimen.material
    moduli = [material.youngs_modulus]
    if material.is_orthotropic:
        assert material.youngs_modulus_y and material.shear_modulus
        moduli += [material.youngs_modulus_y, material.shear_modulus]
    return tuple(q.path for q in moduli)


def resolved(specimen: Specimen, name: str) -> str:
    """The path that a name means; raises ChoiceError with what can be fitted."""
    known = quantities(specimen)
    if name in known:
        return name
    able = [path for path in known if _fault(specimen, path) == ""]
    ends = [path for path in known if path.endswith(f".{name}")]
    ends = [path for path in ends if path in able] or ends
    if len(ends) == 1:
        return ends[0]
    if ends:
        raise ChoiceError(f"{quoted(name)} may be {listed(ends)}; write the whole path")
    last = {path.rpartition(".")[2]: path for path in able}
    near = nearest(name, able) or [last[word] for word in nearest(name, last)]
    meant = f"; did you mean {near[0]}?" if near else ";"
    raise ChoiceError(
        f"{quoted(name)} is no quantity of {specimen.name}{meant} it must be {listed(able)}"
    )


def kind_of(specimen: Specimen, path: str) -> str:
    """What a quantity measures, a name in KINDS."""
    word = [word for word in path.split(".") if not word.isdigit()][-1]
    if word in ("deflection", "rotation"):
        kind = "stiffness" if word == "deflection" else "rotational_stiffness"
        return kind + ("_per_length" if _is_along_a_line(specimen, path) else "")
    dimensions = {k: v for shape in SHAPES.values() for k, v in shape.required.items()}
    dimensions |= {k: v for shape in SHAPES.values() for k, v in shape.optional.items()}
    return (_KIND_OF | dimensions).get(word, "length")


_KIND_OF = {
    "youngs_modulus": "pressure",
    "youngs_modulus_x": "pressure",
    "youngs_modulus_y": "pressure",
    "shear_modulus": "pressure",
    "density": "density",
    "poisson_ratio": "ratio",
    "endurance_strain": "ratio",
    "damping_ratio": "ratio",
    "tension": "force",
    "mass": "mass",
    "rotary_inertia": "rotary_inertia",
}
"""Last word of a path -> kind, but for stiffnesses and sections; all others are lengths."""


def _is_along_a_line(specimen: Specimen, path: str) -> bool:
    part, number, *_ = path.split(".")
    if part == "boundary":
        return specimen.kind != "beam"
    return part == "supports" and bool(specimen.supports[int(number)].to)


def tied(specimen: Specimen, path: str, quantity: Quantity) -> list[str]:
    """The other paths whose value is the same text of the file."""
    if quantity.place is None:
        return []
    return [
        other
        for other, q in quantities(specimen).items()
        if q.place == quantity.place and other != path
    ]


# -- whether and within what ----------------------------------------------------------------------


def checked(specimen: Specimen, path: str) -> Quantity:
    """The quantity of a path; raises ChoiceError where it cannot be fitted."""
    fault = _fault(specimen, path)
    if fault:
        raise ChoiceError(fault)
    return quantities(specimen)[path]


def _fault(specimen: Specimen, path: str) -> str:
    """Why a quantity cannot be fitted; "" where it can."""
    quantity = quantities(specimen)[path]
    if path in WITHOUT_EFFECT or path.startswith("drive."):
        return f"{path} cannot be fitted: no natural frequency depends on it"
    if math.isinf(quantity.value) or (quantity.value == 0.0 and not quantity.unit):
        word = "rigid" if quantity.value else "not there, or free"
        return (
            f"{path} is {word}, so there is no value to begin with; write a first guess into the "
            f"file, for example {_example(specimen, path)}"
        )
    if quantity.value == 0.0:
        return f"{path} is zero; write a first guess other than zero into the file"
    return ""


def _example(specimen: Specimen, path: str) -> str:
    """The line of a file that gives a quantity a value to begin with."""
    words = path.split(".")
    example = KINDS[kind_of(specimen, path)].example
    if words[-1] not in ("deflection", "rotation"):
        return f"{words[-1]}: {example}"
    if isinstance(specimen.geometry, BeamGeometry):
        value = _stiff(specimen, specimen.geometry, words[-1])
        unit = "N/m" if words[-1] == "deflection" else "N m/rad"
        example = f"{float(f'{value:.0e}'):g} {unit}"
    if words[0] != "boundary":
        return f"{words[-1]}: {example}"
    other = "rotation" if words[-1] == "deflection" else "deflection"
    hold = getattr(specimen.boundary[words[1]], other)
    known = "rigid" if math.isinf(hold.value) else "free"
    parts = {words[-1]: example, other: known}
    return f"{words[1]}: {{deflection: {parts['deflection']}, rotation: {parts['rotation']}}}"


def _stiff(specimen: Specimen, geometry: BeamGeometry, word: str) -> float:
    """A stiffness of a firm hold of this beam: a hundred times its own."""
    section = geometry.segments[0].section_start
    I = float(section_properties(section, specimen.material.poisson_ratio.value).I)
    own = specimen.material.youngs_modulus.value * I / geometry.length
    return 100.0 * own if word == "rotation" else 300.0 * own / geometry.length**2


def scale_of(specimen: Specimen, path: str, quantity: Quantity) -> float:
    """By what x is scaled, SI; 0 where the quantity is fitted in its logarithm."""
    word = [word for word in path.split(".") if not word.isdigit()][-1]
    if word in ("at", "from", "to"):
        return max(specimen.geometry.size, default=1.0)
    return abs(quantity.value) if word in _SIGNED or quantity.value < 0.0 else 0.0


def limits(specimen: Specimen, path: str, quantity: Quantity) -> tuple[float, float]:
    """The physical bounds, SI."""
    words = path.split(".")
    if words[-1] == "poisson_ratio":
        material = specimen.material
        if material.youngs_modulus_y is None:
            return POISSON
        most = math.sqrt(material.youngs_modulus.value / material.youngs_modulus_y.value)
        return -0.99 * most, 0.99 * most
    if words[-1] == "tension":
        return -math.inf, math.inf
    if words[0] in ("supports", "attached") and words[2] in ("at", "from", "to"):
        axis = int(words[3]) if len(words) > 3 else 0
        return 0.0, specimen.geometry.size[axis]
    reach = NARROW
    if kind_of(specimen, path).removesuffix("_per_length") in WIDE_KINDS:
        reach = WIDE
    return max(quantity.value / reach, _least_length(specimen, path)), quantity.value * reach


def _least_length(specimen: Specimen, path: str) -> float:
    """How short a length may be so that nothing on the specimen is left outside; 0 for the rest."""
    known = quantities(specimen)
    along = moved(specimen, path, known[path].value)
    axis = 1 if path == "geometry.width" and isinstance(specimen.geometry, PlateGeometry) else 0
    if not (path.startswith("geometry.") and path.endswith(("length", "geometry.width"))):
        return 0.0
    places = [q for thing in specimen.attached for q in thing.at[axis : axis + 1]]
    places += [q for s in specimen.supports for at in (s.at, s.to) for q in at[axis : axis + 1]]
    inside = [q.value for q in places if q.path not in along]
    spare = specimen.geometry.size[axis] - known[path].value
    return max(inside, default=0.0) - spare
