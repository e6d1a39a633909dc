"""Whether a rig file goes with a specimen: places on the specimen, and which file is which."""

from __future__ import annotations

import os
from collections.abc import Iterator

from saltline.files.document import Complaint, InputError, Log, top_keys
from saltline.planning.rig import Rig
from saltline.specimen import DiscGeometry, Specimen
from saltline.words import visible


def refuse_exchanged(specimen: str | os.PathLike[str], rig: str | os.PathLike[str]) -> None:
    """Raise InputError where a rig file is given as a specimen and a specimen file as its rig."""
    if "exciter" in top_keys(specimen) and "kind" in top_keys(rig):
        log = Log(os.fspath(specimen))
        raise log.fail(
            None,
            f"this is a rig file, and {visible(os.fspath(rig))} describes a specimen: the two are "
            "exchanged; give the specimen first, and the rig with --rig",
        )


def check_fit(rig: Rig, specimen: Specimen) -> None:
    """Raise InputError where what the file says of places on the specimen is not for this one."""
    complaints = [*_axis_faults(rig, specimen), *_sensor_faults(rig, specimen)]
    if complaints:
        raise InputError("rig" if rig.path is None else os.fspath(rig.path), complaints)


def _axis_faults(rig: Rig, specimen: Specimen) -> Iterator[Complaint]:
    axis, many = rig.exciter.drive_axis, len(specimen.geometry.size)
    if axis and len(axis) != many:
        due = (
            "left out on a disc, which is driven at its centre",
            "one length on a beam",
            "two lengths, x and y, on a plate",
        )[many]
        yield Complaint(axis[0].place, f"drive_axis must be {due}")


def _sensor_faults(rig: Rig, specimen: Specimen) -> Iterator[Complaint]:
    at = rig.sensor.at if rig.sensor is not None else ()
    if not at:
        return
    is_disc = isinstance(specimen.geometry, DiscGeometry)
    limits = _disc_reach(specimen) if is_disc else [(0.0, v) for v in specimen.geometry.size]
    if len(at) != len(limits):
        due = ("one length", "two lengths, x and y,")[len(limits) - 1]
        yield Complaint(at[0].place, f"at must be {due} on a {specimen.kind}, or base")
        return
    for q, (low, high) in zip(at, limits, strict=True):
        if not low * (1.0 - 1e-9) <= q.value <= high * (1.0 + 1e-9):
            yield Complaint(
                q.place,
                f"at of {q.value * 1e3:.6g} mm lies outside of the {specimen.kind} "
                f"{specimen.name}; it must be between {low * 1e3:.6g} and {high * 1e3:.6g} mm",
            )


def _disc_reach(specimen: Specimen) -> list[tuple[float, float]]:
    """The radii at which a sensor can sit on a disc, m."""
    geometry = specimen.geometry
    assert isinstance(geometry, DiscGeometry)
    hole = 0.0 if geometry.hole_diameter is None else geometry.hole_diameter.value
    return [(hole / 2.0, geometry.diameter.value / 2.0)]
