"""The run sheet as it is printed, its JSON and CSV, and what `saltline plan` says of mistakes."""

import csv
import io
import json
import math
import re
from functools import cache
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import main
from saltline.planning.cautions import CAUTIONS
from saltline.planning.envelope import ASKED
from saltline.planning.limits import LIMITS
from saltline.show.phrases import WIDTH, cycles_text, duration, entries, mass_text, ranks_text
from saltline.show.table import significant

EXAMPLES = Path(__file__).parent.parent / "examples"
REED = str(EXAMPLES / "clamped-reed.yaml")
PLATE = str(EXAMPLES / "bolted-plate.yaml")
DISC = str(EXAMPLES / "free-disc.yaml")
STUD = str(Path(__file__).parent / "good" / "cymbal.yaml")
RIG = str(EXAMPLES / "small.rig.yaml")
EMPTY = str(Path(__file__).parent / "bad_rigs" / "empty.yaml")


def run(*arguments):
    return CliRunner().invoke(main, ["plan", *arguments])


def sheet(*arguments):
    result = run(*arguments)
    assert result.exit_code == 0, result.output
    return result.stdout


@cache
def kept_sheet(*arguments):
    """The sheet of files that no test changes."""
    return sheet(*arguments)


def data(*arguments):
    return json.loads(sheet(*arguments, "--format", "json"))


def kept_data(*arguments):
    return json.loads(kept_sheet(*arguments, "--format", "json"))


def block(text, title):
    """The lines of the block whose title begins so, as one line."""
    part = text[text.index(f"\n{title}") :].split("\n\n")[0]
    return " ".join(part.split())


@pytest.fixture(scope="module")
def reed():
    return sheet(REED, "--rig", RIG, "--modes", "3")


# -- the sheet ------------------------------------------------------------------------------------


def test_the_sheet_is_in_the_order_in_which_it_is_worked(reed):
    titles = ["RUN SHEET", "BEFORE ANYTHING", "SET UP", "SWEEP", "EACH MODE", "MODE 1", "MODE 2"]
    places = [reed.index(title) for title in titles]
    assert places == sorted(places)
    assert places[0] == 0


def test_all_cautions_come_before_the_set_up(reed):
    before = " ".join(reed[: reed.index("SET UP")].split())
    for caution in CAUTIONS:
        assert caution.text in before


@pytest.mark.parametrize("path", [REED, PLATE])
def test_no_line_is_wider_than_the_sheet(path):
    text = kept_sheet(path, "--rig", RIG, "--modes", "4")
    assert max(map(len, text.splitlines())) <= WIDTH
    assert not any(line != line.rstrip() for line in text.splitlines())


def test_a_block_says_what_to_count_how_strongly_and_for_how_long(reed):
    text = block(reed, "MODE 2")
    for part in (
        "1 node, at 141.0 mm",
        "begin at 0.145 g, at most 1.45 g: the endurance strain (rough guide, no safety factor)",
        "by the f FOUND, here as predicted: stands still at f = 163.1 Hz, f/2 = 81.54 Hz",
        "creeps forward at d = 1 Hz at f-d = 162.1 Hz, (f-d)/2 = 81.04 Hz",
        "shows several images at 2f = 326.2 Hz (2), 3f = 489.3 Hz (3)",
        "not f/3 = 54.36 Hz, in or near the 3 to 65 Hz that can trigger seizures",
        "eye, strobe, salt or a sensor put on the specimen",
        "visible by strobe from 0.0740 g, by eye from 0.185 g",
        "N of the exciter at its worst near the peak",
        "until it has built up to 95 %",
        "found f ____",
    ):
        assert part in text


def test_a_slow_mode_is_not_flashed(reed):
    text = block(reed, "MODE 1")
    assert "every setting lies in or near the 3 to 65 Hz that can trigger seizures" in text
    assert "stands still" not in text
    assert "the motion is visible by eye from" in text


def test_the_sheet_says_that_rates_are_set_from_the_frequency_found(reed):
    text = block(reed, "SET UP")
    assert "every rate is set from f, the frequency FOUND at the exciter" in text
    assert "the highest that shows a SINGLE image is f" in text


