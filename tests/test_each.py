"""Several files in one command: each as it is alone, a bad one reported, and the rest done."""

import csv
import io
import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import main
from seen import colours, overlapping, seen

EXAMPLES = Path(__file__).parent.parent / "examples"
REED, BAR = EXAMPLES / "clamped-reed.yaml", EXAMPLES / "free-bar.yaml"
DISC, PLATE = EXAMPLES / "free-disc.yaml", EXAMPLES / "square-plate.yaml"


def run(*arguments):
    return CliRunner().invoke(main, list(map(str, arguments)))


@pytest.fixture
def folder(tmp_path):
    """Three specimens, one of them bad, a list and a rig."""
    for file in (REED, DISC, EXAMPLES / "clamped-reed.measured.yaml", EXAMPLES / "small.rig.yaml"):
        (tmp_path / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "bad.yaml").write_text("kind: beam\nmaterial: unobtainium\n")
    return tmp_path


COMMANDS = [
    ("predict", "--modes", "2"),
    ("mark", "--modes", "1-2"),
    ("plan", "--modes", "2"),
]


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_each_is_as_it_is_alone(command):
    name, *options = command
    both = run(name, REED, DISC, *options)
    assert both.exit_code == 0
    heading = f"clamped reed ({REED})"
    first = run(name, REED, *options).stdout
    second = run(name, DISC, *options).stdout
    assert both.stdout.startswith(f"{heading}\n{'=' * len(heading)}\n\n{first}\n")
    assert both.stdout.endswith(f"\n\n{second}")
    together = json.loads(run(name, REED, DISC, *options, "--format", "json").stdout)
    alone = [
        json.loads(run(name, file, *options, "--format", "json").stdout) for file in (REED, DISC)
    ]
    assert [{k: v for k, v in one.items() if k != "file"} for one in together["specimens"]] == alone
    assert [one["file"] for one in together["specimens"]] == [str(REED), str(DISC)]


@pytest.mark.parametrize("jobs", [1, 2])
def test_the_rows_of_csv_name_their_specimen(jobs):
    files = (DISC, REED, PLATE, BAR)
    found = run("predict", *files, "--modes", 2, "--format", "csv", "--jobs", jobs)
    rows = list(csv.DictReader(io.StringIO(found.stdout)))
    assert [row["file"] for row in rows] == [str(file) for file in files for _ in range(2)]
    assert next(iter(rows[0])) == "specimen"
    for file in files:
        alone = run("predict", file, "--modes", 2, "--format", "csv").stdout
        mine = [row for row in rows if row["file"] == str(file)]
        for row, due in zip(mine, csv.DictReader(io.StringIO(alone)), strict=True):
            assert {key: row[key] for key in due} == due
            assert all(not row[key] for key in row.keys() - due.keys() - {"specimen", "file"})


def test_a_bad_file_is_reported_and_others_in_a_folder_are_passed_over(folder):
    found = run("predict", folder, "--modes", 1, "--format", "json")
    assert found.exit_code == 2
    data = json.loads(found.stdout)
    assert [one["specimen"] for one in data["specimens"]] == ["clamped reed", "free disc"]
    (failed,) = data["failed"]
    assert failed["file"] == str(folder / "bad.yaml")
    assert failed["why"] in found.stderr
    assert "clamped-reed.measured.yaml is a measured list and was passed over" in found.stderr
    assert "small.rig.yaml is a rig and was passed over" in found.stderr
    assert found.stderr.endswith("1 of 5 could not be done\n")


def test_a_rig_that_is_named_is_no_specimen(folder):
    found = run("mark", folder / "small.rig.yaml", folder / "clamped-reed.yaml")
    assert found.exit_code == 2
    assert "this is a rig file" in found.stderr
    assert "clamped reed" in found.stdout


def test_a_mistake_in_the_options_is_told_for_the_specimen_that_it_is_about():
    found = run("predict", REED, DISC, "--family", "torsion", "--modes", 1)
    assert found.exit_code == 2
    assert f"{DISC}: a disc has no torsion modes; leave --family out" in found.stderr
    assert "torsion" in found.stdout


def test_a_remark_that_several_share_is_told_once():
    found = run("predict", DISC, PLATE, "--modes", 1)
    assert "note: free disc, square plate: 3 rigid-body modes are not listed\n" in found.stderr


@pytest.mark.parametrize("command", ["draw", "report"])
def test_a_file_is_written_for_each(folder, command):
    ending = {"draw": "svg", "report": "md"}[command]
    found = run(command, folder, folder / f"{{name}}.{ending}", "--modes", 1)
    assert found.exit_code == 2  # for the bad one
    written = sorted(file.name for file in folder.glob(f"*.{ending}"))
    assert written == [f"clamped-reed.{ending}", f"free-disc.{ending}"]


def test_a_template_is_written_for_each(folder):
    found = run("mark", REED, DISC, "--modes", 1, "--template", folder / "{name}-nodes.svg")
    assert found.exit_code == 0
    assert (folder / "clamped-reed-nodes.svg").exists()
    assert (folder / "free-disc-nodes.svg").exists()


def test_one_name_for_several_files_is_refused(folder, tmp_path):
    found = run("draw", REED, DISC, tmp_path / "all.png")
    assert found.exit_code == 2
    assert "write {name} where the name of each stands" in found.stderr
    found = run("draw", REED, folder / "clamped-reed.yaml", tmp_path / "{name}.png")
    assert found.exit_code == 2
    assert "have one name, so their files would be one" in found.stderr
    assert not list(tmp_path.glob("*.png"))


