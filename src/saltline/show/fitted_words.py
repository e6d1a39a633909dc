"""What `fit` says in words: how sure the estimates are, through what, and what took no part."""

from __future__ import annotations

import math
from collections.abc import Sequence

from saltline.fitting.advice import determined
from saltline.fitting.fit import Fit, FittedLine, Parameter
from saltline.fitting.fittable import limits
from saltline.naming.misfit import in_words, left_pattern
from saltline.show.table import significant

STRONG = 0.9
"""Two parameters whose correlation is stronger are said to be so."""

NOTABLE = 0.1
"""A part of a variance, or of what is known, that is at least this is spoken of."""

BOUNDS = {-1: "low", 1: "high"}


DOUBTED = 0.4
"""Where more than this part of the rows takes no part or is unsure, the list itself is in doubt."""

CONTRADICTED = 1.5
"""A value so many tolerances from the file's is remarked on."""


def sentences(found: Fit) -> tuple[str, ...]:
    """What belongs to the result: how sure, through what, and what took no part."""
    return (
        *_doubt_words(found),
        *_trend_words(found),
        _spread_words(found),
        *_held_words(found),
        *_prior_words(found),
        *_undecided_words(found),
        *_correlation_words(found),
        *_left_out_words(found.lines),
    )


def explains(found: Fit) -> bool:
    """Whether the fit explains the list: it is not in doubt, and leaves no pattern."""
    return not _doubt_words(found) and not _trend_words(found)


def _doubt_words(found: Fit) -> list[str]:
    """That the list itself is in doubt, first of all, where `check` would say so."""
    out = [line for line in found.lines if not line.is_used]
    unsure = [line for line in found.lines if line.is_used and not line.match.is_sure]
    if len(out) + len(unsure) <= DOUBTED * len(found.lines):
        return []
    parts = []
    if out:
        parts.append(f"{len(out)} of {len(found.lines)} rows take no part")
    if unsure:
        parts.append(f"{len(unsure)} have a name that is not sure")
    return [
        f"IN DOUBT: {' and '.join(parts)}; is it the list of this specimen? Let saltline check "
        "name the rows before you use what is fitted"
    ]


def _trend_words(found: Fit) -> list[str]:
    """What the residuals of the fit show that is no scatter."""
    lines = [
        (line.match.mode, line.fitted_hz, line.match.measured.frequency_hz)
        for line in found.lines
        if line.is_used and line.match.mode is not None
    ]
    left = left_pattern(lines)
    if left is None:
        return []
    fitted = [parameter.path for parameter in found.parameters]
    return [
        f"the fit does not explain the list: {in_words(*left, found.modes, fitted)}. What is "
        "fitted, and its ±, are not to be trusted until that is described in the file, or is "
        "fitted too"
    ]


def _spread_words(found: Fit) -> str:
    spread = found.spread
    percent = f"{significant(2)(200.0 * spread.relative)} %"
    freedom = f"{spread.freedom:.0f} degree{'' if round(spread.freedom) == 1 else 's'} of freedom"
    if spread.basis == "scatter":
        return (
            f"frequencies taken to ± {percent} (95 %), from the scatter of the residuals with "
            f"{freedom}; the list states no uncertainty"
        )
    if spread.basis == "enlarged":
        return (
            f"the residuals are {significant(2)(spread.factor)} times as large as the "
            f"uncertainties make likely ({freedom}), so ± {significant(2)(200.0 * spread.added)} % "
            "(95 %) was added to those: what the model and the mount leave out, all rows suffer"
        )
    if spread.basis == "assumed":
        return (
            f"frequencies taken to ± {percent} (95 %): assumed where the list states no "
            "uncertainty, for so few lines do not tell it"
        )
    return "frequencies taken to the uncertainties that the list states"


def _held_words(found: Fit) -> list[str]:
    """Which tolerances of what was held make the uncertainty of a parameter."""
    sentences = []
    for j, parameter in enumerate(found.parameters):
        if parameter.at_bound:
            continue
        own = (parameter.own_error / abs(_slope(parameter))) ** 2 if parameter.own_error else 0.0
        whole = own + sum(float(effect[j]) ** 2 for effect in found.held.values())
        parts = {
            path: float(effect[j]) ** 2 / whole
            for path, effect in found.held.items()
            if whole > 0.0 and float(effect[j]) ** 2 >= NOTABLE * whole
        }
        if parts:
            shown = ", ".join(
                f"{path} {100.0 * part:.0f} %"
                for path, part in sorted(parts.items(), key=lambda item: -item[1])
            )
            sentences.append(
                f"the ± of {parameter.path} comes in part from tolerances of what was held; of "
                f"its square: {shown}"
            )
    return sentences


