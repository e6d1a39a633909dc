"""Measured lists: one list in every form, and every sentence said of bad ones."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from saltline.files.document import InputError
from saltline.files.measured import (
    COUNTS,
    FAMILIES,
    LARGEST_LIST,
    MOST_ROWS,
    Measured,
    MeasuredList,
    load_measured,
    read_measured,
)
from saltline.quantity import Place

ALLOWED = "uncertainty_hz, nodes, lines_x, lines_y, diameters, circles, family or note"
COLUMNS = f"frequency_hz, {ALLOWED}"
KEYS = f"frequency, {ALLOWED}"

REED = (
    Measured(26.1, {"nodes": 0}),
    Measured(164.25, {"nodes": 1}, "flatwise", "loud, then quiet", 0.5),
    Measured(459.0, {}, "torsion"),
)
YAML = """\
# read off the counter
measured:
  - {frequency: 26.1 Hz, nodes: 0}
  - frequency: 164.25 ± 0.5 Hz
    nodes: 1
    family: flatwise
    note: loud, then quiet
  - {frequency: 0.459 kHz, family: torsion, nodes: , note: ~}
"""
CSV = """\
frequency_hz,nodes,family,note,uncertainty_hz
26.1,0,,,
164.25,1,flatwise,"loud, then quiet",0.5
459,,torsion,,
"""


def rows(text: str, name: str = "list.csv") -> tuple[Measured, ...]:
    return read_measured(text, name).rows


def faults(text: str, name: str = "list.csv") -> list[str]:
    """Every line of the refusal."""
    with pytest.raises(InputError) as caught:
        read_measured(text, name)
    return str(caught.value).splitlines()


# -- one list in every form -----------------------------------------------------------------------


def test_yaml_says_what_was_measured() -> None:
    assert rows(YAML, "list.yaml") == REED


FORMS = {
    "comma": CSV,
    "crlf": CSV.replace("\n", "\r\n"),
    "cr": CSV.replace("\n", "\r"),
    "byte order mark": "\ufeff" + CSV,
    "no last line end": CSV.rstrip("\n"),
    "comments and blank lines": "# reed 3\n\n" + CSV.replace("459", "  # a pause\n , ,,,\n\n459"),
    "quoted cells": CSV.replace("26.1", '"26.1"').replace("nodes", ' "nodes" '),
    "a line break within a cell": CSV.replace("then quiet", "then\nquiet"),
    "spaces": CSV.replace(",0,", " , 0 ,\u00a0").replace("459", "  459"),
    "short rows": CSV.replace(",,\n", "\n"),
    "a column too many, empty": CSV.replace("\n", ",\n"),
    "counts as a spreadsheet writes them": CSV.replace(",1,", ",1.0,").replace(",0,", ",0e0,"),
    "other order": """\
family,uncertainty_hz,frequency_hz,note,nodes
,,26.1,,0
flatwise,0.5,164.25,"loud, then quiet",1
torsion,,459,,
""",
    "semicolon": """\
frequency_hz;nodes;family;note;uncertainty_hz
26,1;0;;;
164,25;1,0;flatwise;loud, then quiet;0,5
459.0;;torsion;;
""",
    "tab": """\
