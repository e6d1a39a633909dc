"""Reports: what is on the sheets, how it is set on pages, the files, and what is refused."""

from __future__ import annotations

import errno
import hashlib
import io
import os
import re
import tempfile
import zlib
from dataclasses import replace
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.cli import main
from saltline.cli.common import unit_of_length
from saltline.cli.report_findings import Request, findings_of, read_inputs
from saltline.files.specimen_file import load
from saltline.planning.cautions import CAUTIONS
from saltline.show.pictures import look
from saltline.show.report import report_of
from saltline.show.report_flow import Run, Strip, height_of, paginate
from saltline.show.report_markdown import escaped, fenced, markdown
from saltline.show.report_marks import marks_table
from saltline.show.report_parts import Grid, Report
from saltline.show.report_pdf import figures_of, report_pdf
from saltline.show.report_table import set_table, width_of
from saltline.show.report_type import BODY, CELL, MONO, shortened, wrap
from saltline.show.table import MILLIMETRES, Column, Table, fixed

EXAMPLES = Path(__file__).parent.parent / "examples"
REED, PLATE = EXAMPLES / "clamped-reed.yaml", EXAMPLES / "square-plate.yaml"
LIST, RIG = EXAMPLES / "clamped-reed.measured.yaml", EXAMPLES / "small.rig.yaml"
EPOCH = 1767225600
"""The beginning of 2026, UTC."""


@pytest.fixture(autouse=True)
def the_date(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(EPOCH))


def made(specimen: Path, count: int, rig: Path | None = None, pad: Path | None = None) -> Report:
    request = Request(
        frozenset(range(1, count + 1)), None, "timoshenko", (), False, (), 0.03,
        unit_of_length(inch=False),
    )  # fmt: skip
    inputs = read_inputs(load(specimen), rig and str(rig), pad and str(pad))
    return report_of(findings_of(inputs, request))


@pytest.fixture(scope="module")
def reed() -> Report:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOURCE_DATE_EPOCH", str(EPOCH))
        return made(REED, 3, RIG, LIST)  # a count that differs, modes that are not in the list


@pytest.fixture(scope="module")
def plate() -> Report:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOURCE_DATE_EPOCH", str(EPOCH))
        return made(PLATE, 2)


def run(*arguments: object):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


# -- what is on the sheets ------------------------------------------------------------------------


def test_sections_stand_in_the_order_in_which_they_are_needed(reed: Report, plate: Report) -> None:
    assert [section.title for section in reed.sections] == [
        "1  Cautions",
        "2  Specimen and assumptions",
        "3  Predicted resonances",
        "4  Pictures of the modes",
        "5  Where to mark",
        "6  Plan of the test on small bench rig",
        "7  Check of the measured list",
        "8  Fit to the measured list",
        "9  Date, versions, files",
    ]
    assert [section.title[3:] for section in plate.sections[5:]] == ["Date, versions, files"]


def test_it_says_what_the_commands_say(reed: Report) -> None:
    text = markdown(reed)
    for command in (
        ("predict", REED, "--modes", "3"),
        ("mark", REED, "--modes", "1-3"),
        ("check", REED, LIST),
        ("fit", REED, LIST),
        ("plan", REED, "--rig", RIG, "--modes", "3"),
    ):
        shown = run(*command).stdout
        for figure in re.findall(r"(?<![\w.])\d+\.\d+(?![\w.])", shown):
            assert figure in text, (command, figure)
    plan = run("plan", REED, "--rig", RIG, "--modes", "3").stdout
    blocks = re.findall(r"^MODE \d.*(?:\n  .*)+", plan, flags=re.MULTILINE)
    assert len(blocks) == 3
    assert all(block in text for block in blocks)


def test_the_specimen_is_told_with_its_lines(reed: Report) -> None:
    grid = reed.sections[1].parts[0]
    assert isinstance(grid, Grid)
    told = {row["path"]: (row["written"], row["stated"]) for row in grid.table.rows}
    assert told["geometry.section.thickness"] == ("1.5 ± 0.02 mm", "line 7")
    assert told["material.youngs_modulus"] == ("103 ± 6.18 GPa", "built-in table")
    assert told["boundary.start"] == ("clamped", "line 8")
    lines = REED.read_text(encoding="utf-8").splitlines()
    assert "1.5 ± 0.02 mm" in lines[6]
    assert "start: clamped" in lines[7]


