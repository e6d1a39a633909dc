"""What the common factor of an identification says, in a sentence."""

from __future__ import annotations

from saltline.naming.identify import Identification
from saltline.specimen import BeamGeometry, Specimen

APART = 1.0
"""Lines that lie farther apart than so many percent are not said to lie alike."""

SIZE_WORDS = {
    "rectangle": "the thickness",
    "rod": "the diameter",
    "tube": "the whole section",
    "box": "the whole section",
    "custom": "the depth of the section",
}
"""Section shape -> the size to which a bending frequency is proportional."""

FAR = 0.15
"""A common factor this far from 1 is hardly the material."""


def scale_words(specimen: Specimen, outcome: Identification) -> str:
    """What the common factor says."""
    percent = 100.0 * (outcome.scale - 1.0)
    matched = sum(match.mode is not None for match in outcome.matches)
    if matched == 0:
        return "no row could be matched"
    if abs(percent) < 0.5:
        if matched > 1 and _spread(outcome) >= APART:
            low, high = _range(outcome)
            return (
                "on average the prediction needs no correction; the rows that have a name lie "
                f"from {_signed(low)} to {_signed(high)} % about it"
            )
        if 2 * matched > len(outcome.matches):
            return "the prediction needs no correction"
        return f"for the {_rows_text(matched)} matched the prediction needs no correction"
    side = "above" if percent > 0 else "below"
    modulus = 100.0 * (outcome.scale**2 - 1.0)
    lie = "lie" if matched > 1 else "lies"
    is_all = 1 < matched == len(outcome.matches)
    who = "all lie" if is_all else f"the {_rows_text(matched)} matched {lie}"
    words = (
        f"{who} {_about(outcome)}{abs(percent):.1f} % {side} the prediction, as if the modulus "
        f"were {modulus:+.1f} %, or {_size_word(specimen)} {percent:+.1f} %"
        f"{_length_words(specimen, outcome.scale)}"
    )
    if specimen.attached or any(h.word == "elastic" for h in specimen.boundary.values()):
        words += "; with springs or masses in the file only roughly so"
    if matched < 3:
        words += "; so few rows fit many factors, so look at the differences"
    elif abs(percent) > 100.0 * FAR:
        words += (
            "; so far from 1, look first at the sizes and units in the file, and whether this is "
            "the list of this specimen"
        )
    return words


def _about(outcome: Identification) -> str:
    """How the lines lie about the common factor: alike, or from here to there."""
    if _spread(outcome) < APART:
        return "about "
    low, high = _range(outcome)
    return f"from {_signed(low)} to {_signed(high)} %, on average "


def _range(outcome: Identification) -> tuple[float, float]:
    """The least and the largest difference from the prediction, percent."""
    off = [
        100.0 * (match.measured.frequency_hz / match.mode.frequency_hz - 1.0)
        for match in outcome.matches
        if match.mode is not None
    ]
    return min(off), max(off)


def _spread(outcome: Identification) -> float:
    low, high = _range(outcome)
    return high - low


def _signed(percent: float) -> str:
    """A percentage with its sign; nothing has none."""
    text = f"{percent:+.1f}"
    return "0" if float(text) == 0.0 else text


def _length_words(specimen: Specimen, scale: float) -> str:
    """What the free size of what stands in a clamp would have to be, and what all that is for.

    A frequency of bending goes with the inverse square of the size.
    """
    holds = [hold for hold in specimen.boundary.values() if hold.word in ("clamped", "elastic")]
    if not any(hold.rotation.value > 0.0 for hold in holds):
        return " (for bending)"
    size = "length" if specimen.kind == "beam" else "size between the clamps"
    gives = "; a clamp that gives acts like a longer one" if scale < 1.0 else ""
    longer = 100.0 * (scale**-0.5 - 1.0)
    return f", or the free {size} {longer:+.1f} % (for bending{gives})"


def _size_word(specimen: Specimen) -> str:
    geometry = specimen.geometry
    if not isinstance(geometry, BeamGeometry):
        return "the thickness"
    return SIZE_WORDS[geometry.segments[0].section_start.shape]


def _rows_text(count: int) -> str:
    return f"{count} rows" if count > 1 else "one row"
