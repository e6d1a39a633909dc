"""Rig files: what good ones become, and every sentence said of bad ones."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from saltline.files.document import InputError
from saltline.files.rig_file import load_rig, read_rig
from saltline.files.rig_fit import check_fit
from saltline.files.specimen_file import read_specimen
from saltline.planning.rig import VISIBLE, Exciter, Rig, Strobe
from saltline.quantity import Place, Quantity

HERE = Path(__file__).parent
BAD = sorted((HERE / "bad_rigs").glob("*.yaml"))
LEAST = """\
exciter: {force: 9 N, stroke: 5 mm, moving_mass: 20 g, lowest_frequency: 9 Hz, highest_frequency: 1 kHz}
"""  # noqa: E501  one line, so that what follows is line 2


def expected(name: str) -> list[str]:
    lines = (HERE / "bad_rigs" / "expected.txt").read_text(encoding="utf-8").splitlines()
    return [line for line in lines if re.match(re.escape(name) + r"[: ]", line)]


@pytest.mark.parametrize("file", BAD, ids=lambda file: file.stem)
def test_a_bad_file_is_told_all_that_is_wrong_with_it(
    file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(file.parent)
    with pytest.raises(InputError) as caught:
        load_rig(file.name)
    assert str(caught.value).splitlines() == expected(file.name)


def test_no_expected_sentence_is_without_its_file() -> None:
    lines = (HERE / "bad_rigs" / "expected.txt").read_text(encoding="utf-8").splitlines()
    named = {line.split(":")[0] for line in lines if line and not line.startswith("#")}
    assert named == {file.name for file in BAD}


def test_everything_that_a_rig_may_say() -> None:
    rig = load_rig(HERE / "good_rigs" / "bench.yaml")
    exciter = rig.exciter
    assert rig.name == "bench"
    # NIST SP 811: 1 lbf = 4.448 221 615 260 5 N, 1 lb = 0.453 592 37 kg, 1 g = 9.806 65 m/s2.
    assert exciter.force.value == pytest.approx(22 * 4.4482216152605, rel=1e-14)
    assert exciter.moving_mass.value == pytest.approx(0.48 * 0.45359237, rel=1e-14)
    assert exciter.acceleration is not None
    assert exciter.acceleration.value == pytest.approx(60 * 9.80665, rel=1e-14)
    assert exciter.velocity is not None and exciter.velocity.value == 1.2
    assert (exciter.stroke.value, exciter.stroke.place) == (0.0127, Place(5, 11))
    assert (exciter.lowest_frequency.value, exciter.highest_frequency.value) == (4.0, 7500.0)
    assert exciter.clamp_distance is not None and exciter.clamp_distance.value == 0.012
    assert (exciter.fixture_mass.value, exciter.drive_axis) == (0.12, ())
    assert exciter.static_moment is not None and exciter.static_moment.value == 0.4
    assert exciter.dynamic_moment is not None and exciter.dynamic_moment.value == 0.9
    assert rig.strobe is not None
    assert (rig.strobe.lowest_rate.value, rig.strobe.highest_rate.value) == (1.0, 300.0)
    assert rig.sensor is not None and rig.sensor.range is not None
    assert [q.value for q in rig.sensor.at] == [0.02, 0.035]
    assert rig.sensor.range.value == pytest.approx(500 * 9.80665, rel=1e-14)
    assert rig.smallest_visible_motion.value == 1.5e-4
    # A sensor on the specimen is not carried by the base.
    assert rig.carried_kg == pytest.approx(exciter.moving_mass.value + 0.12)


def test_the_least_that_a_rig_must_say() -> None:
    file = HERE / "good_rigs" / "least.rig.yaml"
    assert load_rig(file) == Rig(
        name="least",
        exciter=Exciter(
            force=Quantity(9.0, unit="N", path="exciter.force"),
            stroke=Quantity(0.005, unit="mm", path="exciter.stroke"),
            lowest_frequency=Quantity(20.0, unit="Hz", path="exciter.lowest_frequency"),
            highest_frequency=Quantity(13e3, unit="kHz", path="exciter.highest_frequency"),
            moving_mass=Quantity(0.02, unit="g", path="exciter.moving_mass"),
            fixture_mass=Quantity(0.0, path="exciter.fixture_mass"),
        ),
        smallest_visible_motion=Quantity(VISIBLE, path="smallest_visible_motion"),
    )


def test_the_base_is_where_a_sensor_is_unless_the_file_says_otherwise() -> None:
    for line in ("{mass: 2 g}", "{mass: 2 g, at: base}"):
        rig = read_rig(LEAST + f"sensor: {line}\n")
        assert rig.sensor is not None and rig.sensor.at == ()
        assert rig.carried_kg == pytest.approx(0.022)


@pytest.mark.parametrize(("text", "at"), [("-15 mm", [-0.015]), ("[60 mm, 2 in]", [0.06, 0.0508])])
def test_the_drive_axis_may_lie_on_the_specimen_or_beside_it(text: str, at: list[float]) -> None:
    rig = read_rig(LEAST.replace("}", f", drive_axis: {text}}}"))
    assert [q.value for q in rig.exciter.drive_axis] == pytest.approx(at)


def test_a_strobe_is_set_in_flashes_a_minute_too() -> None:
    rig = read_rig(LEAST + "strobe: {lowest_rate: 30 rpm, highest_rate: 12000 rpm}\n")
    assert rig.strobe == Strobe(
        Quantity(0.5, unit="rpm", path="strobe.lowest_rate"),
        Quantity(200.0, unit="rpm", path="strobe.highest_rate"),
    )


# -- whether it fits the specimen -----------------------------------------------------------------

BEAM = """
name: reed
kind: beam
material: steel
geometry: {length: 310 mm, section: {shape: rectangle, width: 25 mm, thickness: 3.2 mm}}
boundary: {start: clamped, end: free}
"""
PLATE = """
kind: plate
material: steel
geometry: {length: 300 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: clamped, right: free, bottom: free, top: free}
"""
RING = """
name: ring
kind: disc
material: steel
geometry: {diameter: 240 mm, thickness: 2 mm, hole_diameter: 40 mm}
boundary: {rim: free, hole: clamped}
"""
OUTSIDE = "lies outside of the"


@pytest.mark.parametrize(
    ("specimen", "at", "complaint"),
    [
        (BEAM, "310 mm", ""),
        (BEAM, "base", ""),
        (BEAM, "311 mm", f"at of 311 mm {OUTSIDE} beam reed; it must be between 0 and 310 mm"),
        (BEAM, "[20 mm, 20 mm]", "at must be one length on a beam, or base"),
        (PLATE, "[300 mm, 0 mm]", ""),
        (PLATE, "20 mm", "at must be two lengths, x and y, on a plate, or base"),
        (RING, "120 mm", ""),
        (RING, "10 mm", f"at of 10 mm {OUTSIDE} disc ring; it must be between 20 and 120 mm"),
    ],
)
def test_a_sensor_sits_on_the_specimen(specimen: str, at: str, complaint: str) -> None:
    rig = read_rig(LEAST + f"sensor: {{mass: 1 g, at: {at}}}\n", "bench.rig.yaml")
    if not complaint:
        check_fit(rig, read_specimen(specimen))
        return
    with pytest.raises(InputError) as caught:
        check_fit(rig, read_specimen(specimen))
    column = 26 if at.startswith("[") else 25
    assert str(caught.value) == f"bench.rig.yaml:2:{column}: {complaint}"


@pytest.mark.parametrize(
    ("specimen", "axis", "complaint"),
    [
        (BEAM, "-15 mm", ""),
        (PLATE, "[-15 mm, 90 mm]", ""),
        (BEAM, "[20 mm, 20 mm]", "drive_axis must be one length on a beam"),
        (PLATE, "20 mm", "drive_axis must be two lengths, x and y, on a plate"),
        (RING, "20 mm", "drive_axis must be left out on a disc, which is driven at its centre"),
    ],
)
def test_the_drive_axis_suits_the_specimen(specimen: str, axis: str, complaint: str) -> None:
    rig = read_rig(LEAST.replace("}", f", drive_axis: {axis}}}"), "bench.rig.yaml")
    if not complaint:
        check_fit(rig, read_specimen(specimen))
        return
    with pytest.raises(InputError) as caught:
        check_fit(rig, read_specimen(specimen))
    column = 119 if axis.startswith("[") else 118
    assert str(caught.value) == f"bench.rig.yaml:1:{column}: {complaint}"
