"""`saltline check` as a user meets it: what it prints, what it refuses, and what its JSON holds."""

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import main

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
REED = str(EXAMPLES / "clamped-reed.yaml")
SQUARE = str(EXAMPLES / "square-plate.yaml")
PAD = "frequency_hz,nodes\n25.6,0\n160.1,1\n449,2\n1453,5\n"


def run(*arguments, given=None):
    return CliRunner().invoke(main, list(map(str, arguments)), input=given)


def table_of(*arguments, given):
    return run("check", *arguments, "-", given=given).stdout


def data_of(*arguments, given):
    return json.loads(run("check", *arguments, "-", "--format", "json", given=given).stdout)


def test_what_is_due_and_how_sure_it_is_stand_in_the_table():
    head, units, _, *rows = table_of(REED, given=PAD).splitlines()[:7]
    assert head.split()[:3] == ["row", "measured", "nodes"]
    assert units.split()[:3] == ["Hz", "counted", "due"]
    assert [row.split()[2:4] for row in rows] == [["0", "0"], ["1", "1"], ["2", "2"], ["5", "4"]]
    assert all(row.split()[-1] == "99" for row in rows)


def test_json_holds_the_agreed_fields_and_the_added_ones():
    found = data_of(REED, given=PAD)
    assert found.keys() == {"specimen", "scale", "verdict", "measured", "unseen", "remarks"}
    agreed = {
        "frequency_hz", "nodes", "rank", "family", "order", "predicted_hz", "difference_percent",
        "finding", "why",
    }  # fmt: skip
    added = {
        "predicted_counts", "low_hz", "high_hz", "scaled_hz", "residual_percent", "confidence",
        "runner_up", "note",
    }  # fmt: skip
    for row in found["measured"]:
        assert row.keys() == agreed | added
    last = found["measured"][3]
    assert last["predicted_counts"] == {"nodes": 4}
    assert last["low_hz"] < last["predicted_hz"] < last["high_hz"]
    assert 0.9 < last["confidence"] < 1.0
    assert last["runner_up"] is None
    for item in found["unseen"]:
        assert {"rank", "family", "order", "predicted_hz", "why"} <= item.keys()


def test_a_runner_up_is_told():
    pad = "frequency_hz\n110.9\n161.7\n205.6\n288.4\n513\n"
    row = data_of(SQUARE, given=pad)["measured"][3]
    assert (row["rank"], row["runner_up"]["rank"]) == (4, 5)
    assert row["confidence"] == pytest.approx(0.5, abs=0.05)
    assert row["runner_up"]["confidence"] == pytest.approx(0.5, abs=0.05)
    assert re.search(r"plate 5 \((49|50|51) %\)", table_of(SQUARE, given=pad))


def test_an_unexplained_row_has_no_mode_and_no_confidence():
    row = data_of(REED, given=PAD + "700,\n")["measured"][4]
    named = ("rank", "family", "order", "predicted_hz", "predicted_counts", "confidence")
    assert all(row[key] is None for key in named)


def test_a_lone_line_of_hum_is_no_statement():
    done = run("check", REED, "-", given="frequency_hz\n50\n")
    assert done.exit_code == 1
    assert "one line without a count cannot name a mode" in done.stdout
    assert "the mains frequency of 50 Hz" in done.stdout
    assert done.stdout.rstrip().endswith("does not fit")


def test_a_frequency_outside_its_band_is_noted():
    pad = "frequency_hz\n24\n150.5\n421\n824\n"
    assert "all 4 rows that have a name lie outside the 95 % band" in table_of(REED, given=pad)
    assert "band" not in table_of(REED, given=PAD)


def test_csv_has_what_is_due_beside_what_was_counted():
    head, *rows = run("check", REED, "-", "--format", "csv", given=PAD).stdout.splitlines()
    columns = head.split(",")
    assert columns[1:4] == ["frequency_hz", "nodes", "due_nodes"]
    assert rows[3].split(",")[2:4] == ["5", "4"]


def test_files_in_exchanged_order_are_recognised(tmp_path):
    pad = tmp_path / "pad.csv"
    pad.write_text(PAD)
    done = run("check", pad, REED)
    assert done.exit_code == 2
    assert done.stderr == (
        f"{pad}: this is a measured list; the specimen's file comes first, and then the list\n"
    )
    done = run("check", REED, REED)
    assert done.exit_code == 2
    assert "this is a specimen" in done.stderr
    done = run("check", tmp_path / "none.yaml", pad)
    assert "none.yaml: there is no such file; check its name and directory" in done.stderr


