"""What to say, and what to measure, where the data cannot tell quantities apart.

What is advised is tried first: the slopes of what might be measured besides are computed, and only
what would separate the quantities is named.
"""

from __future__ import annotations

from collections.abc import Sequence

from saltline.arrays import Values
from saltline.fitting.adjustable import Adjustable
from saltline.fitting.followed import mass_slopes, slopes_of
from saltline.fitting.separable import SAME, Direction, separates
from saltline.kinds import KINDS
from saltline.modes import Modes
from saltline.solver import find_modes
from saltline.specimen import PredictionError
from saltline.words import listed, together

_HOLDS = ("boundary.", "supports.")

TRIED = 2
"""So many modes of another family are tried."""


def refusal(
    modes: Modes,
    chosen: Sequence[Adjustable],
    x: Values,
    direction: Direction,
    *,
    J: Values,
    sigma: Values,
) -> str:
    """Why some quantities cannot be fitted together, and what would help.

    modes: the matched ones at x; J, sigma: slopes and relative uncertainties of the data.
    """
    members = [chosen[j] for j in direction.members]
    idle = _idle(direction, members)
    if idle:
        return (
            f"{idle} hardly acts on the lines of this list, which a hold as good as rigid, or as "
            "good as none, would explain as well; leave it out of what is fitted"
        )
    names = together([item.path for item in members])
    text = f"{names} cannot be told apart by this list"
    if J.shape[0] < J.shape[1]:
        text += f", which has {J.shape[0]} usable data for {J.shape[1]} quantities"
    text += f": {determined(direction, chosen)}. "
    ways = _ways(modes, chosen, x, direction, J=J, sigma=sigma)
    text += f"What would separate them: {listed(ways)}; or fit fewer of them"
    return text


IDLE = 100.0
"""A quantity whose power in a product is so many times smaller than the largest is idle."""


def _idle(direction: Direction, members: Sequence[Adjustable]) -> str:
    """The vague one among the members that does next to nothing beside the others; "" if none."""
    sizes = [abs(power) for power in direction.powers]
    for item, size in zip(members, sizes, strict=False):
        if item.is_vague and size * IDLE < max(sizes):
            return item.path
    return ""


def determined(direction: Direction, chosen: Sequence[Adjustable]) -> str:
    """Which combination the data determine, or which change they do not notice."""
    members = [chosen[j] for j in direction.members]
    names = _short([item.path for item in members])
    changes = zip(names, direction.changes, strict=True)
    change = " with ".join(f"{name} {c:+.2g} %" for name, c in changes)
    unseen = f"{change} " + (
        "leaves every frequency as it is"
        if direction.inflation > SAME
        else "hardly changes a frequency"
    )
    one_product = direction.powers and direction.inflation > SAME
    if not one_product or any(item.scale for item in members):
        return unseen
    factors = [_power(name, p) for name, p in zip(names, direction.powers, strict=True)]
    return f"the frequencies determine {' · '.join(factors)} alone ({unseen})"


def _power(name: str, power: float) -> str:
    shown = f"{power:.2g}"
    return name if shown == "1" else f"{name}^{shown}"


def _short(paths: Sequence[str]) -> list[str]:
    """The last words of the paths where those tell them apart."""
    words = [path.rpartition(".")[2] for path in paths]
    return (
        words if len(set(words)) == len(words) and not any(map(str.isdigit, words)) else list(paths)
    )


def _ways(
    modes: Modes,
    chosen: Sequence[Adjustable],
    x: Values,
    direction: Direction,
    *,
    J: Values,
    sigma: Values,
) -> list[str]:
    members = [chosen[j] for j in direction.members]
    ways = []
    for family, slopes in _other_families(modes, chosen, x):
        if separates(J, sigma, slopes, direction.members):
            ways.append(f"{family} frequencies in the list (--family)")
    if separates(J, sigma, mass_slopes(modes.specimen, chosen, x)[None, :], direction.members):
        ways.append("the specimen's mass (--weighed)")
    held = [item.path for item in members if item.path.startswith(_HOLDS)]
    if held and len(held) < len(members):
        ways.append(f"for all but {listed(held)} a list of the specimen hung free")
    without = [item.path for item in members if not item.prior]
    if without:
        ways.append(f"a tolerance in the file for {listed(without)}, measured by other means")
    else:
        ways.append(f"a narrower tolerance in the file for {listed([m.path for m in members])}")
    return ways


def _other_families(
    modes: Modes, chosen: Sequence[Adjustable], x: Values
) -> list[tuple[str, Values]]:
    """The slopes of the first modes of each family that the list does not have."""
    present = {mode.family for mode in modes.modes}
    found = []
    for family in KINDS[modes.specimen.kind].families:
        if family in present:
            continue
        try:
            first = find_modes(modes.specimen, count=TRIED, families=(family,))
        except PredictionError:
            continue
        found.append((family, slopes_of(first, chosen, x)))
    return found