def _slope(parameter: Parameter) -> float:
    item = parameter.adjustable
    return item.slope(item.x(parameter.value))


def _prior_words(found: Fit) -> list[str]:
    parts = [
        f"{parameter.path} {100.0 * parameter.prior_share:.0f} %"
        for parameter in found.parameters
        if parameter.prior_share >= NOTABLE
    ]
    if not parts:
        return []
    return [
        f"the tolerance that the file had says part of what is known of {', '.join(parts)}; "
        "--no-priors leaves it out"
    ]


def _undecided_words(found: Fit) -> list[str]:
    chosen = [parameter.adjustable for parameter in found.parameters]
    return [
        f"hardly separable: {determined(direction, chosen)}"
        + ("; the tolerances of the file decide the rest" if direction.by_prior else "")
        for direction in found.directions
    ]


def _correlation_words(found: Fit) -> list[str]:
    names = [parameter.path for parameter in found.parameters]
    return [
        f"{names[i]} and {names[j]} are correlated: {found.correlation[i, j]:+.3f}"
        for i in range(len(names))
        for j in range(i + 1, len(names))
        if abs(found.correlation[i, j]) > STRONG
    ]


def _left_out_words(lines: Sequence[FittedLine]) -> list[str]:
    return [
        f"row {number} ({line.match.measured.frequency_hz:.7g} Hz) left out, "
        f"{line.match.finding}: {line.match.why}"
        for number, line in enumerate(lines, start=1)
        if not line.is_used
    ]


def remarks(found: Fit) -> tuple[str, ...]:
    said = [
        f"{parameter.path} stopped at its {BOUNDS[parameter.at_bound]} bound, so nothing is "
        f"known of its uncertainty{_bound_hint(found, parameter)}"
        for parameter in found.parameters
        if parameter.at_bound
    ]
    said += [
        f"{path} lies {times:.1f} times its tolerance from the file's value: the list contradicts "
        "the file, whose tolerance was therefore left out, as --no-priors does; look at the "
        "material, the sizes and the clamp"
        for path, times in found.contradicted.items()
    ]
    said += [
        f"{parameter.path} lies {_beyond_prior(parameter):.1f} times its tolerance from the file's "
        "value: the list contradicts the file, so look at the material, the sizes and the clamp"
        for parameter in found.parameters
        if _beyond_prior(parameter) > CONTRADICTED
    ]
    said += [
        f"{parameter.path} took along: {', '.join(parameter.adjustable.paths[1:])}, which the file "
        "gives by the same text"
        for parameter in found.parameters
        if parameter.adjustable.paths[1:]
    ]
    for number, line in enumerate(found.lines, start=1):
        if line.is_unusual:
            said.append(
                f"row {number} ({line.match.measured.frequency_hz:.7g} Hz) lies "
                f"{100.0 * line.residual:+.2f} % from the fitted specimen, more than "
                f"{_expected(found)}; look at it again"
            )
    if math.isfinite(found.mass_residual):
        said.append(
            f"the weighed mass is {100.0 * found.mass_residual:+.2f} % from the fitted specimen's"
        )
    if found.standards:
        said.append(
            "the standards' formulas are written from memory, so compare with the standard before "
            "you quote one; they take the mass from the density and sizes of the file"
        )
    if not found.settled:
        said.append("matching and fitting did not come to rest; give counts or fewer quantities")
    return tuple(said)


def _expected(found: Fit) -> str:
    """By what a line is called unusual."""
    if sum(line.is_used for line in found.lines) > 1:
        return "the other lines let expect"
    return "the tolerances in the file let expect"


def _beyond_prior(parameter: Parameter) -> float:
    """How far the fitted value lies from the file's, in tolerances (95 %); 0 without one."""
    item = parameter.adjustable
    return abs(item.x(parameter.value)) / (2.0 * item.prior) if item.prior > 0.0 else 0.0


def _bound_hint(found: Fit, parameter: Parameter) -> str:
    """What a stiffness at its bound says, unless the user has set that bound."""
    item = parameter.adjustable
    physical = limits(found.specimen, item.path, item.quantity)
    if (item.low, item.high)[parameter.at_bound > 0] != physical[parameter.at_bound > 0]:
        side = "more" if parameter.at_bound > 0 else "less"
        return f"; the list asks for {side} than --bound allows, so widen that"
    if parameter.path.endswith((".deflection", ".rotation")):
        word = "rigid" if parameter.at_bound > 0 else "free"
        return f"; the list is explained best by a hold that cannot be told from {word}"
    return "; --bound widens it"
