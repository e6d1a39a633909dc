"""Pairs of modes in words and as data: which figures a small imperfection mixes, and into what."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from saltline.modes import Modes
from saltline.nodes import PlatePattern
from saltline.pairs import NEAR, Pair, figure, figures, pairs
from saltline.show.table import Result, significant
from saltline.turning import ONE_FREQUENCY, TURNED, Turn

SAID = 2
"""So many fragile pairs have a sentence of their own,"""

NAMED = 6
"""... and so many more are named."""

DRAWN = 8
"""The figures of so many fragile pairs are worked out for the JSON form."""


def pair_notes(found: Sequence[Pair]) -> list[str]:
    """A sentence for each of the first fragile pairs, and one that names the others."""
    fragile = [pair for pair in found if pair.is_fragile]
    notes = [_sentence(pair) for pair in fragile[:SAID]]
    others = fragile[SAID:]
    if others:
        named = "; ".join(_ranks(pair) for pair in others[:NAMED])
        more = f" and {len(others) - NAMED} more" if len(others) > NAMED else ""
        notes.append(f"likewise the pairs {named}{more}; --format json has the details")
    return notes


def unlisted_notes(known: Modes, listed: Modes) -> list[str]:
    """A sentence for each listed mode of a plate whose partner is known but not listed."""
    if known.specimen.kind != "plate":
        return []
    ranks = {mode.rank for mode in listed.modes}
    notes = []
    for lower, upper in pairwise(known.modes):
        apart = upper.frequency_hz / lower.frequency_hz - 1.0
        if apart <= NEAR and len({lower.rank, upper.rank} & ranks) == 1:
            shown, hidden = (lower, upper) if lower.rank in ranks else (upper, lower)
            near = f"lies within {significant(2)(100.0 * apart)} % of"
            near = near if apart > ONE_FREQUENCY else "has the same frequency as"
            notes.append(
                f"mode {hidden.rank}, not listed, {near} mode {shown.rank}: their figures may mix; "
                "list both to see into what"
            )
    return notes


def _sentence(pair: Pair) -> str:
    """What mixes the two figures, and what one then looks like."""
    ranks = f"modes {_ranks(pair)}"
    tail = "a skewed figure there is still one of the two"
    if pair.driven_deg is not None:
        return (
            f"{ranks} share a frequency: listed are the mixture of their figures that the drive "
            f"excites and the one that it does not; a light mass off centre turns both, so {tail}"
        )
    shown = f'"{_in_words(figure(pair, _far_end(pair)).pattern)}"'
    if pair.is_exact:
        return (
            f"{ranks} share a frequency: any mixture of their figures is a mode, halfway {shown}, "
            f"so {tail}"
        )
    return (
        f"{ranks} are {significant(2)(100.0 * pair.apart)} % apart: {_causes(pair.turns)} begins "
        f"to mix their figures, in the end into {shown}, so {tail}"
    )


def _causes(turns: Sequence[Turn]) -> str:
    """The imperfections that turn a pair's figures, in words."""
    return " or ".join(
        f"{significant(2)(1e3 * turn.enough)} g off centre"
        if turn.deviation == "mass"
        else f"a {turn.deviation} off by {significant(2)(1e3 * turn.amount)} mm"
        for turn in turns
        if _is_felt(turn)
    )


def _is_felt(turn: Turn) -> bool:
    return max(-turn.low_deg, turn.high_deg) > math.degrees(TURNED)


def _far_end(pair: Pair) -> float:
    """The end of the range that is farther from the listed figures."""
    return pair.low_deg if -pair.low_deg > pair.high_deg + 1e-6 else pair.high_deg


def _ranks(pair: Pair) -> str:
    return f"{pair.first.rank} and {pair.second.rank}"


def _in_words(pattern: PlatePattern) -> str:
    """A pattern as the table's columns have it, in one phrase."""
    if pattern.lines_x is None:
        return pattern.word
    if not pattern.lines_x and not pattern.lines_y:
        return "no line"
    counts = ((pattern.lines_x, "across x"), (pattern.lines_y, "across y"))
    return ", ".join(f"{count} {course}" for count, course in counts if count)


def with_pairs(result: Result, modes: Modes) -> Result:
    """The result with a plate's pairs in its JSON form."""
    return replace(result, data={**result.data, "pairs": pairs_data(pairs(modes))})


def pairs_data(found: Sequence[Pair]) -> list[dict[str, Any]]:
    """The pairs in the JSON form, SI units and degrees."""
    drawn = [pair for pair in found if pair.is_fragile][:DRAWN]
    return [
        {
            "ranks": [pair.first.rank, pair.second.rank],
            "apart_percent": 100.0 * pair.apart,
            "fragile": pair.is_fragile,
            "low_deg": pair.low_deg,
            "high_deg": pair.high_deg,
            "driven_deg": pair.driven_deg,
            "deviations": [_deviation_data(turn) for turn in pair.turns],
            "figures": [
                {
                    "angle_deg": shown.angle_deg,
                    "lines_x": shown.pattern.lines_x,
                    "lines_y": shown.pattern.lines_y,
                    "pattern": shown.pattern.word,
                }
                for shown in (figures(pair) if pair in drawn else ())
            ],
        }
        for pair in found
    ]


def _deviation_data(turn: Turn) -> dict[str, Any]:
    data: dict[str, Any] = {"deviation": turn.deviation}
    if turn.deviation == "mass":
        data |= {"mass_kg": turn.amount, "fragile_from_kg": turn.enough, "at_m": list(turn.at)}
    else:
        data["change_m"] = turn.amount
    return data | {"low_deg": turn.low_deg, "high_deg": turn.high_deg}
