"""The quantities of a specimen that best explain a measured list, and how sure they are."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import field, replace

import numpy as np

from saltline.arrays import Values
from saltline.files.rewrite import exact_text, quantity_text, rewritten
from saltline.fitting.adjustable import Adjustable, values_at
from saltline.fitting.fittable import kind_of
from saltline.fitting.followed import held_slopes
from saltline.fitting.rematch import FitError, Request, Rest, best_rest
from saltline.fitting.separable import Direction
from saltline.fitting.standard_modulus import Line, StandardModulus, standard_moduli
from saltline.fitting.uncertain import Estimate, Spread, coverage_factor, unusual
from saltline.measured_list import Measured
from saltline.modes import Modes
from saltline.naming.identify import Identification, Match
from saltline.quantities_of import quantities
from saltline.quantity import Quantity, parse_quantity
from saltline.record import record
from saltline.specimen import Specimen

__all__ = ["Fit", "FitError", "FittedLine", "Parameter", "fit", "new_text"]

WRITTEN = 6
"""So many digits of a value at least are written, for its frequencies to be those of the fit."""


@record
class Parameter:
    """A fitted quantity, SI.

    standard_error: from the lines and from the tolerances of what was held fixed; NaN at a bound.
    own_error:      from the lines alone (and its own prior).
    half_width:     of the 95 % interval; low, high: its ends, which for what is fitted in its
                    logarithm lie in proportion.
    prior_share:    how much of what is known of it is its prior's, 0 to 1.
    at_bound:       -1 or 1 where it stopped at its lower or upper bound, else 0.
    """

    adjustable: Adjustable
    value: float
    standard_error: float
    own_error: float
    half_width: float
    low: float
    high: float
    prior_share: float
    at_bound: int

    @property
    def path(self) -> str:
        """Its name."""
        return self.adjustable.path


@record
class FittedLine:
    """A measured line after the fit.

    match:       what it is.
    start_hz, fitted_hz: of its mode, before and after; NaN where it was left out before or is
                 unexplained.
    uncertainty: relative standard uncertainty that was used; NaN where it was left out.
    is_unusual:  whether it lies farther off than the other lines let expect.
    """

    match: Match
    start_hz: float
    fitted_hz: float
    uncertainty: float
    is_unusual: bool = False

    @property
    def is_used(self) -> bool:
        """Whether it took part in the fit."""
        return math.isfinite(self.uncertainty)

    @property
    def residual(self) -> float:
        """Measured over fitted, less 1."""
        return self.match.measured.frequency_hz / self.fitted_hz - 1.0


@record
class Fit:
    """The result.

    modes:       of the specimen with the estimates in it, which is `fitted`.
    correlation: of the parameters, shape (p, p).
    held:        path of a quantity that was held -> what its tolerance does to the parameters,
                 one standard uncertainty, in their x, shape (p,).
    directions:  what the lines alone could not tell apart and the priors did.
    mass_residual: weighed over predicted mass, less 1; NaN where it was not weighed.
    settled:     whether matching and fitting came to rest.
    contradicted: path of a parameter whose tolerance in the file was left out, for the list
                 contradicts it -> how many tolerances (95 %) it lies off.
    """

    specimen: Specimen
    modes: Modes
    parameters: tuple[Parameter, ...]
    correlation: Values
    lines: tuple[FittedLine, ...]
    spread: Spread
    held: Mapping[str, Values]
    directions: tuple[Direction, ...]
    standards: tuple[StandardModulus, ...]
    mass_residual: float
    settled: bool
    contradicted: Mapping[str, float] = field(default_factory=dict)

    @property
    def fitted(self) -> Specimen:
        """The specimen with the estimates."""
        return self.modes.specimen


def fit(
    specimen: Specimen,
    measured: Sequence[Measured],
    chosen: Sequence[Adjustable],
    *,
    weighed: Quantity | None = None,
    tolerance: float = 0.03,
    theory: str | None = None,
    count: int | None = None,
    families: Sequence[str] | None = None,
    before: Identification | None = None,
) -> Fit:
    """Estimate quantities of a specimen from a measured list.

    measured: at least one line.
    chosen:   what is to be estimated, at least one; see `saltline.fitting.adjustable`.
    weighed:  the mass of the specimen with all that is attached, kg.
    tolerance, theory, count, families: as for `saltline.naming.check.check`.
    before:   what that has made of the list, where it was asked the same already.

    Raises FitError where no line can be used or the quantities cannot be told apart, and
    PredictionError where the specimen cannot be predicted.
    """
    options = {"tolerance": tolerance, "theory": theory, "count": count, "families": families}
    return _result(Request(specimen, measured, chosen, weighed, options, before))


def new_text(found: Fit) -> str:
    """The specimen's file with the estimates written into it; raises RewriteError."""
    texts: dict[str, str] = {}
    rounded = []
    for parameter in found.parameters:
        item = parameter.adjustable
        half = 0.0 if parameter.at_bound else parameter.half_width
        unit = item.quantity.unit
        text = quantity_text(parameter.value, half, unit, item.kind, least=WRITTEN)
        texts |= dict.fromkeys(item.paths, text)
        rounded.append(item.x(parse_quantity(text, item.kind).value))
    known = quantities(found.specimen)
    chosen = [parameter.adjustable for parameter in found.parameters]
    for path, value in values_at(found.specimen, chosen, rounded).items():
        if path not in texts:
            texts[path] = exact_text(known[path], value, kind_of(found.specimen, path))
    return rewritten(found.specimen, texts)


