"""Where what holds a plate's edge changes, so that its moments may grow without bound there."""

from __future__ import annotations

import math
from itertools import product

from saltline.plates.corners import Ray
from saltline.plates.plate_places import AXIS_EDGES, INWARD, edge_along, edges_at, line_ends
from saltline.record import record
from saltline.specimen import Hold, Specimen, Support


@record
class Corner:
    """Where two ways of holding an edge meet: the edges on either side, and a way inward.

    fold: where a held line takes the place of one of the edges, the line and how the plate beyond
          it moves (see `Source`).
    """

    at: tuple[float, float]
    rays: tuple[Ray, Ray]
    inward: complex
    fold: tuple[int, float, int] | None = None


def corners(specimen: Specimen) -> list[Corner]:
    """Where the moments are singular: clamped edges meeting free ones, ends of held parts."""
    a, b = specimen.geometry.size
    found = []
    for x_edge, y_edge in product(*AXIS_EDGES):
        at = (a if x_edge == "right" else 0.0, b if y_edge == "top" else 0.0)
        holds = [rigid_holds(specimen.boundary[edge]) for edge in (x_edge, y_edge)]
        along, across = INWARD[y_edge], INWARD[x_edge]
        found.append(Corner(at, (Ray(along, holds[0]), Ray(across, holds[1])), along + across))
    for support in specimen.supports:
        edge = edge_along(specimen, support)
        for at, ahead in line_ends(specimen, support) if edge else []:
            assert edge is not None
            other = next((e for e in edges_at(specimen, at) if e != edge), None)
            beyond = (
                Ray(ahead, rigid_holds(specimen.boundary[edge]))
                if other is None
                else Ray(INWARD[edge], rigid_holds(specimen.boundary[other]))
            )
            inward = INWARD[edge] - (0.0 if other is None else ahead)
            found.append(Corner(at, (Ray(-ahead, rigid_holds(support.hold)), beyond), inward))
        found += _line_corners(specimen, support) if edge is None else []
    return [corner for corner in found if _is_singular(*corner.rays)]


def _line_corners(specimen: Specimen, support: Support) -> list[Corner]:
    """Where a held line within the plate runs into an edge.

    Motions that the line mirrors meet it as a clamped edge where it holds the deflection; those
    that it mirrors with the sign turned do where it holds the slope.
    """
    found = []
    for at, ahead in line_ends(specimen, support):
        axis, across = (0, 1.0 + 0j) if ahead.real == 0.0 else (1, 1j)
        edge = next((e for e in edges_at(specimen, at) if INWARD[e] == -ahead), None)
        if edge is None:
            continue
        rays = (Ray(-ahead, (True, True)), Ray(across, rigid_holds(specimen.boundary[edge])))
        for parity, is_held in zip((1, -1), rigid_holds(support.hold), strict=True):
            if is_held:
                found.append(Corner(at, rays, across - ahead, (axis, at[axis], parity)))
    return found


def rigid_holds(hold: Hold) -> tuple[bool, bool]:
    return math.isinf(hold.deflection.value), math.isinf(hold.rotation.value)


def _is_singular(one: Ray, other: Ray) -> bool:
    """Whether the moments are: where edges in one line differ, or a clamped corner is half free."""
    if one.direction == -other.direction:
        return one.holds != other.holds
    return {one.holds, other.holds} == {(True, True), (False, False)}
