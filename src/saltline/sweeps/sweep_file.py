"""A file as a recording: its columns put in order, levels and phases as a response."""

from __future__ import annotations

import math
import os
from collections.abc import Mapping

import numpy as np

from saltline.arrays import Values
from saltline.files.complaints import Log
from saltline.quantity import Place
from saltline.sweeps.clipping import clipped
from saltline.sweeps.spectrum import SpectrumError, response_of
from saltline.sweeps.sweep import FEWEST_READINGS, Recording, in_order
from saltline.sweeps.sweep_columns import factor_of
from saltline.sweeps.sweep_csv import Columns, read_columns

FEWEST_HELD = 3
"""Two readings at one frequency are where a sweep begins, ends or turns."""

UNEVEN = 0.01
"""Times may differ from even ones by this part of their step."""

TURNS = 1
"""A sweep turns once at most."""

LARGEST = 1e30
"""No reading is larger, in whatever unit."""

SHIFTED = 0.3
"""Times that lie off an even course by less than this part of a step are but rounded."""


def read_recording(
    path: str | os.PathLike[str], columns: Mapping[str, str] | None = None
) -> Recording:
    """Read a recorded sweep in CSV; "-" is the standard input.

    columns: role of a column -> its heading or number, where the heading is none that is known.
    Raises InputError with everything that is wrong with it.
    """
    found = read_columns(path, columns or {})
    log = Log(found.path)
    values = {
        heading.role: column * factor_of(heading, log)
        for heading, column in zip(found.headings, found.values, strict=True)
    }
    log.raise_if_any()
    if found.values[0].size < FEWEST_READINGS:
        raise log.fail(
            None,
            f"the recording has {found.values[0].size} readings; at least {FEWEST_READINGS} are "
            "needed, and five or more within each resonance's half-power band",
        )
    _refuse_what_is_no_reading(found, log)
    remarks = _gap_remarks(found)
    if "frequency_hz" not in values:
        return _from_time(found, values, remarks, log)
    return _from_frequency(found, values, remarks, log)


def _refuse_what_is_no_reading(found: Columns, log: Log) -> None:
    """Complain of numbers that no instrument has written; raises InputError."""
    for heading, column in zip(found.headings, found.values, strict=True):
        away = np.abs(column) > LARGEST
        if np.any(away):
            row = int(np.argmax(away))
            log.add(
                Place(found.line(row), heading.place.column),
                f"{heading.role} {column[row]:g} is no reading; correct it, or empty the cell",
            )
    log.raise_if_any()


def _gap_remarks(found: Columns) -> tuple[str, ...]:
    if not found.skipped:
        return ()
    rows = "row" if found.skipped == 1 else "rows"
    return (f"{found.path}: {found.skipped} {rows} without a reading left out",)


# -- over frequency -------------------------------------------------------------------------------


def _from_frequency(
    found: Columns, values: dict[str, Values], remarks: tuple[str, ...], log: Log
) -> Recording:
    hz = values["frequency_hz"]
    _refuse_exchanged(found, values, log)
    if np.any(hz < 0.0):
        row = int(np.argmax(hz < 0.0))
        raise log.fail(
            Place(found.line(row), 1), f"frequency_hz {hz[row]:g} is below zero; check the column"
        )
    response, unit = _response(found, values, log)
    extras = {key: values[key] for key in ("drive", "time_s") if key in values}
    above = hz > 0.0
    columns = [column[above] for column in (hz, response, *extras.values())]
    columns, turn = in_order(columns)
    remarks += _repeated(hz[above], columns[0].size, turn is not None, found.path)
    if columns[0].size < FEWEST_READINGS:
        raise log.fail(None, f"fewer than {FEWEST_READINGS} different frequencies; is it a sweep?")
    if turn is not None:
        low, high = columns[0][0], columns[0][-1]
        remarks += (
            f"{found.path}: the sweep turns at line {found.line(turn)}; the longest way, from "
            f"{low:.4g} to {high:.4g} Hz, is used",
        )
    hz, response, *others = columns
    given = dict(zip(extras, others, strict=True))
    drive = given.get("drive")
    how = ""
    if drive is not None:
        response, how = _per_drive(response, drive, found, log)
    rate = None
    if "time_s" in given and np.all(np.diff(given["time_s"]) != 0.0):
        rate = np.gradient(hz, given["time_s"])
    return Recording(
        found.path, hz, response, unit, hz_per_s=rate, drive=drive, how=how, remarks=remarks
    )


def _refuse_exchanged(found: Columns, values: dict[str, Values], log: Log) -> None:
    """Complain where the amplitudes run on as frequencies do, and the frequencies do not."""
    amplitude = values.get("amplitude")
    if amplitude is None:
        return
    steps, rises = np.diff(values["frequency_hz"]), np.diff(amplitude)
    runs_on = np.all(rises > 0.0) or np.all(rises < 0.0)
    turns = np.count_nonzero(np.diff(np.sign(steps[steps != 0.0])))
    if runs_on and turns > TURNS:
        (at,) = [h.place for h in found.headings if h.role == "frequency_hz"]
        raise log.fail(
            at,
            "the columns frequency_hz and amplitude look exchanged: the amplitudes run on from one "
            "end to the other, and the frequencies go up and down; exchange the two headings",
        )