family\tfrequency_hz\tnodes\tnote\tuncertainty_hz
\t26,1\t0
flatwise\t"164,25"\t1\tloud, then quiet\t,5
torsion\t459
""",
}


@pytest.mark.parametrize("form", FORMS)
def test_csv_says_the_same(form: str) -> None:
    assert rows(FORMS[form]) == REED


def test_a_place_is_that_of_the_row() -> None:
    assert [row.place for row in rows(YAML, "list.yaml")] == [Place(3, 5), Place(4, 5), Place(8, 5)]
    broken = CSV.replace("then quiet", "then\nquiet")
    assert [row.place for row in rows("#\n" + broken)] == [Place(3, 1), Place(4, 1), Place(6, 1)]


@pytest.mark.parametrize("name", ["list.yaml", "list.YML", "list.csv", "list.txt", "list.tsv", "-"])
def test_yaml_is_known_by_its_name_or_its_look(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = "-" if name == "-" else tmp_path / name
    for text in (YAML, "---\n" + YAML, CSV):
        if text is CSV and name in ("list.yaml", "list.YML"):
            continue
        if name == "-":
            stream = io.TextIOWrapper(io.BytesIO(text.encode()), encoding="ascii")
            monkeypatch.setattr(sys, "stdin", stream)
        else:
            (tmp_path / name).write_text(text, encoding="utf-8")
        assert load_measured(path) == MeasuredList(
            "standard input" if name == "-" else str(path), REED
        )


def test_csv_named_yaml_is_refused() -> None:
    assert faults(CSV.splitlines()[0], "list.yaml") == [
        'list.yaml:1:1: the file is plain text; it must be lines of "key: value"'
    ]


def test_every_count_is_read() -> None:
    counts = {key: i for i, key in enumerate(COUNTS)}
    cells = ",".join(str(i) for i in counts.values())
    text = f"frequency_hz,{','.join(COUNTS)}\n80,{cells}\n"
    assert rows(text) == (Measured(80.0, counts),)
    pairs = ", ".join(f"{key}: {i}" for key, i in counts.items())
    text = f"measured: [{{frequency: 80 Hz, {pairs}}}]"
    assert rows(text, "list.yaml") == (Measured(80.0, counts),)


def test_a_row_can_be_a_key() -> None:
    assert len({Measured(26.1, {"nodes": 0}), Measured(26.1, {"nodes": 0})}) == 1


# -- lists that a tool wrote ----------------------------------------------------------------------


def test_resonances_picked_from_a_sweep_are_a_list() -> None:
    head = "frequency_hz,damping_ratio,quality_factor,amplitude,standard_error_hz"
    text = f"{head}\n26.1,0.01,50,1e-3,0.02\n164,,,,\n"
    assert rows(text) == (Measured(26.1, uncertainty_hz=0.04), Measured(164.0))
    picked = [
        {"frequency_hz": 26.1, "damping_ratio": 0.01, "amplitude": 1, "standard_error_hz": 0.02},
        {"frequency_hz": 164.0, "quality_factor": None, "standard_error_hz": None, "nodes": None},
    ]
    for indent in (None, 2):
        assert rows(json.dumps({"measured": picked}, indent=indent), "-") == rows(text)


def test_a_stated_uncertainty_goes_before_a_standard_error() -> None:
    text = "frequency_hz,uncertainty_hz,standard_error_hz\n26,0.5,0.1\n27,,0.1\n"
    assert [row.uncertainty_hz for row in rows(text)] == [0.5, 0.2]


@pytest.mark.parametrize("word", ["nan", "inf", "-1", "13", "1e999", "unknown", "0"])
def test_a_standard_error_that_says_nothing_is_left_out(word: str) -> None:
    text = f"frequency_hz,standard_error_hz\n26,{word}\n"
    assert rows(text) == (Measured(26.0),)


# -- wrong values ---------------------------------------------------------------------------------

NO_WIDTH = (
    "must be more than zero; write how far the frequency may lie to either side, or leave it out"
)
ZERO = "must be more than zero; write it in hertz"
RANGE = "must be between 0.001 and 1,000,000 Hz; write it in hertz"
TEXT = "is not a number; write it in hertz without the unit, for example 26.1"
FINITE = "is not a finite number; write it in hertz without the unit, for example 26.1"
COMMA = "has a comma in its number; write a decimal point, and nothing between thousands"


@pytest.mark.parametrize(
    ("cell", "fault"),
    [
        ("abc", TEXT),
        ("26.1 Hz", TEXT),
        ("1_000", TEXT),
        ("٣", TEXT),
        ("0x1F", TEXT),
        ("-5", ZERO),
        ("−5", ZERO),
        ("0", ZERO),
        ("-1e999", ZERO),
        ("nan", FINITE),
        ("inf", FINITE),
        ("-Infinity", FINITE),
        (".inf", FINITE),
        ("1e999", RANGE),
        ("1000001", RANGE),
        ("0.0001", RANGE),
        ('"26,1"', COMMA),
        ('"1,200.5"', COMMA),
    ],
)
def test_a_frequency_is_a_positive_number_of_hertz(cell: str, fault: str) -> None:
    quoted = '"' + cell.strip('"') + '"'
    assert faults(f"nodes,frequency_hz\n2,{cell}\n") == [
        f"list.csv:2:3: frequency_hz {quoted} {fault}"
    ]


def test_the_limits_of_a_frequency_are_allowed() -> None:
    text = "frequency_hz\n0.001\n1000000\n"
    assert [row.frequency_hz for row in rows(text)] == [0.001, 1e6]


def test_two_commas_are_no_decimal_comma() -> None:
    assert faults("frequency_hz;nodes\n1,200,5;0\n1.200,5;0\n") == [
        f'list.csv:2:1: frequency_hz "1,200,5" {COMMA}',
        f'list.csv:3:1: frequency_hz "1.200,5" {COMMA}',
    ]


def test_a_decimal_comma_in_yaml_is_named() -> None:
    assert faults("measured: [{frequency_hz: 26,1, nodes: 0}]", "list.yaml") == [
        'list.yaml:1:27: frequency_hz "26,1" has a comma in its number; write a decimal point, '
        "and nothing between thousands"
    ]
    assert faults("measured: [{frequency_hz: 26, 1, nodes: 0}]", "list.yaml") == [
        'list.yaml:1:31: "1" stands after a comma; if it is a decimal comma, write a point'
    ]


@pytest.mark.parametrize("key", COUNTS)
@pytest.mark.parametrize("cell", ["two", "-1", "1.5", "201", "1e999", "nan", "1 2", "½"])
def test_a_count_is_a_small_whole_number(key: str, cell: str) -> None:
    fault = (
        f'{key} "{cell}" must be a whole number from 0 to 200; '
        "write how many were counted, or leave it out"
    )
    assert faults(f"frequency_hz,{key}\n26.1,{cell}\n") == [f"list.csv:2:6: {fault}"]
    text = f"measured: [{{frequency: 26.1 Hz, {key}: {cell}}}]"
    assert faults(text, "list.yaml") == [f"list.yaml:1:{text.rindex(cell) + 1}: {fault}"]


@pytest.mark.parametrize(
    ("cell", "meant"),
    [
        ("torsoin", '; did you mean "torsion"?'),
        ("Plate", '; did you mean "plate"?'),
        ("0", ";"),
        ("bending", ";"),
    ],
)
def test_a_family_is_one_of_six(cell: str, meant: str) -> None:
    fault = (
        f'family "{cell}" is not known{meant} it must be flatwise, edgewise, torsion, axial, '
        "plate or disc"
    )
    assert faults(f"frequency_hz,family\n26.1,{cell}\n") == [f"list.csv:2:6: {fault}"]
    text = f"measured: [{{frequency: 26.1 Hz, family: {cell}}}]"
    assert faults(text, "list.yaml") == [f"list.yaml:1:41: {fault}"]


@pytest.mark.parametrize(
    ("cell", "fault"),
    [
        ("-1", NO_WIDTH),
        ("0", NO_WIDTH),
        ("26", "must be less than the frequency; write it in hertz"),
        ("1e999", "must be less than the frequency; write it in hertz"),
        ("x", TEXT),
        ("nan", FINITE),
    ],
)
def test_an_uncertainty_leaves_the_frequency_positive(cell: str, fault: str) -> None:
    assert faults(f"frequency_hz,uncertainty_hz\n26,{cell}\n") == [
        f'list.csv:2:4: uncertainty_hz "{cell}" {fault}'
    ]


def test_a_note_is_one_short_line() -> None:
    assert faults(f"frequency_hz,note\n26,{'x' * 201}\n27,\u202eltr\n28,{'x' * 200}\n") == [
        "list.csv:2:4: note must be one line of at most 200 printable characters",
        "list.csv:3:4: note must be one line of at most 200 printable characters",
    ]


def test_a_frequency_in_yaml_has_a_unit() -> None:
    text = """\
