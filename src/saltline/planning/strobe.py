"""Flash rates at which a strobe shows a vibration frozen, slowed or wrongly.

A flash every n cycles finds the specimen in the same phase each time. What the eye joins from flash
to flash is the motion's frequency less the nearest whole multiple of the flash rate.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from saltline.record import record

FLICKER_HZ = (3.0, 65.0)
"""Flash rates that can trigger seizures in people with photosensitive epilepsy: from Harding et al.
2005, Epilepsia 46, 1423 (lower bound), to Fisher et al. 2005, Epilepsia 46, 1426 (upper bound, from
memory)."""

FLICKER_MARGIN = 0.1
"""A rate above the band by no more than this part of it counts as inside: the resonance that is
found, and the flash rate with it, may lie lower than predicted (our choice)."""

SLOW_HZ = 1.0
"""A motion that the eye follows at ease (common practice, no source)."""

FINE = 0.1
"""A flash rate is stated so finely that what is seen is off by less than this part of `SLOW_HZ`."""

MOST_CYCLES = 100
"""With more cycles than this between two flashes a picture hardly stands: an error of the flash
rate shifts what is seen by so many times as much (our choice)."""

MOST_IMAGES = 3
"""Settings that show more images than this at once are a blur that deceives nobody."""


@record
class Flash:
    """One setting of a strobe.

    flash_hz:    flashes a second.
    cycles:      how many cycles of the motion pass while `images` flashes are given.
    apparent_hz: the rate of the motion that the eye sees, negative where it runs backward; 0 where
                 it stands still.
    images:      at how many places the specimen is seen at once.
    """

    flash_hz: float
    cycles: int
    apparent_hz: float
    images: int = 1

    @property
    def is_flicker(self) -> bool:
        """Whether the rate lies in, or hardly above, the band that can trigger seizures."""
        low, high = FLICKER_HZ
        return low <= self.flash_hz <= (1.0 + FLICKER_MARGIN) * high

    @property
    def decimals(self) -> int:
        """With how many decimals the flash rate in Hz is to be stated.

        f - n F has n times the error of F, which is half a unit of its last digit.
        """
        return max(0, math.floor(math.log10(0.5 * self.cycles / (FINE * SLOW_HZ))) + 1)


@record
class Flashes:
    """What a strobe can show of one frequency, the best setting of each kind first.

    frozen, slowed: settings that show one image.
    misleading:     settings that show several at once, as if standing still: 2 f, 3 f, 3 f/2 ...
    """

    frequency_hz: float
    frozen: tuple[Flash, ...]
    slowed: tuple[Flash, ...]
    misleading: tuple[Flash, ...]


def apparent(frequency_hz: float, flash_hz: float) -> float:
    """The rate of the motion that is seen, Hz: f - n F for the n that makes it least.

    It lies within half the flash rate either way; negative means backward (sampling theorem,
    textbook). Of a standing vibration forward and backward look alike; as the flash rate is raised
    a forward one slows and a backward one quickens.
    """
    return frequency_hz - round(frequency_hz / flash_hz) * flash_hz


def flashes(
    frequency_hz: float, *, low_hz: float, high_hz: float, slow_hz: float = SLOW_HZ, most: int = 3
) -> Flashes:
    """The settings of a strobe for a frequency.

    low_hz, high_hz: the strobe's range.
    slow_hz:         the rate at which a slowed motion shall be seen.
    most:            how many settings of each kind are named.

    None of a kind where the range has none; see `complaint`. Below `FLICKER_HZ` none is named: the
    eye sees one flash after the other there, and no picture that stands.
    """
    assert 0.0 < low_hz <= high_hz
    lowest = max(low_hz, FLICKER_HZ[0])

    def inside(settings: Iterable[Flash]) -> tuple[Flash, ...]:
        fit = [s for s in settings if lowest <= s.flash_hz <= high_hz]
        return tuple(sorted(fit, key=_rank)[:most])

    # Turning down by d/n from the n-th sub-multiple shows the motion forward at d.
    fewest = max(1, math.floor(frequency_hz / high_hz))
    counts = range(fewest, MOST_CYCLES + 1)
    frozen = (Flash(frequency_hz / n, n, 0.0) for n in counts)
    slowed = (
        Flash((frequency_hz - slow_hz) / n, n, slow_hz)
        for n in counts
        if frequency_hz - slow_hz > 2.0 * n * slow_hz
    )
    misleading = (
        Flash(images * frequency_hz / n, n, 0.0, images)
        for images in range(2, MOST_IMAGES + 1)
        for n in counts
        if math.gcd(images, n) == 1
    )
    return Flashes(frequency_hz, inside(frozen), inside(slowed), inside(misleading))


def _rank(setting: Flash) -> tuple[bool, int, int]:
    """Outside the band of flicker first, then fewer cycles between flashes, then fewer images.

    More flashes are more light, and an error of the flash rate is multiplied by fewer cycles.
    """
    return setting.is_flicker, setting.cycles, setting.images


def complaint(found: Flashes, *, low_hz: float, high_hz: float) -> str:
    """Why a strobe of this range shows a frequency badly or not at all; "" where it is well."""
    f = found.frequency_hz
    if not found.frozen:
        if f < low_hz:
            return f"the strobe begins at {low_hz:g} Hz, above this mode: its images double"
        if high_hz < FLICKER_HZ[0]:
            return f"the strobe ends at {high_hz:g} Hz: single flashes, and no picture that stands"
        if f > MOST_CYCLES * high_hz:
            return (
                f"the strobe ends at {high_hz:g} Hz, too slow for this mode: more than "
                f"{MOST_CYCLES} cycles pass between two flashes"
            )
        return (
            f"no whole fraction of this frequency lies within the strobe's {low_hz:g} to "
            f"{high_hz:g} Hz"
        )
    if all(setting.is_flicker for setting in found.frozen):
        low, high = FLICKER_HZ
        return (
            f"every setting lies in or near the {low:g} to {high:g} Hz that can trigger seizures; "
            "watch this mode without the strobe"
        )
    return ""
