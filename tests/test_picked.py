"""Picks as a table, as JSON, and as a measured list that the other commands read."""

import json
import runpy
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from saltline.cli import main
from saltline.files.measured import read_measured
from saltline.show.output import written
from saltline.show.picked import as_list, list_rows, list_yaml, picked
from saltline.sweeps.line_up import lined_up
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording, at_rate

EXAMPLES = Path(__file__).parent.parent / "examples"
SWEEP = str(EXAMPLES / "clamped-reed.sweep.csv")
REED = str(EXAMPLES / "clamped-reed.yaml")
HZ = np.geomspace(20.0, 400.0, 3000)


def run(*arguments, **kwargs):
    return CliRunner().invoke(main, ["pick", *map(str, arguments)], **kwargs)


def found(**more):
    rng = np.random.default_rng(1)
    response = sum(HZ**2 / (f**2 - HZ**2 + 2j * 0.006 * f * HZ) for f in (60.0, 200.0))
    noise = 0.02 * (rng.standard_normal(HZ.size) + 1j * rng.standard_normal(HZ.size))
    return pick(Recording("a.csv", HZ, response + noise, **more))


def test_json_has_the_promised_keys_first_and_all_are_documented():
    one = found()
    data = json.loads(written(picked([one], lined_up([one], ())), "json"))
    assert list(data) == ["measured", "suspects", "recordings"]
    row = data["measured"][0]
    assert list(row)[:5] == [
        "frequency_hz", "damping_ratio", "quality_factor", "amplitude", "standard_error_hz",
    ]  # fmt: skip
    assert row["frequency_hz"] == pytest.approx(60.0, abs=0.01)
    assert row["quality_factor"] == pytest.approx(0.5 / row["damping_ratio"])
    assert row["phase_deg"] == pytest.approx(-90.0, abs=2.0)
    assert row["sweep_limit_part"] is None
    assert data["recordings"][0]["readings"] == HZ.size
    documented = (EXAMPLES.parent / "docs" / "sweeps.md").read_text(encoding="utf-8")
    for key in (*data, *row, *data["recordings"][0], "at_m", "sign", "kind", "row", "path", "why"):
        assert f"`{key}`" in documented, key


def test_the_table_has_as_many_digits_as_the_errors_leave():
    one = pick(at_rate(found().recording, octave_per_s=0.001))
    result = picked([one], lined_up([one], ()))
    text = written(result, "table")
    assert "sweep" in text
    assert "nodes" not in text
    shown = result.tables[0].rows[0]["frequency"]
    assert shown.startswith("60.0")
    error = one.picks[0].frequency_error_hz
    assert 9.5 <= error * 10.0 ** len(shown.partition(".")[2]) < 99.5  # two digits of it


def test_the_list_is_read_by_check_in_either_form():
    one = found()
    rows = list_rows([one], lined_up([one], ()))
    for text, name in (
        (written(as_list(rows), "csv"), "a.csv"),
        (list_yaml(rows, ["a"]), "a.yaml"),
    ):
        read = read_measured(text, name).rows
        assert [row.frequency_hz for row in read] == pytest.approx([60.0, 200.0], rel=1e-4)
        assert all(0.0 < row.uncertainty_hz < 0.1 for row in read)


def test_a_suspicion_becomes_a_note_in_the_list():
    result = run(SWEEP, "--format", "csv")
    assert result.exit_code == 0
    notes = [row.note for row in read_measured(result.stdout, "a.csv").rows]
    assert notes == ["", "perhaps harmonic", "", "perhaps harmonic", "", ""]


def test_the_example_is_the_one_that_its_script_makes(tmp_path, monkeypatch):
    made = tmp_path / "made.csv"
    monkeypatch.setattr(sys, "argv", ["sweep", str(made)])
    runpy.run_path(str(EXAMPLES / "clamped-reed.sweep.py"), run_name="__main__")
    new, old = (np.loadtxt(p, delimiter=",", skiprows=2) for p in (made, SWEEP))
    assert new == pytest.approx(old, rel=2e-3)


def test_the_examples_resonances_are_those_that_were_put_in():
    """Flatwise 1 to 3 and torsion 1 of the reed, falling by 0.2 % from first to last."""
    data = json.loads(run(SWEEP, "--format", "json").stdout)
    asked = ["predict", REED, "--all", "--modes", "6", "--format", "json"]
    modes = json.loads(CliRunner().invoke(main, asked).stdout)["modes"]
    due = [m["frequency_hz"] for m in modes if m["family"] != "edgewise"][:4]
    rows = [row for row in data["measured"] if row["amplitude"] > 2.0]
    assert [row["frequency_hz"] for row in rows] == pytest.approx(due, rel=2.5e-3)
    assert [row["damping_ratio"] for row in rows] == pytest.approx([0.009] * 4, rel=0.01)
    kinds = [(one["kind"], one["row"]) for one in data["suspects"]]
    assert kinds == [("mains hum", None), ("harmonic", 2), ("harmonic", 4)]