def test_a_disc_is_not_told_of_a_drive_that_no_file_can_state(tmp_path):
    disc = tmp_path / "disc.yaml"
    disc.write_text(Path(DISC).read_text(encoding="utf-8") + "drive: {through: point}\n")
    text = sheet(str(disc), "--rig", RIG, "--modes", "2")
    found = block(text, "SET UP")
    assert "A file can state no drive off a disc's centre, so there are no levels for them" in found
    assert "would drive every mode" not in found
    assert "and its twin f ____" in block(text, "MODE 1")
    assert "and its twin" not in block(text, "MODE 2")


def test_a_rig_without_a_sensor_is_not_told_to_use_one(tmp_path):
    rig = tmp_path / "r.yaml"
    rig.write_text(RIG_TEXT, encoding="utf-8")
    text = sheet(REED, "--rig", str(rig), "--modes", "1", "--level", "1e-6 g")
    assert "nothing of the rig shows it at this level; too little to be visible" in text
    assert "sensor" not in block(text, "MODE 1")


def test_modes_that_are_not_driven_are_short_and_named_in_the_set_up():
    text = kept_sheet(PLATE, "--rig", RIG, "--modes", "4")
    assert "not driven modes 1, 2 and 4: by symmetry" in block(text, "SET UP")
    assert "the drive does not excite this mode" in block(text, "MODE 1")
    assert "strobe" not in block(text, "MODE 1")
    assert "1 node line across x, half-way along at x = 150.0 mm" in block(text, "MODE 4")
    assert "0.5 % ASSUMED (Q = 100), for the file states none" in block(text, "SWEEP")


def test_without_a_rig_the_sheet_says_what_is_missing():
    result = run(DISC, "--modes", "3")
    assert result.exit_code == 0
    assert "without a rig file there are no levels and no strobe settings" in result.stderr
    assert "the centre (hardly moves in modes 1 and 3)" in block(result.stdout, "SET UP")
    assert "2 nodal diameters (at any angle)" in block(result.stdout, "MODE 1")
    assert "level" not in block(result.stdout, "MODE 1").replace("level ________", "")


def test_a_level_is_repeated_with_its_unit_and_judged():
    text = sheet(REED, "--rig", RIG, "--modes", "2", "--level", "0.5 g")
    sweep = block(text, "SWEEP")
    assert "as asked for, 0.5 g (amplitude of the base); TOO MUCH for mode 1" in sweep
    assert "cross where they lie with at most 0.128 g" in sweep
    assert (
        "the level asked for exceeds the endurance strain (rough guide, no safety factor) 3.9 times"
        in block(text, "MODE 1")
    )
    assert "up to 0.500 g as asked for (1.45 g would be the most)" in block(text, "MODE 2")


def test_of_many_nodes_the_first_ones_and_the_last_are_named():
    """A free bar's sixth bending mode has seven, of which the last is the nearest to its end."""
    bar = str(EXAMPLES / "free-bar.yaml")
    text = sheet(bar, "--modes", "6")
    marked = CliRunner().invoke(main, ["mark", bar, "--modes", "6", "--format", "json"])
    (mode,) = json.loads(marked.stdout)["modes"]
    places = [f"{1e3 * x:.1f}" for x in mode["nodes_m"]]
    assert len(places) == 7
    assert f"7 nodes, at {' '.join(places[:5])} … {places[-1]} mm" in block(text, "MODE 6")


def test_a_level_that_is_too_much_is_noted_beside_the_sheet():
    gentle, strong = (
        run(REED, "--rig", RIG, "--modes", "2", "--level", level).stderr
        for level in ("0.01 g", "0.5 g")
    )
    assert "TOO MUCH" not in gentle
    assert "note: the level asked for, 0.5 g, is TOO MUCH for mode 1: " in strong


def test_where_no_strain_is_known_the_sheet_says_so_at_every_level(tmp_path):
    """Of glass no endurance strain is known, and what is known of it stands on the sheet."""
    file = tmp_path / "strip.yaml"
    file.write_text(Path(REED).read_text().replace("brass", "glass"))
    text = sheet(str(file), "--rig", RIG, "--modes", "2")
    assert "material glass: brittle: it breaks without warning" in block(text, "SET UP")
    assert "NO LIMIT: no endurance strain of the material is known" in block(text, "SET UP")
    for title in ("MODE 1", "MODE 2"):
        mode = block(text, title)
        assert "allows no more, but WHAT IT CRACKS AT IS NOT KNOWN" in mode
        assert "10 million cycles" not in mode
    brass = sheet(REED, "--rig", RIG, "--modes", "2")
    assert "NOT KNOWN" not in brass
    assert "the 10 million cycles for which an endurance strain is stated" in block(brass, "MODE 1")
    data = json.loads(run(str(file), "--rig", RIG, "--modes", "1", "--format", "json").stdout)
    assert data["cautions"][-1] == "glass: brittle: it breaks without warning"


