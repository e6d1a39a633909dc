"""What the commands share: what is said of options that cannot be, or that change nothing."""

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import COMMANDS, main
from saltline.cli.common import RefusedError
from saltline.cli.writing import write_all

EXAMPLES = Path(__file__).parent.parent / "examples"
REED, SHEET = (str(EXAMPLES / name) for name in ("clamped-reed.yaml", "square-plate.yaml"))


def run(*arguments):
    return CliRunner().invoke(main, arguments, terminal_width=500)


@pytest.mark.parametrize(
    ("text", "example"), [("1-5", "5"), ("2-4,7", "7"), ("many", "8"), ("0", "8"), ("401", "8")]
)
@pytest.mark.parametrize("command", [["predict", REED], ["check", REED, "-"]])
def test_a_number_of_modes_that_is_none_is_answered_with_what_to_write(command, text, example):
    result = run(*command, "--modes", text)
    assert result.exit_code == 2
    assert (
        f"{text!r} is no number of modes from 1 to 400; write how many of the lowest are wanted, "
        f'for example "--modes {example}"'
    ) in result.stderr


@pytest.mark.parametrize("command", ["predict", "mark"])
def test_options_for_beams_alone_are_remarked_on_a_flat_specimen(command):
    notes = run(command, SHEET, "--modes", "1", "--theory", "euler", "--all").stderr
    assert "note: --theory has no effect: a plate is predicted by thin-plate theory\n" in notes
    assert "note: --all has no effect: a plate has one family of modes\n" in notes
    assert "no effect" not in run(command, SHEET, "--modes", "1").stderr
    assert "no effect" not in run(command, REED, "--theory", "euler", "--all").stderr


def test_a_family_that_a_flat_specimen_has_not_is_refused():
    result = run("predict", SHEET, "--family", "torsion")
    assert result.exit_code == 2
    assert "a plate has no torsion modes; leave --family out" in result.stderr


@pytest.mark.parametrize(
    ("slip", "meant"), [("pedict", "predict"), ("Mark", "mark"), ("chek", "check"), ("xyzzy", "")]
)
def test_of_a_slip_in_the_command_the_nearest_name_is_said(slip, meant):
    result = run(slip)
    assert result.exit_code == 2
    hint = f"did you mean {meant!r}? " if meant else ""
    assert (
        f"there is no command {slip!r}; {hint}the commands are {', '.join(COMMANDS)}\n"
        in result.stderr
    )


def test_predict_gives_positions_in_inches():
    metric, imperial = (
        run("predict", REED, "--modes", "2", *option).stdout.splitlines()
        for option in ((), ("--inch",))
    )
    assert (metric[1].split()[-3], imperial[1].split()[-3]) == ("mm", "in")
    assert float(imperial[4].split()[-1]) == pytest.approx(
        float(metric[4].split()[-1]) / 25.4, abs=0.003
    )
    assert "centre of gravity at 3.543 in" in imperial[-1]


# -- writing --------------------------------------------------------------------------------------


def test_of_several_files_all_are_written_or_all_is_as_before(tmp_path, capsys):
    kept, lost = tmp_path / "kept.pdf", tmp_path / "none" / "lost.pdf"
    kept.write_bytes(b"before")
    with pytest.raises(RefusedError):
        write_all([(kept, b"after"), (lost, b"after")], force=True)
    assert capsys.readouterr().err == f"{lost}: cannot be written: No such file or directory\n"
    assert [path.name for path in tmp_path.iterdir()] == ["kept.pdf"]
    assert kept.read_bytes() == b"before"
    write_all([(kept, b"after"), (tmp_path / "other.pdf", b"new")], force=True)
    assert (kept.read_bytes(), (tmp_path / "other.pdf").read_bytes()) == (b"after", b"new")
    assert len(list(tmp_path.iterdir())) == 2


def test_what_is_no_plain_file_is_never_replaced(tmp_path, capsys):
    pipe = tmp_path / "pipe.pdf"
    os.mkfifo(pipe)
    for path, why in ((pipe, "this is no plain file"), (tmp_path, "this is a directory")):
        with pytest.raises(RefusedError):
            write_all([(path, b"after")], force=True)
        assert why in capsys.readouterr().err
    assert stat.S_ISFIFO(pipe.stat().st_mode)


def test_writing_over_a_file_keeps_its_rights_and_a_link_stays_one(tmp_path):
    real, link = tmp_path / "real.pdf", tmp_path / "link.pdf"
    real.write_bytes(b"before")
    real.chmod(0o640)
    link.symlink_to(real)
    write_all([(link, b"after")], force=True)
    assert link.is_symlink()
    assert real.read_bytes() == b"after"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


@pytest.mark.parametrize("command", COMMANDS)
def test_a_name_that_is_too_long_is_an_error_of_the_input(command):
    if command != "materials":
        first = ("beam",) if command == "new" else ()
        result = run(command, *first, "n" * 300 + ".yaml", *(["x.csv"] * (command == "fit")))
        assert result.exit_code == 2
        assert isinstance(result.exception, SystemExit)
        assert "File name too long" in result.stderr


def run_to(output, *arguments):
    """A command as a process that writes to such a file, or to none."""
    return subprocess.run(
        [sys.executable, "-m", "saltline", *arguments],
        stdout=output,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=None if output else lambda: os.close(1),
        timeout=60,
    )


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device that is full")
def test_a_full_disk_is_said_in_words():
    with Path("/dev/full").open("w") as full:
        done = run_to(full, "predict", REED, "--modes", "1")
    assert done.returncode == 2
    assert done.stderr == "the output: No space left on device\n"


def test_without_a_standard_output_nothing_is_written_and_nothing_fails():
    done = run_to(None, "predict", REED, "--modes", "1")
    assert done.returncode == 0
    assert all(line.startswith("note: ") for line in done.stderr.splitlines())


def test_an_interrupt_ends_a_command_with_a_line_of_its_own(tmp_path, monkeypatch):
    """128 + 2, as shells have it, and neither the status of a misfit nor of wrong input."""
    import saltline.cli.common as common

    def interrupted(path):
        raise KeyboardInterrupt

    monkeypatch.setattr(common, "load_specimen", interrupted)
    monkeypatch.setattr("saltline.cli.report.load_specimen", interrupted)
    target = tmp_path / "reed.pdf"
    result = run("report", REED, str(target))
    assert result.exit_code == 130
    assert result.stderr.endswith("interrupted; no file was left half done\n")
    assert list(tmp_path.iterdir()) == []