# -- the command ----------------------------------------------------------------------------------


def test_files_are_written_whole_and_never_over_another(tmp_path):
    pad, picture = tmp_path / "pad.yaml", tmp_path / "sweep.svg"
    result = run(SWEEP, "--list", pad, "--picture", picture)
    assert result.exit_code == 0
    assert f"wrote {pad}" in result.stderr
    assert pad.read_text(encoding="utf-8").startswith("# Picked out of ")
    assert picture.read_text(encoding="utf-8").lstrip().startswith("<?xml")
    again = run(SWEEP, "--list", pad)
    assert again.exit_code == 2
    assert "the file exists already" in again.stderr
    assert again.stdout == ""
    assert run(SWEEP, "--list", pad, "--force").exit_code == 0
    check = CliRunner().invoke(main, ["check", REED, str(pad), "--all", "--format", "json"])
    named = [row["family"] for row in json.loads(check.stdout)["measured"]]
    assert [name for name in named if name] == ["flatwise", "flatwise", "torsion", "flatwise"]


def test_other_endings_are_refused_before_anything_is_read(tmp_path):
    result = run("none.csv", "--list", tmp_path / "pad.txt")
    assert result.exit_code == 2
    assert "the name must end in .yaml, .yml or .csv" in result.stderr
    result = run("none.csv", "--picture", tmp_path / "pad.gif")
    assert "the name must end in .png, .svg or .pdf" in result.stderr


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--rate", "fast"], '\'fast\' must be a sweep rate, like "1 octave/min" or "2 Hz/s"'),
        (["--column", "foo=1"], "'foo=1' must be NAME=HEADING, with NAME frequency_hz,"),
        (["--at", "10 mm", "--at", "20 mm"], "--at is given 2 times for 1 files"),
        (["--at", "-1 mm"], "-1 mm must not be negative"),
        (["--above", "590 Hz"], "fewer than 16 readings lie in this range"),
    ],
)
def test_bad_usage_is_refused(arguments, message):
    result = run(SWEEP, *arguments)
    assert result.exit_code == 2
    assert message in result.stderr
    assert "Traceback" not in result.output


def test_a_range_and_a_rate_are_obeyed():
    limits = ["--above", "100 Hz", "--below", "300 Hz", "--rate", "0.4 Hz/s"]
    data = json.loads(run(SWEEP, *limits, "--format", "json").stdout)
    assert [round(row["frequency_hz"]) for row in data["measured"]] == [163, 228]
    assert data["measured"][0]["sweep_limit_part"] == pytest.approx(0.4 / 7.74, rel=0.02)
    assert data["recordings"][0]["low_hz"] >= 100.0


def test_a_recording_of_noise_has_nothing_to_write(tmp_path):
    rng = np.random.default_rng(2)
    lines = [f"{f:.3f},{abs(a):.4f}" for f, a in zip(HZ, rng.standard_normal(HZ.size), strict=True)]
    file = tmp_path / "noise.csv"
    file.write_text("frequency_hz,amplitude\n" + "\n".join(lines), encoding="utf-8")
    result = run(file)
    assert result.exit_code == 0
    assert result.stdout.startswith("no resonance stands clear of the noise")
    result = run(file, "--list", tmp_path / "pad.csv")
    assert result.exit_code == 2
    assert "there is nothing to write" in result.stderr
    assert not (tmp_path / "pad.csv").exists()


def test_a_recording_comes_through_a_pipe():
    result = run("-", "--format", "csv", input=Path(SWEEP).read_bytes())
    assert result.exit_code == 0
    assert len(read_measured(result.stdout, "a.csv").rows) == 6


def test_several_sensors_count_the_nodes(tmp_path):
    def motion(x, f):
        shapes = {60.0: x, 200.0: x * (x - 0.14) / 0.03}
        return sum(s * f**2 / (g**2 - f**2 + 2j * 0.006 * g * f) for g, s in shapes.items())

    arguments = []
    rng = np.random.default_rng(3)
    for k, x in enumerate((0.05, 0.08, 0.11, 0.16, 0.18)):
        response = motion(x, HZ) + 0.002 * rng.standard_normal(HZ.size)
        file = tmp_path / f"{k}.csv"
        table = np.column_stack([HZ, response.real, response.imag])
        np.savetxt(file, table, "%.6g", ",", header="frequency_hz,real,imaginary", comments="")
        arguments += [file, "--at", f"{1e3 * x:.0f} mm"]
    result = run(*arguments, "--format", "csv")
    assert result.exit_code == 0
    rows = read_measured(result.stdout).rows
    assert [dict(row.counts) for row in rows] == [{"nodes": 0}, {"nodes": 1}]