def test_positions_are_in_inches_on_request():
    text = sheet(REED, "--rig", RIG, "--modes", "2", "--inch")
    assert "1 node, at 5.552 in" in block(text, "MODE 2")
    assert " mm" not in text
    (swing,) = re.findall(r"Then ([0-9.]+) in peak-to-peak", block(text, "MODE 1"))
    assert f" {swing} eye " in block(text, "EACH MODE")


def test_the_crossovers_of_the_exciter_are_on_the_sheet_and_in_json(tmp_path):
    """v/(pi s) between displacement and velocity, a/(2 pi v) between velocity and acceleration."""
    rig = tmp_path / "bench.yaml"
    rig.write_text(
        "exciter: {force: 5 kN, stroke: 10 mm, velocity: 1.5 m/s, acceleration: 1200 m/s2, "
        "lowest_frequency: 5 Hz, highest_frequency: 6 kHz, moving_mass: 2 kg}\n",
        encoding="utf-8",
    )
    text = block(sheet(REED, "--rig", str(rig), "--modes", "1"), "SET UP")
    assert "limit is stroke up to 47.7 Hz, velocity up to 127 Hz, acceleration from there" in text
    zones = data(REED, "--rig", str(rig), "--modes", "1")["exciter_zones"]
    assert [zone["limited_by"] for zone in zones] == ["stroke", "velocity", "acceleration"]
    assert zones[1]["low_hz"] == pytest.approx(1.5 / (math.pi * 0.01))
    assert zones[1]["high_hz"] == pytest.approx(1200.0 / (2.0 * math.pi * 1.5))


def test_what_ends_a_level_is_told_at_both_ends():
    """A velocity of 1 m/s: below 1/(2 pi 5 mm) = 31.8 Hz the stroke ends it, above the force."""
    text = block(sheet(REED, "--rig", RIG, "--modes", "4", "--level", "1 m/s"), "SWEEP")
    assert "from 31.83 to 36.43 Hz (below that the exciter's stroke ends it, above that" in text
    assert "the exciter's force ends it)" in text


RIG_TEXT = """
exciter: {force: 100 N, stroke: 10 mm, lowest_frequency: 5 Hz, highest_frequency: 6 kHz,
          moving_mass: 230 g, static_moment: 0.01 N m}
"""


def test_too_heavy_an_overhang_is_shouted_and_a_twin_cancels_it(tmp_path):
    rig, twin = tmp_path / "r.yaml", tmp_path / "twin.yaml"
    rig.write_text(RIG_TEXT, encoding="utf-8")
    text = Path(REED).read_text(encoding="utf-8")
    twin.write_text(text.replace("through: boundary", "through: boundary, layout: twin"))
    single = run(REED, "--rig", str(rig), "--modes", "1")
    assert "TOO MUCH. Do not mount it like this" in block(single.stdout, "SET UP")
    assert "the rig file names no strobe" in single.stderr
    both = block(sheet(str(twin), "--rig", str(rig), "--modes", "1"), "SET UP")
    assert "TOO MUCH" not in both
    assert "two overhangs of 0.0405 N m cancel" in both
    assert "yet a resonance is 0.60 % wide (half-power): then they answer one after the" in both
    alike = twin.read_text(encoding="utf-8").replace("0.3 %", "9 %")
    twin.write_text(alike, encoding="utf-8")
    both = block(sheet(str(twin), "--rig", str(rig), "--modes", "1"), "SET UP")
    assert "at resonance they leave up to" in both


