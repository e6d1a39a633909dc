"""`pick` from a recorded sweep to a list that `check` takes."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import main
from saltline.files.measured import load_measured

EXAMPLES = Path(__file__).parent.parent / "examples"
SWEEP = str(EXAMPLES / "clamped-reed.sweep.csv")


def run(*arguments: str):
    return CliRunner().invoke(main, ["pick", *arguments])


def test_what_the_generator_put_in_comes_out():
    """The scenario's script adds the reed's modes, hum and harmonics."""
    result = run(SWEEP, "--format", "json")
    assert result.exit_code == 0
    rows = json.loads(result.stdout)["measured"]
    found = [row["frequency_hz"] for row in rows]
    for hz in (26.03, 162.89, 455.6):
        assert min(abs(f / hz - 1.0) for f in found) < 1e-3
    for row in rows:
        assert row["quality_factor"] == pytest.approx(0.5 / row["damping_ratio"], rel=1e-9)
        assert row["standard_error_hz"] > 0.0
    assert "mains" in run(SWEEP).stdout


def test_the_list_is_one_that_check_reads(tmp_path):
    for ending in ("yaml", "csv"):
        file = tmp_path / f"pad.{ending}"
        assert run(SWEEP, "--list", str(file)).exit_code == 0
        assert len(load_measured(str(file)).rows) == 6
        again = run(SWEEP, "--list", str(file))
        assert again.exit_code == 2
        assert "--force" in again.output
    checked = CliRunner().invoke(
        main, ["check", str(EXAMPLES / "clamped-reed.yaml"), str(tmp_path / "pad.csv")]
    )
    assert checked.exit_code < 2
    assert "flatwise" in checked.stdout


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "empty"),
        ("frequency_hz,amplitude\n", "0 readings"),
        ("frequency_hz,amplitude\n10,x\n11,1\n", "pad.csv:2"),
        ("a,b\n1,2\n", "frequency_hz"),
    ],
)
def test_a_file_that_is_no_sweep_is_refused_in_a_line(tmp_path, text, said):
    file = tmp_path / "pad.csv"
    file.write_text(text)
    result = run(str(file))
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output


def test_a_recording_is_never_written_over(tmp_path):
    path = tmp_path / "sweep.csv"
    path.write_bytes(Path(SWEEP).read_bytes())
    result = run(str(path), "--list", str(path), "--force")
    assert result.exit_code == 2
    assert "this is the recording itself" in result.stderr
    assert path.read_bytes() == Path(SWEEP).read_bytes()


def test_a_clock_beside_the_frequencies_is_left_out(tmp_path):
    rows = Path(SWEEP).read_text(encoding="utf-8").split("\n")
    rows = [row for row in rows if not row.startswith("#")]
    path = tmp_path / "clock.csv"
    path.write_text(
        "\n".join(
            [
                f"Time,{rows[0]}",
                *(f"12:00:{k % 60:02d}.000,{row}" for k, row in enumerate(rows[1:]) if row),
            ]
        ),
        encoding="utf-8",
    )
    assert run(str(path)).exit_code == 0
