"""The command line: what is printed where, in which format, and with which status."""

import csv
import io
import json
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import COMMANDS, main
from saltline.files.specimen_file import load

EXAMPLES = Path(__file__).parent.parent / "examples"
REED = str(EXAMPLES / "clamped-reed.yaml")
BAR = str(EXAMPLES / "free-bar.yaml")
SHEET = str(EXAMPLES / "square-plate.yaml")


def run(*arguments, **kwargs):
    return CliRunner().invoke(main, arguments, **kwargs)


def data(*arguments):
    result = run(*arguments, "--format", "json")
    assert result.exit_code in (0, 1), result.output
    return json.loads(result.stdout)


def test_predict_counts_n_minus_one_nodes_on_a_cantilever_and_n_plus_one_on_a_free_bar():
    for path, offset in ((REED, -1), (BAR, 1)):
        modes = data("predict", path, "--modes", "6")["modes"]
        assert [m["node_count"] for m in modes] == [m["order"] + offset for m in modes]
        assert [m["rank"] for m in modes] == [1, 2, 3, 4, 5, 6]
        assert all(m["low_hz"] < m["frequency_hz"] < m["high_hz"] for m in modes)


def test_predict_json_has_the_promised_fields():
    result = data("predict", REED, "--modes", "2")
    assert set(result["facts"]) == {"mass_kg", "centre_m", "overhang_n_m"}
    assert {k: v for k, v in result.items() if k not in ("modes", "facts")} == {
        "specimen": "clamped reed",
        "kind": "beam",
        "theory": "timoshenko",
    }
    assert set(result["modes"][0]) == {
        "rank", "family", "order", "frequency_hz", "low_hz", "high_hz", "euler_hz", "node_count",
        "nodes_m", "antinodes_m", "excitation",
    }  # fmt: skip
    assert result["modes"][0]["antinodes_m"] == [0.18]
    plate = data("predict", SHEET, "--modes", "2")["modes"]
    assert {"lines_x", "lines_y", "node_lines_m"} <= set(plate[0])
    assert (plate[0]["lines_x"], plate[0]["lines_y"]) == (1, 1)
    assert plate[1]["pattern"] == "X"
    assert plate[1]["lines_x"] is None


def test_predict_below_lists_every_mode_up_to_the_frequency():
    modes = data("predict", REED, "--below", "1 kHz")["modes"]
    assert [m["order"] for m in modes] == [1, 2, 3, 4]
    assert modes[-1]["frequency_hz"] < 1000.0


def test_euler_leaves_the_companion_column_out():
    result = run("predict", REED, "--theory", "euler")
    assert "Bernoulli" not in result.stdout
    full = data("predict", REED)["modes"][7]
    simple = data("predict", REED, "--theory", "euler")["modes"][7]
    assert simple["frequency_hz"] == pytest.approx(full["euler_hz"], rel=1e-9)


def test_csv_has_a_header_of_keys_and_reads_back():
    result = run("predict", REED, "--format", "csv", "--modes", "3")
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert [row["rank"] for row in rows] == ["1", "2", "3"]
    known = data("predict", REED, "--modes", "3")["modes"]
    assert [float(r["frequency_hz"]) for r in rows] == [m["frequency_hz"] for m in known]


def test_remarks_go_to_standard_error_alone():
    result = run("predict", BAR)
    assert "rigid-body" not in result.stdout
    assert result.stderr.splitlines()[0] == "note: 2 rigid-body modes are not listed"
    assert all(line.startswith("note: ") for line in result.stderr.splitlines())


def test_all_lists_every_family_by_frequency_and_family_chooses():
    modes = data("predict", REED, "--all", "--modes", "7")["modes"]
    assert [(m["family"], m["order"]) for m in modes[:5]] == [
        ("flatwise", 1), ("flatwise", 2), ("edgewise", 1), ("torsion", 1), ("flatwise", 3),
    ]  # fmt: skip
    assert [m["frequency_hz"] for m in modes] == sorted(m["frequency_hz"] for m in modes)
    twist = data("predict", REED, "--family", "torsion", "--modes", "3")["modes"]
    assert [m["node_count"] for m in twist] == [0, 1, 2]
    assert "torsion from" in run("predict", REED).stderr
    assert run("predict", SHEET, "--family", "torsion").exit_code == 2