def test_twins_that_may_part_are_held_to_the_dynamic_moment(tmp_path):
    rig, twin = tmp_path / "r.yaml", tmp_path / "twin.yaml"
    text = Path(REED).read_text(encoding="utf-8")
    twin.write_text(text.replace("through: boundary", "through: boundary, layout: twin"))
    rig.write_text(RIG_TEXT.replace("static_moment: 0.01", "dynamic_moment: 0.01"))
    text = sheet(str(twin), "--rig", str(rig), "--modes", "2")
    found = block(text, "SET UP")
    assert "up to 0.010 N m at the levels below, which are held to the 0.01 N m that" in found
    assert "the exciter's dynamic moment allows no more" in block(text, "MODE 1")
    for mode in data(str(twin), "--rig", str(rig), "--modes", "2")["modes"]:
        assert mode["moment_n_m"] <= 0.01 * (1.0 + 1e-9)
    rig.write_text(RIG_TEXT)
    found = block(sheet(str(twin), "--rig", str(rig), "--modes", "2"), "SET UP")
    assert "what the exciter bears (dynamic_moment) is not in the rig file" in found


def test_where_the_drive_axis_is_assumed_to_be_is_said(tmp_path):
    rig, plate = tmp_path / "r.yaml", tmp_path / "plate.yaml"
    rig.write_text(RIG_TEXT, encoding="utf-8")
    plate.write_text(
        Path(PLATE).read_text(encoding="utf-8").replace("[150 mm, 150 mm]", "[60 mm, 150 mm]")
    )
    found = block(sheet(str(plate), "--rig", str(rig), "--modes", "1"), "SET UP")
    assert "drive axis x = 60.0, y = 150.0 mm, ASSUMED at the middle of what holds" in found
    assert "TOO MUCH" in found  # 1.4 kg at 90 mm
    text = plate.read_text(encoding="utf-8")
    plate.write_text(text.replace("through: boundary", "through: boundary, layout: twin"))
    found = block(sheet(str(plate), "--rig", str(rig), "--modes", "1"), "SET UP")
    assert "Of TWINS that is hardly true, for the axis lies between the two" in found
    found = block(sheet(REED, "--rig", str(rig), "--modes", "1"), "SET UP")
    assert "drive axis the start, ASSUMED at the face of the clamp" in found
    found = block(sheet(REED, "--rig", RIG, "--modes", "1"), "SET UP")
    assert "drive axis 15.0 mm before the start, by the clamp_distance of the rig file" in found
    stated = RIG_TEXT.replace("static_moment", "drive_axis: -20 mm, static_moment")
    rig.write_text(stated, encoding="utf-8")
    found = block(sheet(REED, "--rig", str(rig), "--modes", "1"), "SET UP")
    assert "drive axis 20.0 mm before the start, as the rig file says" in found


def test_a_sensor_on_the_specimen_is_said_to_be_in_every_figure(tmp_path):
    rig = tmp_path / "r.yaml"
    rig.write_text(RIG_TEXT + "sensor: {mass: 6 g, at: 180 mm}\n", encoding="utf-8")
    text = sheet(REED, "--rig", str(rig), "--modes", "2")
    assert (
        "tested with the 6 g sensor at the end, 51.9 g together: every figure of this sheet is of "
        "the specimen with it on" in block(text, "SET UP")
    )
    assert "Hz), without the sensor 26.032 Hz" in block(text, "MODE 1")
    mode = data(REED, "--rig", str(rig), "--modes", "2")["modes"][0]
    assert mode["with_sensor_hz"] == mode["frequency_hz"] < mode["without_sensor_hz"]
    assert mode["without_sensor_hz"] == pytest.approx(26.032, abs=1e-3)


def test_a_twin_that_is_pushed_at_a_point_is_planned_as_one(tmp_path):
    bar = tmp_path / "bar.yaml"
    text = Path(REED).read_text(encoding="utf-8")
    text = text.replace("through: boundary", "through: point, at: 30 mm, layout: twin")
    bar.write_text(text, encoding="utf-8")
    found = block(sheet(str(bar), "--rig", RIG, "--modes", "1"), "SET UP")
    assert 'Planned as ONE specimen: "layout: twin" means nothing where a point is pushed' in found
    assert "read from a force sensor" in found


def test_the_strain_limit_is_said_to_be_a_rough_guide(reed):
    found = block(reed, "SET UP")
    assert "more than 1000 µm/m, the bare endurance strain of the material" in found
    assert "It is a ROUGH GUIDE, with NO SAFETY FACTOR" in found
    assert "Begin low" in found