def test_a_rig_explains_what_was_not_seen(tmp_path):
    rig = tmp_path / "bench.rig.yaml"
    rig.write_text(
        "exciter: {force: 100 N, stroke: 10 mm, moving_mass: 0.1 kg,\n"
        "  lowest_frequency: 30 Hz, highest_frequency: 2 kHz}\n"
        "sensor: {mass: 1 g, at: 116 mm}\n"
    )
    pad = "frequency_hz,nodes\n160.1,1\n449,2\n1453,4\n"
    done = run("check", REED, "-", "--rig", rig, "--format", "json", given=pad)
    why = {item["order"]: item["why"] for item in json.loads(done.stdout)["unseen"]}
    assert why[1] == "below the exciter's range"
    assert why[4] == "the sensor sits on its node"  # the middle one of three
    assert why[6].startswith("above the exciter's range")
    done = run("check", REED, "-", "--rig", tmp_path / "none.yaml", given=pad)
    assert done.exit_code == 2
    assert "there is no such file" in done.stderr


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("frequency_hz\nabc\n", ':2:1: frequency_hz "abc" is not a number'),
        ("frequency_hz\n26\n-5\n", ':3:1: frequency_hz "-5" must be more than zero'),
        ("frequency_hz\n26.1\n164\n26.1\n", ":4:1: the frequency 26.1 Hz stands in lines 2 and 4"),
        ("", ": the list is empty"),
        ("frequency_hz\n" + "1\n2\n" * 50_000, ": the list has more than 2,000 rows"),
        (
            "nodes,frequency_hz\n164,1\n459,2\n",
            ":1:1: the columns frequency_hz and nodes look exch",
        ),
        ("f [MHz]\n1\n", ':1:1: unknown column "f [MHz]"; if it is in hertz, name it'),
        ('frequency_hz\n"26,1"\n', ':2:1: frequency_hz "26,1" has a comma in its number; write'),
    ],
)
def test_a_bad_list_is_refused_with_its_line(given, said):
    done = run("check", REED, "-", given=given)
    assert done.exit_code == 2
    assert f"standard input{said}" in done.stderr
    assert "Traceback" not in done.output
    assert done.stdout == ""


def test_counts_of_another_kind_are_complained_of_once_each():
    done = run("check", REED, "-", given="frequency_hz,lines_x,lines_y\n26,0,0\n164,1,0\n459,,1\n")
    assert done.exit_code == 2
    assert done.stderr.splitlines() == [
        "standard input:2:1: lines_x is not counted on a beam (nor in 1 more row); there it is "
        "nodes",
        "standard input:2:1: lines_y is not counted on a beam (nor in 2 more rows); there it is "
        "nodes",
    ]


def test_of_many_rows_of_one_finding_the_first_are_spoken_of():
    lines = "".join(f"{20 + 3.7 * k:.1f},9\n" for k in range(300))
    done = run("check", REED, "-", given=f"frequency_hz,nodes\n{lines}")
    said = [line for line in done.stdout.splitlines() if ", unexplained: " in line]
    assert len(said) == 10
    assert "... and 290 more rows of the finding unexplained" in done.stdout


SOFT = """
kind: beam
material: steel
geometry: {length: 180 mm, section: {shape: rectangle, width: 20 mm, thickness: 2 mm}}
boundary: {start: clamped, end: free}
"""


def test_a_clamp_that_gives_is_offered_where_it_explains_the_list(tmp_path):
    """The list is that of the same strip in a clamp of 42 N m/rad, read to 0.2 Hz."""
    from saltline.files.specimen_file import read_specimen
    from saltline.solver import find_modes

    soft = SOFT.replace("start: clamped", "start: {deflection: rigid, rotation: 42 N m/rad}")
    found = find_modes(read_specimen(soft), count=5).modes
    pad = "".join(f"{mode.frequency_hz:.0f},{k}\n" for k, mode in enumerate(found))
    strip = tmp_path / "strip.yaml"
    strip.write_text(SOFT)
    done = run("check", strip, "-", given=f"frequency_hz,nodes\n{pad}")
    (said,) = re.findall(
        r"a clamp that gives, some ([0-9.]+) N m/rad, would explain all 5 rows", done.stdout
    )
    assert float(said) == pytest.approx(42.0, rel=0.1)
    assert "row 1 is it where the clamp gives: see below" in done.stdout


def test_no_softer_clamp_is_offered_where_it_explains_nothing(tmp_path):
    """All alike off, or held at no end, or a list that is made of anything."""
    strip = tmp_path / "strip.yaml"
    strip.write_text(SOFT)
    for pad in ("45.9,0\n287.2,1\n803.5,2\n1572,3\n2595,4\n", "61,\n171,\n460,\n999,\n1500,\n"):
        done = run("check", strip, "-", given=f"frequency_hz,nodes\n{pad}")
        assert done.exit_code in (0, 1)
        assert "a clamp that gives, some" not in done.stdout


BAR = SOFT.replace("start: clamped", "start: free")


def test_modes_that_are_due_at_one_to_two_are_no_harmonics(tmp_path):
    """Torsion of a free bar lies at 1 : 2 : 3 (Weaver, Timoshenko and Young 1990, ch. 5)."""
    bar = tmp_path / "bar.yaml"
    bar.write_text(BAR)
    said = table_of(bar, "--family", "torsion", given="frequency_hz\n1703\n3405\n5108\n")
    assert "harmonic" not in said
    assert said.rstrip().endswith("\nfits")
    seen = "frequency_hz,family\n1703,torsion\n3405,torsion\n5108,torsion\n"
    assert "harmonic" not in table_of(bar, given=seen)
    assert "harmonic" in table_of(bar, given="frequency_hz,nodes\n324.5,2\n649,\n894,3\n1753,4\n")
