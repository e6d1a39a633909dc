"""What a specimen file says: YAML -> Specimen, or all of its mistakes with line and column."""

from __future__ import annotations

import math
import os

from saltline.files.document import Log, compose, read_text
from saltline.files.fields import Fields
from saltline.files.reading import stem
from saltline.files.specimen_fit import check_attached, check_supports, distance, edges_at
from saltline.files.specimen_holds import read_boundary
from saltline.files.specimen_parts import GEOMETRY_EXAMPLES, read_geometry, read_material
from saltline.files.specimen_places import read_attached, read_place, read_supports
from saltline.quantity import Quantity
from saltline.specimen import EDGES, DiscGeometry, Drive, Geometry, Hold, Specimen, Support
from saltline.words import nearest

_KEYS = (
    "name", "kind", "material", "geometry", "boundary", "attached", "supports", "damping_ratio",
    "drive",
)  # fmt: skip

_KINDS_MEANT = {
    "bar": "beam", "strip": "beam", "reed": "beam", "rod": "beam", "cantilever": "beam",
    "tube": "beam", "sheet": "plate", "panel": "plate", "rectangle": "plate", "membrane": "plate",
    "circle": "disc", "circular plate": "disc", "ring": "disc", "annulus": "disc",
}  # fmt: skip

_BOUNDARIES = {
    "beam": "boundary: {start: clamped, end: free}",
    "plate": "boundary: {left: clamped, right: free, bottom: free, top: free}",
    "disc": "boundary: {rim: clamped}",
}

_MOST_DAMPING = 0.1
"""A bare damping ratio from here on is taken for a percentage whose sign was forgotten."""


def load(path: str | os.PathLike[str]) -> Specimen:
    """Read a specimen file. Raises InputError with everything that is wrong with it."""
    return read_specimen(read_text(path), path)


def read_specimen(text: str, path: str | os.PathLike[str] | None = None) -> Specimen:
    """Read the text of a specimen file.

    path: names the file in complaints, and the specimen where it has no name of its own.
    Raises InputError with everything that is wrong with it.
    """
    log = Log("specimen" if path is None else os.fspath(path))
    top = Fields(compose(text, log), path="", log=log)
    top.allow(*_KEYS)
    if "exciter" in top.keys and "kind" not in top.keys:
        raise log.fail(
            top.place, 'this is a rig file; a specimen file begins with its kind, "kind: beam"'
        )
    kind = _kind(top)
    title = top.find("name")
    name = title.text() if title else None
    material_value = top.need("material", "material: steel")
    material = read_material(material_value, kind=kind) if material_value else None
    geometry, boundary = _geometry_and_boundary(top, kind)
    size = geometry.size if geometry else None
    attached = read_attached(top, kind=kind, size=size)
    supports = read_supports(top, kind=kind, size=size)
    damping = _damping_ratio(top)
    drive = _drive(top, kind, size)
    top.finish()
    if geometry is not None:
        _check_centre(top, geometry, drive)
        check_attached(log, geometry, supports, attached)
    if geometry is not None and boundary is not None:
        check_supports(log, geometry, boundary, supports)
        _check_drive(top, geometry, boundary, supports, drive)
    log.raise_if_any()
    assert kind and material and geometry and boundary is not None
    return Specimen(
        name=name or ("specimen" if path is None else stem(path)),
        kind=kind,
        material=material,
        geometry=geometry,
        boundary=boundary,
        attached=attached,
        supports=supports,
        damping_ratio=damping,
        drive=drive,
        path=None if path is None else os.fspath(path),
        text=text,
    )


def _kind(top: Fields) -> str | None:
    """The kind of specimen; where it is wrong or missing, the likely one, to judge the rest by."""
    value = top.need("kind", "kind: beam")
    word = value.choice(EDGES, meant=_KINDS_MEANT) if value else None
    if word is not None:
        return word
    if value and value.word:
        near = _KINDS_MEANT.get(value.word.casefold()) or next(iter(nearest(value.word, EDGES)), "")
        if near:
            return near
    boundary = top.find("boundary")
    keys = boundary.keys if boundary else []
    return next((kind for kind, edges in EDGES.items() if set(keys) & set(edges)), None)


