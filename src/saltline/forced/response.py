"""The forced response of a specimen on an exciter: a sum over all its modes, with damping.

Every figure is per unit of what drives: per m/s2 of base acceleration where the supports move
together, per N of force where the exciter pushes at a point. Amplitudes are complex, their phase
that against the drive. Damping is structural, a complex modulus E (1 + 2 i zeta), for which the sum
over the undamped modes is exact however strong it is:

    base driven:    z = -sum_n phi_n gamma_n / (omega_n^2 (1 + 2 i zeta) - omega^2)
    point driven:   w =  sum_n phi_n phi_n(at) / (omega_n^2 (1 + 2 i zeta) - omega^2)

with z the motion against the base, phi_n mass-normalised shapes and gamma_n their participations
(modal superposition, textbook). To the modes that were asked for come motions that stand for those
beyond; see `beyond`. SI throughout; places as in `shapes`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from saltline.arrays import Values
from saltline.facts import facts
from saltline.forced.beyond import motions_beyond
from saltline.forced.drive import driving_place, pushed, rough_driving_works
from saltline.forced.inertia import inertia
from saltline.forced.rigid import rigid_motions
from saltline.forced.shapes import RigidShape, deflections_of, largest
from saltline.modes import Mode, Modes, Shape
from saltline.quantity import Quantity
from saltline.record import record
from saltline.specimen import Attachment, Drive, Specimen

ASSUMED_DAMPING = 0.005
"""The damping ratio that is assumed where the file states none (common practice, no source)."""

BEYOND: Mapping[str, int] = {"boundary": 120, "point": 400}
"""So many modes beyond those asked for are followed, or as many as the functions can form; more
under a force at a point, which bends the specimen sharply there."""

_PUSH: Mapping[str, str] = {
    "beam": "through: point, at: 30 mm",
    "plate": "through: point, at: [40 mm, 30 mm]",
    "disc": "through: point",
}
"""Kind -> an example of a drive through a point; a disc is pushed at its centre."""


@record
class Damping:
    """The damping ratio, and whether it is assumed because the file states none."""

    ratio: float
    is_assumed: bool


def damping_of(specimen: Specimen) -> Damping:
    """The specimen's damping."""
    if specimen.damping_ratio is None:
        return Damping(ASSUMED_DAMPING, True)
    return Damping(specimen.damping_ratio.value, False)


@record
class Driven:
    """A specimen and its drive as a sum over modes.

    modes:   those that were asked for.
    damping: of all of them.
    through: "boundary" or "point".
    copies:  how many such specimens the exciter moves: 2 for a twin.
    mass_kg: of one specimen with what is attached.
    omega2:  rad2/s2, shape (n,): of rigid-body modes (0) first, then of the modes asked for, then
             of motions that stand for those beyond; see `beyond`.
    shapes:  of these, mass-normalised.
    inertia: of these the mass-weighted integrals of w, x w and y w, shape (n, 3); see `inertia`.
    work:    what the drive works on each, shape (n,): the participation, root of kg, or the
             deflection at the driving point, per root of kg.
    """

    modes: Modes
    damping: Damping
    through: str
    copies: int
    mass_kg: float
    omega2: Values
    shapes: tuple[Shape | RigidShape, ...]
    inertia: Values
    work: Values

    @property
    def shares(self) -> list[float]:
        """How strongly the drive excites each mode that was asked for, as `drive.excitation`."""
        modes = self.modes.modes
        first = next((n for n, s in enumerate(self.shapes) if modes and s is modes[0].shape), 0)
        works = np.abs(self.work[first : first + len(modes)])
        if self.through == "boundary":
            return [float(work) for work in works / math.sqrt(self.mass_kg)]
        return [float(w) / largest(mode.shape) for w, mode in zip(works, modes, strict=True)]


class DriveError(ValueError):
    """A drive that cannot move the specimen, said in words for the user."""


