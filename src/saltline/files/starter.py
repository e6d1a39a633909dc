"""What a new specimen or rig file begins with: it loads, and its comments show the rest."""

from __future__ import annotations

from collections.abc import Mapping

from saltline.specimen import EDGES
from saltline.words import listed, quoted

_HEAD = """\
# A {kind} for saltline. Change the values to those of your specimen; every length, mass or
# stiffness carries its unit, metric or inch. A tolerance may follow, as the half-width within
# which the value lies 95 times in 100:  3.2 ± 0.05 mm   or   3.2 +/- 0.05 mm   or   103 GPa ± 3 %
name: {name}
kind: {kind}
"""

_BEAM = """
# A built-in name (the command "saltline materials" lists them), or your own values:
#   material: {youngs_modulus: 68.5 GPa ± 2 %, density: 2700 kg/m3, poisson_ratio: 0.33}
material: aluminium 6061

geometry:
  # The free length: from the face of the clamp to the tip, or between the faces of two clamps.
  length: 240 mm ± 0.5 mm
  # Shapes: rectangle (width, thickness), rod (diameter), tube (outer_diameter, wall),
  # box (width, height, wall), custom (area, second_moment and, where you know them,
  # second_moment_edgewise, shear_coefficient, torsion_constant, polar_moment, width, thickness).
  section: {shape: rectangle, width: 20 mm, thickness: 3 ± 0.03 mm}
  # A stepped or tapered beam has segments in place of length and section:
  # segments:
  #   - {length: 80 mm, section: {shape: rectangle, width: 20 mm, thickness: 6 mm}}
  #   - length: 160 mm
  #     section_start: {shape: rectangle, width: 20 mm, thickness: 3 mm}
  #     section_end: {shape: rectangle, width: 10 mm, thickness: 3 mm}
  # An axial preload, tension positive:
  # tension: 50 N

# Either end: clamped (no deflection, no slope), pinned (no deflection), guided (no slope), free,
# or elastic, for a clamp that gives a little:
#   start: {deflection: rigid, rotation: 300 N m/rad}
boundary: {start: clamped, end: free}

# Things fixed to the beam, such as an accelerometer; "at" counts from the start.
# attached:
#   - {mass: 1.2 g, at: 235 mm}
#   - {mass: 15 g, at: 100 mm, rotary_inertia: 900 g mm2}

# Supports between the ends; each of the two is rigid, free or a stiffness.
# supports:
#   - {at: 160 mm, deflection: rigid, rotation: free}

# Damping, in percent of critical; without it a resonance has no height.
# damping_ratio: 0.3 %

# How the exciter moves it: all supports together, or a push at a point. "layout: twin" says that
# two equal beams stand symmetrically about the axis of the exciter.
drive: {through: boundary}
# drive: {through: boundary, layout: twin}
# drive: {through: point, at: 30 mm}
"""

_PLATE = """
# A built-in name (the command "saltline materials" lists them), or your own values:
#   material: {youngs_modulus: 205 GPa ± 2 %, density: 7850 kg/m3, poisson_ratio: 0.29}
# or, for a sheet that is stiffer along x than along y (poisson_ratio is the one for pulling
# along x):
#   material:
#     youngs_modulus_x: 10.5 GPa
#     youngs_modulus_y: 6.5 GPa
#     shear_modulus: 650 MPa
#     poisson_ratio: 0.08
#     density: 680 kg/m3
material: steel

# x runs along the length, y along the width, from the left bottom corner.
geometry:
  length: 280 mm ± 0.5 mm
  width: 180 mm ± 0.5 mm
  thickness: 1.5 ± 0.03 mm

# Each edge: clamped (no deflection, no slope), pinned (no deflection), guided (no slope), free,
# or elastic, with stiffnesses for each metre of edge:
#   left: {deflection: 2e6 N/m/m, rotation: 300 N m/rad/m}
boundary:
  left: free       # x = 0
  right: free      # x = length
  bottom: free     # y = 0
  top: free        # y = width

# Places where the plate is held. A stud or bolt that also holds the slope needs the diameter of
# what grips the plate, for that decides the result.
supports:
  - {at: [140 mm, 90 mm], deflection: rigid, rotation: rigid, diameter: 12 mm}
  # - {at: [20 mm, 20 mm], deflection: 2e5 N/m}

# Things fixed to the plate, such as an accelerometer.
# attached:
#   - {mass: 1.2 g, at: [270 mm, 170 mm]}
# A heavier thing also turns with the plate; it needs the diameter of its foot.
#   - {mass: 15 g, at: [60 mm, 90 mm], rotary_inertia: 900 g mm2, diameter: 10 mm}

# Damping, in percent of critical; without it a resonance has no height.
# damping_ratio: 0.2 %

# How the exciter moves it: all supports together, or a push at a point. "layout: twin" says that
# two equal plates stand symmetrically about the axis of the exciter.
drive: {through: boundary}
# drive: {through: boundary, layout: twin}
# drive: {through: point, at: [40 mm, 30 mm]}
"""

