"""What the pattern of the residuals says: which lines miss, by how much, and what does that.

The patterns themselves are found in `residuals`; here is what each of them is said to be (common
practice, no source).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from saltline.modes import Mode, Modes
from saltline.naming.findings import name_of
from saltline.naming.identify import Identification, Match
from saltline.naming.residuals import (
    LEAST,
    READING,
    Named,
    Pattern,
    named_lines,
    pattern_of_lines,
    without_the_one,
)
from saltline.nodes import BeamPattern, pattern_of
from saltline.specimen import Specimen

SIMILAR = 3
"""So many counts at least, all wrong by the same, are no accident."""


def misfit(outcome: Identification) -> list[str]:
    """Remarks on the residuals of a list, the weightiest first; none where the data carry none."""
    modes = outcome.modes
    if modes is None:
        return []
    lines = [
        (match.mode, match.mode.frequency_hz, match.measured.frequency_hz)
        for match in outcome.matches
        if match.mode is not None
    ]
    families = Counter(mode.family for mode, *_ in lines)
    if not families:
        return []
    main = named_lines(lines, families.most_common(1)[0][0])
    pattern = pattern_of_lines(main)
    found = [] if pattern is None else [in_words(pattern, main, modes)]
    rest = without_the_one(pattern, main)
    for family in families:
        if family != main.modes[0].family:
            found += _other_family(named_lines(lines, family), rest)
    return found + _counts_shifted(outcome.matches)


def left_pattern(lines: Sequence[tuple[Mode, float, float]]) -> tuple[Pattern, Named] | None:
    """The pattern that a fit has left, and among which lines; None where chance makes it.

    lines: of each the mode, its frequency by the fit and the measured one, Hz.
    """
    families = Counter(mode.family for mode, *_ in lines)
    if not families:
        return None
    main = named_lines(lines, families.most_common(1)[0][0])
    pattern = pattern_of_lines(main)
    return None if pattern is None else (pattern, main)


# -- in words -------------------------------------------------------------------------------------


def in_words(pattern: Pattern, named: Named, modes: Modes, fitted: Sequence[str] = ()) -> str:
    """A pattern and what is said to make it.

    modes:  of the specimen, with the theory by which they were found.
    fitted: paths of the quantities that have been fitted already.
    """
    if pattern.kind == "mass":
        return _mass_words(pattern)
    percent = f"{100.0 * abs(math.expm1(pattern.effect)):.1f} %"
    side = "below" if pattern.effect < 0.0 else "above"
    scatter = f"{100.0 * pattern.scatter:.1f} %"
    if pattern.kind == "one":
        mode = named.modes[pattern.line]
        why = _local_mass(mode) if pattern.effect < 0.0 else _ONE_HIGH
        return (
            f"{name_of(mode)} alone lies {percent} {side} the others, which scatter by {scatter}: "
            f"{why}"
        )
    low, high = name_of(named.modes[0]), name_of(named.modes[-1])
    end, far, near = ("high", high, low) if pattern.kind == "high" else ("low", low, high)
    what = "fall short" if pattern.effect < 0.0 else "lie high"
    rest = f", and about this trend the lines scatter by {scatter}"
    if pattern.is_hint:
        rest = f" (a hint only, from {named.r.size} lines)"
    return (
        f"the {end} modes {what} most: {far} lies {percent} {side} where {near} puts it{rest}; "
        f"{_cause(pattern, named, modes, fitted)}"
    )


def _cause(pattern: Pattern, named: Named, modes: Modes, fitted: Sequence[str]) -> str:
    """What makes a trend, by the modes that it moves most and by its sign."""
    falls = pattern.effect < 0.0
    if pattern.kind in ("low", "first") and any(path.endswith(".rotation") for path in fitted):
        return _BESIDE_THE_CLAMP
    return {
        ("low", True): _low_short(modes.specimen),
        ("low", False): _LOW_HIGH,
        ("first", True): f"{_COMPRESSED}, or {name_of(named.modes[0])} alone is off",
        ("first", False): _LOW_HIGH,
        ("high", True): _high_short(modes),
        ("high", False): _HIGH_HIGH,
    }[pattern.kind, falls]


def _mass_words(pattern: Pattern) -> str:
    """A mass at a place, and what to write into the file."""
    (at, mass), *others = [
        (f"{1e3 * at:.0f} mm", f"{1e3 * mass:.2g} g") for at, mass in pattern.sites
    ]
    or_else = "".join(f", or {m} at {x}" for x, m in others)
    return (
        f"the lines miss as if a mass of some {mass} sat at {at} from the start{or_else}, and the "
        f"rest is a scatter by {100.0 * pattern.scatter:.1f} %: a sensor or its cable does that; "
        f"what is fixed there belongs into the file (attached: [{{mass: {mass}, at: {at}}}])"
    )


def _local_mass(mode: Mode) -> str:
    """What lowers a single mode, and where it would have to be."""
    pattern = pattern_of(mode.shape) if mode.shape is not None else None
    where = ""
    if isinstance(pattern, BeamPattern) and pattern.antinodes:
        places = ", ".join(f"{1000.0 * x:.0f}" for x in pattern.antinodes)
        where = f" (at {places} mm)"
    return (
        f"a sensor, a cable or another small mass near a place where this mode moves most{where} "
        "does that, if the others move less there; or the line is another mode"
    )


def _low_short(specimen: Specimen) -> str:
    if any(hold.word != "free" for hold in specimen.boundary.values()):
        return (
            "a clamp that gives does that, as if the free length were longer, or a mass at a free "
            'end; "saltline predict --clamp" shows how much, "saltline fit" finds the stiffness'
        )
    return "a mass at an end, or a section that is not even, does that"


_BESIDE_THE_CLAMP = (
    "the modulus, or a size, is off besides the clamp, so fit that too; or there is a mass at a "
    "free end, or tension"
)
_ONE_HIGH = "something stiffens it where it bends most, or the line is another mode"
_COMPRESSED = "compression along the beam does that"
_LOW_HIGH = "tension, or hangers and supports that are stiffer than described, do that"
_HIGH_HIGH = "a wide strip that acts as a plate does that, or a mass in the file that is not there"


def _high_short(modes: Modes) -> str:
    if modes.theory == "euler":
        return "shear does that, which Euler and Bernoulli's theory leaves out; or added mass"
    return (
        "shear (a lower shear modulus, a thicker section) or added mass, as of a sensor, does that"
    )


def _other_family(other: Named, main: Named) -> list[str]:
    """Whether another family lies apart from the main one as a whole."""
    if main.r.size < 3:
        return []
    scatter = max(float(np.std(main.r, ddof=1)), READING)
    off = float(other.r.mean() - main.r.mean())
    if abs(off) < max(LEAST, 3.0 * scatter * math.sqrt(1.0 / other.r.size + 1.0 / main.r.size)):
        return []
    family, of = other.modes[0].family, main.modes[0].family
    side = "below" if off < 0.0 else "above"
    hangs = {
        "torsion": "it hangs on the shear modulus, and on how the ends hold the section",
        "edgewise": "it hangs on the width, and on how the ends hold in that plane",
        "flatwise": "it hangs on the thickness, and on how the ends hold in that plane",
        "axial": "it hangs on the length and the modulus alone",
    }
    why = hangs.get(family, "")
    return [f"{family} lies {100.0 * abs(math.expm1(off)):.1f} % {side} {of}: {why}"]


def _counts_shifted(matches: Sequence[Match]) -> list[str]:
    """Whether all counts are wrong by the same."""
    off = [
        match.measured.counts["nodes"] - due
        for match in matches
        if match.mode is not None
        and "nodes" in match.measured.counts
        and (due := match.due.get("nodes")) is not None
    ]
    if len(off) < SIMILAR or len(set(off)) > 1 or abs(off[0]) != 1:
        return []
    if off[0] > 0:
        return [
            "every count is one more than is due: a place where the specimen is held is no node"
        ]
    return ["every count is one less than is due: a node close to a free end is easily missed"]
