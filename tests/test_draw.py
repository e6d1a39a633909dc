"""`draw` and `mark --template` at the command line: files, endings, and what stops them."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from saltline.cli import main
from saltline.cli.picture_files import MOST_ON_TEMPLATE
from saltline.show.template import MOST_MODES
from vector_files import pdf_pages, svg_lines

EXAMPLES = Path(__file__).parent.parent / "examples"
REED, SHEET, DISC, BAR = (
    str(EXAMPLES / f"{name}.yaml")
    for name in ("clamped-reed", "square-plate", "free-disc", "free-bar")
)
RINGS = str(EXAMPLES / "free-disc.measured.csv")
PAD = str(EXAMPLES / "clamped-reed.measured.yaml")


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def run(*arguments):
    return CliRunner().invoke(main, arguments, terminal_width=500)


def refused(result, *words):
    """A usage or input error in one clear line, with no file left behind."""
    assert result.exit_code == 2
    assert result.exception is None or isinstance(result.exception, SystemExit)
    for word in words:
        assert word in result.stderr
    assert "Traceback" not in result.stderr


# -- pictures -------------------------------------------------------------------------------------


def test_without_a_file_the_picture_is_named_after_the_specimen():
    result = run("draw", REED, "--modes", "1")
    assert result.exit_code == 0
    assert result.stdout == ""
    assert "wrote clamped-reed.png" in result.stderr
    with Image.open("clamped-reed.png") as picture:
        assert picture.format == "PNG"
        assert picture.size[0] / 200.0 * 25.4 == pytest.approx(180.0, abs=0.2)


@pytest.mark.parametrize("ending", ["svg", "pdf", "PNG"])
def test_the_ending_says_the_kind(ending):
    assert run("draw", DISC, f"disc.{ending}", "--modes", "1").exit_code == 0
    content = Path(f"disc.{ending}").read_bytes()
    assert content.startswith({"svg": b"<?xml", "pdf": b"%PDF", "PNG": b"\x89PNG"}[ending])


def test_a_map_and_a_comparison_take_a_list():
    assert run("draw", REED, "map.pdf", "--as", "map", "--measured", PAD).exit_code == 0
    assert run("draw", REED, "fit.pdf", "--as", "comparison", "--measured", PAD).exit_code == 0
    assert len(pdf_pages(Path("map.pdf").read_bytes())) == 1


def test_a_moving_picture_is_written_with_a_caution():
    result = run("draw", REED, "--animate", "reed.gif", "--modes", "2", "--rate", "2 Hz")
    assert result.exit_code == 0
    assert "can trigger seizures in people with photosensitive epilepsy" in result.stderr
    with Image.open("reed.gif") as picture:
        assert 1000.0 / (picture.n_frames * picture.info["duration"]) == pytest.approx(2.0, rel=0.1)


def test_a_forced_shape_is_animated_and_an_assumed_damping_is_said():
    result = run("draw", REED, "--animate", "a.gif", "--at", "160 Hz", "--rate", "2.9 Hz")
    assert result.exit_code == 0
    assert "damping" not in result.stderr
    bolted = Path(EXAMPLES / "clamped-reed.yaml").read_text(encoding="utf-8")
    Path("reed.yaml").write_text(bolted.replace("damping_ratio: 0.3 %\n", ""), encoding="utf-8")
    result = run("draw", "reed.yaml", "--animate", "b.gif", "--at", "160 Hz", "--rate", "2.9 Hz")
    assert "a ratio of 0.5 % is assumed, --damping gives another" in result.stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((REED, "x.jpg"), ("x.jpg: the name must end in .png, .svg or .pdf",)),
        ((REED, "x"), ("x: the name must end in",)),
        ((REED, "no/x.png"), ("no/x.png: there is no folder no; make it first",)),
        ((REED, "x.png", "--as", "relief"), ("a beam has no relief",)),
        ((REED, "x.png", "--as", "comparison"), ("--as comparison needs --measured",)),
        ((REED, "x.png", "--measured", PAD), ("--measured needs --as map",)),
        ((REED, "x.png", "--modes", "2", "--below", "1 kHz"), ("say the same thing twice",)),
        ((REED, "x.png", "--below", "1 Hz"), ("no mode lies in this range",)),
        ((REED, "x.png", "--at", "100 Hz"), ("--at needs --animate FILE.gif",)),
        ((REED, "x.png", "--damping", "1 %"), ("--damping needs --at",)),
        (
            (REED, "--animate", "x.gif", "--at", "26 Hz", "--damping", "0.5"),
            ("damping ratio 0.5 means 50 %; write the percent sign to say which is meant",),
        ),
        ((REED, "x.png", "--animate", "x.gif"), ("ask for one at a time",)),
        ((REED, "--animate", "x.png"), ("x.png: the name must end in .gif",)),
        ((REED, "--animate", "x.gif", "--as", "map"), ("--animate does not go with --as map",)),
        ((REED, "--animate", "x.gif", "--rate", "3 Hz"), ("photosensitive epilepsy",)),
        ((REED, "--animate", "x.gif", "--rate", "0.01 Hz"), ("0.01 Hz is not from 0.1 Hz",)),
        ((REED, "--animate", "x.gif", "--at", "9 Hz", "--modes", "1"), ("leave --modes",)),
        ((REED, "--animate", "x.gif", "--at", "1 MHz"), ("none to trust; up to",)),
        ((REED, "x.png", "--rate", "2 Hz"), ("--rate needs --animate FILE.gif",)),
        ((REED, "x.gif"), ("a moving picture is asked for with --animate x.gif",)),
        ((REED, "x.png", "--modes", "1-400"), ("400 modes are too many for one drawing",)),
        ((REED, "x.png", "--as", "map", "--measured", RINGS), ("diameters is not counted",)),
        ((BAR, "--animate", "x.gif", "--at", "100 Hz"), ("nothing holds the specimen",)),
        ((SHEET, "x.png", "--family", "torsion"), ("a plate has no torsion modes",)),
        (("none.yaml", "x.png"), ("none.yaml: there is no such file",)),
        ((DISC, "x.png", "--as", "comparison", "--measured", PAD), ("nodes is not counted",)),
    ],
)
def test_what_cannot_be_drawn_is_said_in_words(arguments, words, tmp_path):
    refused(run("draw", *arguments), *words)
    assert list(tmp_path.iterdir()) == []


# -- files ----------------------------------------------------------------------------------------


def test_an_existing_file_is_kept_but_with_force():
    Path("x.png").write_text("mine", encoding="utf-8")
    refused(run("draw", REED, "x.png", "--modes", "1"), "x.png: the file exists already")
    assert Path("x.png").read_text(encoding="utf-8") == "mine"
    assert run("draw", REED, "x.png", "--modes", "1", "--force").exit_code == 0
    assert Path("x.png").read_bytes()[:4] == b"\x89PNG"


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES])
def test_a_full_disk_or_a_closed_folder_is_said_and_leaves_nothing(number, monkeypatch, tmp_path):
    def fail(*args, **kwargs):
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr("os.fdopen", fail)
    result = run("mark", REED, "--modes", "2", "--template", "t.pdf")
    refused(result, f"t.pdf: cannot be written: {os.strerror(number)}")
    assert result.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_of_several_files_none_is_left_where_the_second_cannot_be_written(monkeypatch, tmp_path):
    opened, real = [], os.fdopen

    def fail_later(*args, **kwargs):
        opened.append(args)
        if len(opened) > 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(*args, **kwargs)

    monkeypatch.setattr("os.fdopen", fail_later)
    result = run("mark", BAR, "--modes", "1", "--template", "t.svg", "--paper", "a4")
    refused(result, "t-2.svg: cannot be written: No space left on device")
    assert len(opened) == 2
    assert list(tmp_path.iterdir()) == []


# -- templates ------------------------------------------------------------------------------------


def test_a_template_is_written_beside_the_table():
    plain = run("mark", REED, "--modes", "2-3")
    result = run("mark", REED, "--modes", "2-3", "--template", "t.pdf")
    assert result.exit_code == 0
    assert result.stdout == plain.stdout
    assert "wrote t.pdf" in result.stderr
    assert len(pdf_pages(Path("t.pdf").read_bytes())) == 1


def test_a_large_template_is_tiled_in_a_pdf_and_whole_in_an_svg():
    assert run("mark", BAR, "--modes", "1", "--template", "t.pdf").exit_code == 0
    assert run("mark", BAR, "--modes", "1", "--template", "t.svg").exit_code == 0
    assert len(pdf_pages(Path("t.pdf").read_bytes())) == 2
    (width, _), groups = svg_lines(Path("t.svg").read_bytes())
    assert width > 400.0
    assert "mode-1-nodes" in groups
    result = run("mark", BAR, "--modes", "1", "--template", "u.svg", "--paper", "Letter")
    assert [line for line in result.stderr.splitlines() if line.startswith("wrote")] == [
        "wrote u-1.svg", "wrote u-2.svg",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--template", "t.png"), "t.png: the name must end in .pdf or .svg"),
        (("--template", "t.pdf", "--modes", "1-11"), "at most 10 modes fit on one template and 11"),
        (("--paper", "a4"), "--paper and --force belong to a template"),
        (("--template", "no/t.pdf"), "there is no folder no"),
    ],
)
def test_a_template_that_cannot_be_is_refused(options, words, tmp_path):
    result = run("mark", REED, *options)
    refused(result, words)
    assert result.stdout == ""
    assert list(tmp_path.iterdir()) == []


def test_the_command_line_knows_how_many_modes_a_template_holds():
    assert MOST_ON_TEMPLATE == MOST_MODES


# -- what is loaded -------------------------------------------------------------------------------


def test_marking_without_a_template_loads_no_matplotlib():
    code = (
        "import sys\nfrom saltline.cli import main\n"
        "try:\n    main(sys.argv[1:])\nfinally:\n"
        "    assert 'matplotlib' not in sys.modules\n    sys.stderr.write('all right')\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, "mark", REED, "--modes", "2"],
        capture_output=True, text=True, timeout=120, check=True,
    )  # fmt: skip
    assert done.stderr.endswith("all right")