CONTRADICTED = 3.0
"""A prior is contradicted where lines and prior lie so many standard uncertainties apart."""


def _result(request: Request) -> Fit:
    rest = best_rest(request)
    wrong = _contradicted(request, rest)
    if not wrong:
        return _made(request, rest)
    chosen = [replace(item, prior=0.0) if item.path in wrong else item for item in request.chosen]
    alone = replace(request, chosen=chosen)
    try:
        made = _made(alone, best_rest(alone))
    except FitError:  # without the tolerances the list does not tell them apart
        return _made(request, rest)
    known = {parameter.path: parameter for parameter in made.parameters}
    off = {
        item.path: abs(item.x(known[item.path].value)) / (2.0 * item.prior)
        for item in request.chosen
        if item.path in wrong
    }
    return replace(made, contradicted=off)


def _contradicted(request: Request, rest: Rest) -> set[str]:
    """The parameters whose priors the lines contradict.

    With the prior's share s of what is known of x, the lines alone say x/(1 - s), to a variance of
    u^2 s/(1 - s), u being the prior's; so the two lie x / (u sqrt(1 - s)) standard uncertainties
    apart (normal theory).
    """
    found = rest.found
    return {
        item.path
        for j, item in enumerate(request.chosen)
        if item.prior > 0.0
        and found.at_bound[j] == 0
        and abs(float(found.x[j]))
        > CONTRADICTED * item.prior * math.sqrt(max(1.0 - float(found.prior_share[j]), 1e-9))
    }


def _made(request: Request, rest: Rest) -> Fit:
    found, chosen = rest.found, request.chosen
    modes, lines = rest.followed.at(found.x), _fitted_lines(rest)
    held, total = _with_held(modes, chosen, found)
    deviations = np.sqrt(np.diag(total))
    scale = np.where(deviations > 0.0, deviations, 1.0)
    correlation = total / np.outer(scale, scale)
    np.fill_diagonal(correlation, 1.0)
    usable = [
        Line(line.match.mode.family, line.match.mode.order, line.match.measured)
        for line in lines
        if line.is_used and line.match.mode is not None
    ]
    return Fit(
        specimen=request.specimen,
        modes=modes,
        parameters=tuple(
            _parameter(item, found, j, float(deviations[j])) for j, item in enumerate(chosen)
        ),
        correlation=correlation,
        lines=lines,
        spread=found.spread,
        held=held,
        directions=rest.undecided,
        standards=standard_moduli(modes.specimen, usable),
        mass_residual=math.nan if request.weighed is None else math.expm1(found.residuals[-1]),
        settled=rest.settled,
    )


def _parameter(item: Adjustable, found: Estimate, j: int, deviation: float) -> Parameter:
    x, own = float(found.x[j]), math.sqrt(float(found.covariance[j, j]))
    at_bound = int(found.at_bound[j])
    slope = math.nan if at_bound else item.slope(x)
    half = (
        math.nan
        if at_bound
        else deviation * coverage_factor(found.spread, float(found.from_lines[j]), deviation)
    )
    return Parameter(
        adjustable=item,
        value=item.value(x),
        standard_error=slope * deviation,
        own_error=slope * own,
        half_width=slope * half,
        low=item.value(x - half),
        high=item.value(x + half),
        prior_share=float(found.prior_share[j]),
        at_bound=at_bound,
    )


def _with_held(
    modes: Modes, chosen: Sequence[Adjustable], found: Estimate
) -> tuple[dict[str, Values], Values]:
    """What the tolerances of the quantities held do to x, and the covariance with them.

    The estimate moves by C J' W per relative change of the frequencies (JCGM 100:2008, 5.1.2).
    """
    gain = found.covariance @ (found.J / found.sigma[:, None] ** 2).T
    slopes = held_slopes(modes, chosen)
    held = {path: gain @ effect[: gain.shape[1]] for path, effect in slopes.items()}
    total = found.covariance + sum(
        (np.outer(effect, effect) for effect in held.values()), start=np.zeros(gain.shape[:1] * 2)
    )
    return held, np.asarray(total)


def _fitted_lines(rest: Rest) -> tuple[FittedLine, ...]:
    start = np.exp(rest.followed.log_f(np.zeros(rest.found.x.size)))
    fitted = np.exp(rest.followed.log_f(rest.found.x))
    far = unusual(rest.found)
    numbers = {i: k for k, i in enumerate(rest.used)}
    lines = []
    for i, match in enumerate(rest.named.matches):
        if i in numbers:
            k = numbers[i]
            sigma = float(rest.found.sigma[k])
            line = FittedLine(match, float(start[k]), float(fitted[k]), sigma, bool(far[k]))
            lines.append(line)
        else:
            hz = math.nan if match.mode is None else match.mode.frequency_hz
            lines.append(FittedLine(match, math.nan, hz, math.nan))
    return tuple(lines)