def _geometry_and_boundary(
    top: Fields, kind: str | None
) -> tuple[Geometry | None, dict[str, Hold] | None]:
    where = top.need("geometry", f"geometry: {GEOMETRY_EXAMPLES[kind or 'beam']}")
    how = top.need("boundary", _BOUNDARIES[kind or "beam"])
    if kind is None:
        for value in (where, how):
            if value is not None:
                value.fields()
        return None, None
    geometry = read_geometry(where, kind=kind) if where else None
    if isinstance(geometry, DiscGeometry):
        has_hole = geometry.hole_diameter is not None
    else:
        has_hole = where is not None and "hole_diameter" in where.keys
    return geometry, read_boundary(how, kind=kind, has_hole=has_hole) if how else None


def _damping_ratio(top: Fields) -> Quantity | None:
    value = top.find("damping_ratio")
    damping = value.quantity("ratio", low=1e-9, high=0.999) if value else None
    fault = forgotten_percent(damping) if damping else ""
    if value and fault:
        value.complain(f"damping_ratio {fault}")
    return damping


def forgotten_percent(damping: Quantity) -> str:
    """What to say, after its name, of a bare damping ratio that is likely in percent; else ""."""
    if damping.unit or damping.value < _MOST_DAMPING:
        return ""
    return (
        f"{damping.value:g} means {damping.value * 100:g} %; write the percent sign to say which "
        f'is meant, "{damping.value:g} %" or "{damping.value * 100:g} %"'
    )


def _drive(top: Fields, kind: str | None, size: tuple[float, ...] | None) -> Drive | None:
    value = top.find("drive")
    fields = value.fields("{through: boundary}") if value else None
    if fields is None:
        return None
    through, layout = fields.find("through"), fields.find("layout")
    words = {
        "through": (through.choice(("boundary", "point")) if through else None) or "boundary",
        "layout": (layout.choice(("single", "twin")) if layout else None) or "single",
    }
    at: tuple[Quantity, ...] | None = ()
    if through is not None and through.word == "point":
        at = read_place(fields, kind=kind, size=size)
    else:
        fields.refuse("at", '"at" goes with a drive through a point; add "through: point"')
    fields.finish()
    return None if at is None else Drive(words["through"], at, words["layout"])


def _check_drive(
    top: Fields,
    geometry: Geometry,
    boundary: dict[str, Hold],
    supports: tuple[Support, ...],
    drive: Drive | None,
) -> None:
    holds = [*boundary.values(), *(support.hold for support in supports)]
    held = any(h.deflection.value > 0.0 or h.rotation.value > 0.0 for h in holds)
    value = top.find("drive")
    if drive is not None and value is not None and _is_at_rest(geometry, boundary, supports, drive):
        value.complain(
            "drive pushes at a place that is held and cannot move; move it, or let the support "
            "there drive the specimen: through: boundary"
        )
    if drive is not None and value is not None and drive.through == "boundary" and not held:
        value.complain(
            "drive goes through the boundary, yet nothing is held there; say where the exciter "
            'holds the specimen, or "through: point" with "at"'
        )


def _is_at_rest(
    geometry: Geometry, boundary: dict[str, Hold], supports: tuple[Support, ...], drive: Drive
) -> bool:
    """Whether a driven point is where the specimen is held rigidly."""
    if drive.through != "point" or isinstance(geometry, DiscGeometry):
        return False  # a disc on a stud can be driven through nothing else
    at = Support(drive.at, Hold(Quantity(math.inf), Quantity(0.0)))
    scale = 1e-9 * max(geometry.size, default=1.0)
    rigid = (s for s in supports if math.isinf(s.hold.deflection.value))
    if any(distance(at, support) <= scale for support in rigid):
        return True
    return any(math.isinf(boundary[edge].deflection.value) for edge in edges_at(geometry, at))


def _check_centre(top: Fields, geometry: Geometry, drive: Drive | None) -> None:
    """A disc takes everything at its centre: there must be something there."""
    if not isinstance(geometry, DiscGeometry) or geometry.hole_diameter is None:
        return
    for key in ("attached", "supports", "drive"):
        value = top.find(key)
        if value is None or (key == "drive" and (drive is None or drive.through != "point")):
            continue
        value.complain(
            f"{key} of a disc is at its centre, where this one has its hole; remove it, or "
            "describe what holds the hole's edge under boundary"
        )