measured:
  - frequency: 26.1
  - frequency: -3 Hz
  - frequency: 164 m
  - frequency: nan Hz
  - frequency: 3 ± 3 Hz
  - frequency:
  - nodes: 2
  - 459 Hz
  - frequency: [1]
    nodes: [1]
    note: {a: b}
  - {frequency: 26.1 Hz, frequency_hz: 26.1}
  - {frequency: 26.2 Hz ± 1 %, uncertainty_hz: 1}
  - {frequency_hz: 0}
  - {frequency_hz: }
  - {frequency: 2 MHz}
"""
    assert faults(text, "list.yaml") == [
        'list.yaml:2:16: frequency needs a unit, for example "26.1 Hz"',
        'list.yaml:3:16: frequency "-3 Hz" must be more than zero',
        'list.yaml:4:16: frequency "164 m" is a length; it must be a frequency, for example '
        '"26.1 Hz"',
        'list.yaml:5:16: frequency "nan Hz" is not a finite number; it must be a frequency, for '
        'example "26.1 Hz"',
        'list.yaml:6:16: frequency "3 ± 3 Hz" has a tolerance that reaches zero; it must be less '
        "than the value",
        'list.yaml:7:15: frequency is empty; it must be a quantity such as "26.1 Hz"',
        'list.yaml:8:5: entry 7 of measured lacks "frequency"; add for example frequency: 26.1 Hz',
        'list.yaml:9:5: measured must hold "key: value" pairs, for example '
        "{frequency: 26.1 Hz, nodes: 0}",
        'list.yaml:10:16: frequency is a list; it must be a quantity such as "26.1 Hz"',
        "list.yaml:11:12: nodes is a list; it must be a whole number from 0 to 200",
        "list.yaml:12:11: note is a mapping; it must be one line of text",
        'list.yaml:13:6: frequency and frequency_hz are both given; remove "frequency_hz"',
        'list.yaml:14:48: uncertainty_hz "1" stands beside a frequency that has its own '
        "tolerance; remove one of the two",
        f'list.yaml:15:20: frequency_hz "0" {ZERO}',
        "list.yaml:16:20: frequency_hz is empty; it must be a number of hertz, for example 26.1",
        'list.yaml:17:17: frequency "2 MHz" is out of range; it must be between 0.001 Hz and '
        "1e+06 Hz",
    ]


# -- wrong columns, keys and rows -----------------------------------------------------------------


@pytest.mark.parametrize(
    ("word", "meant"),
    [
        ("node", '; did you mean "nodes"?'),
        ("Nodez", '; did you mean "nodes"?'),
        ("uncertainty", '; did you mean "uncertainty_hz"?'),
        ("colour", ";"),
        ("Knoten", ";"),
        ("mode", "; which mode a line is, is found out, so leave the column out;"),
        ("Mode no.", "; which mode a line is, is found out, so leave the column out;"),
    ],
)
def test_an_unknown_column_is_told_the_nearest(word: str, meant: str) -> None:
    assert faults(f"frequency_hz,{word}\n26.1,x\n") == [
        f'list.csv:1:14: unknown column "{word}"{meant} allowed: {COLUMNS}'
    ]


@pytest.mark.parametrize("word", ["freq", "frequency", "f [MHz]", "Frequency / rad/s", "rpm"])
def test_a_frequency_column_of_no_known_unit_is_told_what_to_write(word: str) -> None:
    assert faults(f"{word},nodes\n26.1,two\n") == [
        f'list.csv:1:1: unknown column "{word}"; if it is in hertz, name it "frequency_hz", in '
        'kilohertz "frequency_khz", and convert any other unit; '
        f"allowed: {COLUMNS}",
        'list.csv:2:6: nodes "two" must be a whole number from 0 to 200; '
        "write how many were counted, or leave it out",
    ]


@pytest.mark.parametrize(
    "header",
    [
        "Frequency (Hz),Nodes", "FREQUENCY_HZ,NODES", "f [Hz],nodes", "f/Hz, Nodes ",
        "Freq. Hz,nodes", '"resonance (Hz)",nodes',
    ],
)  # fmt: skip
def test_a_heading_may_differ_in_case_and_signs(header: str) -> None:
    assert rows(f"{header}\n26.1,0\n") == (Measured(26.1, {"nodes": 0}),)
    assert rows("f_hz,Lines X,lines-y\n80,1,2\n") == (Measured(80.0, {"lines_x": 1, "lines_y": 2}),)


@pytest.mark.parametrize("word", ["frequency_khz", "f [kHz]", "Frequency (kHz)"])
def test_kilohertz_are_read(word: str) -> None:
    assert rows(f"{word},uncertainty_hz\n1.25,2\n") == (Measured(1250.0, uncertainty_hz=2.0),)
    assert faults(f"{word}\n1.2 kHz\n-1\n2000\n") == [
        'list.csv:2:1: frequency_khz "1.2 kHz" is not a number; write it in kilohertz without the '
        "unit, for example 26.1",
        'list.csv:3:1: frequency_khz "-1" must be more than zero; write it in kilohertz',
        'list.csv:4:1: frequency_khz "2000" must be between 0.001 and 1,000,000 Hz; write it in '
        "kilohertz",
    ]
    assert rows("measured: [{frequency_khz: 1.25}]", "list.yaml") == (Measured(1250.0),)


def test_a_frequency_is_given_in_one_unit() -> None:
    assert faults("f [Hz],frequency_khz\n26.1,0.0261\n") == [
        'list.csv:1:8: "f [Hz]", first as column 1, is given twice, as "frequency_khz"; remove one'
    ]


def test_a_list_without_frequencies_is_refused_once() -> None:
    assert faults("nodes,note\n1,a\n2,b\n") == [
        'list.csv:1:1: the header has no column "frequency_hz"; name the column that holds the '
        "frequencies in hertz so"
    ]


def test_an_unknown_key_is_told_the_nearest() -> None:
    text = "measured: [{frequency: 26.1 Hz, nods: 1}, {freqency: 3 Hz}]\nmeasurd: 3"
    assert faults(text, "list.yaml") == [
        'list.yaml:1:33: unknown key "nods" in entry 1 of measured; did you mean "nodes"? '
        f"allowed: {KEYS}",
        'list.yaml:1:44: unknown key "freqency" in entry 2 of measured; did you mean "frequency"? '
        f"allowed: {KEYS}",
        'list.yaml:2:1: unknown key "measurd"; did you mean "measured"? allowed: measured',
    ]


@pytest.mark.parametrize(
    ("row", "example"),
    [
        ("26.1,0", "frequency_hz,nodes"),
        ("26,1;0", "frequency_hz;nodes"),
        ("26.1\t0", "frequency_hz<tab>nodes"),
        ("26.1", "frequency_hz"),
        ("26.1,0,flatwise", "frequency_hz,nodes"),
    ],
)
def test_a_header_is_missed(row: str, example: str) -> None:
    assert faults(f"# f, n\n{row}\n164{row[2:]}\n") == [
        "list.csv:2:1: the first row holds numbers; the list needs a header row, for example "
        + example
    ]


def test_spaces_do_not_separate() -> None:
    assert faults("frequency_hz nodes\n26.1 0\n", "list.txt") == [
        'list.txt:1:1: the columns stand apart by spaces; put a "," or a tab between them'
    ]


def test_a_column_is_given_once_and_has_a_name() -> None:
    assert faults("nodes,frequency_hz,nodes,\n1,26.1,2,\n2,164,3,loud\n") == [
        'list.csv:1:20: "nodes", first as column 1, is given twice; remove one',
        'list.csv:3:9: column 4 has no name, yet holds "loud"; name it in the header, or empty '
        "the cell",
    ]


def test_a_row_is_no_wider_than_the_header() -> None:
    assert faults("frequency_hz,note\n26.1,loud, then quiet\n") == [
        "list.csv:2:12: the row has 3 cells and the header 2; a decimal comma parts a number in "
        'two, so write a decimal point; and put text that holds "," in quotation marks'
    ]
    assert faults("frequency_hz;note\n26,1;loud; then quiet;;\n") == [
        'list.csv:2:12: the row has 3 cells and the header 2; put text that holds ";" in '
        "quotation marks"
    ]
    assert faults("frequency_hz\n26,1\n") == [
        "list.csv:2:4: the row has 2 cells and the header 1; a decimal comma parts a number in "
        'two, so write a decimal point; and put text that holds "," in quotation marks'
    ]


def test_a_row_has_a_frequency() -> None:
    assert faults("nodes,frequency_hz\n3,\n4\n") == [
        "list.csv:2:3: frequency_hz is empty; write the frequency, or remove the row",
        "list.csv:3:1: frequency_hz is empty; write the frequency, or remove the row",
    ]


@pytest.mark.parametrize("cell", ['"loud', '"loud"er', '"loud ""', '"'])
def test_a_quotation_mark_is_closed(cell: str) -> None:
    assert faults(f"frequency_hz,note\n26.1,{cell}\n164,x\n") == [
        "list.csv:2:6: a quotation mark opens this cell and none closes it at its end; close it, "
        "and double those within"
    ]


def test_a_quotation_mark_within_a_cell_is_itself() -> None:
    text = 'frequency_hz,note\n26.1,5" bar\n164,"a ""b"""\n165,""\n'
    assert [row.note for row in rows(text)] == ['5" bar', 'a "b"', ""]