def test_pairs_in_a_folder_are_checked_and_fitted(folder):
    found = run("check", folder, "--format", "json")
    (pair,) = json.loads(found.stdout)["specimens"]
    alone = run("check", REED, EXAMPLES / "clamped-reed.measured.yaml", "--format", "json")
    assert {k: v for k, v in pair.items() if k not in ("file", "measured_file")} == json.loads(
        alone.stdout
    )
    assert found.exit_code == alone.exit_code
    assert "free-disc.yaml has no list beside it and was passed over" in found.stderr
    fitted = run("fit", folder, "--format", "csv", "--write", folder / "{name}.fitted.yaml")
    assert fitted.stdout.startswith("specimen,file,measured_file,name,")
    assert (folder / "clamped-reed.fitted.yaml").exists()


# -- grids ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("jobs", [1, 2])
def test_a_grid_equals_single_predictions(tmp_path, jobs):
    found = run(
        "predict", REED, "--vary", "geometry.length=160, 200 mm", "--vary", "width=15, 25 mm",
        "--modes", 3, "--format", "json", "--jobs", jobs,
    )  # fmt: skip
    points = json.loads(found.stdout)["points"]
    assert len(points) == 4
    for number, (length, width) in enumerate(((160, 15), (160, 25), (200, 15), (200, 25))):
        file = tmp_path / f"{number}.yaml"
        text = REED.read_text(encoding="utf-8")
        text = text.replace("length: 180 mm", f"length: {length} mm")
        file.write_text(text.replace("width: 20 mm", f"width: {width} mm"), encoding="utf-8")
        alone = json.loads(run("predict", file, "--modes", 3, "--format", "json").stdout)
        assert points[number]["modes"] == alone["modes"]
        assert points[number]["values"] == {
            "geometry.length_m": length / 1e3,
            "geometry.section.width_m": width / 1e3,
        }


def test_a_grid_is_a_row_a_value_and_in_csv_a_row_a_mode():
    asked = ("predict", REED, "--vary", "thickness=1..2 mm/3", "--modes", 2)
    lines = run(*asked).stdout.splitlines()
    assert lines[0].split() == ["geometry.section.thickness", "flatwise", "1", "flatwise", "2"]
    assert lines[1].split() == ["mm", "Hz", "Hz"]
    assert [line.split()[0] for line in lines[3:]] == ["1", "1.5", "2"]
    rows = list(csv.DictReader(io.StringIO(run(*asked, "--format", "csv").stdout)))
    assert [row["geometry.section.thickness_m"] for row in rows] == [
        "0.001", "0.001", "0.0015", "0.0015", "0.002", "0.002",
    ]  # fmt: skip
    assert [row["rank"] for row in rows] == ["1", "2"] * 3


def test_a_point_that_cannot_be_solved_is_reported_and_the_rest_done(tmp_path):
    file = tmp_path / "strut.yaml"
    text = BAR.read_text(encoding="utf-8").replace("geometry:", "geometry:\n  tension: -1 N", 1)
    text = text.replace("start: free", "start: pinned").replace("end: free", "end: pinned")
    file.write_text(text, encoding="utf-8")
    found = run("predict", file, "--vary", "tension=-1e7, -10 N", "--modes", 1, "--format", "json")
    assert found.exit_code == 2
    data = json.loads(found.stdout)
    assert [one["values"]["geometry.tension_n"] for one in data["points"]] == [-10.0]
    assert "buckling" in data["failed"][0]["why"]
    assert "1 of 2 points could not be solved" in found.stderr


def test_every_mistake_in_what_is_varied_is_told_at_once():
    found = run("predict", REED, "--vary", "length=1..2 mm", "--vary", "lenght=1 mm")
    assert found.exit_code == 2
    assert found.stderr.count("--vary: ") == 2
    for wrong, message in (
        ((DISC, "--vary", "diameter=1,2 m"), "--vary takes one specimen; name one file"),
        (("--vary", "length=1,2 m", "--why"), "--why does not go with --vary; leave it out"),
        (("--picture", "p.png"), "--picture and --force belong to --vary; say what is varied"),
    ):
        assert message in run("predict", REED, *wrong).stderr


def test_the_picture_of_a_grid_can_be_read(tmp_path):
    from saltline.cli.prediction import Request
    from saltline.cli.vary import solved_at
    from saltline.files.specimen_file import load
    from saltline.many.grid import parse_varied, points_of
    from saltline.show.pictures import look
    from saltline.show.pictures_sheet import on_one_sheet
    from saltline.show.pictures_varied import varied_sheet

    specimen = load(REED)
    asked = ("length=150..200 mm/5", "boundary.start.rotation=10, 1000 N m/rad")
    varied = [parse_varied(specimen, text) for text in asked]
    request = Request(6, None, "timoshenko", (), True, is_brief=True)
    solved = [solved_at(request, specimen, varied, "reed", point) for point in points_of(varied)]
    with look():
        figure = on_one_sheet(varied_sheet(specimen.name, varied, solved))
        found = seen(figure)
    assert overlapping(found) == []
    assert min(found.sizes) >= 8.0
    assert "boundary.start.rotation = 10 N m/rad" in found.texts
    assert {"flatwise 1", "torsion 1"} <= set(found.texts)
    assert all(red == green == blue for red, green, blue in colours(figure))
    picture = tmp_path / "v.svg"
    done = run("predict", REED, "--vary", "length=150, 200 mm", "--modes", 1, "--picture", picture)
    assert done.exit_code == 0
    assert picture.read_text(encoding="utf-8").startswith("<?xml")
    assert run("predict", REED, "--vary", "length=1 m", "--picture", picture).exit_code == 2
