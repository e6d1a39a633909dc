"""A file's text with some values replaced: exactly those change, in any layout of YAML."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.files.rewrite import RewriteError, exact_text, quantity_text, rewritten
from saltline.files.specimen_file import read_specimen
from saltline.quantities_of import quantities
from saltline.quantity import KINDS, parse_quantity

EXAMPLES = settings(max_examples=100, deadline=None, derandomize=True)
"""The same ones in every run."""

BLOCK = """\
# the reed of the big exciter
name: reed   # known as the reed
kind: beam
material:
  youngs_modulus: {E}    # from the sheet
  density: {rho}
  poisson_ratio: {nu}

geometry:
  length:   {L}   # free length
  section:
    shape: rectangle
    thickness: {t}
    width: 25 mm
boundary:
  start: {{deflection: rigid, rotation: {k}}}   # the clamp
  end: free
attached:
  - mass: {m}
    at: 100 mm
"""

FLOW = """\
{{name: reed, kind: beam,   # all on few lines
 material: {{youngs_modulus: {E}, density: {rho}, poisson_ratio: {nu}}},
 geometry: {{section: {{shape: rectangle, thickness: {t}, width: 25 mm}},
    length: {L} }},
 boundary: {{start: {{rotation: {k}, deflection: rigid}}, end: free}}, attached: [{{mass: {m},
   at: 100 mm}}]}}
"""

ODD = """\
%YAML 1.1
---
"kind": 'beam'
? material
: {{youngs_modulus: &E {E}, density: {rho}, poisson_ratio: {nu} }}
geometry: &here
    length: &L
      {L}
    section: {{shape: rectangle,
              thickness:
                {t},
              width: 25 mm}}