COVER = """
kind: plate
material: steel
geometry: {length: 300 mm, width: 200 mm, thickness: 2 mm}
boundary: {left: free, right: free, bottom: free, top: free}
supports:
  - {at: [150 mm, 100 mm], deflection: rigid, rotation: rigid, diameter: 24 mm}
"""


def test_what_the_file_lists_is_counted_from_one(tmp_path: Path) -> None:
    path = tmp_path / "cover.yaml"
    path.write_text(COVER, encoding="utf-8")
    grid = made(path, 1).sections[1].parts[0]
    assert isinstance(grid, Grid)
    told = {row["path"]: row["written"] for row in grid.table.rows}
    assert told["support 1, at, y"] == "100 mm"
    assert told["support 1, diameter"] == "24 mm"
    assert not any(re.search(r"\.\d", path) for path in told)


def test_a_line_where_another_family_begins_is_told_of_it(tmp_path: Path) -> None:
    pad = tmp_path / "list.csv"
    pad.write_text("frequency_hz,nodes\n25.8,0\n162,1\n345,\n452,2\n", encoding="utf-8")
    text = markdown(made(REED, 3, None, pad))
    assert "row 3 (345 Hz) lies near the lowest mode in edgewise" in text
    assert "lies near the lowest mode" not in markdown(made(REED, 3, None, LIST))


def test_headings_that_leave_something_open_are_explained(reed: Report, plate: Report) -> None:
    assert "driven: how strongly the drive" in markdown(reed)
    assert "driven: how strongly the drive" not in markdown(plate)
    assert "prior share: the part" in markdown(reed)


def test_where_beam_theory_ends_is_told(reed: Report, plate: Report) -> None:
    (note,) = re.findall(r"beam theory holds to .*", run("predict", REED, "--modes", "3").stderr)
    assert note.replace("--as-plate", "predict --as-plate") in markdown(reed)
    assert "beam theory" not in markdown(plate)


def test_a_plates_check_fits_the_sheet(tmp_path: Path) -> None:
    """All that is found of a line in one table: nothing is left over for a second one."""
    pad = tmp_path / "list.csv"
    lines = ("113.1,1,1", "165,,", "209.4,,", "293.8,2,1")
    pad.write_text("\n".join(("frequency_hz,lines_x,lines_y", *lines)), encoding="utf-8")
    check = made(PLATE, 4, None, pad).sections[5]
    grids = [part for part in check.parts if isinstance(part, Grid)]
    assert "family" not in {column.key for column in grids[0].table.columns}
    assert len(set_table(grids[0].table, 174.0)) == 1


def test_a_second_part_of_a_table_has_only_rows_that_say_something() -> None:
    columns = tuple(Column(f"c{k}", f"column {k}") for k in range(6))
    rows = [{f"c{k}": "123456789012345678" for k in range(1, 5)} | {"c0": n} for n in range(5)]
    rows[3]["c5"] = "123456789012345678"
    first, second = set_table(Table(columns, tuple(rows)), 174.0)
    assert [[text for _, text in cell] for cell in first[0].cells] == [[str(n)] for n in range(5)]
    assert [[text for _, text in cell] for cell in second[0].cells] == [["3"]]


def test_the_origin_is_told(reed: Report) -> None:
    text = markdown(reed)
    assert "2026-01-01 00:00:00 UTC" in text
    assert reed.date == "2026-01-01 00:00:00 UTC"
    for file in (REED, RIG, LIST):
        content = file.read_bytes()
        assert hashlib.sha256(content).hexdigest() in text
        assert content.decode().rstrip("\n") in text
    assert hashlib.sha256(REED.read_bytes()).hexdigest()[:16] in reed.trace
    assert np.__version__ in text


def test_the_digest_is_that_of_the_bytes(tmp_path: Path) -> None:
    """Of a file with a byte order mark and foreign line endings too."""
    file = tmp_path / "reed.yaml"
    file.write_bytes(b"\xef\xbb\xbf" + REED.read_bytes().replace(b"\n", b"\r\n"))
    text = markdown(made(file, 1))
    assert hashlib.sha256(file.read_bytes()).hexdigest() in text
    assert "kind: beam\nmaterial: brass\n" in text
    assert "\ufeff" not in text


def test_cautions_come_first(reed: Report) -> None:
    text = " ".join(markdown(reed).split())
    assert all(text.count(caution.text) == 1 for caution in CAUTIONS)
    assert text.index(CAUTIONS[-1].text) < text.index("Specimen and assumptions")


