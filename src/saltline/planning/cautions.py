"""The standing cautions of everything that leads a person to drive a specimen, in words."""

from __future__ import annotations

from saltline.planning.strobe import FLICKER_HZ
from saltline.record import record


@record
class Caution:
    """One caution: `topic` in a word, `text` in sentences."""

    topic: str
    text: str


CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "rules",
        "Your laboratory's rules and its qualified people come first. The figures below are "
        "predictions, not limits that make a test safe.",
    ),
    Caution(
        "flying parts",
        "A specimen at resonance can crack and throw parts. Guard up, eye protection on, nobody in "
        "the plane of motion.",
    ),
    Caution(
        "hands off",
        "Never touch specimen, clamp, sensor cable or wiring of an energized exciter. Level down, "
        "amplifier off, then reach.",
    ),
    Caution(
        "fatigue",
        "Begin at a tenth of each level, raise it slowly, dwell no longer than the count takes. A "
        "falling frequency is a crack growing or a clamp working loose: stop and look.",
    ),
    Caution("hearing", "A resonance can be loud enough to damage hearing. Wear ear protection."),
    Caution(
        "strobe",
        f"Flashes of about {FLICKER_HZ[0]:g} to {FLICKER_HZ[1]:g} Hz can trigger seizures in "
        "people with photosensitive epilepsy, whether or not they know of it (Harding et al. 2005; "
        "Fisher et al. 2005, from memory). Warn everyone before you switch it on. What seems to "
        "stand still under it is not at rest.",
    ),
)
"""All of them, in the order in which they are needed."""
