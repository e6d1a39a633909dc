"""Specimen files: what good ones become, and every sentence said of bad ones."""

from __future__ import annotations

import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from saltline.files import document
from saltline.files.document import InputError
from saltline.files.rig_file import read_rig
from saltline.files.specimen_file import load, read_specimen
from saltline.files.starter import starter
from saltline.material import BUILT_IN
from saltline.quantities_of import quantities, with_values
from saltline.quantity import Place
from saltline.section import section_properties
from saltline.specimen import (
    EDGES,
    RIGID,
    BeamGeometry,
    DiscGeometry,
    Drive,
    PlateGeometry,
    Specimen,
)

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True)
"""The same ones in every run."""

HERE = Path(__file__).parent
BAD = sorted((HERE / "bad").glob("*.yaml"))
GOOD = sorted((HERE / "good").glob("*.yaml"))

# The sentences inside of these come from the YAML library and differ with its two parsers.
BY_LIBRARY = {"colon_without_space.yaml", "open_bracket.yaml", "tab.yaml"}

BEAM = """\
kind: beam
material: steel
geometry: {length: 310 mm, section: {shape: rectangle, width: 25 mm, thickness: 3.2 mm}}
boundary: {start: clamped, end: free}
"""
PLATE = """\
kind: plate
material: steel
geometry: {length: 300 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: clamped, right: free, bottom: free, top: free}
"""
DISC = """\
kind: disc
material: steel
geometry: {diameter: 240 mm, thickness: 2 mm}
boundary: {rim: free}
"""


def faults(text: str) -> list[str]:
    """The sentences, without their places."""
    with pytest.raises(InputError) as caught:
        read_specimen(text)
    return [complaint.message for complaint in caught.value.complaints]


# -- bad files ------------------------------------------------------------------------------------


def expected(name: str) -> list[str]:
    lines = (HERE / "bad" / "expected.txt").read_text(encoding="utf-8").splitlines()
    return [line for line in lines if re.match(re.escape(name) + r"[: ]", line)]