def test_a_list_that_tells_nothing_is_no_failure(tmp_path: Path) -> None:
    pad = tmp_path / "pad.csv"
    pad.write_text("frequency_hz\n1\n", encoding="utf-8")
    text = markdown(made(REED, 1, None, pad))
    assert "There is no fit: " in text
    assert "Verdict: the list does not fit." in text


def test_node_lines_stand_in_one_row_each() -> None:
    keys = ("rank", "frequency_hz", "mark", "number", "course", "point", "x_m", "y_m")
    head = {"frequency_hz": 9.0, "mark": "node line", "number": 1, "course": "across x"}
    rows = [
        {"rank": 1, **head, "point": "start", "x_m": 0.12, "y_m": 0.0},
        {"rank": 1, **head, "point": "end", "x_m": 0.12, "y_m": 0.24},
        {"rank": 2, "frequency_hz": 9.5, "mark": "none"},
    ]
    found = marks_table(Table(tuple(Column(key, key) for key in keys), rows), MILLIMETRES)
    assert [column.heading for column in found.columns] == [
        "rank", "line", "course", "start", "end",
    ]  # fmt: skip
    assert [[c.text(row.get(c.key)) for c in found.columns] for row in found.rows] == [
        ["1", "1", "across x", "120.0, 0.0", "120.0, 240.0"],
        ["2", "", "none", "", ""],
    ]


# -- Markdown -------------------------------------------------------------------------------------


def test_markdown_tables_are_whole(reed: Report, plate: Report) -> None:
    for report in (reed, plate):
        prose = re.sub(r"^(`{3,}).*?^\1$", "", markdown(report), flags=re.MULTILINE | re.DOTALL)
        tables = re.findall(r"(?:^\|.*\n)+", prose, flags=re.MULTILINE)
        assert len(tables) >= 3
        for table in tables:
            lines = table.splitlines()
            cells = {len(re.findall(r"(?<!\\)\|", line)) for line in lines}
            assert len(cells) == 1
            assert len({len(line) for line in lines}) == 1
            assert re.fullmatch(r"(\| (:-+|-+:) )+\|", lines[1])


def test_markdown_shows_a_text_as_it_is() -> None:
    assert escaped("a*b `c` [d] x|y <e> damping_ratio _f_") == (
        "a\\*b \\`c\\` \\[d\\] x\\|y \\<e> damping_ratio \\_f\\_"
    )
    assert escaped("# not\na heading") == "\\# not a heading"
    assert escaped("1. no list") == "1\\. no list"
    assert fenced("a ``` b").startswith("````\na ``` b\n````")