def test_predict_adds_what_is_asked_for():
    extra = data(
        "predict", REED, "--modes", "4", "--why", "--as-plate", "--clamp",
        "--sensor", "1 g at 170 mm",
    )  # fmt: skip
    assert {"why", "as_plate", "clamp", "sensor"} <= set(extra)
    assert [row["motion"] for row in extra["as_plate"]] == [
        "flatwise", "flatwise", "torsion", "flatwise", "flatwise",
    ]  # fmt: skip
    assert all(row["shift_percent"] <= 0.0 for row in extra["sensor"])
    falls = [row["f1_percent"] for row in extra["clamp"]]
    assert falls == sorted(falls, reverse=True)
    assert falls[0] == 0.0
    # Root spring k = 100 E I / L lowers a cantilever's first frequency by 1.94 % (transcendental
    # equation 1 + cos x cosh x + (x/k)(cos x sinh x - sin x cosh x) = 0, root 1.856787).
    assert extra["clamp"][3]["f1_percent"] == pytest.approx(-1.94, abs=0.01)
    assert run("predict", BAR, "--clamp").exit_code == 2
    assert run("predict", REED, "--sensor", "1 g").exit_code == 2
    assert "f/f1" in run("predict", REED, "--ratios").stdout


def test_mark_measures_from_either_end_and_in_inches():
    metric = run("mark", REED, "--modes", "2").stdout.splitlines()
    assert metric[3].split() == ["2", "163.09", "node", "1", "141.0", "39.0"]
    inches = run("mark", REED, "--modes", "2", "--inch").stdout.splitlines()
    assert inches[1].split() == ["Hz", "in", "in"]
    assert inches[3].split()[-2:] == ["5.552", "1.535"]


def test_mark_of_a_plate_gives_five_places_a_line():
    lines = run("mark", SHEET, "--modes", "1").stdout.splitlines()[3:]
    assert len(lines) == 10
    assert {" ".join(line.split()[5:7]) for line in lines} == {"across x", "across y"}


def test_check_names_the_modes_and_leaves_with_status_one_where_a_count_differs():
    result = run("check", REED, str(EXAMPLES / "clamped-reed.measured.yaml"))
    assert result.exit_code == 1
    assert result.stdout.rstrip().endswith("does not fit")
    found = data("check", REED, str(EXAMPLES / "clamped-reed.measured.yaml"))
    assert [m["finding"] for m in found["measured"]] == ["agrees"] * 3 + ["count differs"]
    assert [m["order"] for m in found["measured"]] == [1, 2, 3, 5]
    assert [u["order"] for u in found["unseen"]] == [4, 6]
    assert found["verdict"] == "does not fit"
    assert 0.97 < found["scale"] < 1.0


def test_check_leaves_with_status_zero_where_all_agrees():
    result = run("check", SHEET, str(EXAMPLES / "square-plate.measured.yaml"))
    assert result.exit_code == 0
    assert result.stdout.rstrip().endswith("\nfits")


def test_check_reads_a_list_from_standard_input():
    result = run("check", REED, "-", "--format", "json", input="frequency_hz\n25.9\n162\n455\n")
    assert [m["order"] for m in json.loads(result.stdout)["measured"]] == [1, 2, 3]


@pytest.mark.parametrize("kind", ["beam", "plate"])
def test_new_writes_a_specimen_that_predicts(kind, tmp_path):
    path = tmp_path / "mine.yaml"
    assert run("new", kind, str(path)).exit_code == 0
    assert data("predict", str(path), "--modes", "2")["specimen"] == "mine"
    assert run("new", kind).stdout.startswith("#")


def test_new_writes_a_rig_with_which_a_plan_is_made(tmp_path):
    path = tmp_path / "bench.rig.yaml"
    assert run("new", "rig", str(path)).exit_code == 0
    assert data("plan", REED, "--rig", str(path), "--modes", "1")["rig"] == "bench"


def test_new_never_writes_over_a_file_without_force(tmp_path):
    path = tmp_path / "mine.yaml"
    path.write_text("precious")
    result = run("new", "beam", str(path))
    assert result.exit_code == 2
    assert result.stderr == (
        f"{path}: the file exists already; choose another name, or give --force\n"
    )
    assert path.read_text() == "precious"
    assert run("new", "beam", str(path), "--force").exit_code == 0
    assert path.read_text().startswith("#")
    assert stat.S_IMODE(path.stat().st_mode) & 0o444


def test_new_into_a_folder_that_is_not_there_says_so_and_leaves_nothing(tmp_path):
    result = run("new", "beam", str(tmp_path / "none" / "mine.yaml"))
    assert result.exit_code == 2
    assert f"there is no folder {tmp_path / 'none'}; make it first" in result.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["mine.pdf", "mine", ".", ""])