# -- wrong lists ----------------------------------------------------------------------------------


def test_a_frequency_stands_once() -> None:
    fault = (
        "a list holds each resonance once: remove one, or tell them apart by family or by count "
        "of node lines"
    )
    assert faults("frequency_hz,nodes\n26.1,0\n164,1\n26.10,3\n") == [
        f"list.csv:4:1: the frequency 26.1 Hz stands in lines 2 and 4; {fault}"
    ]
    assert faults("measured: [{frequency: 1 kHz}, {frequency: 1000 Hz}]", "list.yaml") == [
        f"list.yaml:1:32: the frequency 1000 Hz stands in line 1 twice; {fault}"
    ]
    assert faults("frequency_hz,family\n26.1,torsion\n26.1,axial\n26.1,\n") == [
        f"list.csv:4:1: the frequency 26.1 Hz stands in lines 2 and 4; {fault}"
    ]


def test_twins_of_one_frequency_are_told_apart() -> None:
    assert len(rows("frequency_hz,family\n164,flatwise\n164,edgewise\n")) == 2
    assert len(rows("frequency_hz,lines_x,lines_y\n164,0,2\n164,2,0\n")) == 2


def test_exchanged_columns_are_noticed_and_the_rest_read_as_meant() -> None:
    exchanged = (
        "the columns frequency_hz and nodes look exchanged: frequency_hz holds small whole "
        "numbers only, nodes larger ones; exchange the two names in the header"
    )
    assert faults("nodes,frequency_hz\n164,1\n459,2\n") == [f"list.csv:1:1: {exchanged}"]
    assert faults("note;frequency_hz;nodes\n;0;26,1\n;1;164\n;2;\n;;900\n;x;1400\n") == [
        f"list.csv:1:6: {exchanged}",
        "list.csv:4:4: frequency_hz is empty; write the frequency, or remove the row",
        'list.csv:6:2: nodes "x" must be a whole number from 0 to 200; '
        "write how many were counted, or leave it out",
    ]