name: "a 310 mm reed of 103 GPa ± 3 %"
attached: [ {{at: 100 mm, mass: {m}}} ]
boundary: {{start: {{deflection: rigid, rotation: {k}}}, end: free}}
... # the end
"""

LAYOUTS = {"block": BLOCK, "flow": FLOW, "odd": ODD, "windows": BLOCK.replace("\n", "\r\n")}

PATHS = {
    "E": ("material.youngs_modulus", "pressure"),
    "rho": ("material.density", "density"),
    "nu": ("material.poisson_ratio", "ratio"),
    "L": ("geometry.length", "length"),
    "t": ("geometry.section.thickness", "length"),
    "k": ("boundary.start.rotation", "rotational_stiffness"),
    "m": ("attached.0.mass", "mass"),
}

OLD = {
    "E": ["103 GPa ± 3 %", "15 Mpsi", "(103 ± 2) GPa", "1.03e5 MPa"],
    "rho": ["8500 kg/m3", "8.5 g/cc ± 1 %", "0.307 lb/in3"],
    "nu": ["0.34", "0.34 ± 0.02", "34 % ± 2 %"],
    "L": ["310 mm ± 0.5 mm", "12 1/4 in", "12.2 in +/- 0.02 in", "0.31 m"],
    "t": ["3.2 ± 0.05 mm", "1/8 in ± 2 mil", "3200 um"],
    "k": ["300 N m/rad", "2655 lbf in/rad ± 10 %"],
    "m": ["4.5 g", "0.16 oz", "4500 mg ± 20 mg"],
}

QUOTES = ("", "'", '"')


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    layout=st.sampled_from(sorted(LAYOUTS)),
    data=st.data(),
    changed=st.sets(st.sampled_from(sorted(PATHS)), min_size=1),
)
def test_exactly_the_named_values_change(layout, data, changed):
    template = LAYOUTS[layout]
    old = {key: data.draw(st.sampled_from(texts)) for key, texts in OLD.items()}
    marks = {key: data.draw(st.sampled_from(QUOTES)) for key in OLD}
    text = template.format(**{key: f"{marks[key]}{old[key]}{marks[key]}" for key in old})
    specimen = read_specimen(text)
    known = quantities(specimen)
    new = {}
    for key in changed:
        path, kind = PATHS[key]
        value = known[path].value * data.draw(st.floats(0.8, 1.25))
        new[key] = quantity_text(value, 0.004 * value, known[path].unit, kind)
    result = rewritten(specimen, {PATHS[key][0]: piece for key, piece in new.items()})
    expected = {key: f"{marks[key]}{new.get(key, old[key])}{marks[key]}" for key in old}
    assert result == template.format(**expected)


def spelt(length, *, head="kind: beam\nmaterial: steel\n"):
    return read_specimen(
        f"{head}geometry:\n  length: {length}\n"
        "  section: {shape: rectangle, width: 20 mm, thickness: 2 mm}\n"
        "boundary: {start: clamped, end: free}\n"
    )


@pytest.mark.parametrize(
    ("length", "after"),
    [
        ("310\n    mm", "305 mm"),
        ("|\n    310 mm", "|\n    305 mm"),
        (">- # folded\n\n      310\n      mm\n", ">- # folded\n\n      305 mm\n"),
        ("&far '310 mm'", "&far '305 mm'"),
        ("&far\n    310 mm # here", "&far\n    305 mm # here"),
    ],
)
def test_scalars_of_several_lines_and_anchors(length, after):
    specimen = spelt(length)
    text = rewritten(specimen, {"geometry.length": "305 mm"})
    assert text == specimen.text.replace(length, after)
    assert quantities(read_specimen(text))["geometry.length"].value == 0.305


MATERIAL = (
    "{name: brass, youngs_modulus: 98.4 ± 0.6 GPa, density: 8500 ± 85 kg/m3, "
    "poisson_ratio: 0.34 ± 0.02, endurance_strain: 0.001 ± 0.0003}"
)
COMMENT = "# brass as built in, but for youngs_modulus as fitted\n"
REST = "boundary: {start: clamped, end: free}\n"
GEOMETRY = "geometry: {length: 180 mm, section: {shape: rod, diameter: 5 mm}}\n"


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (
            f"kind: beam\nmaterial: brass   # half hard\n{GEOMETRY}{REST}",
            f"kind: beam\n{COMMENT}material: {MATERIAL}   # half hard\n{GEOMETRY}{REST}",
        ),
        (
            f"kind: beam\nname: &n brass\n  \nmaterial: *n\n{GEOMETRY}{REST}",
            f"kind: beam\nname: &n brass\n  \n{COMMENT}material: {MATERIAL}\n{GEOMETRY}{REST}",
        ),
        (
            f"  kind: beam\n  material:\n    &m 'brass'\n  {GEOMETRY}  {REST}",
            f"  kind: beam\n  {COMMENT}  material:\n    &m {MATERIAL}\n  {GEOMETRY}  {REST}",
        ),
        (
            "{kind: beam, material: brass,\n" + f" {GEOMETRY.strip()}, {REST.strip()}" + "}",
            COMMENT
            + "{kind: beam, "
            + f"material: {MATERIAL},\n {GEOMETRY.strip()}, {REST.strip()}"
            + "}",
        ),
        (
            f"kind: beam\r\n? material\r\n: brass\r\n{GEOMETRY}{REST}",
            f"kind: beam\r\n{COMMENT.strip()}\r\n? material\r\n: {MATERIAL}\r\n{GEOMETRY}{REST}",
        ),
    ],
    ids=["comment", "alias", "anchor", "flow", "windows"],
)
def test_a_built_in_material_is_written_out(before, after):
    specimen = read_specimen(before)
    text = rewritten(specimen, {"material.youngs_modulus": "98.4 ± 0.6 GPa"})
    assert text == after
    known, again = quantities(specimen), quantities(read_specimen(text))
    assert again["material.youngs_modulus"].value == 98.4e9
    assert {p: q.tolerance for p, q in again.items() if p != "material.youngs_modulus"} == {
        p: q.tolerance for p, q in known.items() if p != "material.youngs_modulus"
    }


@pytest.mark.parametrize(
    "name", ["steel", "spruce", "titanium 6al4v", "glass epoxy laminate", "nylon", "brass"]
)
def test_every_value_of_a_built_in_material_survives(name):
    specimen = read_specimen(f"kind: beam\nmaterial: {name}\n{GEOMETRY}{REST}")
    path = "material.density"
    again = quantities(read_specimen(rewritten(specimen, {path: "3000 kg/m3"})))
    for other, quantity in quantities(specimen).items():
        assert again[other].value == (3000.0 if other == path else quantity.value), other


def test_an_orthotropic_sheet_is_written_out_for_a_plate():
    text = (
        "kind: plate\nmaterial: plywood\n"
        "geometry: {length: 0.4 m, width: 0.3 m, thickness: 4 mm}\n"
        "boundary: {left: free, right: free, bottom: free, top: free}\n"
    )
    specimen = read_specimen(text)
    again = read_specimen(rewritten(specimen, {"material.youngs_modulus_y": "6 GPa"}))
    assert again.material.youngs_modulus_y.value == 6e9
    assert again.material.youngs_modulus.value == specimen.material.youngs_modulus.value
    assert again.material.name == "birch plywood"


def test_json_stays_json():
    import json

    text = json.dumps(
        {
            "kind": "beam",
            "material": "brass",
            "geometry": {"length": "180 mm", "section": {"shape": "rod", "diameter": "5 mm"}},
            "boundary": {"start": "clamped", "end": "free"},
        }
    )
    specimen = read_specimen(text)
    changed = json.loads(rewritten(specimen, {"material.youngs_modulus": "98.4 GPa"}))
    assert changed["material"]["youngs_modulus"] == "98.4 GPa"
    assert changed["material"]["name"] == "brass"


def test_values_of_one_anchor_change_together():
    text = (
        "kind: plate\nmaterial: steel\n"
        "geometry: {length: &a 200 mm, width: *a, thickness: 2 mm}\n"
        "boundary: {left: free, right: free, bottom: free, top: free}\n"
    )
    specimen = read_specimen(text)
    both = dict.fromkeys(("geometry.length", "geometry.width"), "201 mm")
    assert rewritten(specimen, both) == text.replace("200 mm", "201 mm")
    with pytest.raises(RewriteError) as error:
        rewritten(specimen, {"geometry.length": "201 mm"})
    assert str(error.value) == (
        "geometry.width would change along with the new values; edit it by hand"
    )


def test_a_text_that_would_not_load_is_refused():
    specimen = spelt("310 mm", head="material: &m brass\nname: *m\nkind: beam\n")
    with pytest.raises(RewriteError) as error:
        rewritten(specimen, {"material.youngs_modulus": "98.4 GPa"})
    assert str(error.value) == (
        "the new values make no specimen: name is a mapping; it must be one line of text"
    )
    with pytest.raises(RewriteError, match="the new values make no specimen: thickness is larger"):
        rewritten(spelt("310 mm"), {"geometry.section.thickness": "30 mm"})


# -- numbers --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "half", "unit", "kind", "digits", "text"),
    [
        (98.3712e9, 0.624e9, "GPa", "pressure", 3, "98.371 ± 0.624 GPa"),
        (98.3712e9, 0.624e9, "GPa", "pressure", 2, "98.37 ± 0.62 GPa"),
        (0.31115, 0.0002, "in", "length", 3, "12.25000 ± 0.00787 in"),
        (0.3321, 0.0123, "", "ratio", 3, "0.3321 ± 0.0123"),
        (0.3321, 0.0123, "%", "ratio", 3, "33.21 % ± 1.23 %"),
        (2.3123e7, 4.1e5, "N/m", "stiffness", 3, "2.3123e7 ± 0.0410e7 N/m"),
        (3e-9, 1e-10, "kg m2", "rotary_inertia", 3, "3.000e-9 ± 0.100e-9 kg m2"),
        (300.0, 450.0, "N m/rad", "rotational_stiffness", 2, "300 N m/rad"),
        (0.0045, 0.0, "g", "mass", 3, "4.5 g"),
        (-120.0, 5.0, "N", "force", 2, "-120.0 ± 5.0 N"),
        (0.1, 0.0996, "%", "ratio", 2, "10.0 %"),  # ± 10.0 % would be read as a tenth of it
        (8554.4, 170.0, "kg/m3", "density", 2, "8554 ± 170 kg/m3"),
        (205e9, 0.2, "GPa", "pressure", 3, "205.000000000 GPa"),  # no more digits are kept
    ],
)
def test_a_quantity_as_text(value, half, unit, kind, digits, text):
    assert quantity_text(value, half, unit, kind, digits=digits) == text


UNITS = {
    "length": ("mm", "in", "m", "um", "ft"),
    "pressure": ("GPa", "Pa", "Mpsi", "N/m2"),
    "density": ("kg/m3", "lb/in3", "g/cc"),
    "mass": ("g", "kg", "oz"),
    "ratio": ("", "%", "ppm"),
    "rotational_stiffness": ("N m/rad", "lbf in/rad", "N m"),
    "stiffness_per_length": ("N/m/m", "N/mm/mm"),
    "force": ("N", "lbf", "kN"),
}


def test_a_value_may_have_more_digits_than_its_tolerance():
    assert quantity_text(99.64068e9, 3.145e9, "GPa", "pressure", least=6) == "99.6407 ± 3.1 GPa"
    assert (
        quantity_text(1234567.8, 3.2, "Pa", "pressure", least=6) == "1.2345678e6 ± 0.0000032e6 Pa"
    )
    assert quantity_text(-8554.4, 170.0, "N", "force", least=6) == "-8554.40 ± 170 N"
    assert quantity_text(1583.955, 2610.9, "N/m", "stiffness", least=6) == "1583.95 N/m"


@EXAMPLES
@given(
    kind=st.sampled_from(sorted(UNITS)),
    pick=st.integers(0, 4),
    value=st.floats(1e-4, 1e9),
    relative=st.floats(1e-5, 0.9),
    digits=st.integers(1, 3),
)
def test_a_text_reads_back_within_its_rounding(kind, pick, value, relative, digits):
    unit = UNITS[kind][pick % len(UNITS[kind])]
    half = relative * value
    read = parse_quantity(quantity_text(value, half, unit, kind, digits=digits), kind)
    assert abs(read.value - value) <= 0.501 * 10.0 ** (1 - digits) * half
    assert read.unit == unit
    assert read.tolerance == pytest.approx(half, rel=0.51 * 10.0 ** (1 - digits))


@EXAMPLES
@given(value=st.floats(1e-6, 1e9), relative=st.floats(0.0, 0.5))
def test_an_exact_text_keeps_value_and_tolerance(value, relative):
    before = parse_quantity(f"{value:.6g} mm ± {100 * relative:.4g} %", "length")
    after = parse_quantity(exact_text(before, 1.01 * before.value, "length"), "length")
    assert after.value == pytest.approx(1.01 * before.value, rel=1e-9)
    assert after.tolerance == pytest.approx(before.tolerance, rel=1e-3)
    assert KINDS["length"].si == "m"