def test_a_sensor_on_what_holds_the_specimen_shifts_nothing(tmp_path):
    rig = tmp_path / "r.yaml"
    rig.write_text(RIG_TEXT + "sensor: {mass: 6 g, at: [155 mm, 150 mm]}\n", encoding="utf-8")
    found = block(sheet(PLATE, "--rig", str(rig), "--modes", "2"), "SET UP")
    assert "6 g at x = 155.0, y = 150.0 mm, as the rig file says, where it shifts no mode." in found


def test_a_sensor_that_is_too_heavy_is_called_so(tmp_path):
    rig = tmp_path / "heavy.yaml"
    rig.write_text(RIG_TEXT + "sensor: {mass: 60 g}\n", encoding="utf-8")
    found = block(sheet(REED, "--rig", str(rig), "--modes", "2"), "SET UP")
    assert "It is too heavy for this specimen: even at" in found


def test_an_exciter_that_reaches_no_mode_is_said_in_a_sentence(tmp_path):
    rig = tmp_path / "high.yaml"
    rig.write_text(RIG_TEXT.replace("lowest_frequency: 5 Hz", "lowest_frequency: 2 kHz"))
    text = sheet(REED, "--rig", str(rig), "--modes", "2")
    assert (
        "the exciter drives from 2000 to 6000 Hz and cannot reach any of these modes, which lie "
        "from 26.03 to 163.1 Hz" in block(text, "SWEEP")
    )
    assert "the mode lies beyond the exciter's range of frequencies" in block(text, "MODE 1")


# -- JSON and CSV ---------------------------------------------------------------------------------


def test_json_has_the_promised_fields():
    found = data(REED, "--rig", RIG, "--modes", "2")
    assert {"specimen", "rig", "modes", "sweep_s", "sweep", "places", "cautions"} <= set(found)
    promised = {
        "rank", "frequency_hz", "limited_by", "base_acceleration_m_s2", "peak_displacement_m",
        "peak_acceleration_m_s2", "peak_strain", "force_n", "watch", "strobe",
        "sweep_octave_per_min", "sweep_hz_per_s", "dwell_s",
    }  # fmt: skip
    for mode in found["modes"]:
        assert promised <= set(mode)
        assert {"flash_hz", "apparent_hz"} <= set(mode["strobe"][0])
        assert isinstance(mode["watch"], str)
    assert found["sweep_s"] > found["sweep"]["in_parts_s"] > 0.0
    assert found["damping_ratio"] == 0.003
    flagged = [s["can_trigger_seizures"] for s in found["modes"][0]["strobe"]]
    assert flagged
    assert all(flagged)


def test_the_same_keys_stand_with_and_without_a_rig_and_where_nothing_is_driven():
    driven = data(REED, "--rig", RIG, "--modes", "1")["modes"][0]
    bare = data(REED, "--modes", "1")["modes"][0]
    assert set(bare) == set(driven)
    assert bare["base_acceleration_m_s2"] is None
    still = kept_data(PLATE, "--modes", "2", "--rig", RIG)["modes"][0]
    assert still["limited_by"] == "not excited"
    assert still["force_n"] is None


def keys_of(value):
    """Every key in a JSON value, but those of `exceeded`, which are words."""
    if isinstance(value, list):
        return set().union(*map(keys_of, value))
    if not isinstance(value, dict):
        return set()
    inner = [keys_of(item) for key, item in value.items() if key != "exceeded"]
    return set(value).union(*inner)


def test_the_page_names_every_key(tmp_path):
    twin = tmp_path / "twin.yaml"
    text = Path(REED).read_text(encoding="utf-8")
    twin.write_text(text.replace("through: boundary", "through: boundary, layout: twin"))
    made = [(str(twin), "--modes", "2"), (PLATE, "--modes", "2"), (STUD, "--modes", "2")]
    found = set().union(*(keys_of(kept_data(*arguments, "--rig", RIG)) for arguments in made))
    page = (EXAMPLES.parent / "docs" / "planning.md").read_text(encoding="utf-8")
    section = page.split("## A plan as JSON")[1].split("\n## ")[0]
    named = set(re.findall(r"`([a-z_0-9]+)`", section))
    assert found - named == set()
    words = {*LIMITS, ASKED, "boundary", "point", "single", "twin", "null"}
    assert named - found - words == set(), "the page names a key that is not written"