def test_new_writes_no_specimen_under_a_name_that_is_none(name, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run("new", "beam", name)
    assert result.exit_code == 2
    assert result.stderr == (
        f"{name or '.'}: the name must end in .yaml or .yml, which says what kind of file it is\n"
    )
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("stem", ["a\x1b[31m", " ", "n" * 240, "null", "1: {"])
def test_new_names_the_specimen_after_any_file(stem, tmp_path):
    path = tmp_path / f"{stem}.yaml"
    result = run("new", "beam", str(path))
    assert result.exit_code == 0
    assert "\x1b" not in result.stderr
    assert load(path).name


@pytest.mark.parametrize("name", ["fitted.png", "fitted"])
def test_fit_writes_no_specimen_under_a_name_that_is_none(name, tmp_path):
    path = tmp_path / name
    lines = str(EXAMPLES / "clamped-reed.measured.yaml")
    result = run("fit", REED, lines, "--write", str(path))
    assert (result.exit_code, result.stdout) == (2, "")
    assert f"{path}: the name must end in .yaml or .yml" in result.stderr
    assert not path.exists()


def test_fit_names_the_folder_that_is_not_there_before_it_computes(tmp_path):
    path = tmp_path / "none" / "fitted.yaml"
    lines = str(EXAMPLES / "clamped-reed.measured.yaml")
    result = run("fit", REED, lines, "--write", str(path))
    assert (result.exit_code, result.stdout) == (2, "")
    assert f"there is no folder {path.parent}; make it first" in result.stderr


def test_several_files_cannot_have_one_name_not_even_none(tmp_path):
    lines = str(EXAMPLES / "reed-lot")
    for name, example in ((str(tmp_path / "x.yaml"), f"{tmp_path}/{{name}}.yaml"),):
        result = run("fit", REED, lines, "--write", name)
        assert result.exit_code == 2
        assert f'for example "{example}"' in " ".join(result.stderr.split())


def test_materials_lists_each_with_its_source():
    rows = data("materials")["materials"]
    assert len(rows) >= 15
    assert all(row["source"] for row in rows)


def test_every_mistake_is_reported_at_once_with_status_two(tmp_path):
    path = tmp_path / "bad.yaml"
    path.write_text(
        "kind: beam\nmaterial: bras\n"
        "geometry: {length: 180, section: {shape: rod, diameter: 3 kg}}\n"
        "boundary: {start: clampd, end: free}\n"
    )
    result = run("predict", str(path))
    assert result.exit_code == 2
    assert result.stdout == ""
    places = [line.removeprefix(f"{path}:").split(": ")[0] for line in result.stderr.splitlines()]
    assert places == ["2:11", "3:20", "3:57", "4:19"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["predict", "nowhere.yaml"], "nowhere.yaml"),
        (["predict", REED, "--modes", "3", "--below", "1 kHz"], "give one of them"),
        (["predict", REED, "--below", "5"], "needs a unit"),
        (["predict", REED, "--below", "-5 Hz"], "greater than zero"),
        (["predict", REED, "--modes", "0"], "0"),
        (["mark", REED, "--modes", "5-2"], "lower first"),
        (["mark", REED, "--modes", "a"], 'write it like "1-5,8"'),
        (["check", REED, "nothing.csv"], "nothing.csv"),
        (["new", "shell"], "shell"),
        (["frobnicate"], "frobnicate"),
    ],
)
def test_bad_usage_is_said_plainly_with_status_two(arguments, message):
    result = run(*arguments)
    assert result.exit_code == 2
    assert message in result.stderr
    assert "Traceback" not in result.output


def test_a_buckled_beam_is_an_error_of_the_input(tmp_path):
    path = tmp_path / "strut.yaml"
    path.write_text(Path(REED).read_text().replace("boundary:", "  tension: -60 N\nboundary:"))
    result = run("predict", str(path))
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{path}: the compression is at or beyond buckling")


def test_a_custom_section_without_shear_coefficient_says_what_to_do(tmp_path):
    path = tmp_path / "own.yaml"
    path.write_text(
        "kind: beam\nmaterial: steel\nboundary: {start: clamped, end: free}\n"
        "geometry: {length: 1 m, section: {shape: custom, area: 4 cm2, second_moment: 2 cm4}}\n"
    )
    result = run("predict", str(path))
    assert result.exit_code == 2
    assert "shear_coefficient" in result.stderr
    assert "--theory euler" in result.stderr
    assert run("predict", str(path), "--theory", "euler").exit_code == 0


def test_every_command_has_help_with_an_example():
    for name in COMMANDS:
        result = run(name, "--help")
        assert result.exit_code == 0
        assert "Example: saltline " + name in result.output


