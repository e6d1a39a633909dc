"""What a rig file says: YAML -> Rig, or all of its mistakes with line and column."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping
from pathlib import Path

from saltline.files.document import Log, compose, read_text
from saltline.files.fields import Fields, Value
from saltline.planning.rig import VISIBLE, Exciter, Rig, Sensor, Strobe
from saltline.quantity import Quantity

_EXCITER = (
    "{force: 90 N, stroke: 12 mm, moving_mass: 220 g, lowest_frequency: 5 Hz, "
    "highest_frequency: 6 kHz}"
)
_BEGIN = f"exciter: {_EXCITER}"
_STROBE = "{lowest_rate: 1 Hz, highest_rate: 300 Hz}"
_SENSOR = "{mass: 1.2 g, range: 500 g}"

_KEYS: Mapping[str, tuple[str, str]] = {
    "force": ("force", "90 N"),
    "stroke": ("length", "12 mm"),
    "lowest_frequency": ("frequency", "5 Hz"),
    "highest_frequency": ("frequency", "6 kHz"),
    "moving_mass": ("mass", "220 g"),
    "velocity": ("velocity", "1.2 m/s"),
    "acceleration": ("acceleration", "40 g"),
    "fixture_mass": ("mass", "150 g"),
    "static_moment": ("moment", "0.6 N m"),
    "dynamic_moment": ("moment", "1.5 N m"),
    "clamp_distance": ("length", "15 mm"),
    "lowest_rate": ("frequency", "1 Hz"),
    "highest_rate": ("frequency", "300 Hz"),
    "mass": ("mass", "1.2 g"),
    "range": ("acceleration", "500 g"),
    "smallest_visible_motion": ("length", "0.2 mm"),
}
"""Key -> the kind of quantity that it holds, and an example for messages."""

_RANGES: Mapping[str, tuple[float, float]] = {
    "force": (1e-3, 1e9),
    "length": (1e-7, 10.0),
    "velocity": (1e-6, 1e3),
    "acceleration": (1e-3, 1e7),
    "frequency": (1e-3, 1e6),
    "mass": (1e-9, 1e6),
    "moment": (1e-6, 1e9),
}
"""Kind -> the SI values taken: wide of any exciter, near enough to keep floats in order."""


def load_rig(path: str | os.PathLike[str]) -> Rig:
    """Read a rig file. Raises InputError with everything that is wrong with it."""
    return read_rig(read_text(path), path)


def read_rig(text: str, path: str | os.PathLike[str] | None = None) -> Rig:
    """Read the text of a rig file.

    path: names the file in complaints, and the rig where it has no name of its own.
    Raises InputError with everything that is wrong with it.
    """
    log = Log("rig" if path is None else os.fspath(path))
    if not text.strip("\ufeff \t\r\n"):
        raise log.fail(None, f"the file is empty; say what the exciter is, for example {_BEGIN}")
    top = Fields(compose(text, log), path="", log=log)
    top.allow("name", "exciter", "strobe", "sensor", "smallest_visible_motion")
    if "exciter" not in top.keys and {"kind", "measured"} & set(top.keys):
        what = "a specimen" if "kind" in top.keys else "a measured list"
        raise log.fail(
            top.place, f"this is {what}; a rig file says what the exciter is, for example {_BEGIN}"
        )
    title = top.find("name")
    name = title.text() if title else None
    exciter = _exciter(top.need("exciter", _BEGIN))
    strobe, sensor = _strobe(top.find("strobe")), _sensor(top.find("sensor"))
    visible = _optional(top, "smallest_visible_motion")
    top.finish()
    log.raise_if_any()
    assert exciter is not None
    file = None if path is None else Path(path)
    stem = file.name.removesuffix(".yaml").removesuffix(".rig") if file else ""
    return Rig(
        name=name or stem or "rig",
        exciter=exciter,
        strobe=strobe,
        sensor=sensor,
        smallest_visible_motion=visible or Quantity(VISIBLE, path="smallest_visible_motion"),
        path=file,
        text=text,
    )


# -- the parts ------------------------------------------------------------------------------------


def _needed(fields: Fields, key: str) -> Quantity | None:
    kind, example = _KEYS[key]
    low, high = _RANGES[kind]
    value = fields.need(key, f"{key}: {example}")
    return value.quantity(kind, low=low, high=high) if value else None


def _optional(fields: Fields, key: str) -> Quantity | None:
    kind, _ = _KEYS[key]
    low, high = _RANGES[kind]
    value = fields.find(key)
    return value.quantity(kind, low=low, high=high) if value else None


def _or_zero(fields: Fields, key: str) -> Quantity:
    """An optional quantity that may be zero, and is where it is not written."""
    kind, _ = _KEYS[key]
    found = fields.quantity(key, kind, required=False, low=0.0, high=_RANGES[kind][1])
    return found or Quantity(0.0, path=f"{fields.path}.{key}")


def _exciter(value: Value | None) -> Exciter | None:
    fields = value.fields(_EXCITER) if value else None
    if fields is None:
        return None
    force, stroke = _needed(fields, "force"), _needed(fields, "stroke")
    low, high = _band(fields, "lowest_frequency", "highest_frequency")
    moving = _needed(fields, "moving_mass")
    velocity, acceleration = _optional(fields, "velocity"), _optional(fields, "acceleration")
    fixture, distance = _or_zero(fields, "fixture_mass"), _distance(fields)
    axis = _axis(fields)
    static, dynamic = _optional(fields, "static_moment"), _optional(fields, "dynamic_moment")
    fields.finish()
    if force is None or stroke is None or low is None or high is None or moving is None:
        return None
    return Exciter(
        force=force,
        stroke=stroke,
        lowest_frequency=low,
        highest_frequency=high,
        moving_mass=moving,
        velocity=velocity,
        acceleration=acceleration,
        fixture_mass=fixture,
        static_moment=static,
        dynamic_moment=dynamic,
        clamp_distance=distance,
        drive_axis=axis,
    )


def _distance(fields: Fields) -> Quantity | None:
    """How far the clamp's face is from the drive axis; it may be zero."""
    kind, _ = _KEYS["clamp_distance"]
    value = fields.find("clamp_distance")
    return value.quantity(kind, low=0.0, high=_RANGES[kind][1]) if value else None