def _repeated(hz: Values, kept: int, is_part: bool, path: str) -> tuple[str, ...]:
    """A remark where readings share their frequency with the one before."""
    held = int(np.count_nonzero(np.diff(hz) == 0.0))
    if held < FEWEST_HELD:
        return () if is_part or kept == hz.size else (_AVERAGED.format(path, hz.size - kept),)
    return (
        f"{path}: {held} of {hz.size} readings have the frequency of the one before and are "
        "averaged with it; where the frequency is shown more coarsely than it was swept, a "
        "resonance may lie off by as much as a step of it",
    )


_AVERAGED = "{}: {} readings have a frequency that is there already and are averaged with it"


def _response(found: Columns, values: dict[str, Values], log: Log) -> tuple[Values, str]:
    """The response, complex where the phase is there, and its unit."""
    by_role = {heading.role: heading for heading in found.headings}
    if "real" in values:
        return values["real"] + 1j * values["imaginary"], by_role["real"].unit
    amplitude, heading = values["amplitude"], by_role["amplitude"]
    unit = heading.unit
    if heading.is_decibel:
        amplitude, unit = 10.0 ** (amplitude / 20.0), unit[2:].strip()
    elif np.any(amplitude < 0.0):
        row = int(np.argmax(amplitude < 0.0))
        raise log.fail(
            Place(found.line(row), heading.place.column),
            f"amplitude {amplitude[row]:g} is below zero; if these are decibels, say so in the "
            'heading: "amplitude (dB)"',
        )
    if not np.any(amplitude > 0.0):
        raise log.fail(heading.place, "every amplitude is zero; check which column is meant")
    if "phase_deg" not in values or np.ptp(values["phase_deg"]) == 0.0:
        return amplitude, unit  # a column of zeros is no phase
    return amplitude * np.exp(1j * np.deg2rad(values["phase_deg"])), unit


def _per_drive(response: Values, drive: Values, found: Columns, log: Log) -> tuple[Values, str]:
    """The response per unit of drive."""
    size = np.abs(drive)
    if not np.all(size > 0.0):
        raise log.fail(
            None, "drive is zero somewhere; leave the column out, or the rows without a drive"
        )
    return response / size, "the amplitude over the drive"


# -- over time ------------------------------------------------------------------------------------


def _from_time(
    found: Columns, values: dict[str, Values], remarks: tuple[str, ...], log: Log
) -> Recording:
    times = values["time_s"]
    steps = np.diff(times)
    step = float(np.median(steps))
    if step <= 0.0:
        row = int(np.argmax(steps <= 0.0)) + 1
        raise log.fail(Place(found.line(row), 1), "time_s does not run on; check the column")
    # Printed times are rounded, to so many decimals or so many digits; what matters is that no
    # reading is missing, which would shift all later ones by a step.
    uneven = np.abs(steps - step) > max(UNEVEN * step, 2.1 * _rounding(times))
    away = times - np.linspace(float(times[0]), float(times[-1]), times.size)
    if np.any(uneven) and np.max(np.abs(away)) > SHIFTED * step:
        row = int(np.argmax(uneven)) + 1
        raise log.fail(
            Place(found.line(row), 1),
            f"time_s steps by {steps[row - 1]:.6g} s here and by {step:.6g} s elsewhere; record "
            "with an even rate, without gaps",
        )
    rate_hz = (times.size - 1) / float(times[-1] - times[0])
    for role in ("drive", "response"):
        remarks += tuple(clipped(values[role], found.path, role))
    try:
        spectrum = response_of(rate_hz, values["drive"], values["response"])
    except SpectrumError as error:
        raise log.fail(None, str(error)) from None
    units = {heading.role: heading.unit for heading in found.headings}
    unit = f"{units['response']}/{units['drive']}" if all(units.values()) else ""
    return Recording(
        path=found.path,
        hz=spectrum.hz,
        response=spectrum.response,
        unit=unit if units["response"] and units["drive"] else "",
        smeared_hz=spectrum.smeared_hz,
        drive=spectrum.drive,
        added_hz=spectrum.added_hz,
        how=spectrum.how,
        remarks=remarks,
    )


def _rounding(times: Values) -> float:
    """The step to which printed times are rounded, as far as the largest of them shows it."""
    largest = float(np.abs(times).max())
    digits = next(
        (d for d in range(1, 15) if np.all(np.abs(times - np.round(times, d)) < 1e-12 * largest)),
        14,
    )
    return max(10.0**-digits, math.ulp(largest))