def test_low_frequencies_are_not_taken_for_counts() -> None:
    assert len(rows("frequency_hz,nodes\n2,0\n12,1\n34,2\n66,3\n")) == 4
    assert len(rows("frequency_hz,nodes\n1,2\n2,3\n3,60\n")) == 3


@pytest.mark.parametrize("text", ["", "\n\n", "# only\n  # remarks", "\ufeff", " ,,\n", '""'])
def test_an_empty_list_is_refused(text: str) -> None:
    assert faults(text) == [
        "list.csv: the list is empty; write a header row and a row for each resonance, for "
        'example "frequency_hz,nodes" and "26.1,0"'
    ]


def test_a_header_alone_is_refused() -> None:
    assert faults("# f\nfrequency_hz,nodes\n,\n") == [
        "list.csv:2:1: the list has a header and no rows; add a row for each resonance, with its "
        "frequency at least"
    ]


def test_an_empty_yaml_list_is_refused() -> None:
    assert faults("# f\n", "list.yaml") == [
        'list.yaml: the list is empty; begin with "measured:" and add a line for each resonance, '
        'for example "- {frequency: 26.1 Hz, nodes: 0}"'
    ]
    assert faults("measured: []") == [
        "list.csv:1:11: measured is an empty list; add a line for each resonance, for example "
        '"- {frequency: 26.1 Hz, nodes: 0}"'
    ]
    for text in ("measured:", "measured: 3", "measured: {frequency: 26.1 Hz}"):
        assert faults(text, "list.yaml") == [
            f"list.yaml:1:{min(len(text) + 1, 11)}: measured must be a list, for example "
            "[{frequency: 26.1 Hz, nodes: 0}]"
        ]


