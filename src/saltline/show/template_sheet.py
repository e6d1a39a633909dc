"""The template of a specimen's modes, whatever the specimen."""

from __future__ import annotations

from collections.abc import Sequence
from functools import singledispatch

from saltline.modes import Mode, Modes
from saltline.nodes import BeamPattern, Pattern, pattern_of
from saltline.show import template_beam, template_face
from saltline.show.face import face_of
from saltline.show.outline import Outline, outline_of
from saltline.show.pictures_modes import specimen_line
from saltline.show.table import LengthUnit
from saltline.show.template import MOST_MODES, Key, Label, Line, Template
from saltline.show.template_beam import beam_template
from saltline.show.template_face import disc_ground, face_template, plate_ground
from saltline.specimen import BeamGeometry, DiscGeometry, Geometry, PlateGeometry

Parts = tuple[list[Line], list[Label], list[Key]]


def template_of(modes: Modes, *, unit: LengthUnit, trace: str = "") -> Template:
    """The true-scale template of some modes, at least one and at most `MOST_MODES`.

    unit: of the ruler and of the places in the key; trace: as in `Template`.
    """
    assert 1 <= len(modes.modes) <= MOST_MODES
    patterns = [pattern_of(mode.shape) for mode in modes.modes]
    specimen = modes.specimen
    lines, labels, keys = _parts(
        specimen.geometry, outline_of(specimen), modes.modes, patterns, unit
    )
    return Template(
        specimen.name,
        specimen_line(specimen),
        tuple(lines),
        tuple(labels),
        tuple(keys),
        template_beam.MARKS if specimen.kind == "beam" else template_face.MARKS,
        trace,
    )


@singledispatch
def _parts(
    geometry: Geometry,
    outline: Outline,
    modes: Sequence[Mode],
    patterns: Sequence[Pattern],
    unit: LengthUnit,
) -> Parts:
    raise TypeError(f"no template is known for {type(geometry).__name__}")


@_parts.register
def _(
    geometry: BeamGeometry,
    outline: Outline,
    modes: Sequence[Mode],
    patterns: Sequence[Pattern],
    unit: LengthUnit,
) -> Parts:
    beams = [pattern for pattern in patterns if isinstance(pattern, BeamPattern)]
    return beam_template(outline, modes, beams, unit)


@_parts.register(PlateGeometry)
@_parts.register(DiscGeometry)
def _(
    geometry: PlateGeometry | DiscGeometry,
    outline: Outline,
    modes: Sequence[Mode],
    patterns: Sequence[Pattern],
    unit: LengthUnit,
) -> Parts:
    faces = [
        face_of(mode.shape, pattern, outline) for mode, pattern in zip(modes, patterns, strict=True)
    ]
    ground = plate_ground if isinstance(geometry, PlateGeometry) else disc_ground
    lines, labels = ground(outline, unit)
    own, ranks, keys = face_template(faces, modes, patterns, unit)
    return [*lines, *own], [*labels, *ranks], keys