def test_csv_has_a_row_for_each_mode():
    text = sheet(REED, "--rig", RIG, "--modes", "3", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [row["rank"] for row in rows] == ["1", "2", "3"]
    known = data(REED, "--rig", RIG, "--modes", "3")["modes"]
    for row, mode in zip(rows, known, strict=True):
        for key in ("frequency_hz", "peak_strain", "dwell_s", "sweep_hz_per_s"):
            assert float(row[key]) == mode[key]


@pytest.mark.parametrize("path", [REED, PLATE, STUD])
def test_csv_has_all_of_a_mode_but_what_is_nested(path):
    arguments = (path, "--modes", "2", "--rig", RIG)
    (row, *_) = csv.DictReader(io.StringIO(sheet(*arguments, "--format", "csv")))
    (mode, *_) = kept_data(*arguments)["modes"]
    assert set(mode) - set(row) <= {"strobe", "strobe_misleading", "node_lines_m"}


def test_csv_has_the_strobe_rates_that_are_safe_to_look_at():
    arguments = (REED, "--rig", RIG, "--modes", "2")
    first, second = csv.DictReader(io.StringIO(sheet(*arguments, "--format", "csv")))
    assert first["strobe_still_hz"] == ""
    still = [float(rate) for rate in second["strobe_still_hz"].split(";")]
    known = data(*arguments)["modes"][1]["strobe"]
    assert still == [
        s["flash_hz"] for s in known if not s["apparent_hz"] and not s["can_trigger_seizures"]
    ]
    assert len(still) == 2


# -- mistakes -------------------------------------------------------------------------------------


def test_a_range_without_a_resonance_is_a_sentence():
    result = run(REED, "--rig", RIG, "--above", "30 Hz", "--below", "100 Hz")
    assert result.exit_code == 0
    assert result.stdout == (
        "no resonance lies in this range; the nearest: flatwise 1 at 26.032 Hz and flatwise 2 at "
        "163.09 Hz\n"
    )
    assert data(REED, "--above", "30 Hz", "--below", "100 Hz")["modes"] == []


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        (("--level", "0.5 g"), "--level needs --rig, the file that says what the exciter can do"),
        (("--rig", RIG, "--level", "0.5"), "level needs a unit"),
        (("--rig", RIG, "--level", "5 N"), 'level "5 N" is a force'),
        (("--above", "2 kHz", "--below", "1 kHz"), "--above must be less than --below"),
        (("--modes", "3", "--below", "1 kHz"), "say the same thing twice"),
        (("--rig", "nowhere.yaml"), "nowhere.yaml: there is no such file"),
        (("--rig", REED), "this is a specimen"),
        (("--rig", EMPTY), "the file is empty; say what the exciter is, for example exciter: {"),
        (("--damping", "50 %"), "with a damping ratio of 50 % there is no resonance to look for"),
        (("--damping", "0.5"), "damping ratio 0.5 means 50 %; write the percent sign to say which"),
        (("--rig", RIG, "--level", "3 kg"), 'level "3 kg" is a mass'),
        (("--damping", "much"), 'must be a plain number or percentage, for example "0.4 %"'),
    ],
)
def test_mistakes_are_answered_with_a_sentence(arguments, sentence):
    result = run(REED, *arguments)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert sentence in result.stderr


def test_a_rig_in_the_place_of_the_specimen_is_recognised():
    both = run(RIG, "--rig", REED)
    assert both.exit_code == 2
    assert both.stderr == (
        f"{RIG}: this is a rig file, and {REED} describes a specimen: the two are exchanged; give "
        "the specimen first, and the rig with --rig\n"
    )
    alone = run(RIG)
    assert (alone.exit_code, len(alone.stderr.splitlines())) == (2, 1)
    assert "this is a rig file; a specimen file begins with its kind" in alone.stderr


@pytest.mark.parametrize(
    ("ratio", "remark"), [("19 %", "is heavy"), ("1e-9", "less than any specimen on a bench has")]
)
def test_a_damping_that_is_hardly_meant_is_asked_after(ratio, remark):
    result = run(REED, "--modes", "1", "--damping", ratio)
    assert result.exit_code == 0
    assert remark in result.stderr
    assert "is the percentage right?" in result.stderr
    assert "is the percentage right?" not in run(REED, "--modes", "1").stderr


def test_a_free_specimen_without_a_driving_point_is_told_how_to_get_one():
    result = run(DISC, "--rig", RIG)
    assert result.exit_code == 2
    assert "nothing holds the specimen against deflection" in result.stderr
    assert 'for example "drive: {through: point}"' in result.stderr  # at its centre