# -- type and tables ------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(st.text(alphabet="abcdefgh WM.,0123456789 Hz", max_size=120), st.floats(12.0, 90.0))
def test_text_is_broken_within_its_width_and_nothing_is_lost(text: str, width: float) -> None:
    lines = wrap(text, BODY, width)
    assert all(BODY.width(line) <= width + 1e-9 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_no_line_ends_between_a_number_and_its_unit() -> None:
    text = "at 163.09 Hz and 3 mm and 12 % of 100 N or 5 m/s"
    for width in range(25, 70):
        for line in wrap(text, BODY, float(width))[:-1]:
            assert not re.search(r"\d$", line), (width, line)


def test_a_text_is_shortened_with_a_mark() -> None:
    short = shortened("a long name of a specimen", CELL, 20.0)
    assert CELL.width(short) <= 20.0
    assert short.endswith("\N{HORIZONTAL ELLIPSIS}")
    assert shortened("reed", CELL, 20.0) == "reed"


def test_a_name_that_the_typeface_lacks_is_printed_all_the_same(tmp_path: Path) -> None:
    file = tmp_path / "shinchu.yaml"
    text = REED.read_text(encoding="utf-8")
    file.write_text(text.replace("clamped reed", "真鍮 \N{BELL} $x_1$ | *é*"), encoding="utf-8")
    report = made(file, 1)
    assert "真鍮 \N{BELL} $x_1$ \\| \\*é\\*" in markdown(report)
    pages = page_texts(report_pdf(replace(report, sections=report.sections[:1]), "a4"))
    assert any("$x_1$ | *é*" in text for _, text in pages[0])


@pytest.mark.parametrize("face", [BODY, CELL, MONO])
def test_widths_are_those_of_the_pdf(face) -> None:
    """matplotlib's own measure of the same text, which has kerning and whole dots."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    text = "Euler-Bernoulli 1234.5 Hz"
    with look():
        canvas = FigureCanvasAgg(Figure(dpi=720))
        drawn = canvas.figure.text(0, 0, text, family=face.family, size=face.size_pt)
        box = drawn.get_window_extent(canvas.get_renderer())
    assert face.width(text) == pytest.approx(box.width / 720 * 25.4, rel=0.02)


def table_of(columns: int, words: int, cell: str) -> Table:
    made = [Column("n", "row")]
    made += [Column(f"x{k}", f"measured {k}", "Hz", fixed(2)) for k in range(columns)]
    made += [Column(f"w{k}", "note", words=True) for k in range(words)]
    row = {f"x{k}": 10.0**k for k in range(columns)} | {f"w{k}": cell for k in range(words)}
    return Table(tuple(made), [{"n": 1, **row}, {"n": 2, "x0": 123.456}])


@pytest.mark.parametrize(("columns", "words"), [(3, 0), (3, 1), (5, 3), (14, 2), (1, 9)])
def test_a_wide_table_is_fitted_and_complete(columns: int, words: int) -> None:
    cell = "the strobe showed it twice, once from the side"
    table = table_of(columns, words, cell)
    parts = set_table(table, 174.0)
    assert all(width_of(part) <= 174.0 + 1e-9 for part in parts)
    assert all(part[0].head == ("row", "") for part in parts)
    assert sum(len(part) - 1 for part in parts) == columns + words
    assert len(parts) == 1 or columns + words > 6
    for column in (column for part in parts for column in part):
        assert all(indent >= 0.0 for indent in column.indents)
        for lines in column.cells:
            assert all(x + CELL.width(text) <= column.width + 1e-6 for x, text in lines)
            if column.head[0] == "note" and lines[0][1]:
                assert " ".join(text for _, text in lines) == cell


def test_decimal_points_stand_under_each_other() -> None:
    (part,) = set_table(table_of(1, 0, ""), 174.0)
    points = {
        round(x + CELL.width(text.partition(".")[0]), 6)
        for lines in part[1].cells
        for x, text in lines
        if text
    }
    assert len(points) == 1


# -- pages ----------------------------------------------------------------------------------------


def nothing(*where: object) -> None:
    """Draws nothing."""


runs = st.lists(
    st.builds(
        lambda heights, least, head, foot, before, binds: Run(
            tuple(Strip(height, nothing) for height in heights),
            (Strip(6.0, nothing),) if head else (),
            (Strip(4.0, nothing),) if foot else (),
            before,
            least,
            binds,
        ),
        st.lists(st.floats(1.0, 40.0), min_size=1, max_size=30),
        st.integers(1, 5),
        st.booleans(),
        st.booleans(),
        st.floats(0.0, 8.0),
        st.booleans(),
    ),
    max_size=6,
)


@settings(max_examples=80, deadline=None)
@given(runs)
def test_every_strip_is_on_a_page_once_and_within_it(content: list[Run]) -> None:
    room = 100.0
    pages = paginate(content, room)
    placed = [item.strip for page in pages for item in page]
    rows = [strip for run in content for strip in run.rows]
    assert [strip for strip in placed if any(strip is row for row in rows)] == rows
    for page in pages:
        ends = [item.top + item.strip.height for item in page]
        assert all(end <= room + 1e-6 for end in ends)
        starts = [item.top for item in page]
        assert all(a <= b + 1e-6 for a, b in zip(ends[:-1], starts[1:], strict=True))


def test_a_table_that_breaks_has_its_heading_on_every_page() -> None:
    head, foot = Strip(8.0, nothing), Strip(5.0, nothing)
    rows = tuple(Strip(4.0, nothing) for _ in range(60))
    pages = paginate([Run(rows, (head,), (foot,), least=3)], 100.0)
    assert len(pages) == 3
    for page in pages:
        assert page[0].strip is head
        assert page[-1].strip is foot
        assert len(page) >= 2 + 3
    assert height_of(rows) == 240.0


def test_a_heading_is_never_left_alone_at_the_foot() -> None:
    heading = Strip(6.0, nothing)
    for filled in range(1, 100):
        above = Run((Strip(float(filled), nothing),))
        below = Run(tuple(Strip(4.0, nothing) for _ in range(20)), least=3)
        pages = paginate([above, Run((heading,), binds=True), below], 100.0)
        for page in pages:
            strips = [item.strip for item in page]
            if heading in strips:
                assert len(strips) - strips.index(heading) - 1 >= 3, filled


def test_columns_are_read_down_first() -> None:
    rows = tuple(Strip(4.0, nothing) for _ in range(30))
    pages = paginate([Run(rows, columns=2, apart=89.0)], 40.0)
    assert [[(item.left, item.top) for item in page] for page in pages] == [
        [(left, 4.0 * k) for left in (0.0, 89.0) for k in range(10)],
        [(left, 4.0 * k) for left in (0.0, 89.0) for k in range(5)],
    ]


# -- the PDF --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def pdf(reed: Report) -> bytes:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("SOURCE_DATE_EPOCH", str(EPOCH))
        return report_pdf(reed, "a4")


def page_texts(content: bytes) -> list[list[tuple[float, str]]]:
    """For each page the size of type and the text of each piece, as `plain` leaves it."""
    pages = []
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", content, flags=re.DOTALL):
        try:
            data = zlib.decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        pieces = re.findall(r"\bBT\b(.*?)\bET\b", data, flags=re.DOTALL)
        if pieces:
            pages.append([(min(sizes_in(piece)), text_in(piece)) for piece in pieces])
    return pages


def sizes_in(piece: str) -> list[float]:
    return [float(size) for size in re.findall(r"/F\S+ ([\d.]+) Tf", piece)]


def text_in(piece: str) -> str:
    strings = re.findall(r"\(((?:\\.|[^\\()])*)\)", piece, flags=re.DOTALL)
    return plain(re.sub(r"\\([()\\])", r"\1", "".join(strings)))


def plain(text: str) -> str:
    """A text without what a PDF may encode in its own way: ligatures, and all beyond Latin."""
    return re.sub(r"ff?[il]|ff|[^ -~\xa1-\xff]", "", text)


def test_every_page_has_its_number_and_the_same_head_and_foot(reed: Report, pdf: bytes) -> None:
    pages = page_texts(pdf)
    count = len(re.findall(rb"/Type /Page\b(?!s)", pdf))
    assert count == len(pages) >= 4
    for number, pieces in enumerate(pages, start=1):
        texts = [text for _, text in pieces]
        assert f"page {number} of {count}" in texts
        assert {"clamped reed", reed.date, plain(reed.trace)} <= set(texts)


def test_type_is_never_smaller_than_eight_points(pdf: bytes) -> None:
    assert min(size for page in page_texts(pdf) for size, _ in page) >= 8.0


def test_the_pdf_holds_the_text_of_the_report(reed: Report, pdf: bytes) -> None:
    texts = [text for page in page_texts(pdf) for _, text in page]
    for line in REED.read_text(encoding="utf-8").splitlines():
        assert plain(line.strip()) in texts
    assert {"26.032", "163.09", "456.40", plain("Verdict: the list does not fit.")} <= set(texts)
    assert plain("MODE 3, flatwise 3: 456.40 Hz (441.0 to 471.8 Hz)") in texts
    running = " ".join(texts)
    for caution in CAUTIONS:
        assert plain(caution.text) in running


def test_the_same_input_makes_the_same_file(reed: Report, monkeypatch) -> None:
    """Whatever the clock says, as long as the environment states the date."""
    part = replace(reed, sections=reed.sections[2:4])
    first = report_pdf(part, "a4")
    monkeypatch.setattr("time.time", lambda: EPOCH + 1e8)
    assert report_pdf(part, "a4") == first
    assert b"/CreationDate (D:20260101000000Z)" in first


PAPER_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""ISO 216 and ANSI/ASME Y14.1."""


@pytest.mark.parametrize("paper", PAPER_MM)
def test_nothing_lies_in_the_margins(plate: Report, reed: Report, paper: str) -> None:
    """The pages as pictures: no ink within 12 mm of the paper's edges at the sides, 9 mm else."""
    report = {"a4": replace(reed, sections=reed.sections[3:8]), "letter": plate}[paper]
    dpi = 60
    with look(), matplotlib.rc_context({"text.hinting": "no_hinting"}):  # widths as in print
        for figure in figures_of(report, paper):
            size = figure.get_size_inches() * 25.4
            assert size == pytest.approx(PAPER_MM[paper])
            ink = ink_of(figure, dpi)
            inside = np.zeros_like(ink)
            sides, ends = (round(mm / 25.4 * dpi) for mm in (12.0, 9.0))
            inside[ends:-ends, sides:-sides] = True
            assert ink.any()
            assert not (ink & ~inside).any()


def ink_of(figure, dpi: int) -> np.ndarray:
    """Which dots of a page are not white."""
    from PIL import Image

    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=dpi)
    return np.asarray(Image.open(out).convert("L")) < 250


