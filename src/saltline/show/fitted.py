"""A fit as a result: what `fit` shows."""

from __future__ import annotations

from typing import Any

from saltline.arrays import Values
from saltline.files.rewrite import exact_text, quantity_text
from saltline.fitting.fit import Fit, FittedLine, Parameter
from saltline.quantity import KINDS
from saltline.show.fitted_words import BOUNDS, explains, remarks, sentences
from saltline.show.table import Column, Result, Table, fixed, significant, without

WIDE = 0.5
"""An interval wider than this part of its value is told as a factor."""


def fitted(found: Fit) -> Result:
    """The result of `fit`."""
    parameters = [_parameter_row(parameter) for parameter in found.parameters]
    lines = [_line_row(number, line) for number, line in enumerate(found.lines, start=1)]
    standards = _standard_rows(found)
    return Result(
        {
            "specimen": found.specimen.name,
            "parameters": [without(row, "written", "before") for row in parameters],
            "residuals_percent": [
                row["residual_percent"] if row["used"] else None for row in lines
            ],
            "correlation": found.correlation,
            "measured": [without(row, "row", "left_out") for row in lines],
            **_more_data(found),
            "standards": [without(row, "written") for row in standards],
        },
        (
            Table(_parameter_columns(), parameters),
            Table(_line_columns(), lines, "The list by the fitted specimen:"),
            Table(_standard_columns(), standards, "By the standards' formulas:"),
        ),
        sentences(found),
        remarks(found),
    )


def _more_data(found: Fit) -> dict[str, Any]:
    """What the tables leave to the sentences."""
    spread = found.spread
    return {
        "spread": {
            "basis": spread.basis,
            "standard_uncertainty_percent": 100.0 * spread.relative,
            "enlarged_by": spread.factor if spread.basis == "enlarged" else 1.0,
            "added_percent": 100.0 * spread.added,
            "degrees_of_freedom": spread.freedom,
        },
        "held": {path: _in_si(found, effect) for path, effect in found.held.items()},
        "mass_residual_percent": 100.0 * found.mass_residual,
        "contradicted": dict(found.contradicted),
        "explains_list": explains(found),
        "hardly_separable": [
            {
                "parameters": [found.parameters[j].path for j in direction.members],
                "changes_percent": [100.0 * change for change in direction.changes],
                "inflation": direction.inflation,
                "decided_by_prior": direction.by_prior,
            }
            for direction in found.directions
        ],
    }


# -- the rows -------------------------------------------------------------------------------------


def _parameter_row(parameter: Parameter) -> dict[str, Any]:
    item = parameter.adjustable
    quantity = item.quantity
    return {
        "name": parameter.path,
        "before": exact_text(quantity, quantity.value, item.kind),
        "written": _written(parameter),
        "value": parameter.value,
        "unit": KINDS[item.kind].si,
        "standard_error": parameter.standard_error,
        "start": item.start,
        "change_percent": 100.0 * (parameter.value / item.start - 1.0),
        "low": parameter.low,
        "high": parameter.high,
        "own_standard_error": parameter.own_error,
        "prior_standard_error": quantity.standard_uncertainty if item.prior else None,
        "prior_share_percent": 100.0 * parameter.prior_share if item.prior else None,
        "at_bound": BOUNDS.get(parameter.at_bound),
    }


def _written(parameter: Parameter) -> str:
    """The estimate with its 95 % interval."""
    item, value = parameter.adjustable, parameter.value
    unit = item.quantity.unit
    if parameter.at_bound:
        return f"{quantity_text(value, 0.0, unit, item.kind)}, at its bound"
    if item.scale == 0.0 and parameter.half_width > WIDE * value:
        alone = quantity_text(value, 10.0 * value, unit, item.kind)
        factor = parameter.high / value
        return f"{alone}, to a factor of {significant(2)(factor)}"
    return quantity_text(value, parameter.half_width, unit, item.kind)


def _line_row(number: int, line: FittedLine) -> dict[str, Any]:
    mode, match = line.match.mode, line.match
    return {
        "row": number,
        "frequency_hz": match.measured.frequency_hz,
        "uncertainty_percent": 200.0 * line.uncertainty,
        "rank": None if mode is None else mode.rank,
        "family": None if mode is None else mode.family,
        "order": None if mode is None else mode.order,
        "start_hz": line.start_hz,
        "fitted_hz": line.fitted_hz,
        "residual_percent": 100.0 * line.residual,
        "used": line.is_used,
        "left_out": "" if line.is_used else match.finding,
        "finding": match.finding,
        "why": match.why,
    }


def _standard_rows(found: Fit) -> list[dict[str, Any]]:
    material = found.fitted.material
    by_fit = {"youngs_modulus": material.youngs_modulus.value, "shear_modulus": material.G}
    unit = material.youngs_modulus.unit or "Pa"
    return [
        {
            "quantity": item.quantity,
            "written": quantity_text(
                item.value, 5e-4 * item.value, unit, "pressure", digits=1
            ).partition(" ±")[0]
            + f" {unit}",
            "value": item.value,
            "unit": "Pa",
            "mode": item.mode,
            "frequency_hz": item.frequency_hz,
            "correction": item.correction,
            "poisson_ratio": item.poisson_ratio,
            "fitted": by_fit[item.quantity],
            "fitted_less_percent": 100.0 * (by_fit[item.quantity] / item.value - 1.0),
            "formula": item.formula,
            "standard": item.standard,
        }
        for item in found.standards
    ]


def _in_si(found: Fit, effect: Values) -> list[float]:
    return [
        float(e) * abs(parameter.adjustable.slope(parameter.adjustable.x(parameter.value)))
        for e, parameter in zip(effect, found.parameters, strict=True)
    ]


# -- the columns ----------------------------------------------------------------------------------


def _parameter_columns() -> tuple[Column, ...]:
    return (
        Column("name", "quantity", words=True),
        Column("before", "in the file", words=True),
        Column("written", "fitted (95 %)", words=True),
        Column("change_percent", "change", "%", fixed(2, signed=True)),
        Column("prior_share_percent", "prior share", "%", fixed(0)),
        *(
            Column(key, key, shown=False)
            for key in (
                "value", "unit", "standard_error", "start", "low", "high", "own_standard_error",
                "prior_standard_error", "at_bound",
            )
        ),
    )  # fmt: skip


def _line_columns() -> tuple[Column, ...]:
    return (
        Column("row", "row"),
        Column("frequency_hz", "measured", "Hz", lambda hz: f"{hz:.7g}"),
        Column("uncertainty_percent", "±", "%", significant(2)),
        Column("rank", "rank"),
        Column("family", "family", words=True),
        Column("order", "order"),
        Column("start_hz", "before", "Hz", significant(5)),
        Column("fitted_hz", "fitted", "Hz", significant(5)),
        Column("residual_percent", "residual", "%", fixed(2, signed=True)),
        Column("left_out", "left out", words=True),
    )


def _standard_columns() -> tuple[Column, ...]:
    return (
        Column("quantity", "quantity", words=True),
        Column("written", "by formula", words=True),
        Column("mode", "from mode", words=True),
        Column("frequency_hz", "at", "Hz", lambda hz: f"{hz:.7g}"),
        Column("correction", "correction", "", lambda c: "" if c == 1.0 else f"{c:.5f}"),
        Column("poisson_ratio", "Poisson", "", fixed(3)),
        Column("fitted_less_percent", "fit differs", "%", fixed(2, signed=True)),
        Column("formula", "formula", words=True),
        Column("standard", "standard", words=True),
    )