# -- phrases --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0.36, "0.36 s"), (45.0, "45 s"), (99.0, "99 s"), (120.0, "2.0 min"), (3600.0, "60 min"),
        (7200.0, "2.0 h"), (400_000.0, "4.6 days"),
    ],
)  # fmt: skip
def test_times_are_as_on_a_watch(seconds, text):
    assert duration(seconds) == text


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.9996, "1.0"),
        (9.97, "10"),
        (99.6, "100"),
        (0.0996, "0.10"),
        (0.994, "0.99"),
        (1.04, "1.0"),
    ],
)
def test_a_number_that_rounds_up_keeps_its_digits(value, text):
    assert significant(2)(value) == text
    assert significant(2)(-value) == f"-{text}"


def test_masses_have_the_unit_that_suits_them():
    masses = [mass_text(m) for m in (0.0459, 1.4103, 5900.0)]
    assert masses == ["45.9 g", "1410 g", "5900 kg"]


def test_cycles_and_ranks_in_words():
    assert [cycles_text(n) for n in (95.5, 4812.0, 190_000.0, 7.31e6)] == [
        "96", "4800", "190000", "7.3 million",
    ]  # fmt: skip
    assert ranks_text([2]) == "mode 2"
    assert ranks_text([2, 4, 6]) == "modes 2, 4 and 6"


def test_no_line_is_broken_between_a_number_and_its_unit():
    for words in range(12, 40):
        text = "word " * words + "12.5 mm at x = 30.0 mm by 5 % and more"
        lines = entries("TITLE", [("label", text)])
        joined = " ".join(" ".join(line.split()) for line in lines)
        assert joined == f"TITLE label {' '.join(text.split())}"
        for line in lines:
            assert len(line) <= WIDTH
            assert not line.endswith(("12.5", "x =", "x", "30.0", " 5"))


# -- what is not known ----------------------------------------------------------------------------


def test_a_material_without_an_endurance_strain_is_pointed_out(tmp_path):
    strip = tmp_path / "strip.yaml"
    stated = "{youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}"
    text = Path(REED).read_text(encoding="utf-8").replace("material: brass", f"material: {stated}")
    strip.write_text(text, encoding="utf-8")
    found = sheet(str(strip), "--rig", RIG, "--modes", "1")
    assert "NO LIMIT: no endurance strain of the material is known" in block(found, "SET UP")
    assert "NO LIMIT" not in sheet(REED, "--rig", RIG, "--modes", "1")


def test_a_motion_too_large_for_the_theory_is_pointed_out(tmp_path):
    strip, rig = tmp_path / "strip.yaml", tmp_path / "strong.yaml"
    stated = "{youngs_modulus: 70 GPa, density: 2700 kg/m3, poisson_ratio: 0.3}"
    text = Path(REED).read_text(encoding="utf-8").replace("material: brass", f"material: {stated}")
    strip.write_text(text, encoding="utf-8")
    rig.write_text(RIG_TEXT, encoding="utf-8")
    loud = sheet(str(strip), "--rig", str(rig), "--modes", "1", "--level", "1 g")
    assert "beyond the small motion of the theory" in block(loud, "MODE 1")
    soft = sheet(str(strip), "--rig", str(rig), "--modes", "1", "--level", "0.01 g")
    assert "beyond the small motion" not in block(soft, "MODE 1")


def test_modes_of_another_family_are_said_to_be_out_of_the_drives_reach():
    text = block(sheet(REED, "--rig", RIG, "--modes", "5", "--all"), "SET UP")
    assert "not driven modes 3 and 4, for the drive moves the specimen out of its wide face" in text
    assert "torsion shows along the long edges" in text
    assert "would drive every mode" not in text