@pytest.mark.parametrize("file", BAD, ids=lambda file: file.stem)
def test_a_bad_file_is_told_all_that_is_wrong_with_it(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if file.name in BY_LIBRARY and not yaml.__with_libyaml__:
        pytest.skip("these sentences are those of libyaml")
    monkeypatch.chdir(file.parent)
    with pytest.raises(InputError) as caught:
        load(file.name)
    assert str(caught.value).splitlines() == expected(file.name)


@pytest.mark.parametrize("file", [*BAD, *GOOD], ids=lambda file: file.stem)
def test_the_parser_written_in_python_finds_the_same(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def outcome() -> object:
        try:
            return load(file)
        except InputError as error:
            return [c.place for c in error.complaints], file.name in BY_LIBRARY or str(error)

    first = outcome()
    monkeypatch.setattr(document, "_LOADER", yaml.SafeLoader)
    if file.name != "colon_without_space.yaml":  # the two differ in where they notice it
        assert outcome() == first


def test_no_expected_sentence_is_without_its_file() -> None:
    lines = (HERE / "bad" / "expected.txt").read_text(encoding="utf-8").splitlines()
    named = {line.split(":")[0] for line in lines if line and not line.startswith("#")}
    assert named == {file.name for file in BAD}
    assert len(BAD) >= 25


@pytest.mark.parametrize("file", BAD, ids=lambda file: file.stem)
def test_every_sentence_is_whole(file: Path) -> None:
    for line in expected(file.name):
        sentence = line.split(": ", 1)[1]
        assert sentence.isprintable()
        assert "None" not in sentence
        assert not sentence.endswith((".", ";", ",", " "))


# -- good files -----------------------------------------------------------------------------------


def test_the_reed() -> None:
    reed = load(HERE / "good" / "reed.yaml")
    assert (reed.name, reed.kind, reed.material) == ("brass reed", "beam", BUILT_IN["brass"])
    assert isinstance(reed.geometry, BeamGeometry)
    (segment,) = reed.geometry.segments
    assert (segment.length.value, segment.length.tolerance) == (0.31, 5e-4)
    assert segment.length.place == Place(6, 11)
    assert segment.section_start == segment.section_end
    thickness = segment.section_start.dimensions["thickness"]
    assert (thickness.value, thickness.tolerance, thickness.path, thickness.place) == (
        0.0032,
        5e-5,
        "geometry.section.thickness",
        Place(7, 56),
    )
    assert {end: hold.word for end, hold in reed.boundary.items()} == {
        "start": "clamped",
        "end": "free",
    }
    assert reed.attached[0].mass.value == 0.0045
    assert reed.attached[0].at[0].path == "attached.0.at"
    assert reed.attached[0].rotary_inertia.value == 0.0
    assert reed.supports[0].hold.word == "pinned"
    assert reed.supports[0].at[0].value == 0.12
    assert reed.damping_ratio is not None and reed.damping_ratio.value == 0.004
    assert reed.drive == Drive("boundary")
    assert reed.text == (HERE / "good" / "reed.yaml").read_text(encoding="utf-8")


def test_a_stepped_and_tapered_beam() -> None:
    beam = load(HERE / "good" / "stepped.yaml")
    assert beam.name == "stepped"
    assert isinstance(beam.geometry, BeamGeometry)
    box, taper = beam.geometry.segments
    assert beam.geometry.length == 0.2
    assert beam.geometry.tension.value == -12.0
    assert box.section_start.shape == "box"
    assert taper.section_start.dimensions["width"].value == 0.03
    assert taper.section_end.dimensions["width"].path == "geometry.segments.1.section_end.width"
    start = beam.boundary["start"]
    assert (start.word, start.deflection.value, start.rotation.value) == ("elastic", RIGID, 250.0)
    assert beam.boundary["end"].word == "guided"


def test_an_orthotropic_plate() -> None:
    plate = load(HERE / "good" / "panel.yaml")
    assert isinstance(plate.geometry, PlateGeometry)
    assert plate.geometry.size == (0.3, 0.2032)
    assert plate.material.is_orthotropic
    assert plate.material.youngs_modulus.path == "material.youngs_modulus_x"
    assert plate.material.youngs_modulus_y is not None
    assert plate.material.youngs_modulus_y.value == 0.8e9
    assert plate.material.G == 0.7e9
    bottom = plate.boundary["bottom"]
    assert (bottom.deflection.value, bottom.rotation.value) == (2e6, 300.0)
    stud, spring = plate.supports
    assert stud.hold.word == "clamped"
    assert stud.diameter is not None and stud.diameter.value == 0.008
    assert [q.path for q in spring.at] == ["supports.1.at.0", "supports.1.at.1"]
    assert spring.diameter is None
    assert plate.attached[0].rotary_inertia.value == 3e-9
    assert plate.drive is not None
    assert (plate.drive.through, plate.drive.layout) == ("point", "twin")
    assert [q.value for q in plate.drive.at] == [0.01, 0.02]


def test_a_disc_with_a_hole() -> None:
    disc = load(HERE / "good" / "cymbal.yaml")
    assert isinstance(disc.geometry, DiscGeometry)
    assert disc.geometry.hole_diameter is not None
    assert disc.geometry.hole_diameter.value == 0.02
    assert list(disc.boundary) == ["rim", "hole"]
    assert disc.boundary["hole"].word == "clamped"


def test_a_disc_takes_everything_at_its_centre() -> None:
    disc = read_specimen(
        DISC
        + "attached: [{mass: 2 g}, {mass: 3 g, at: centre}]\n"
        + "supports: [{at: center, deflection: rigid}]\ndrive: {through: point}\n"
    )
    assert [a.at for a in disc.attached] == [(), ()]
    assert disc.supports[0].at == ()
    assert disc.drive == Drive("point")


@pytest.mark.parametrize(
    ("section", "area"),
    [
        ("{shape: rod, diameter: 8 mm}", 5.026548245743669e-5),
        ("{shape: tube, outer_diameter: 10 mm, wall: 1 mm}", 2.827433388230814e-5),
        ("{shape: box, width: 30 mm, height: 20 mm, wall: 2 mm}", 1.84e-4),
        ("{shape: custom, area: 80 mm2, second_moment: 68 mm4}", 8e-5),
        ("{shape: custom, area: 80 mm2, second_moment: 68 mm4, shear_coefficient: 0.85}", 8e-5),
    ],
)
def test_every_shape(section: str, area: float) -> None:
    text = re.sub(r"section: \{.*?\}", "section: " + section, BEAM)
    geometry = read_specimen(text).geometry
    assert isinstance(geometry, BeamGeometry)
    properties = section_properties(geometry.segments[0].section_start, 0.3)
    assert float(properties.A) == pytest.approx(area, rel=1e-12)


def test_a_stated_material() -> None:
    stated = (
        "{name: our alloy, youngs_modulus: 15 Mpsi ± 3 %, density: 0.3 lb/in3, "
        "poisson_ratio: 34 %, endurance_strain: 900 um/m}"
    )
    material = read_specimen(BEAM.replace("material: steel", f"material: {stated}")).material
    assert material.name == "our alloy"
    assert material.youngs_modulus.value == pytest.approx(103.42e9, rel=1e-4)
    assert material.density.value == pytest.approx(8303.97, rel=1e-6)
    assert material.poisson_ratio.value == 0.34
    assert material.endurance_strain is not None and material.endurance_strain.value == 9e-4
    assert not material.is_orthotropic


def test_a_beam_may_state_its_shear_modulus() -> None:
    stated = (
        "{youngs_modulus: 11 GPa, shear_modulus: 0.7 GPa, density: 420 kg/m3, poisson_ratio: 0}"
    )
    material = read_specimen(BEAM.replace("steel", stated)).material
    assert material.G == 0.7e9
    assert "described along a beam only" in faults(PLATE.replace("steel", stated))[0]


def test_an_orthotropic_beam_is_taken_along_x() -> None:
    assert read_specimen(BEAM.replace("steel", "birch plywood")).material.is_orthotropic


def test_the_name_is_that_of_the_file_where_none_is_given(tmp_path: Path) -> None:
    file = tmp_path / "long_reed.yaml"
    file.write_text(BEAM)
    assert load(str(file)).name == "long_reed"
    assert load(file).path == str(file)
    assert read_specimen(BEAM).name == "specimen"


def test_a_place_at_the_end_survives_its_unit() -> None:
    # 12.2 in and 309.88 mm differ in their last bit when computed.
    text = BEAM.replace("310 mm", "309.88 mm") + "attached: [{mass: 2 g, at: 12.2 in}]\n"
    beam = read_specimen(text)
    assert beam.attached[0].at[0].value <= beam.geometry.size[0]


def test_a_support_may_stand_at_a_free_end() -> None:
    beam = read_specimen(BEAM + "supports: [{at: 310 mm, deflection: 2e4 N/m}]\n")
    assert beam.supports[0].hold.deflection.value == 2e4


def test_a_section_may_be_shared_by_an_alias() -> None:
    text = BEAM.replace(
        "geometry: {length: 310 mm, section: {shape: rectangle, width: 25 mm, thickness: 3.2 mm}}",
        "geometry:\n  segments:\n"
        "    - {length: 100 mm, section: &thick {shape: rod, diameter: 8 mm}}\n"
        "    - {length: 100 mm, section: {shape: rod, diameter: 6 mm}}\n"
        "    - {length: 100 mm, section: *thick}",
    )
    geometry = read_specimen(text).geometry
    assert isinstance(geometry, BeamGeometry)
    diameters = [s.section_start.dimensions["diameter"] for s in geometry.segments]
    assert [d.value for d in diameters] == [0.008, 0.006, 0.008]
    assert diameters[2].path == "geometry.segments.2.section.diameter"


def test_a_taper_must_state_the_same_at_both_ends() -> None:
    custom = "{shape: custom, area: 80 mm2, second_moment: 68 mm4"
    text = re.sub(
        r"geometry: .*",
        f"geometry: {{segments: [{{length: 1 m, section_start: {custom}}}, "
        f"section_end: {custom}, torsion_constant: 9 mm4}}}}]}}",
        BEAM,
    )
    (fault,) = faults(text)
    assert fault.startswith("section_start and section_end differ in shape or in what they state")


def test_a_section_is_a_mapping() -> None:
    assert faults(re.sub(r"section: \{.*?\}", "section: rod", BEAM)) == [
        'section must hold "key: value" pairs, for example {shape: rectangle, width: 25 mm, '
        "thickness: 3.2 mm}"
    ]


def test_too_many_things_are_refused() -> None:
    text = BEAM + "attached:\n" + "  - {mass: 1 g, at: 10 mm}\n" * 201
    assert faults(text) == ["attached has 201 items; at most 200 are read"]


@pytest.mark.parametrize("kind", EDGES)
def test_mistakes_are_judged_by_the_likely_kind(kind: str) -> None:
    text = {"beam": BEAM, "plate": PLATE, "disc": DISC}[kind]
    assert faults(text.replace(f"kind: {kind}\n", "").replace(" mm", "")) == [
        'the file lacks "kind"; add for example kind: beam',
        *faults(text.replace(" mm", "")),
    ]


def test_a_diameter_is_no_business_of_a_beam() -> None:
    (fault,) = faults(BEAM + "supports: [{at: 9 mm, deflection: rigid, diameter: 8 mm}]\n")
    assert fault == (
        'unknown key "diameter" in entry 1 of supports; allowed: at, deflection or rotation'
    )


def test_nothing_can_go_through_where_nothing_is_held_but_a_support_will_do() -> None:
    free = BEAM.replace("clamped", "free") + "drive: {through: boundary}\n"
    assert len(faults(free)) == 1
    held = free + "supports: [{at: 90 mm, deflection: rigid}]\n"
    assert read_specimen(held).drive == Drive("boundary")


# -- laws -----------------------------------------------------------------------------------------


def pieces(text: str) -> list[str]:
    return re.split(r"(?<=[ {}\[\],:\n])", text)


@settings(
    max_examples=60, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)  # fmt: skip
@given(st.sampled_from(sorted(EDGES)), st.data())
def test_no_damage_to_a_file_raises_anything_but_an_input_error(
    kind: str, data: st.DataObject
) -> None:
    words = pieces("".join(uncommented(starter(kind, "x"))))
    for _ in range(data.draw(st.integers(1, 4))):
        i = data.draw(st.integers(0, len(words) - 1))
        words[i] = data.draw(
            st.sampled_from(words)
            | st.sampled_from(
                ["", "0 mm ", "-1 ", "1e300 m ", "[", "{", "&a ", "*a ", "null ", "!x "]
            )
            | st.text(max_size=5)
        )
    try:
        specimen = read_specimen("".join(words))
    except InputError as error:
        assert all(c.message and c.message.isprintable() for c in error.complaints)
    else:
        assert isinstance(specimen, Specimen)


@EXAMPLES
@given(st.text())
def test_no_text_raises_anything_but_an_input_error(text: str) -> None:
    with pytest.raises(InputError):
        read_specimen(text)


# -- starters -------------------------------------------------------------------------------------

OPTIONAL = re.compile(r"^# ((attached|supports|damping_ratio):|  - )")


def uncommented(text: str) -> Iterator[str]:
    """The lines of a starter with its optional parts at the top level switched on."""
    for line in text.splitlines(keepends=True):
        yield line[2:] if OPTIONAL.match(line) else line


@pytest.mark.parametrize("kind", EDGES)
def test_a_starter_loads_as_it_stands(kind: str) -> None:
    specimen = read_specimen(starter(kind, "first try"))
    assert (specimen.name, specimen.kind) == ("first try", kind)


@pytest.mark.parametrize("kind", EDGES)
def test_the_optional_parts_of_a_starter_load(kind: str) -> None:
    specimen = read_specimen("".join(uncommented(starter(kind, "x"))))
    assert specimen.attached
    assert specimen.supports
    assert specimen.damping_ratio is not None


def test_the_alternatives_in_the_comments_of_a_starter_load() -> None:
    tried: list[tuple[str, str]] = []
    for kind in EDGES:
        text = starter(kind, "x")
        for part in ("material", "drive", "segments"):
            for found in re.findall(rf"^ *# +{part}:(?:.*\n(?: *#   +.*\n)*)", text, re.MULTILINE):
                block = re.sub(r"^ *# ?", "", found, flags=re.MULTILINE)
                indent = len(block) - len(block.lstrip())
                block = "".join(line[indent:] for line in block.splitlines(keepends=True))
                assert read_specimen(replaced(text, part, block)).kind == kind
                tried.append((kind, part))
    assert [tried.count((kind, "material")) for kind in EDGES] == [1, 2, 1]
    assert [tried.count((kind, "drive")) for kind in EDGES] == [2, 2, 2]
    assert tried.count(("beam", "segments")) == 1


def replaced(text: str, part: str, block: str) -> str:
    """The starter with one part exchanged for what its comment offers."""
    lines = [line for line in text.splitlines(keepends=True) if not line.startswith("#")]
    bare = "".join(lines)
    if part == "segments":
        inner = "".join("  " + line for line in block.splitlines(keepends=True))
        return re.sub(r"(?<=geometry:\n)(?:  .*\n)+", lambda _: inner, bare)
    return re.sub(rf"^{part}: .*\n", lambda _: block, bare, flags=re.MULTILINE)


@pytest.mark.parametrize("name", ["a: b #c 'd'", "null", "- x", "12", "ÅÄ-1 b", "yes", "{x}"])
def test_any_name_survives_the_starter(name: str) -> None:
    assert read_specimen(starter("beam", name)).name == name


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "\x1b[31m", "x" * 201])
def test_a_name_that_cannot_stand_in_a_file_is_refused(name: str) -> None:
    with pytest.raises(ValueError, match="must be one line of 1 to 200 printable characters"):
        starter("beam", name)