def test_yaml_needs_the_word_measured() -> None:
    assert faults("# f\n- {frequency: 26.1 Hz}", "list.yaml") == [
        'list.yaml:2:1: the list stands without its name; write "measured:" before it'
    ]
    assert faults("note: 3", "list.yaml") == [
        'list.yaml:1:1: unknown key "note"; allowed: measured',
        'list.yaml:1:1: the file lacks "measured"; add for example measured: '
        "[{frequency: 26.1 Hz, nodes: 0}]",
    ]


def test_a_specimen_is_no_list() -> None:
    assert faults("kind: beam\ngeometry: {length: 310 mm}\n", "reed.yaml") == [
        "reed.yaml:1:1: this is a specimen; a list holds what was measured and begins with "
        '"measured:", so look whether the two files are exchanged'
    ]


def test_other_files_of_the_bench_are_no_lists() -> None:
    assert faults("exciter: {rated_force: 60 N}\nname: bench\n", "bench.yaml") == [
        "bench.yaml:1:1: this is a rig file; a list holds what was measured and begins with "
        '"measured:"'
    ]
    (said,) = faults('{"measured": [], "suspects": [], "recordings": []}', "picked.json")
    assert said.startswith("picked.json:1:1: this is all that pick found, in JSON")


def test_a_recorded_sweep_is_no_list() -> None:
    text = "frequency (Hz),amplitude (g/g)\n" + "".join(f"{20 + i},1.5\n" for i in range(60))
    assert faults(text) == [
        "list.csv:1:1: this looks like a recorded sweep, 60 rows with a level each; saltline pick "
        "finds its resonances and writes the list"
    ]
    picked = "frequency_hz,damping_ratio,amplitude\n" + "".join(
        f"{20 + i},0.01,1.5\n" for i in range(60)
    )
    assert len(rows(picked)) == 60