_DISC = """
# A built-in name (the command "saltline materials" lists them), or your own values:
#   material: {youngs_modulus: 110 GPa ± 3 %, density: 8860 kg/m3, poisson_ratio: 0.34}
material: phosphor bronze

geometry:
  diameter: 220 mm ± 0.5 mm
  thickness: 1.2 ± 0.02 mm
  # A round hole at the centre; its edge is then held as "hole" says under boundary.
  # hole_diameter: 20 mm

# The rim, and the edge of a hole: clamped (no deflection, no slope), pinned (no deflection),
# guided (no slope), free, or elastic, with stiffnesses for each metre of edge:
#   rim: {deflection: 2e6 N/m/m, rotation: 300 N m/rad/m}
boundary:
  rim: free
  # hole: clamped

# A stud at the centre: deflection alone, or with the slope and the diameter of what grips the disc.
supports:
  - {deflection: rigid, rotation: rigid, diameter: 14 mm}

# Things fixed at the centre.
# attached:
#   - {mass: 5 g, rotary_inertia: 150 g mm2}

# Damping, in percent of critical; without it a resonance has no height.
# damping_ratio: 0.2 %

# How the exciter moves it: all supports together, or (on a disc that is held elsewhere) a push at
# the centre. "layout: twin" says that two equal discs stand symmetrically about the drive axis.
drive: {through: boundary}
# drive: {through: boundary, layout: twin}
# drive: {through: point}
"""

_RIG = """\
# A rig for saltline: what the exciter, the strobe and the sensor can do. Change the values to those
# of your data sheets; every one carries its unit, metric or inch.
name: {name}

exciter:
  # Rated sine force, amplitude (an rms value times 1.414).
  force: 100 N
  # The largest displacement, peak-to-peak.
  stroke: 10 mm
  lowest_frequency: 5 Hz
  highest_frequency: 5 kHz
  # The exciter's own moving parts: table, coil, whatever moves with them.
  moving_mass: 230 g
  # The rest may be left out: what is not stated limits nothing.
  # Largest velocity and acceleration of the bare table, amplitudes.
  # velocity: 1.5 m/s
  # acceleration: 45 g
  # The clamp and all else between the table and the specimen. Weigh it.
  fixture_mass: 160 g
  # From the drive axis to the face of the clamp where the specimen's free length begins: with it
  # the moment of a specimen that overhangs is known.
  clamp_distance: 15 mm
  # Of a specimen that is held otherwise the axis is taken at the middle of what holds it; elsewhere
  # it is stated in place of the distance, as "drive_axis: 120 mm" or "drive_axis: [60 mm, 90 mm]".
  # The largest moments across the drive axis, at rest and in motion.
  # static_moment: 0.6 N m
  # dynamic_moment: 1.5 N m

# The lowest and the highest flash rate. Flashes of some 3 to 65 Hz can trigger seizures.
strobe: {{lowest_rate: 1 Hz, highest_rate: 300 Hz}}

# The accelerometer: on the base, or at a place on the specimen, which its mass then changes.
sensor: {{mass: 1.2 g, at: base, range: 500 g}}
# sensor: {{mass: 1.2 g, at: 200 mm, range: 500 g}}
# sensor: {{mass: 1.2 g, at: [60 mm, 40 mm], range: 500 g}}

# The smallest motion that you can see, peak-to-peak.
smallest_visible_motion: 0.2 mm
"""

_BODIES: Mapping[str, str] = {"beam": _BEAM, "plate": _PLATE, "disc": _DISC}


def starter(kind: str, name: str) -> str:
    """The text of a commented specimen or rig file that loads as it stands.

    kind: "beam", "plate", "disc" or "rig"; name: the specimen's or the rig's, one line of text.
    Raises ValueError for another kind, or a name that cannot stand in the file.
    """
    if kind not in _BODIES and kind != "rig":
        raise ValueError(f"kind {quoted(kind)} is not known; it must be {listed([*EDGES, 'rig'])}")
    if not name.strip() or not name.isprintable() or len(name) > 200:
        raise ValueError(f"name {quoted(name)} must be one line of 1 to 200 printable characters")
    if kind == "rig":
        return _RIG.format(name=_as_yaml(name))
    return _HEAD.format(kind=kind, name=_as_yaml(name)) + _BODIES[kind]


def _as_yaml(name: str) -> str:
    """The name as it is where that is plain in YAML, and in quotes where it might not be."""
    words = name.replace("-", " ").replace("_", " ").split(" ")
    if all(word.isalnum() for word in words) and name[0].isalpha() and name.lower() != "null":
        return name
    return "'" + name.replace("'", "''") + "'"