def _axis(fields: Fields) -> tuple[Quantity, ...]:
    """Where the drive axis meets the specimen; it may lie beside it, at less than zero."""
    value = fields.find("drive_axis")
    if value is None:
        return ()
    if "clamp_distance" in fields.keys:
        value.complain(
            "drive_axis and clamp_distance both say where the drive axis is; leave one of them out"
        )
    return _coordinates(value, low=-_RANGES["length"][1], also="")


def _band(fields: Fields, lowest: str, highest: str) -> tuple[Quantity | None, Quantity | None]:
    """Two frequencies, the first of them less than the second."""
    low, high = _needed(fields, lowest), _needed(fields, highest)
    value = fields.find(highest)
    if low is not None and high is not None and value is not None and low.value >= high.value:
        value.complain(
            f"{highest} of {high.value:.6g} Hz must be more than {lowest} ({low.value:.6g} Hz); "
            "exchange the two or look at their units"
        )
    return low, high


def _strobe(value: Value | None) -> Strobe | None:
    fields = value.fields(_STROBE) if value else None
    if fields is None:
        return None
    for key in ("low", "high", "range"):
        if key in fields.keys:
            fields.refuse(key, f"a strobe's range is written as two rates, for example {_STROBE}")
    bare = [_bare_rate(fields.find(key)) for key in ("lowest_rate", "highest_rate")]
    low, high = (None, None) if any(bare) else _band(fields, "lowest_rate", "highest_rate")
    fields.finish()
    return Strobe(low, high) if low is not None and high is not None else None


def _bare_rate(value: Value | None) -> bool:
    """Whether a flash rate has no unit: that of the dial may be a second's or a minute's."""
    word = "" if value is None else value.word or ""
    if value is None or not word.replace(".", "", 1).isdecimal():
        return False
    value.complain(
        f'{value.name} needs a unit; write "{word} Hz" for flashes a second, "{word} rpm" for '
        "flashes a minute"
    )
    return True


def _sensor(value: Value | None) -> Sensor | None:
    fields = value.fields(_SENSOR) if value else None
    if fields is None:
        return None
    mass, reach = _needed(fields, "mass"), _optional(fields, "range")
    at = _place(fields.find("at"))
    fields.finish()
    return Sensor(mass, at, reach) if mass is not None else None


def _place(value: Value | None) -> tuple[Quantity, ...]:
    """Where the sensor is; the base where nothing is written."""
    if value is None or value.word == "base":
        return ()
    word = value.word or ""
    if word and word[0].isalpha():
        value.choice(["base"], also='a place on the specimen such as "300 mm" or [60 mm, 60 mm]')
        return ()
    return _coordinates(value, low=0.0, also="base, ")


def _coordinates(value: Value, *, low: float, also: str) -> tuple[Quantity, ...]:
    """One length, or a list of two; () where that is wrong. also: what else messages allow."""
    items = [value] if value.word is not None else value.items("[60 mm, 60 mm]")
    if items and value.word is None and len(items) != 2:
        value.complain(
            f"{value.name} has {len(items)} lengths; it must be {also}one length such as 300 mm, "
            "or two such as [60 mm, 60 mm]"
        )
        return ()
    found = [item.quantity("length", low=low, high=math.inf) for item in items]
    return tuple(quantity for quantity in found if quantity is not None)
