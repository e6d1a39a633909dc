"""What moves in a moving picture, modes or a forced shape, set out on a sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial, singledispatch
from typing import TYPE_CHECKING, Any

import numpy as np

from saltline.arrays import Values
from saltline.beam import BeamShape
from saltline.facts import STANDARD_GRAVITY
from saltline.forced.response import Driven, absolute_displacement
from saltline.modes import Mode, Modes
from saltline.nodes import BeamPattern, Pattern, pattern_of
from saltline.planning.strobe import FLICKER_HZ
from saltline.record import record
from saltline.show.face import Face, Surface, box_axes, face_of, surface_of
from saltline.show.outline import Outline, outline_of
from saltline.show.pictures import frequency_text
from saltline.show.pictures_beam import BeamView, beam_view
from saltline.show.pictures_modes import (
    SCALE_MM,
    SIDE_MM,
    beam_head,
    face_size,
    scale_face,
    short_count,
    specimen_line,
)
from saltline.show.pictures_motion import (
    BeamMotion,
    FaceMotion,
    Move,
    Pace,
    show_beam,
    show_face,
)
from saltline.show.pictures_sheet import EDGE_MM, WIDTH_MM, Panel, Row, Sheet
from saltline.show.table import LengthUnit, significant
from saltline.specimen import BeamGeometry, DiscGeometry, Geometry, PlateGeometry, Specimen
from saltline.tracing.regions import Phases, phases_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Motion = BeamMotion | FaceMotion

PLACES = 301
"""So many places along a beam or a radius."""

GRID = 24
"""Twice so many places along the longer side of a plate for a forced shape, a sum of many modes."""


@record
class Titled:
    """A motion, what stands above it, and what its phase is counted from, as a sentence."""

    title: tuple[str, ...]
    motion: Motion
    zero: str = "At 0° the motion is at its largest."


# -- modes ----------------------------------------------------------------------------------------


def moving_modes(modes: Modes) -> list[Titled]:
    """Each mode as a motion."""
    outline = outline_of(modes.specimen)
    found = []
    for mode in modes.modes:
        pattern = pattern_of(mode.shape)
        name = beam_head(mode) if isinstance(mode.shape, BeamShape) else f"mode {mode.rank}"
        head = f"{name}: {frequency_text(mode)}"
        found.append(Titled((head, short_count(pattern)), _motion(mode, pattern, outline)))
    return found


def _motion(mode: Mode, pattern: Pattern, outline: Outline) -> Motion:
    motion = _mode(mode.shape, pattern, outline)
    return replace(motion, family=mode.family) if isinstance(motion, BeamMotion) else motion


@singledispatch
def _mode(shape: Any, pattern: Pattern, outline: Outline) -> Motion:
    surface = surface_of(shape, face_of(shape, pattern, outline))
    return FaceMotion(surface, surface.w)


@_mode.register
def _(shape: BeamShape, pattern: BeamPattern, outline: Outline) -> Motion:
    phases = phases_of(shape)
    x = np.linspace(0.0, float(shape.line.breaks[-1]), PLACES)
    return BeamMotion(x, phases.sense / phases.largest * shape.at(x), pattern.nodes)


# -- the forced shape -----------------------------------------------------------------------------


def moving_forced(known: Driven, specimen: Specimen, frequency_hz: float) -> Titled:
    """What the drive makes of the specimen at one frequency, against the ground.

    specimen: as the file has it, without what the solution added.
    """
    x, read = _read(specimen.geometry, known, frequency_hz)
    largest = float(np.abs(read).max())
    motion = _forced(specimen.geometry, specimen, x, read / largest)
    return Titled(
        (
            f"driven at {significant(5)(frequency_hz)} Hz, damping ratio "
            f"{100.0 * known.damping.ratio:.3g} %",
            _how_far(known, largest),
        ),
        motion,
        ZERO_PHASE[known.through],
    )


def _how_far(known: Driven, largest: float) -> str:
    """The largest motion per unit of drive, in words."""
    three = significant(3)
    if known.through == "point":
        return f"at most {three(1e3 * largest)} mm to either side per N"
    per_gravity = three(1e3 * STANDARD_GRAVITY * largest)
    return f"at most {per_gravity} mm to either side per 9.81 m/s² of the base"


ZERO_PHASE = {
    "point": "At 0° the force is at its largest.",
    "boundary": "At 0° the acceleration of the base is at its largest.",
}
"""How the drive acts -> what the phase is counted from."""


@singledispatch
def _read(geometry: Geometry, known: Driven, hz: float) -> tuple[Values, Values]:
    """Places, shape (n, dimensions), and the complex motion there, m per unit of drive."""
    raise TypeError(f"no forced shape is known for {type(geometry).__name__}")


def _at(known: Driven, hz: float, places: Values) -> tuple[Values, Values]:
    return places, absolute_displacement(known, np.array([hz]), places)[0]


@_read.register
def _(geometry: BeamGeometry, known: Driven, hz: float) -> tuple[Values, Values]:
    return _at(known, hz, np.linspace(0.0, geometry.length, PLACES)[:, None])


@_read.register
def _(geometry: PlateGeometry, known: Driven, hz: float) -> tuple[Values, Values]:
    x, y = box_axes(outline_of(known.modes.specimen), GRID)
    X, Y = np.meshgrid(x, y, indexing="ij")
    return _at(known, hz, np.column_stack([X.ravel(), Y.ravel()]))


@_read.register
def _(geometry: DiscGeometry, known: Driven, hz: float) -> tuple[Values, Values]:
    """Along a radius: what drives a disc, its centre or all of its supports, is round."""
    hole = 0.0 if geometry.hole_diameter is None else geometry.hole_diameter.value / 2.0
    return _at(known, hz, np.linspace(hole, geometry.diameter.value / 2.0, PLACES)[:, None])


@singledispatch
def _forced(geometry: Geometry, specimen: Specimen, places: Values, amplitude: Values) -> Motion:
    raise TypeError(f"no forced shape is known for {type(geometry).__name__}")


@_forced.register
def _(geometry: BeamGeometry, specimen: Specimen, places: Values, amplitude: Values) -> Motion:
    return BeamMotion(places[:, 0], amplitude)


@_forced.register
def _(geometry: PlateGeometry, specimen: Specimen, places: Values, amplitude: Values) -> Motion:
    outline = outline_of(specimen)
    x, y = box_axes(outline, GRID)
    return _without_lines(outline, x, y, amplitude.reshape(x.size, y.size))


@_forced.register
def _(geometry: DiscGeometry, specimen: Specimen, places: Values, amplitude: Values) -> Motion:
    outline = outline_of(specimen)
    x, y = box_axes(outline)
    r = np.hypot(*np.meshgrid(x, y, indexing="ij"))
    real, imaginary = (
        np.interp(r, places[:, 0], part) for part in (amplitude.real, amplitude.imag)
    )
    return _without_lines(outline, x, y, real + 1j * imaginary)


def _without_lines(outline: Outline, x: Values, y: Values, amplitude: Values) -> FaceMotion:
    """A motion of a face that has no line at rest."""
    face = Face(outline, (), Phases(1, 1.0, ()))
    return FaceMotion(Surface(face, x, y, amplitude.real), amplitude)


FACE_MARKS = "; light is up, dark is down; along the lines it is at rest at that moment"

# -- on a sheet -----------------------------------------------------------------------------------


def moving_sheet(
    specimen: Specimen, motions: Sequence[Titled], pace: Pace, *, unit: LengthUnit
) -> tuple[Sheet, list[Move]]:
    """The motions on a sheet; the list fills as the sheet is drawn, with what moves them."""
    moves: list[Move] = []
    rows = _rows(specimen, motions, unit, moves)
    caption = (
        f"Shown at {pace.rate_hz:.2g} Hz, as a strobe a little off the frequency shows it, and "
        f"enlarged{'' if specimen.kind == 'beam' else FACE_MARKS}. {motions[0].zero} The rate is "
        f"kept below {FLICKER_HZ[0]:g} Hz: faster changes of light and dark can trigger seizures.",
    )
    return Sheet((specimen_line(specimen),), tuple(rows), caption, name=specimen.name), moves


def _rows(
    specimen: Specimen, motions: Sequence[Titled], unit: LengthUnit, moves: list[Move]
) -> list[Row]:
    width = WIDTH_MM - 2.0 * EDGE_MM
    if isinstance(specimen.geometry, BeamGeometry):
        view = beam_view(BeamPattern((), ()), specimen.geometry.length, width, unit)
        return [
            [Panel(partial(_beam, moves=moves, motion=one.motion, view=view, specimen=specimen),
                   width, view.height, (", ".join(one.title),))]
            for one in motions
        ]  # fmt: skip
    columns, width, height = face_size(
        outline_of(specimen), [line for one in motions for line in one.title]
    )
    panels = [
        Panel(
            partial(_face, moves=moves, motion=one.motion, unit=unit),
            width, height, one.title, SIDE_MM, SCALE_MM,
        )
        for one in motions
    ]  # fmt: skip
    return [panels[k : k + columns] for k in range(0, len(panels), columns)]


def _beam(
    axes: Axes, *, moves: list[Move], motion: Motion, view: BeamView, specimen: Specimen
) -> None:
    assert isinstance(motion, BeamMotion)
    moves.append(show_beam(axes, motion, view, specimen))


def _face(axes: Axes, *, moves: list[Move], motion: Motion, unit: LengthUnit) -> None:
    assert isinstance(motion, FaceMotion)
    moves.append(show_face(axes, motion, unit))
    scale_face(axes, motion.surface.face, unit)
