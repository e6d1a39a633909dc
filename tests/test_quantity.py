"""What `parse_quantity` reads, what it refuses, and whether its factors are right."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.quantity import KINDS, Place, Quantity, QuantityError, parse_quantity, to_unit
from saltline.quantity_kinds import EXAMPLES, example_of
from saltline.units import UnitError, parse_unit

SAME = settings(max_examples=100, deadline=None, derandomize=True)
"""The same ones in every run."""

# NIST SP 811 (2008), appendix B, from memory: the inch, foot, pound and standard gravity are exact
# by definition, what follows from them is printed to the digits given here.
SP_811 = [
    ("1 in", "length", 0.0254, 0.0),
    ("1 ft", "length", 0.3048, 0.0),
    ("1 mil", "length", 2.54e-5, 0.0),
    ("1 lb", "mass", 0.45359237, 0.0),
    ("1 oz", "mass", 0.028349523125, 0.0),
    ("1 slug", "mass", 14.59390, 4e-7),
    ("1 lbf", "force", 4.4482216152605, 0.0),
    ("1 psi", "pressure", 6894.757293168, 1e-13),
    ("1 ksi", "pressure", 6894757.293168, 1e-13),
    ("1 Mpsi", "pressure", 6894757293.168, 1e-13),
    ("1 lb/in3", "density", 27679.90, 2e-7),
    ("1 lbf/in", "stiffness", 175.1268, 3e-7),
    ("1 lbf in/rad", "rotational_stiffness", 0.1129848, 3e-7),
    ("1 g_n", "acceleration", 9.80665, 0.0),
    ("1 deg", "angle", math.pi / 180.0, 1e-15),
    ("1 bar", "pressure", 1e5, 0.0),
]


@pytest.mark.parametrize(("text", "kind", "si", "relative"), SP_811)
def test_factor_matches_nist_sp_811(text: str, kind: str, si: float, relative: float) -> None:
    assert parse_quantity(text, kind).value == pytest.approx(si, rel=relative, abs=0.0)


@pytest.mark.parametrize(
    ("text", "kind", "value", "tolerance", "unit"),
    [
        ("310 mm", "length", 0.31, 0.0, "mm"),
        ("310mm", "length", 0.31, 0.0, "mm"),
        ("  12.2 in ", "length", 0.30988, 0.0, "in"),
        ("12.2 inches", "length", 0.30988, 0.0, "inches"),
        ("1 foot", "length", 0.3048, 0.0, "foot"),
        ("3/8 in", "length", 0.009525, 0.0, "in"),
        ("1 1/2 in", "length", 0.0381, 0.0, "in"),
        ("1-1/2 in", "length", 0.0381, 0.0, "in"),
        ("250 um", "length", 2.5e-4, 0.0, "um"),
        ("250 µm", "length", 2.5e-4, 0.0, "µm"),
        ("3 millimetres", "length", 0.003, 0.0, "millimetres"),
        ("3.2 ± 0.05 mm", "length", 0.0032, 5e-5, "mm"),
        ("3.2±0.05mm", "length", 0.0032, 5e-5, "mm"),
        ("3.2 +/- 0.05 mm", "length", 0.0032, 5e-5, "mm"),
        ("(3.2 ± 0.05) mm", "length", 0.0032, 5e-5, "mm"),
        ("310 mm ± 0.5 mm", "length", 0.31, 5e-4, "mm"),
        ("310 mm ± 0.02 in", "length", 0.31, 5.08e-4, "mm"),
        ("−5 mm", "length", -0.005, 0.0, "mm"),
        ("103 GPa ± 3 %", "pressure", 103e9, 3.09e9, "GPa"),
        ("103 GPa ± 3 percent", "pressure", 103e9, 3.09e9, "GPa"),
        ("8500 kg/m3", "density", 8500.0, 0.0, "kg/m3"),
        ("8.5 g/cm^3", "density", 8500.0, 0.0, "g/cm^3"),
        ("8.5 g/cm³", "density", 8500.0, 0.0, "g/cm³"),
        ("8500 kg m⁻³", "density", 8500.0, 0.0, "kg m⁻³"),
        ("80 mm²", "area", 8e-5, 0.0, "mm²"),
        ("68 mm4", "second_moment", 6.8e-11, 0.0, "mm4"),
        ("4.5 g", "mass", 0.0045, 0.0, "g"),
        ("4.5 gram", "mass", 0.0045, 0.0, "gram"),
        ("2 lbs", "mass", 0.90718474, 0.0, "lbs"),
        ("0.5 g", "acceleration", 4.903325, 0.0, "g"),
        ("0.5 g", "mass", 0.0005, 0.0, "g"),
        ("20 mg", "acceleration", 0.196133, 0.0, "mg"),
        ("3 m/s2", "acceleration", 3.0, 0.0, "m/s2"),
        ("3 m/s/s", "acceleration", 3.0, 0.0, "m/s/s"),
        ("0.2 kg m2", "rotary_inertia", 0.2, 0.0, "kg m2"),
        ("12 kg mm^2", "rotary_inertia", 1.2e-5, 0.0, "kg mm^2"),
        ("2e4 N/m", "stiffness", 2e4, 0.0, "N/m"),
        ("250 N m/rad", "rotational_stiffness", 250.0, 0.0, "N m/rad"),
        ("250 N·m/rad", "rotational_stiffness", 250.0, 0.0, "N·m/rad"),
        ("250 N*m/rad", "rotational_stiffness", 250.0, 0.0, "N*m/rad"),
        ("250 Nm", "rotational_stiffness", 250.0, 0.0, "Nm"),
        ("10 in-lbf", "moment", 1.12984829027617, 0.0, "in-lbf"),
        ("2e6 N/m/m", "stiffness_per_length", 2e6, 0.0, "N/m/m"),
        ("2e6 N/m2", "stiffness_per_length", 2e6, 0.0, "N/m2"),
        ("300 N m/rad/m", "rotational_stiffness_per_length", 300.0, 0.0, "N m/rad/m"),
        ("300 N m/(rad m)", "rotational_stiffness_per_length", 300.0, 0.0, "N m/(rad m)"),
        ("26.1 Hz", "frequency", 26.1, 0.0, "Hz"),
        ("5 kHz", "frequency", 5000.0, 0.0, "kHz"),
        ("26.1 1/s", "frequency", 26.1, 0.0, "1/s"),
        ("600 rpm", "frequency", 10.0, 0.0, "rpm"),
        ("1 mm/s", "velocity", 0.001, 0.0, "mm/s"),
        ("2 min", "time", 120.0, 0.0, "min"),
        ("90 seconds", "time", 90.0, 0.0, "seconds"),
        ("3 octave/min", "octave_rate", 0.05, 0.0, "octave/min"),
        ("2 Hz/s", "sweep_rate", 2.0, 0.0, "Hz/s"),
        ("0.4 %", "ratio", 0.004, 0.0, "%"),
        ("0.34", "ratio", 0.34, 0.0, ""),
        ("0.34 ± 0.01", "ratio", 0.34, 0.01, ""),
        ("0.34 ± 3 %", "ratio", 0.34, 0.0102, ""),
        ("0.4 % ± 0.05 %", "ratio", 0.004, 0.0005, "%"),
        ("0.4 % ± 10 %", "ratio", 0.004, 0.0004, "%"),
        ("(0.4 ± 0.05) %", "ratio", 0.004, 0.0005, "%"),
        ("900 um/m", "ratio", 9e-4, 0.0, "um/m"),
        ("900 ppm ± 10 %", "ratio", 9e-4, 9e-5, "ppm"),
    ],
)
def test_reads(text: str, kind: str, value: float, tolerance: float, unit: str) -> None:
    found = parse_quantity(text, kind)
    assert found.value == pytest.approx(value, rel=2e-15, abs=0.0)
    assert found.tolerance == pytest.approx(tolerance, rel=1e-12, abs=0.0)
    assert found.unit == unit


def test_angular_frequency_is_divided_by_two_pi() -> None:
    assert parse_quantity("1 rad/s", "frequency").value == pytest.approx(1 / (2 * math.pi))
    assert to_unit(1.0, "rad/s", kind="frequency") == pytest.approx(2 * math.pi)


def test_numbers_are_ratios_and_nothing_else() -> None:
    assert parse_quantity(0.34, "ratio") == Quantity(0.34)
    assert parse_quantity(1, "ratio").value == 1.0
    with pytest.raises(QuantityError, match=r'^length needs a unit, for example "3.2 mm"$'):
        parse_quantity(3.2, "length")


def test_path_and_place_stay_with_the_quantity() -> None:
    found = parse_quantity("310 mm", "length", path="geometry.length", place=Place(6, 11))
    assert (found.path, found.place) == ("geometry.length", Place(6, 11))


def test_a_tolerance_is_two_standard_uncertainties() -> None:
    assert parse_quantity("3 ± 0.1 mm", "length").standard_uncertainty == 5e-5


def test_a_very_long_unit_is_not_compared_with_any() -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity("3 " + "m" * 80, "length")
    assert "did you mean" not in str(caught.value)


def test_a_decimal_is_not_blurred_by_its_unit() -> None:
    assert repr(parse_quantity("4.5 g", "mass").value) == "0.0045"


def test_g_is_an_acceleration_only_where_one_is_due_and_kg_never() -> None:
    assert parse_quantity("3 g", "acceleration").value == pytest.approx(29.41995)
    assert parse_quantity("3 g", "mass").value == 0.003
    assert parse_quantity("3 kg", "mass").value == 3.0
    for text in ("3 kg", "3 Mg", "3 grams", "3 kg ± 5 %"):
        with pytest.raises(QuantityError, match=r"is a mass; it must be an acceleration") as caught:
            parse_quantity(text, "acceleration")
        assert 'for example "0.5 g"' in str(caught.value)


REFUSED = [
    ("3.2", "length", 'thickness needs a unit, for example "3.2 mm"'),
    ("3.2 ± 0.05", "length", 'thickness needs a unit, for example "3.2 mm"'),
    ("103 ± 3 %", "pressure", 'thickness needs a unit, for example "103 GPa"'),
    (
        "",
        "length",
        'thickness "" is empty; it must be a length, for example "3.2 mm"',
    ),
    (
        "thick",
        "length",
        'thickness "thick" does not begin with a number; it must be a length, for example "3.2 mm"',
    ),
    (
        "3.2 mmm",
        "length",
        'thickness "3.2 mmm" has an unknown unit "mmm" (did you mean "mm"?); it must be a length, '
        'for example "3.2 mm"',
    ),
    (
        "3.2 GPA",
        "pressure",
        'thickness "3.2 GPA" has an unknown unit "GPA" (did you mean "GPa"?); it must be a '
        'pressure, for example "103 GPa"',
    ),
    (
        "3.2 furlongs",
        "length",
        'thickness "3.2 furlongs" has an unknown unit "furlongs"; it must be a length, '
        'for example "3.2 mm"',
    ),
    (
        "3.2 kg",
        "length",
        'thickness "3.2 kg" is a mass; it must be a length, for example "3.2 mm"',
    ),
    (
        "3.2 m5",
        "length",
        'thickness "3.2 m5" has the unit of something else; it must be a length, '
        'for example "3.2 mm"',
    ),
    (
        "5 lb",
        "force",
        'thickness "5 lb" is a mass; it must be a force, for example "120 N" '
        '("lb" and "kg" are masses; a pound-force is "lbf")',
    ),
    (
        "163 rad",
        "frequency",
        'thickness "163 rad" is an angle; it must be a frequency, for example "26.1 Hz"',
    ),
    (
        "3,2 mm",
        "length",
        'thickness "3,2 mm" has a comma in its number; write a decimal point, and nothing between '
        'thousands: "3.2 mm"',
    ),
    (
        "1 000 mm",
        "length",
        'thickness "1 000 mm" has a space within its number; write the digits without a space',
    ),
    (
        "nan mm",
        "length",
        'thickness "nan mm" is not a finite number; it must be a length, for example "3.2 mm"',
    ),
    (
        "-.inf",
        "length",
        'thickness "-.inf" is not a finite number; it must be a length, for example "3.2 mm"',
    ),
    (
        "3 ± inf mm",
        "length",
        'thickness "3 ± inf mm" is not a finite number; it must be a length, for example "3.2 mm"',
    ),
    (
        "1e400 mm",
        "length",
        'thickness "1e400 mm" is too large a number; it must be a length, for example "3.2 mm"',
    ),
    (
        "1,200.5 mm",
        "length",
        'thickness "1,200.5 mm" has a comma in its number; write a decimal point, and nothing '
        'between thousands: "1200.5 mm"',
    ),
    (
        "1,200 mm",
        "length",
        'thickness "1,200 mm" has a comma in its number; write a decimal point, and nothing '
        'between thousands: "1200 mm" or "1.200 mm"',
    ),
    (
        "1.200.5 Hz",
        "frequency",
        'thickness "1.200.5 Hz" has more than one point in its number; write a decimal point, and '
        'nothing between thousands: "1200.5 Hz"',
    ),
    (
        "1.200.000,5 ± 0,25 Hz",
        "frequency",
        'thickness "1.200.000,5 ± 0,25 Hz" has a comma in its number; write a decimal point, and '
        'nothing between thousands: "1200000.5 ± 0.25 Hz"',
    ),
    (
        "1e308 GPa",
        "pressure",
        'thickness "1e308 GPa" is too large a number; it must be a pressure, for example "103 GPa"',
    ),
    (
        "3.2 ± -0.05 mm",
        "length",
        'thickness "3.2 ± -0.05 mm" has a negative tolerance; write how far it may lie to either '
        "side",
    ),
    (
        "3 ± 1 ± 1 mm",
        "length",
        'thickness "3 ± 1 ± 1 mm" has more than one tolerance; write one, for example '
        '"3.2 ± 0.05 mm"',
    ),
    (
        "310 mm ± 0.5",
        "length",
        'thickness "310 mm ± 0.5" has a tolerance without a unit; write for example '
        '"310 mm ± 0.5 mm" or "310 mm ± 3 %"',
    ),
    (
        "0.4 ± 0.05 %",
        "ratio",
        'thickness "0.4 ± 0.05 %" can be read in two ways; write "0.4 % ± 0.05 %" or '
        '"0.4 ± 0.0002"',
    ),
    (
        "2 N/m m",
        "stiffness_per_length",
        'thickness "2 N/m m" has the unit "N/m m", which can be read in two ways; write what '
        'multiplies before the first "/"; it must be a stiffness per length, '
        'for example "2e6 N/m/m"',
    ),
    (
        "2 N//m",
        "stiffness",
        'thickness "2 N//m" has the unit "N//m", which cannot be read; a unit is written like '
        '"mm", "kg/m3" or "N m/rad"; it must be a stiffness, for example "2e6 N/m"',
    ),
    (
        "1" * 201 + " mm",
        "length",
        'thickness "' + "1" * 60 + '…" is too long to be a quantity; it must be a length, '
        'for example "3.2 mm"',
    ),
    (
        "3 \x1b[31mmm",
        "length",
        'thickness "3 \\x1b[31mmm" has the unit "\\x1b[31mmm", which cannot be read; a unit is '
        'written like "mm", "kg/m3" or "N m/rad"; it must be a length, for example "3.2 mm"',
    ),
]


@pytest.mark.parametrize(("text", "kind", "message"), REFUSED)
def test_refuses_with_a_whole_sentence(text: str, kind: str, message: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, kind, path="geometry.segments.0.thickness")
    assert str(caught.value) == message


@pytest.mark.parametrize("given", [True, None, [1], {}, b"3 mm"])
def test_refuses_what_is_neither_text_nor_number(given: object) -> None:
    with pytest.raises(QuantityError, match="is not a length; it must be a length"):
        parse_quantity(given, "length")  # type: ignore[arg-type]


def test_refuses_an_integer_beyond_floats() -> None:
    with pytest.raises(QuantityError, match="is too large a number"):
        parse_quantity(10**400, "ratio")


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_refuses_numbers_that_are_not_finite(number: float) -> None:
    with pytest.raises(QuantityError, match="is not a finite number"):
        parse_quantity(number, "ratio")


@pytest.mark.parametrize("kind", KINDS)
def test_every_example_of_a_message_is_itself_taken(kind: str) -> None:
    assert parse_quantity(KINDS[kind].example, kind).value > 0.0


@pytest.mark.parametrize(
    ("kind", "key"), [(k, key) for k, keys in EXAMPLES.items() for key in keys]
)
def test_every_example_for_a_key_is_of_its_kind_and_shown_there(kind: str, key: str) -> None:
    path = f"attached.0.{key}"
    example = example_of(path, kind)
    assert example == EXAMPLES[kind][key]
    assert parse_quantity(example, kind).value > 0.0
    with pytest.raises(QuantityError, match=f'for example "{example}"$'):
        parse_quantity("much", kind, path=path)
    assert to_unit(1.0, KINDS[kind].si, kind=kind) == 1.0
    assert parse_quantity(f"1 {KINDS[kind].unit}", kind).value > 0.0


@SAME
@given(st.text(), st.sampled_from(sorted(KINDS)))
def test_no_text_raises_anything_else(text: str, kind: str) -> None:
    try:
        found = parse_quantity(text, kind)
    except QuantityError as fault:
        assert str(fault).isprintable()
    else:
        assert math.isfinite(found.value)
        assert math.isfinite(found.tolerance)


@SAME
@given(st.text(alphabet="0123456789.eE+-±/%()*^ mNkgGPaisrdlbf²³µ·", max_size=24))
def test_no_text_that_resembles_a_quantity_raises_anything_else(text: str) -> None:
    for kind in ("length", "ratio", "frequency", "acceleration"):
        try:
            found = parse_quantity(text, kind)
        except QuantityError:
            continue
        assert math.isfinite(found.value)
        assert found.tolerance >= 0.0


@SAME
@given(
    st.floats(min_value=1e-6, max_value=1e6),
    st.sampled_from(["mm", "in", "um", "ft", "mil", "m", "km", "inches"]),
)
def test_reading_and_writing_in_a_unit_is_a_round_trip(value: float, unit: str) -> None:
    si = parse_quantity(f"{value!r} {unit}", "length").value
    assert to_unit(si, unit) == pytest.approx(value, rel=6e-15)


@SAME
@given(st.floats(min_value=-1e9, max_value=1e9), st.floats(min_value=0.0, max_value=50.0))
def test_a_relative_tolerance_scales_with_the_value(value: float, percent: float) -> None:
    found = parse_quantity(f"{value!r} N ± {percent!r} %", "force")
    assert found.tolerance == pytest.approx(abs(value) * percent / 100.0, rel=1e-12)


def test_unknown_unit_for_output_is_an_error_of_its_own() -> None:
    with pytest.raises(UnitError):
        to_unit(1.0, "furlong")


@pytest.mark.parametrize("unit", ["N m/rad", "kg/m3", "mm", "Hz", "%"])
def test_a_unit_is_the_inverse_of_its_reciprocal(unit: str) -> None:
    direct = parse_unit(unit)
    head, _, tail = unit.partition("/")
    inverse = parse_unit(f"{tail or 1}/({head})" if tail else f"1/({head})")
    assert direct.factor * inverse.factor == pytest.approx(1.0, rel=1e-15)
    assert inverse.dimension == tuple(-exponent for exponent in direct.dimension)


def test_units_of_the_si_import_no_scipy() -> None:
    program = (
        "import sys; from saltline.quantity import parse_quantity as p; p('3 ± 0.1 mm', 'length');"
        "print('scipy' in sys.modules); p('3 in', 'length'); print('scipy' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["False", "True"]
