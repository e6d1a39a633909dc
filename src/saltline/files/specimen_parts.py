"""What the parts of a specimen file say: material and geometry.

Each function takes a value of the file and returns the part, or None after it has complained.
"""

from __future__ import annotations

from collections.abc import Mapping

from saltline.files.fields import Fields, Value
from saltline.files.specimen_values import is_of_another, sized, sized_if_given
from saltline.material import BUILT_IN, Material, UnknownMaterialError, find_material
from saltline.quantity import Quantity
from saltline.section import SHAPES, Section, too_thick
from saltline.specimen import (
    BeamGeometry,
    DiscGeometry,
    Geometry,
    PlateGeometry,
    Segment,
)

_SECTION = "{shape: rectangle, width: 25 mm, thickness: 3.2 mm}"
GEOMETRY_EXAMPLES: Mapping[str, str] = {
    "beam": f"{{length: 310 mm, section: {_SECTION}}}",
    "plate": "{length: 300 mm, width: 200 mm, thickness: 2 mm}",
    "disc": "{diameter: 240 mm, thickness: 2 mm}",
}

_GEOMETRY_MARKS: Mapping[str, tuple[str, ...]] = {
    "beam": ("section", "segments", "tension"),
    "plate": ("width",),
    "disc": ("diameter", "hole_diameter"),
}

# Words that are used elsewhere for the same thing (common practice, no source).
SHAPES_MEANT: Mapping[str, str] = {
    "round": "rod", "circle": "rod", "circular": "rod", "cylinder": "rod", "wire": "rod",
    "square": "rectangle", "flat": "rectangle", "strip": "rectangle", "bar": "rectangle",
    "pipe": "tube", "hollow": "tube", "hollow rectangle": "box", "i": "custom", "t": "custom",
    "channel": "custom", "angle": "custom",
}  # fmt: skip


# -- material -------------------------------------------------------------------------------------


def read_material(value: Value, *, kind: str | None) -> Material | None:
    """A built-in material by name, or one that is stated; fit for a specimen of this kind."""
    material = _stated_material(value) if value.is_mapping else _built_in_material(value)
    if material is None or kind in (None, "beam"):
        return material
    if kind == "disc" and material.is_orthotropic:
        value.complain("a disc's material must be isotropic: one youngs_modulus, no shear_modulus")
    elif material.shear_modulus is not None and not material.is_orthotropic:
        sheet = f'"{material.name} sheet", or ' if f"{material.name} sheet" in BUILT_IN else ""
        value.complain(
            f"material is described along a beam only; for a plate take {sheet}youngs_modulus_x, "
            "youngs_modulus_y and shear_modulus, for a disc youngs_modulus alone"
        )
    return material


def _built_in_material(value: Value) -> Material | None:
    name = value.text("the name of a built-in material, or a mapping of its values")
    if name is None:
        return None
    try:
        return find_material(name)
    except UnknownMaterialError as fault:
        value.complain(str(fault))
        return None


def _stated_material(value: Value) -> Material | None:
    fields = value.fields()
    assert fields is not None
    name = fields.find("name")
    text = name.text() if name else None
    if "youngs_modulus_x" in fields.keys or "youngs_modulus_y" in fields.keys:
        E = sized(fields, "youngs_modulus_x", "pressure")
        E_y = sized(fields, "youngs_modulus_y", "pressure")
        G = sized(fields, "shear_modulus", "pressure")
        fields.refuse(
            "youngs_modulus", "youngs_modulus stands beside youngs_modulus_x or _y; remove it"
        )
    else:
        E, E_y = sized(fields, "youngs_modulus", "pressure"), None
        G = sized_if_given(fields, "shear_modulus", "pressure")
    rho = sized(fields, "density", "density")
    nu = fields.quantity("poisson_ratio", "ratio")
    endurance = sized_if_given(fields, "endurance_strain", "ratio")
    fields.finish()
    if E is None or rho is None or nu is None:
        return None
    _check_poisson_ratio(fields, E.value, None if E_y is None else E_y.value, nu.value)
    return Material(text or "as stated", E, rho, nu, E_y, G, endurance_strain=endurance)


def _check_poisson_ratio(fields: Fields, E: float, E_y: float | None, nu: float) -> None:
    value = fields.find("poisson_ratio")
    assert value is not None
    if E_y is None and not -1.0 < nu < 0.5:
        value.complain(
            f"poisson_ratio {nu:g} is impossible; an isotropic material has more than -1 and less "
            "than 0.5, most metals about 0.3"
        )
    # The compliance matrix must be positive definite: 1 - nu_xy nu_yx > 0, nu_yx = nu_xy Ey/Ex.
    elif E_y is not None and not nu**2 < E / E_y:
        value.complain(
            f"poisson_ratio {nu:g} is impossible; its square must be less than youngs_modulus_x / "
            f"youngs_modulus_y = {E / E_y:.3g} (it is the one for stretching along x)"
        )


# -- geometry -------------------------------------------------------------------------------------