def test_a_reader_that_stops_early_is_no_error():
    """As with `saltline materials | head -1`."""
    command = [sys.executable, "-c", "from saltline.cli import main; main()", "materials"]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=dict(os.environ)
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        error = process.stderr.read()
        assert process.wait() == 0
    assert error == b""


@pytest.mark.parametrize(
    ("sensor", "message"),
    [
        ("5 g at 400 mm", "not on the specimen, which ends at 180 mm"),
        ("5 g at 20 mm, 30 mm", 'placed like this: "4.5 g at 300 mm"'),
        ("-5 g at 20 mm", "greater than zero"),
        ("5 g", 'like "4.5 g at 300 mm"'),
    ],
)
def test_a_sensor_that_cannot_be_there_is_refused(sensor, message):
    result = run("predict", REED, "--sensor", sensor)
    assert result.exit_code == 2
    assert message in result.stderr


def test_nothing_in_the_range_prints_nothing_but_a_note():
    result = run("predict", REED, "--below", "1 Hz")
    assert result.stdout == ""
    assert "no mode lies in this range" in result.stderr


def test_disc_modes_are_counted_by_diameters_and_circles():
    """A free disc: 2 diameters, 1 circle, 3 diameters, 1 and 1, 4 diameters (Leissa 1969,
    NASA SP-160 ch. 2, from memory)."""
    modes = data("predict", str(EXAMPLES / "free-disc.yaml"), "--modes", "5")["modes"]
    assert [(m["diameters"], m["circles"], m["multiplicity"]) for m in modes] == [
        (2, 0, 2), (0, 1, 1), (3, 0, 2), (1, 1, 2), (4, 0, 2),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("specimen", "rows", "message"),
    [
        (
            SHEET,
            "frequency_hz,nodes\n112,7\n",
            "nodes is not counted on a plate; there it is",
        ),
        (REED, "frequency_hz,diameters\n26,1\n", "diameters is not counted on a beam; there it is"),
    ],
)
def test_counts_of_another_kind_are_refused_with_their_place(specimen, rows, message, tmp_path):
    path = tmp_path / "pad.csv"
    path.write_text(rows)
    result = run("check", specimen, str(path))
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{path}:2:")
    assert message in result.stderr


def test_a_far_factor_points_at_the_sizes_in_the_file(tmp_path):
    path = tmp_path / "pad.csv"
    path.write_text("frequency_hz,nodes\n18.2,0\n114.2,1\n319.5,2\n625.6,3\n")
    result = run("check", REED, str(path))
    assert "so far from 1, look first at the sizes and units in the file" in result.stdout
    assert "18.2 " in result.stdout


def test_mark_names_the_family_where_there_are_several():
    head = run("mark", REED, "--all", "--modes", "1-3").stdout.splitlines()[0]
    assert "family" in head
    assert "family" not in run("mark", REED).stdout.splitlines()[0]


def test_a_sensor_on_a_disc_stands_at_its_centre():
    disc = str(EXAMPLES / "free-disc.yaml")
    rows = data("predict", disc, "--modes", "3", "--sensor", "20 g at centre")["sensor"]
    shifts = [row["shift_percent"] for row in rows]
    assert shifts[0] == pytest.approx(0.0, abs=1e-6)  # two nodal diameters: at rest at the centre
    assert shifts[1] < -1.0
    assert run("predict", disc, "--sensor", "20 g at 3 mm").exit_code == 2


def test_a_thick_plate_is_told_where_thin_plate_theory_ends(tmp_path):
    path = tmp_path / "block.yaml"
    path.write_text(Path(SHEET).read_text().replace("thickness: 2 ± 0.03 mm", "thickness: 30 mm"))
    assert "thin-plate theory ends here" in run("predict", str(path)).stderr
    assert "thin-plate" not in run("predict", SHEET).stderr


def test_a_heavy_specimen_is_weighed_in_kilograms(tmp_path):
    """Steel, 7850 kg/m3: 1.2 m by 60 mm by 20 mm is 11.304 kg."""
    path = tmp_path / "girder.yaml"
    path.write_text(
        "kind: beam\nmaterial: steel\nboundary: {start: free, end: free}\n"
        "geometry: {length: 1.2 m, section: {shape: rectangle, width: 60 mm, thickness: 20 mm}}\n"
    )
    assert "mass 11.3 kg, centre" in run("predict", str(path)).stdout
    assert "mass 45.9 g, centre" in run("predict", REED).stdout


def test_csv_says_what_it_leaves_out():
    assert "json has them all" in run("predict", REED, "--why", "--format", "csv").stderr


def test_a_round_section_bends_in_two_directions():
    remarks = run("predict", BAR).stderr
    assert "each bending mode occurs in two directions" in remarks
    assert "edgewise" not in remarks