# -- the command ----------------------------------------------------------------------------------


def test_files_are_named_after_the_specimen_and_kept(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("report", PLATE, "--modes", "1").exit_code == 0
    assert [path.name for path in tmp_path.iterdir()] == ["square-plate.pdf"]
    first = Path("square-plate.pdf").read_bytes()
    again = run("report", PLATE, "--modes", "1")
    assert (again.exit_code, again.stdout) == (2, "")
    assert "exists already" in again.stderr
    assert Path("square-plate.pdf").read_bytes() == first


def test_markdown_goes_where_it_is_sent(tmp_path: Path) -> None:
    file = tmp_path / "reed.md"
    assert run("report", REED, file, "--modes", "2", "--inch").exit_code == 0
    shown = run("report", REED, "--modes", "2", "--inch", "--format", "markdown")
    assert shown.stdout == file.read_text(encoding="utf-8")
    assert "in from start" in shown.stdout


def test_only_the_modes_that_are_asked_for(tmp_path: Path) -> None:
    shown = run("report", REED, "--modes", "2,4", "--rig", RIG, "--format", "markdown").stdout
    assert re.findall(r"^MODE (\d)", shown, flags=re.MULTILINE) == ["2", "4"]
    assert "163.09" in shown
    assert "456.40" not in shown
    below = run("report", REED, "--below", "200 Hz", "--format", "markdown").stdout
    assert "163.09" in below
    assert "456.40" not in below


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("nowhere/reed.pdf",), "there is no folder nowhere"),
        (("reed.txt",), "the name must end in .pdf or .md"),
        (("reed.md", "--format", "pdf"), "the name must end in .pdf"),
        (("reed.pdf", "--modes", "1", "--below", "1 kHz"), "twice"),
        (("reed.pdf", "--below", "1 Hz"), "no mode lies in this range"),
        (("reed.pdf", "--quantity", "geometry.length"), "--quantity needs --measured"),
        (("reed.pdf", "--rig", LIST), "this is a measured list"),
        (("reed.pdf", "--measured", LIST, "--quantity", "geometry.lenght"), "lenght"),
        (("reed.pdf", "--measured", "gone.csv"), "there is no such file"),
    ],
)
def test_what_cannot_be_is_said_and_leaves_no_file(arguments, said, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("report", REED, *arguments)
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())
    assert "Traceback" not in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_plan_that_cannot_be_is_refused_with_the_way_out() -> None:
    result = run("report", PLATE, "--rig", RIG, "--format", "markdown")
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.count("\n") == 1
    assert "drive" in result.stderr
    assert "leave --rig out" in result.stderr