def driven(
    modes: Modes, *, damping_ratio: float | None = None, beyond: int | None = None
) -> Driven:
    """What the specimen's drive makes of its modes; through the boundary where none is stated.

    damping_ratio: instead of the specimen's, as a number (0.003 for 0.3 %).
    beyond:        how many modes beyond those asked for are followed; `BEYOND` by default.
    Raises DriveError where nothing that is held can be driven.
    """
    specimen = modes.specimen
    drive = specimen.drive or Drive()
    if drive.through == "boundary" and not _is_held(specimen):
        raise DriveError(
            "nothing holds the specimen against deflection, so its supports cannot drive it; add "
            f'where the exciter pushes, for example "drive: {{{_PUSH[specimen.kind]}}}"'
        )

    rigid = rigid_motions(modes)
    works = partial(rough_driving_works, specimen=specimen)
    count = BEYOND[drive.through] if beyond is None else beyond
    mass_kg = facts(specimen).mass_kg
    size = math.sqrt(mass_kg) if drive.through == "boundary" else 1.0 / math.sqrt(mass_kg)
    found = (*modes.modes, *motions_beyond(modes, works, count=count, size=size))
    shapes = (*(motion.shape for motion in rigid), *(mode.shape for mode in found))
    own = np.vstack([*(m.inertia[None, :] for m in rigid), inertia(found, specimen)])
    return Driven(
        modes=modes,
        damping=damping_of(specimen) if damping_ratio is None else Damping(damping_ratio, False),
        through=drive.through,
        copies=2 if (drive.through, drive.layout) == ("boundary", "twin") else 1,
        mass_kg=mass_kg,
        omega2=np.array([*(0.0 for _ in rigid), *(_omega2(mode) for mode in found)]),
        shapes=shapes,
        inertia=own,
        work=own[:, 0] if drive.through == "boundary" else pushed(shapes, driving_place(specimen)),
    )


def for_drive(specimen: Specimen) -> Specimen:
    """The specimen as it should be solved so that its modes follow a force at a point.

    A massless thing where a beam or a disc is pushed makes an element end there, as the shape calls
    for. A plate is left as it is: it would lose its symmetry, and little is gained.
    """
    drive = specimen.drive
    if drive is None or drive.through != "point" or specimen.kind == "plate":
        return specimen
    nothing = Attachment(drive.at, Quantity(0.0), Quantity(0.0))
    return replace(specimen, attached=(*specimen.attached, nothing))


def _is_held(specimen: Specimen) -> bool:
    holds = [*specimen.boundary.values(), *(support.hold for support in specimen.supports)]
    return any(hold.deflection.value > 0.0 for hold in holds)


def _omega2(mode: Mode) -> float:
    return (2.0 * math.pi * mode.frequency_hz) ** 2


# -- participation --------------------------------------------------------------------------------


@record
class Participation:
    """How a motion of the base drives one mode.

    factor:            of the shape scaled to 1 where it moves most.
    effective_mass_kg: the square of the participation of the mass-normalised shape; over all modes
                       these sum to the mass that can move against the supports.
    share:             the same as a part of the whole mass.
    """

    mode: Mode
    factor: float
    effective_mass_kg: float
    share: float


def participations(modes: Modes) -> list[Participation]:
    """How a motion of the base drives each mode, whatever drive the specimen states."""
    mass_kg = facts(modes.specimen).mass_kg
    gamma = inertia(modes.modes, modes.specimen)[:, 0]
    return [
        Participation(mode, float(g) * largest(mode.shape), float(g) ** 2, float(g) ** 2 / mass_kg)
        for mode, g in zip(modes.modes, gamma, strict=True)
    ]


# -- response -------------------------------------------------------------------------------------


def readings(known: Driven, places: Values) -> Values:
    """The deflections of all modes at places of shape (count, dimensions), shape (n, count)."""
    return deflections_of(known.shapes, places)