def test_a_line_that_tells_a_spreadsheet_the_separator_is_passed_over() -> None:
    assert rows("sep=;\nfrequency_hz;nodes\n26,1;0\n") == (Measured(26.1, {"nodes": 0}),)
    assert faults("sep=;\nfrequency_hz;nodes\n26,1;x\n")[0].startswith("list.csv:3:6: nodes")


def test_a_recording_is_refused_by_its_length() -> None:
    allowed = "frequency_hz\n" + "".join(f"{i + 1}\n" for i in range(MOST_ROWS))
    assert len(rows(allowed)) == MOST_ROWS
    sentence = (
        "list.csv: the list has more than 2,000 rows; it may hold one for each resonance, and "
        'those of a recorded sweep are found by "saltline pick"'
    )
    assert faults(allowed + "3000\n") == [sentence]
    long = "frequency_hz,amplitude\n" + "".join(f"{i / 10},0.12345\n" for i in range(100_000))
    assert faults(long) == [sentence]


def test_a_row_of_too_many_cells_is_refused() -> None:
    assert len(rows("frequency_hz" + "," * 99 + "\n26.1\n")) == 1
    assert faults("frequency_hz" + "," * 101 + "\n26.1\n") == [
        "list.csv:1:1: the row has more than 100 cells; check what separates its columns"
    ]


def test_a_control_character_is_refused() -> None:
    assert faults("frequency_hz\n26.1\x00\n") == [
        "list.csv:2:5: here is the control character '\\x00'; is it a text file?"
    ]


def test_all_mistakes_are_told_at_once_and_in_order() -> None:
    text = "frequency_hz,node,family\n-1,,x\n26.1,1,plate,9\n,,disc\n"
    places = [line.split(": ")[0] for line in faults(text)]
    assert places == [f"list.csv:{at}" for at in ("1:14", "2:1", "2:5", "3:14", "4:1")]


# -- files ----------------------------------------------------------------------------------------


def refusal(path: Path | str) -> str:
    with pytest.raises(InputError) as caught:
        load_measured(path)
    return str(caught.value)


