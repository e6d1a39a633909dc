"""Moving pictures: a mode or a forced shape as a strobe shows it, slowed down.

One turn of the motion is so many frames; a frame is the real part of the complex amplitude turned
by its part of a turn. The picture's light and dark change places once a turn, so its rate is kept
below that from which flashes can trigger seizures (`strobe.FLICKER_HZ`).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from saltline.arrays import Values
from saltline.planning.strobe import FLICKER_HZ
from saltline.record import record
from saltline.show.face import Surface
from saltline.show.pictures import sign_text, size_mm
from saltline.show.pictures_beam import CURVE_MM, NODE, BeamView, draw_silhouette
from saltline.show.pictures_face import (
    cover_outside,
    draw_lines,
    draw_outline,
    frame_face,
    put_signs,
    shaded,
)
from saltline.show.pictures_file import frame
from saltline.show.table import LengthUnit
from saltline.specimen import Specimen

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.contour import ContourSet
    from matplotlib.figure import Figure
    from matplotlib.text import Text
    from PIL.Image import Image

SLOWEST_HZ = 0.1

FRAMES = 20
"""A turn has about so many frames, or fewer where they would follow each other too fast."""

SHORTEST_MS = 30
"""Programs that show a GIF hold no frame for much less (common practice, no source)."""

UNSIGNED = 0.2
"""Nearer to rest than this part of the largest motion a region shows no sign."""

UNSEEN = 0.02
"""A motion of less than this part of the largest is not seen."""

Move = Callable[[float], None]
"""Shows the motion at a phase, in turns."""


@record
class Pace:
    """How fast a moving picture runs."""

    frames: int
    duration_ms: int

    @property
    def rate_hz(self) -> float:
        """Turns a second."""
        return 1000.0 / (self.frames * self.duration_ms)


def pace_of(rate_hz: float) -> Pace:
    """Frames and their duration for a rate; what results is at most a little slower.

    A GIF knows whole hundredths of a second alone.

    >>> pace_of(1.0)
    Pace(frames=20, duration_ms=50)
    """
    assert SLOWEST_HZ <= rate_hz < FLICKER_HZ[0]
    duration = max(10 * round(100.0 / (rate_hz * FRAMES)), SHORTEST_MS)
    return Pace(math.ceil(round(1000.0 / (rate_hz * duration), 9)), duration)


@record
class BeamMotion:
    """A beam's motion: places along it, m, and the complex amplitude there, at most 1.

    nodes:  where it is at rest, m; none in a forced shape.
    family: of the mode, or of those that a forced shape is of.
    """

    x: Values
    amplitude: Values
    nodes: Sequence[float] = ()
    family: str = "flatwise"


@record
class FaceMotion:
    """A plate's or a disc's motion: the complex amplitude on the grid of a face, at most 1.

    surface: outline and grid, and of a mode the node lines and regions.
    """

    surface: Surface
    amplitude: Values


def at_phase(amplitude: Values, turns: float) -> Values:
    """What is seen at a phase: the real part of A e^(2 pi i turns)."""
    return np.asarray(np.real(amplitude * cmath.exp(2j * math.pi * turns)))


def show_beam(axes: Axes, motion: BeamMotion, view: BeamView, specimen: Specimen) -> Move:
    """Set a beam's motion up on an axes; what is returned moves it."""
    width, height = size_mm(axes)
    axes.set(xlim=(0.0, width), ylim=(0.0, height))
    axes.axis("off")
    draw_silhouette(axes, specimen, view, motion.family)
    x = view.all_x(motion.x)
    reach = CURVE_MM * np.abs(motion.amplitude)
    for side in (1.0, -1.0):
        axes.plot(x, view.middle + side * reach, color="0.5", linewidth=0.5, linestyle="--")
    (curve,) = axes.plot(x, np.full_like(x, view.middle), color="0.0", linewidth=1.4)
    for node in motion.nodes:
        axes.plot([view.x(node)], [view.middle], NODE, color="0.0", markerfacecolor="1.0", zorder=5)
    phase = _phase(axes)

    def move(turns: float) -> None:
        phase.set_text(_degrees(turns))
        curve.set_ydata(view.middle + CURVE_MM * at_phase(motion.amplitude, turns))

    return move


def show_face(axes: Axes, motion: FaceMotion, unit: LengthUnit) -> Move:
    """Set a plate's or a disc's motion up on an axes; what is returned moves it."""
    surface, face = motion.surface, motion.surface.face
    frame_face(axes, face.outline, unit)
    x, y = surface.x * unit.per_metre, surface.y * unit.per_metre
    image = axes.imshow(
        shaded(surface.w), cmap="gray", vmin=0.0, vmax=1.0, origin="lower",
        extent=(x[0], x[-1], y[0], y[-1]), interpolation="bilinear", aspect="equal", zorder=1,
    )  # fmt: skip
    cover_outside(axes, face.outline, unit)
    draw_lines(axes, face, unit, width=1.1)
    draw_outline(axes, face.outline, unit)
    signs = put_signs(axes, surface, unit) if face.phases.regions else []
    phase = _phase(axes)
    passing: list[ContourSet] = []

    def move(turns: float) -> None:
        phase.set_text(_degrees(turns))
        w = at_phase(motion.amplitude, turns)
        image.set_data(shaded(w))
        if not face.phases.regions:
            _redraw_rest(axes, passing, x, y, w)
        swing = math.cos(2.0 * math.pi * turns)
        for sign, text in signs:
            text.set_text(sign_text(sign * swing))
            text.set_visible(abs(swing) > UNSIGNED)

    return move


def _redraw_rest(axes: Axes, passing: list[ContourSet], x: Values, y: Values, w: Values) -> None:
    """Where a forced shape passes through rest at this moment, in place of where it did before."""
    for line in passing:
        line.remove()
    passing.clear()
    if w.min() < -UNSEEN and w.max() > UNSEEN:
        passing.append(axes.contour(x, y, w.T, levels=[0.0], colors="0.0", linewidths=1.1))


def _phase(axes: Axes) -> Text:
    """Where the phase is told: above the right end."""
    return axes.text(1.0, 1.0, _degrees(0.0), transform=axes.transAxes, ha="right", va="bottom")


def _degrees(turns: float) -> str:
    return f"{360.0 * turns:.0f}°"


def frames_of(
    figure: Figure, moves: Sequence[Move], pace: Pace, progress: Callable[[int], None]
) -> list[Image]:
    """One turn of everything on a figure; progress is told of each frame."""
    images = []
    for k in range(pace.frames):
        for move in moves:
            move(k / pace.frames)
        images.append(frame(figure))
        progress(1)
    return images