def superposed(known: Driven, frequencies_hz: Values, read: Values) -> Values:
    """The sum over the modes of work * reading / (omega_n^2 (1 + 2 i zeta) - omega^2).

    read: what is read off each mode (a deflection, a strain) at some places, shape (n, places).
    Complex, shape (frequencies, places).
    """
    yielding = 1.0 + 2.0j * known.damping.ratio
    omega2 = (2.0 * math.pi * np.asarray(frequencies_hz, dtype=float)) ** 2
    gains = known.work / (known.omega2 * yielding - omega2[:, None])
    found = np.empty((len(omega2), read.shape[1]), dtype=complex)
    found.real = gains.real @ read  # a complex copy of what is read would cost more than the sum
    found.imag = gains.imag @ read
    return found


def relative_displacement(known: Driven, frequencies_hz: Values, places: Values) -> Values:
    """Against the base, or of a point-driven specimen against the ground, m per unit of drive.

    Complex, shape (frequencies, places).
    """
    sign = -1.0 if known.through == "boundary" else 1.0
    return sign * superposed(known, frequencies_hz, readings(known, places))


def absolute_acceleration(known: Driven, frequencies_hz: Values, places: Values) -> Values:
    """m/s2 per unit of drive; complex, shape (frequencies, places)."""
    return acceleration_of(known, frequencies_hz, readings(known, places))


def acceleration_of(known: Driven, frequencies_hz: Values, read: Values) -> Values:
    """`absolute_acceleration` of deflections that have been read off already."""
    return acceleration_with(known, frequencies_hz, superposed(known, frequencies_hz, read))


def acceleration_with(known: Driven, frequencies_hz: Values, motion: Values) -> Values:
    """`absolute_acceleration` where the motion is known already, as `superposed` has it."""
    omega2 = (2.0 * math.pi * np.asarray(frequencies_hz, dtype=float))[:, None] ** 2
    if known.through == "boundary":
        return np.asarray(1.0 + omega2 * motion)
    return np.asarray(-omega2 * motion)


def absolute_velocity(known: Driven, frequencies_hz: Values, places: Values) -> Values:
    """m/s per unit of drive; complex, shape (frequencies, places)."""
    omega = 2.0 * math.pi * np.asarray(frequencies_hz, dtype=float)[:, None]
    return np.asarray(absolute_acceleration(known, frequencies_hz, places) / (1j * omega))


def absolute_displacement(known: Driven, frequencies_hz: Values, places: Values) -> Values:
    """m per unit of drive; complex, shape (frequencies, places)."""
    omega = 2.0 * math.pi * np.asarray(frequencies_hz, dtype=float)[:, None]
    return np.asarray(absolute_acceleration(known, frequencies_hz, places) / -(omega**2))


def apparent_mass(known: Driven, frequencies_hz: Values) -> Values:
    """The force that all copies take from the exciter over its acceleration, kg.

    Of a driven base m + omega^2 sum_n gamma_n^2 / (omega_n^2 (1 + 2 i zeta) - omega^2), m the mass
    at rest; of a driven point the inverse of its acceleration per force. Complex, shape
    (frequencies,).
    """
    if known.through == "point":
        at = driving_place(known.modes.specimen)
        return np.asarray(1.0 / absolute_acceleration(known, frequencies_hz, at)[:, 0])
    return known.copies * reactions(known, frequencies_hz, [known.mass_kg])[:, 0]


def reactions(known: Driven, frequencies_hz: Values, at_rest: Sequence[float]) -> Values:
    """What one base-driven specimen's inertia forces sum to, per m/s2 of base acceleration.

    at_rest: the mass, and mass times x and y of the centre of gravity (kg, kg m), as many of these
             as are wanted.
    Complex, shape (frequencies, len(at_rest)): the force in kg, and the forces' moments about the
    origin by their arms along x and along y, in kg m.
    """
    omega2 = (2.0 * math.pi * np.asarray(frequencies_hz, dtype=float))[:, None] ** 2
    moving = superposed(known, frequencies_hz, known.inertia[:, : len(at_rest)])
    return np.asarray(np.array(at_rest) + omega2 * moving)