def test_the_starter_of_a_rig_loads_as_it_stands_and_with_all_that_it_offers() -> None:
    text = starter("rig", "first bench")
    rig = read_rig(text)
    assert rig.name == "first bench"
    assert (rig.strobe is None, rig.sensor is None) == (False, False)
    offered = re.sub(r"^  # (?=[a-z_]+: )", "  ", text, flags=re.MULTILINE)
    exciter = read_rig(offered).exciter
    stated = (exciter.velocity, exciter.acceleration, exciter.static_moment, exciter.dynamic_moment)
    assert None not in stated
    for sensor in re.findall(r"^# (sensor: .*)", text, flags=re.MULTILINE):
        assert read_rig(re.sub(r"^sensor: .*", sensor, text, flags=re.MULTILINE)).sensor.at


def test_there_is_no_starter_for_another_kind() -> None:
    with pytest.raises(
        ValueError, match=r'^kind "shell" is not known; it must be beam, plate, disc'
    ):
        starter("shell", "x")


# -- quantities by path ---------------------------------------------------------------------------


@pytest.mark.parametrize("file", GOOD, ids=lambda file: file.stem)
def test_every_quantity_has_a_path_and_can_be_replaced(file: Path) -> None:
    specimen = load(file)
    found = quantities(specimen)
    assert "material.density" in found
    for path, quantity in found.items():
        assert quantity.path == path
        changed = with_values(specimen, {path: 0.123})
        again = quantities(changed)
        assert again[path].value == 0.123
        assert again[path].tolerance == quantity.tolerance
        assert {p: q for p, q in again.items() if p != path} == {
            p: q for p, q in found.items() if p != path
        }