def test_a_file_that_cannot_be_a_list_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    missing = "there is no such file; check its name and directory"
    assert refusal(path) == f"{path}: {missing}"
    path.write_bytes("frequency_hz,note\n26.1,schön laut\n".encode("cp1252"))
    latin = "here the text is not UTF-8 (byte 0xF6); save it as plain text in UTF-8"
    assert refusal(path) == f"{path}:2:9: {latin}"
    path.write_bytes(b"1" * (LARGEST_LIST + 1))
    large = "the file is larger than 5,000,000 bytes; is it the one you meant?"
    assert refusal(path) == f"{path}: {large}"
    assert refusal(tmp_path) == f"{tmp_path}: this is a directory; name a file in it"


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (b"\xff\xfef", ":1:1: here the text is not UTF-8 (byte 0xFF); send plain text in UTF-8"),
        (
            b"1" * (LARGEST_LIST + 1),
            ": there are more than 5,000,000 bytes; is it the file you meant?",
        ),
        (None, ": there is nothing to read from; name a file"),
    ],
    ids=["binary", "large", "none"],
)
def test_standard_input_is_guarded_alike(
    content: bytes | None, fault: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    stream = None if content is None else io.TextIOWrapper(io.BytesIO(content))
    monkeypatch.setattr(sys, "stdin", stream)
    assert refusal("-") == f"standard input{fault}"


def test_a_closed_standard_input_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    buffer = io.BytesIO()
    stream = io.TextIOWrapper(buffer)
    monkeypatch.setattr(sys, "stdin", stream)
    buffer.close()
    fault = "it cannot be read: I/O operation on closed file.; name a file"
    assert refusal("-") == f"standard input: {fault}"


# -- laws -----------------------------------------------------------------------------------------

NAMES = st.sampled_from(["list.csv", "list.yaml", "-"])


def survives(text: str, name: str) -> None:
    try:
        found = read_measured(text, name)
    except InputError as error:
        assert error.complaints
        assert all(line.isprintable() for line in str(error).splitlines())
    else:
        assert found.rows
        assert all(row.frequency_hz > row.uncertainty_hz >= 0.0 for row in found.rows)


@given(st.text(), NAMES)
def test_any_text_raises_nothing_but_an_input_error(text: str, name: str) -> None:
    survives(text, name)


WORDS = (
    *",;\t\n\r\"'#:{}[]-±. ", "\ufeff", "\x85", '""', "\n- ", "*a", "&a ", "null", "measured:",
    "frequency: ", "frequency_hz", "freq", "nodes", "note", "family", "uncertainty_hz",
    "standard_error_hz", "26.1", "164", "0", "26,1", "1e999", "nan", " Hz", "torsion",
)  # fmt: skip
PIECES = st.sampled_from(WORDS)


@given(st.lists(PIECES, max_size=40).map("".join), NAMES)
def test_words_of_a_list_in_any_order_raise_nothing_else(text: str, name: str) -> None:
    survives(text, name)


@given(st.sampled_from([*FORMS.values(), YAML]), st.data())
def test_no_damage_to_a_list_raises_anything_else(text: str, data: st.DataObject) -> None:
    begin = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(begin, min(begin + 5, len(text))))
    piece = data.draw(PIECES | st.text(max_size=3))
    survives(text[:begin] + piece + text[end:], data.draw(NAMES))


HERTZ = st.decimals(1, 100_000, places=3)
LISTS = st.lists(
    st.tuples(
        HERTZ,
        st.none() | st.integers(0, 60),
        st.none() | st.sampled_from(FAMILIES),
        st.text(st.sampled_from("ab,;#\"'é: "), max_size=12),
    ),
    min_size=1,
    unique_by=lambda row: row[0],
)


@given(LISTS, st.sampled_from(",;\t"), st.sampled_from(["\n", "\r\n"]))
def test_a_list_is_the_same_in_every_form(
    given_rows: list[tuple[object, int | None, str | None, str]], separator: str, end: str
) -> None:
    lines = [separator.join(["note", "frequency_hz", "nodes", "family"])]
    items = []
    for frequency, nodes, family, note in given_rows:
        number = str(frequency) if separator == "," else str(frequency).replace(".", ",")
        quoted = '"' + note.replace('"', '""') + '"'
        count = "" if nodes is None else str(nodes)
        lines.append(separator.join([quoted, number, count, family or ""]))
        item = {"frequency": f"{frequency} Hz", "nodes": nodes, "family": family}
        items.append({**item, "note": " ".join(note.split())})
    read = read_measured("\ufeff" + end.join(lines), "list.csv").rows
    assert read == read_measured(json.dumps({"measured": items}), "list.yaml").rows
    assert [row.frequency_hz for row in read] == [float(str(row[0])) for row in given_rows]