def test_of_a_driven_point_the_base_is_what_the_exciter_moves(tmp_path):
    plate = tmp_path / "plate.yaml"
    text = (EXAMPLES / "square-plate.yaml").read_text(encoding="utf-8")
    plate.write_text(text + "drive: {through: point, at: [20 mm, 30 mm]}\n", encoding="utf-8")
    mode = data(str(plate), "--rig", RIG, "--modes", "1")["modes"][0]
    omega = 2.0 * 3.141592653589793 * mode["frequency_hz"]
    # Salt moves at 1 g and motion is seen from 0.2 mm, both in proportion to the base's motion.
    per_base = mode["peak_displacement_m"] / mode["base_acceleration_m_s2"]
    moves = mode["base_acceleration_salt_moves_m_s2"]
    assert moves * per_base * omega**2 == pytest.approx(9.80665)
    assert 2.0 * mode["base_acceleration_visible_m_s2"] * per_base == pytest.approx(0.2e-3)
    assert mode["drive_n"] < mode["force_n"] <= 100.0 * (1.0 + 1e-9)
    sheet_text = sheet(str(plate), "--rig", RIG, "--modes", "1")
    assert "driven at x = 20.0, y = 30.0 mm" in block(sheet_text, "SET UP")
    assert "Without one set the level, at each peak, by the acceleration" in block(
        sheet_text, "SET UP"
    )
    pushed = mode["base_acceleration_m_s2"] / 9.80665
    assert f"{significant(2)(pushed)} g where it is pushed" in block(sheet_text, "MODE 1")
    assert "(amplitude of the force on the point)" in block(sheet_text, "SWEEP")


def test_of_a_range_of_very_many_modes_the_lowest_are_planned():
    result = run(REED, "--below", "500 kHz", "--theory", "euler")
    (more,) = re.findall(r"the range has at least ([0-9]+) modes more; planned are the 60 lowest",
                         result.stderr)  # fmt: skip
    # Of a cantilever f_n is as (n - 1/2)^2 (textbook), beside f_1 as 3.516 / pi^2.
    due = math.sqrt(500e3 / 26.034 * 3.516 / math.pi**2) + 0.5
    assert 60 + int(more) == math.floor(due)
    assert "MODE 60," in result.stdout
    assert "MODE 61," not in result.stdout


STRIP = """
name: strip
kind: beam
material: aluminium
geometry: {length: 220 mm, section: {shape: rectangle, width: 25 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
damping_ratio: 0.2 %
"""


def test_a_sensor_is_not_offered_where_it_would_be_overloaded(tmp_path):
    """At the level of the third mode the end moves with more than the sensor's 100 g."""
    strip = tmp_path / "strip.yaml"
    strip.write_text(STRIP, encoding="utf-8")
    text = sheet(str(strip), "--rig", RIG, "--modes", "3")
    third = block(text, "MODE 3")
    (most, level) = map(
        float, re.findall(r"at most ([0-9.]+) g.* and ([0-9]+) g at the end", third)[0]
    )
    assert level > 100.0
    (ends,) = re.findall(r"its range of 100 g ends at ([0-9.]+) g", third)
    assert float(ends) == pytest.approx(most * 100.0 / level, rel=0.06)  # both to two digits


def test_what_is_done_at_a_mode_stands_in_its_order():
    text = sheet(REED, "--rig", RIG, "--modes", "2")
    words = [
        line.split("  ")[1] for line in text.split("MODE 2")[1].splitlines()[1:] if line[2:3] != " "
    ]
    kept = [word.strip() for word in words if word.strip()]
    assert kept[:7] == ["level", "search", "strobe", "see it", "to count", "stay", "found"]


def test_salt_that_flies_off_at_the_first_level_is_said_to():
    strip = kept_sheet(REED, "--rig", RIG, "--modes", "2")
    assert "which is less than the level to begin with" not in block(strip, "MODE 1")
    assert "levels of acceleration are amplitudes (peak values) of the base in g" in block(
        strip, "SET UP"
    )
    assert "The table below has the MOST" in block(strip, "SET UP")
    asked = sheet(REED, "--rig", RIG, "--modes", "1", "--level", "0.1 g")
    assert "The table below has the MOST" not in asked


def test_a_moment_that_limits_is_stated(tmp_path):
    rig = tmp_path / "weak.yaml"
    rig.write_text(
        "exciter: {force: 5 kN, stroke: 60 mm, lowest_frequency: 5 Hz, highest_frequency: 6 kHz, "
        "moving_mass: 2 kg, dynamic_moment: 0.02 N m, clamp_distance: 30 mm}\n",
        encoding="utf-8",
    )
    first = block(sheet(REED, "--rig", str(rig), "--modes", "1"), "MODE 1")
    assert "the exciter's dynamic moment allows no more" in first
    assert "near the peak, 0.020 N m about the drive axis" in first