def test_a_uniform_section_changes_at_both_ends() -> None:
    thicker = with_values(read_specimen(BEAM), {"geometry.section.thickness": 0.004})
    assert isinstance(thicker.geometry, BeamGeometry)
    (segment,) = thicker.geometry.segments
    assert segment.section_start == segment.section_end
    assert segment.section_start.dimensions["thickness"].value == 0.004


def test_what_is_not_replaced_stays_the_same_object() -> None:
    beam = read_specimen(BEAM)
    assert with_values(beam, {}) is beam
    assert with_values(beam, {"material.density": 1.0}).geometry is beam.geometry


def test_a_path_that_is_not_there() -> None:
    with pytest.raises(KeyError, match=r"specimen has no quantity geometry\.width"):
        with_values(read_specimen(BEAM), {"geometry.width": 1.0})


# -- cost -----------------------------------------------------------------------------------------


def test_reading_imports_nothing_heavy() -> None:
    program = (
        "import sys; from saltline.files.specimen_file import read_specimen as r; "
        "r(sys.stdin.read()); print(*sorted({m.split('.')[0] for m in sys.modules}))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], input=BEAM, capture_output=True, text=True, check=True
    )
    assert {"scipy", "matplotlib", "difflib"}.isdisjoint(done.stdout.split())


def test_reading_takes_milliseconds() -> None:
    text = (HERE / "good" / "reed.yaml").read_text(encoding="utf-8")
    read_specimen(text)
    begin = time.process_time()
    for _ in range(20):
        read_specimen(text)
    # About 1 ms each with libyaml; the bound only catches a change of order.
    assert time.process_time() - begin < 20 * 0.05