def read_geometry(value: Value, *, kind: str) -> Geometry | None:
    """The geometry of a specimen of this kind."""
    example = GEOMETRY_EXAMPLES[kind]
    if is_of_another(value, kind, _GEOMETRY_MARKS, example=example):
        return None
    fields = value.fields(example)
    if fields is None:
        return None
    readers = {"beam": _beam, "plate": _plate, "disc": _disc}
    return readers[kind](fields)


def _beam(fields: Fields) -> BeamGeometry | None:
    fields.allow("length", "section", "segments", "tension")
    tension = sized_if_given(fields, "tension", "force")
    if tension is None:
        tension = Quantity(0.0, path=f"{fields.path}.tension")
    listed_segments = fields.find("segments")
    segments: list[Segment | None]
    if listed_segments is None:
        segments = [_uniform(fields)]
    else:
        for key in ("length", "section"):
            fields.refuse(key, f'{key} stands beside "segments"; give it in each segment instead')
        items = listed_segments.items(f"[{{length: 100 mm, section: {_SECTION}}}]")
        segments = [_segment(item) for item in items]
        if listed_segments.is_empty_list:
            listed_segments.complain("segments is empty; a beam has at least one")
    fields.finish()
    whole = tuple(segment for segment in segments if segment is not None)
    return BeamGeometry(whole, tension) if whole and len(whole) == len(segments) else None


def _uniform(fields: Fields) -> Segment | None:
    length = sized(fields, "length", "length")
    value = fields.need("section", f"section: {_SECTION}")
    section = _section(value) if value else None
    return Segment(length, section, section) if length and section else None


def _segment(item: Value) -> Segment | None:
    fields = item.fields(f"{{length: 100 mm, section: {_SECTION}}}")
    if fields is None:
        return None
    if "section_start" not in fields.keys and "section_end" not in fields.keys:
        fields.allow("section_start", "section_end")
        segment = _uniform(fields)
        fields.finish()
        return segment
    length = sized(fields, "length", "length")
    fields.refuse("section", "section stands beside section_start or section_end; remove it")
    start, end = (
        _section(value) if value else None
        for value in (
            fields.need("section_start", f"section_start: {_SECTION}"),
            fields.need("section_end", f"section_end: {_SECTION}"),
        )
    )
    fields.finish()
    if length is None or start is None or end is None:
        return None
    if (start.shape, set(start.dimensions)) != (end.shape, set(end.dimensions)):
        fields.complain(
            "section_start and section_end differ in shape or in what they state; a taper runs "
            "between two sections of one shape, each with the same dimensions stated"
        )
    return Segment(length, start, end)


def _section(value: Value) -> Section | None:
    fields = value.fields(_SECTION)
    if fields is None:
        return None
    word = fields.need("shape", "shape: rectangle")
    shape = word.choice(SHAPES, meant=SHAPES_MEANT) if word else None
    if shape is None:
        for known in SHAPES.values():
            fields.allow(*known.required, *known.optional)
        fields.finish()
        return None
    required, optional = SHAPES[shape].required, SHAPES[shape].optional
    found = {key: sized(fields, key, kind) for key, kind in required.items()}
    found |= {key: sized_if_given(fields, key, kind) for key, kind in optional.items()}
    fields.finish()
    dimensions = {key: quantity for key, quantity in found.items() if quantity is not None}
    if not required.keys() <= dimensions.keys():
        return None
    for key, message in SHAPES[shape].check({k: q.value for k, q in dimensions.items()}):
        fault = fields.find(key)
        assert fault is not None
        fault.complain(message)
    return Section(shape, dimensions)


def _plate(fields: Fields) -> PlateGeometry | None:
    length, width = sized(fields, "length", "length"), sized(fields, "width", "length")
    thickness = sized(fields, "thickness", "length")
    fields.finish()
    if length is None or width is None or thickness is None:
        return None
    least = min(length.value, width.value)
    _check_thin(fields, thickness, least, "the plate's shorter side")
    return PlateGeometry(length, width, thickness)


def _disc(fields: Fields) -> DiscGeometry | None:
    diameter = sized(fields, "diameter", "length")
    thickness = sized(fields, "thickness", "length")
    hole = sized_if_given(fields, "hole_diameter", "length")
    fields.finish()
    if diameter is None or thickness is None:
        return None
    if hole is not None and hole.value >= diameter.value:
        value = fields.find("hole_diameter")
        assert value is not None
        value.complain(
            f"hole_diameter leaves nothing of the disc; it must be less than the diameter of "
            f"{diameter.value * 1e3:.6g} mm"
        )
    _check_thin(fields, thickness, diameter.value, "the diameter")
    return DiscGeometry(diameter, thickness, hole)


def _check_thin(fields: Fields, thickness: Quantity, least: float, what: str) -> None:
    value = fields.find("thickness")
    if value is not None and thickness.value > least:
        named = f"{what} ({least * 1e3:.6g} mm)"
        why = "thickness is the smallest dimension"
        value.complain(too_thick(thickness.value, least, named, why=why))
