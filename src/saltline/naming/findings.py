"""What the naming of a line amounts to: one of four findings, and why in a sentence."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from saltline.measured_list import Measured
from saltline.modes import Mode
from saltline.naming.counted import count_cost, counts_in_words
from saltline.naming.suspects import HARMONICS, Suspicion
from saltline.record import record

CONFIDENT = 0.9
"""From here on a name is said to be sure."""

SUPPORT = 2
"""So many other lines at least must be named to support one of two modes."""

MEETS = 0.006
"""A harmonic meets a mode where it is so near, relative."""

BEYOND = 0.15
"""A line so far above the last mode that was compared with (relative) lies beyond them."""

NEARBY = 0.03
"""A line is said to be near a mode, relative."""

NOWHERE = 0.5
"""... and beyond this none is said to be near."""

Counts = Callable[[Mode], Mapping[str, int | None]]


@record
class Naming:
    """A line and the mode that it was named.

    mode:       None where none is likely enough.
    confidence: probability that it is this mode; where there is none, that it is no mode.
    runner_up:  the next likely mode and its probability, None where there is none to speak of.
    doubt:      what else the line may be.
    twin_of:    number of the line that was named the same mode before, 0 where there is none.
    """

    row: Measured
    mode: Mode | None
    confidence: float
    runner_up: tuple[Mode, float] | None
    doubt: Suspicion
    twin_of: int = 0


@record
class Setting:
    """What all lines of a list share.

    modes:     the predicted modes, by frequency.
    counts:    mode -> what an observer would count.
    scale:     measured over predicted, the common factor.
    tolerance: relative difference from the scaled prediction that still agrees.
    rows:      how many lines there are, and how many of them were named.
    """

    modes: Sequence[Mode]
    counts: Counts
    scale: float
    tolerance: float
    rows: int
    named: int

    def hz(self, mode: Mode) -> float:
        """The scaled prediction."""
        return self.scale * mode.frequency_hz

    def limit(self, row: Measured) -> float:
        """How far a line may lie from it: what it states as its own uncertainty is added."""
        return self.tolerance + row.uncertainty_hz / row.frequency_hz


def finding_of(naming: Naming, setting: Setting) -> tuple[str, str]:
    """The finding and why: "agrees", "off", "count differs" or "unexplained", and a sentence.

    The sentence is empty where there is nothing to say.
    """
    mode, row = naming.mode, naming.row
    if mode is None:
        doubts = _doubts(naming) or _part_of_a_mode(row, setting)
        return "unexplained", _joined(_unexplained(naming, setting), *doubts)
    off, limit = residual(row, mode, setting), setting.limit(row)
    if row.counts and count_cost(row.counts, setting.counts(mode)) > 0.0:
        what = _count_differs(naming, mode, setting)
        far = _off(off, limit) if abs(off) > limit else ""
        return "count differs", _joined(what, far, *_hesitation(naming))
    if abs(off) > limit:
        what = _joined(f"{name_of(mode)}, {_off(off, limit)}", *_hesitation(naming))
        return "off", _joined(what, *_doubts(naming))
    twin = f"the twin of row {naming.twin_of}: two modes of one figure, turned"
    return "agrees", _joined(twin if naming.twin_of else "", *_hesitation(naming), *_doubts(naming))


def residual(row: Measured, mode: Mode, setting: Setting) -> float:
    """Measured over the scaled prediction, less 1."""
    return row.frequency_hz / setting.hz(mode) - 1.0


def name_of(mode: Mode) -> str:
    """A mode by family and order, as the tables write it."""
    return f"{mode.family} {mode.order}"


def hz_text(hz: float) -> str:
    """A calculated frequency with the digits that are meant."""
    return f"{hz:.4g} Hz" if hz < 9999.5 else f"{hz:.0f} Hz"


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part)


def _percent(share: float) -> str:
    """A probability with no more certainty than is meant."""
    return f"{min(max(round(100.0 * share), 1), 99)} %"


def _off(off: float, limit: float) -> str:
    return f"{100.0 * off:+.1f} % from its scaled prediction, beyond {100.0 * limit:.3g} %"


def _hesitation(naming: Naming) -> list[str]:
    """The runner-up, where the name is not sure."""
    if naming.confidence >= CONFIDENT:
        return []
    if naming.runner_up is None:
        return [f"likely at {_percent(naming.confidence)} only: it may be no mode at all"]
    other, chance = naming.runner_up
    return [f"likely at {_percent(naming.confidence)}, or {name_of(other)} at {_percent(chance)}"]


def _doubts(naming: Naming) -> list[str]:
    """What else the line may be; a sure mode is no harmonic, but hum is pointed out always."""
    is_sure = naming.mode is not None and naming.confidence >= CONFIDENT
    doubt = naming.doubt
    word = doubt.hum or ("" if is_sure else doubt.harmonic)
    return [f"it lies at {word}"] if word else []


def _part_of_a_mode(row: Measured, setting: Setting) -> list[str]:
    """Whether a harmonic of a distorted drive, driven at this line, meets a mode."""
    for factor in HARMONICS:
        for mode in setting.modes if setting.named else ():
            if abs(factor * row.frequency_hz / setting.hz(mode) - 1.0) < MEETS:
                part = {2: "half", 3: "a third"}[factor]
                return [
                    f"it lies at {part} of {name_of(mode)} ({hz_text(setting.hz(mode))} scaled), "
                    "which a distorted drive may excite from here"
                ]
    return []


def _unexplained(naming: Naming, setting: Setting) -> str:
    """What lies nearest to a line that no mode was found for, and what speaks against it."""
    row = naming.row
    nearest = min(
        setting.modes, key=lambda mode: abs(math.log(row.frequency_hz / setting.hz(mode)))
    )
    distance = setting.hz(nearest) / row.frequency_hz - 1.0
    side = "above" if distance > 0 else "below"
    where = f"{name_of(nearest)} at {hz_text(setting.hz(nearest))}"
    likely = naming.runner_up[1] if naming.runner_up is not None else 0.0
    if (setting.rows == 1 and not row.counts) or (setting.named == 0 and likely > 0.5):
        alone = "one line" if setting.rows == 1 else "a line that no other one supports"
        return (
            f"{alone} without a count cannot name a mode, since the common factor is free; the "
            f"nearest is {where}, {100.0 * abs(distance):.1f} % {side} it; count what stands "
            "still, or find another line"
        )
    if row.frequency_hz > (1.0 + BEYOND) * setting.hz(setting.modes[-1]):
        return f"it lies beyond the modes that were compared with, of which the last is {where}"
    if naming.runner_up is not None:
        other, chance = naming.runner_up
        return f"no mode is likely enough; {name_of(other)} is at {_percent(chance)}"
    if abs(distance) > NOWHERE:
        return "no mode is anywhere near"
    if abs(distance) > NEARBY:
        far = f"{100.0 * abs(distance):.1f} % {side} it"
        return f"no mode fits; the nearest is {where} (scaled), {far}"
    hz = hz_text(setting.hz(nearest))
    near = f"its frequency is near that of {name_of(nearest)} ({hz} scaled)"
    if row.family is not None and row.family != nearest.family:
        return f"{near}, but the family stated is {row.family}"
    if row.counts and count_cost(row.counts, setting.counts(nearest)) > 0.0:
        return f"{near}, but that has {counts_in_words(setting.counts(nearest))}"
    return f"{near}, which another line fits better"


def _count_differs(naming: Naming, mode: Mode, setting: Setting) -> str:
    """Both the mode that the frequency says and the one that the count says, with frequencies."""
    row, counts = naming.row, setting.counts
    due = counts_in_words(counts(mode))
    here = f"by frequency {name_of(mode)} ({hz_text(setting.hz(mode))} scaled), with {due}"
    same = [m for m in setting.modes if m.family == mode.family]
    counted = [m for m in same if count_cost(row.counts, counts(m)) == 0.0]
    if not counted:
        return f"{here}; no mode in the range has {counts_in_words(row.counts)}"
    nearest = min(counted, key=lambda m: abs(math.log(row.frequency_hz / setting.hz(m))))
    if setting.named <= SUPPORT:
        verdict = "too few other lines to tell which is right"
    elif naming.confidence >= CONFIDENT:
        verdict = "the rest of the list supports the frequency"
    else:
        verdict = "the rest of the list does not settle which is right"
    return (
        f"{here}; by the count {name_of(nearest)}, which lies at {hz_text(setting.hz(nearest))}; "
        f"{verdict}"
    )