@pytest.mark.parametrize("stated", ["yesterday", "-1", "1e9", "9" * 30])
def test_a_date_that_is_none_is_refused(stated: str, monkeypatch, tmp_path) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", stated)
    monkeypatch.chdir(tmp_path)
    result = run("report", REED, "--modes", "1")
    assert result.exit_code == 2
    assert result.stderr.startswith("SOURCE_DATE_EPOCH")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES])
def test_a_file_that_cannot_be_written_leaves_nothing(number: int, monkeypatch, tmp_path) -> None:
    def refuse(*arguments: object, **options: object) -> None:
        raise OSError(number, os.strerror(number))

    target = tmp_path / "reed.md"
    if number == errno.EACCES:
        monkeypatch.setattr(tempfile, "mkstemp", refuse)
    else:
        monkeypatch.setattr(Path, "replace", refuse)
    result = run("report", REED, target, "--modes", "1")
    assert result.exit_code == 2
    assert result.stderr == f"{target}: cannot be written: {os.strerror(number)}\n"
    assert list(tmp_path.iterdir()) == []


def test_a_report_that_ends_at_the_most_modes_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("saltline.solver.MOST_BELOW", 3)
    monkeypatch.setattr("saltline.show.predicted.MOST_BELOW", 3)
    done = run("report", REED, str(tmp_path / "reed.md"), "--below", "5 kHz")
    assert "note: the list ends after 3 modes, although more may lie below" in done.stderr
