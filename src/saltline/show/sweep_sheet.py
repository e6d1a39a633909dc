"""A run sheet's words on the sweep over the whole range."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from saltline.planning.driving import Driving
from saltline.planning.pace import FOR_DAMPING, octaves
from saltline.planning.plan import Plan
from saltline.planning.rig import Rig
from saltline.planning.search import Sweep
from saltline.quantity import to_unit
from saltline.show.phrases import (
    LIMIT_WORDS,
    Entry,
    cycles_text,
    drive_text,
    duration,
    entries,
    ranks_text,
    stated,
)
from saltline.show.table import significant

TWO, THREE, FOUR = (significant(digits) for digits in (2, 3, 4))


def sweeping(plan: Plan) -> list[str]:
    """How to sweep over the whole range."""
    return entries("SWEEP", [_damping(plan), *_sweep(plan)])


def _damping(plan: Plan) -> Entry:
    ratio = f"{stated(100.0 * plan.damping.ratio)} %"
    Q = THREE(0.5 / plan.damping.ratio)
    if plan.damping.is_assumed:
        return (
            "damping",
            f"{ratio} ASSUMED (Q = {Q}), for the file states none. Levels, rates and times all "
            "depend on it: measure it first at a low level, and write damping_ratio into the file",
        )
    return ("damping", f"damping ratio {ratio}, Q = {Q}")


def _sweep(plan: Plan) -> Iterator[Entry]:
    known = plan.sweep
    if known is None:
        assert plan.rig is not None
        yield ("range", _out_of_reach(plan, plan.rig))
        return
    low, high = FOUR(known.low_hz), FOUR(known.high_hz)
    yield (
        "range",
        f"{low} to {high} Hz, {FOUR(octaves(known.low_hz, known.high_hz))} octaves",
    )
    yield from _first_level(plan, known)
    yield (
        "in one go",
        f"at {THREE(known.octave_per_min)} octave/min: {duration(known.seconds)}, "
        f"{cycles_text(known.cycles)} cycles",
    )
    if any(part.octave_per_min > known.octave_per_min for part in known.parts):
        yield "or in parts", _parts(known)
    yield (
        "for damping",
        "these rates let a resonance build up (ISO 7626-2, from memory), but its peak reads 5 % "
        "low and its half-power width 23 % high; to read damping go "
        f"{1.0 / FOR_DAMPING:.0f} times slower",
    )


def _out_of_reach(plan: Plan, rig: Rig) -> str:
    low, high = rig.exciter.lowest_frequency.value, rig.exciter.highest_frequency.value
    modes = [planned.mode.frequency_hz for planned in plan.modes]
    return (
        f"the exciter drives from {stated(low)} to {stated(high)} Hz and cannot reach any of these "
        f"modes, which lie from {FOUR(modes[0])} to {FOUR(modes[-1])} Hz"
    )


def _parts(known: Sweep) -> str:
    by_rate = groupby(known.parts, key=lambda part: f"{part.octave_per_min:.2g}")
    parts = ", ".join(f"to {FOUR(list(group)[-1].high_hz)} Hz at {r}" for r, group in by_rate)
    whole = duration(sum(part.seconds for part in known.parts))
    return f"from {FOUR(known.low_hz)} Hz {parts} octave/min: {whole} in all"


def _first_level(plan: Plan, known: Sweep) -> Iterator[Entry]:
    level = known.level
    if level is None:
        return
    over = beyond_the_level(plan)
    of = "of the base" if plan.through == "boundary" else "of the force on the point"
    if plan.asked is not None:
        text = f"as asked for, {level_text(plan)} (amplitude {of})"
        if over:
            least = min(driving.most for driving in over.values())
            text += (
                f"; TOO MUCH for {ranks_text(list(over))}: cross where they lie with "
                f"at most {drive_text(least, plan.through)}"
            )
    else:
        first = drive_text(level.drive(known.high_hz), plan.through)
        text = f"begin with {first} (amplitude {of}), a tenth of what the tenderest mode allows"
    if known.reach is not None:
        text += f"; {_reach(known)}"
    yield ("level", text)


def beyond_the_level(plan: Plan) -> dict[int, Driving]:
    """The modes by rank for which the level that was asked for is too much."""
    return {
        p.mode.rank: p.driving for p in plan.modes if p.driving is not None and p.driving.exceeded
    }


def level_text(plan: Plan) -> str:
    """The level that was asked for, as it was written."""
    assert plan.asked is not None
    quantity = plan.asked.quantity
    unit = quantity.unit
    return f"{stated(to_unit(quantity.value, unit, kind=plan.asked.kind))} {unit}"


def _reach(known: Sweep) -> str:
    reach = known.reach
    assert reach is not None
    if reach.is_empty:
        return f"the exciter can hold it nowhere ({LIMIT_WORDS[reach.low_by]})"
    span = f"{reach.low_hz:.4g} to {reach.high_hz:.4g} Hz"
    text = f"apart from resonances the exciter can hold it from {span}"
    ends = [
        f"{where} that {LIMIT_WORDS[by]} ends it"
        for where, by, is_short in (
            ("below", reach.low_by, reach.low_hz > known.low_hz),
            ("above", reach.high_by, reach.high_hz < known.high_hz),
        )
        if is_short
    ]
    return f"{text} ({', '.join(ends)})" if ends else text
