"""Recordings in CSV: the same one in many forms, and every mistake with its place."""

import numpy as np
import pytest

from saltline.files.complaints import InputError
from saltline.sweeps.sweep_file import read_recording

HZ = np.linspace(20.0, 60.0, 41)
SIZE = 1.0 / np.abs(1.0 + 2j * (HZ - 41.0) / 3.0)
PHASE = -np.degrees(np.arctan(2.0 * (HZ - 41.0) / 3.0))


def text(header, *columns, separator=",", comma=False):
    lines = [header]
    for row in zip(*columns, strict=True):
        cells = [f"{value:.6f}" for value in row]
        lines.append(separator.join(c.replace(".", ",") if comma else c for c in cells))
    return "\n".join(lines) + "\n"


def read(tmp_path, content, columns=None, encoding="utf-8"):
    file = tmp_path / "a.csv"
    file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
    return read_recording(file, columns)


PLAIN = text("frequency_hz,amplitude", HZ, SIZE)

FORMS = {
    "plain": (PLAIN, "utf-8"),
    "semicolons and decimal commas": (
        text("Freq. [Hz];Mag", HZ, SIZE, separator=";", comma=True),
        "utf-8",
    ),
    "tabs in UTF-16": (text("frequency\tlevel", HZ, SIZE, separator="\t"), "utf-16"),
    "a byte-order mark": (PLAIN, "utf-8-sig"),
    "line ends of another system": (PLAIN.replace("\n", "\r\n"), "utf-8"),
    "kilohertz": (text("frequency (kHz),amplitude (g)", HZ / 1000, SIZE), "utf-8"),
    "a row of units": (PLAIN.replace("amplitude\n", "amplitude\n[Hz],[g]\n"), "utf-8"),
    "units below other units": (
        text("frequency,amplitude\nkHz,g", HZ / 1000, SIZE),
        "utf-8",
    ),
    "comments": ("# logger\n" + PLAIN.replace("\n22.0", "\n# here\n22.0"), "utf-8"),
    "a preamble": ("Logger 7\nserial,12\n\n" + PLAIN, "utf-8"),
    "quotation marks": (
        "\n".join(
            ",".join(f'"{c}"' for c in line.split(",")) for line in PLAIN.strip().split("\n")
        ),
        "utf-8",
    ),
    "other columns": (text("nr,amplitude,frequency_hz", 0 * HZ, SIZE, HZ), "utf-8"),
    "empty cells at the end": (PLAIN.replace("\n", ",\n"), "utf-8"),
    "decibels": (text("frequency_hz,amplitude (dB)", HZ, 20 * np.log10(SIZE)), "utf-8"),
    "downward": ("\n".join([PLAIN.split("\n")[0], *PLAIN.split("\n")[-2:0:-1]]), "utf-8"),
}


@pytest.mark.parametrize("name", FORMS)
def test_one_recording_in_many_forms(tmp_path, name):
    content, encoding = FORMS[name]
    found = read(tmp_path, content, encoding=encoding)
    assert found.hz == pytest.approx(HZ, abs=2e-3)
    assert found.response == pytest.approx(SIZE, abs=2e-6)
    assert not found.has_phase
    assert found.remarks == ()


def test_phases_in_degrees_or_radians_make_it_complex(tmp_path):
    due = SIZE * np.exp(1j * np.radians(PHASE))
    for header, phase in (("phase_deg", PHASE), ("phase (rad)", np.radians(PHASE))):
        found = read(tmp_path, text(f"frequency_hz,amplitude,{header}", HZ, SIZE, phase))
        assert found.response == pytest.approx(due, abs=2e-6)
    found = read(tmp_path, text("frequency_hz,real,imaginary", HZ, due.real, due.imag))
    assert found.response == pytest.approx(due, abs=2e-6)
    degree = text("frequency_hz,amplitude,phase [°]", HZ, SIZE, PHASE)
    assert read(tmp_path, degree, encoding="cp1252").has_phase


def test_a_phase_that_never_changes_was_not_recorded(tmp_path):
    assert not read(tmp_path, text("frequency_hz,amplitude,phase_deg", HZ, SIZE, 0 * HZ)).has_phase


def test_columns_are_named_or_numbered(tmp_path):
    content = text("Frequenz [Hz],Pegel [g]", HZ, SIZE)
    found = read(tmp_path, content, {"frequency_hz": "Frequenz", "amplitude": "Pegel [g]"})
    assert found.response == pytest.approx(SIZE, abs=2e-6)
    assert found.unit == "g"
    headless = PLAIN.split("\n", 1)[1]
    found = read(tmp_path, headless, {"frequency_hz": "1", "amplitude": "2"})
    assert found.hz == pytest.approx(HZ)


def test_gaps_are_left_out_and_said(tmp_path):
    lines = PLAIN.split("\n")
    lines[5] = lines[5].split(",")[0] + ","
    lines[9] = "28.0,NaN"
    lines[12] = "31.0,n/a"
    found = read(tmp_path, "\n".join(lines))
    assert found.hz.size == HZ.size - 3
    assert found.remarks[0].endswith("3 rows without a reading left out")


def test_a_last_line_that_was_cut_off_is_no_mistake(tmp_path):
    assert read(tmp_path, PLAIN + "60.5").hz.size == HZ.size


def test_amplitude_over_a_recorded_drive(tmp_path):
    found = read(tmp_path, text("frequency_hz,amplitude,drive", HZ, SIZE * HZ, HZ))
    assert found.response == pytest.approx(SIZE, abs=1e-6)
    assert found.drive == pytest.approx(HZ)
    assert found.how == "the amplitude over the drive"


def test_a_time_beside_the_frequency_says_how_fast_it_was_swept(tmp_path):
    found = read(tmp_path, text("time_s,frequency_hz,amplitude", HZ / 2.0, HZ, SIZE))
    assert found.hz_per_s == pytest.approx(2.0 * np.ones(HZ.size), rel=1e-4)


def test_a_record_over_time_becomes_a_response(tmp_path):
    t = np.arange(4000) / 1000.0
    drive = np.sin(2 * np.pi * (20.0 * t + 10.0 * t**2))
    found = read(tmp_path, text("time (s),drive (N),response (g)", t, drive, 2.0 * drive))
    assert np.abs(found.response) == pytest.approx(2.0 * np.ones(found.hz.size), rel=1e-3)
    assert found.unit == "g/N"
    assert 20.0 < found.hz[0] < 30.0
    assert 90.0 < found.hz[-1] < 101.0


def test_times_of_so_many_digits_are_even_ones(tmp_path):
    """Of six digits the decimals grow fewer as the time grows; a reading that is missing shows."""
    t = np.arange(40000) / 2048.0
    drive = np.sin(2 * np.pi * (20.0 * t + 2.0 * t**2))
    lines = [f"{a:.6g},{b:.6f},{2.0 * b:.6f}" for a, b in zip(t, drive, strict=True)]
    found = read(tmp_path, "\n".join(("time_s,drive,response", *lines)) + "\n")
    assert np.abs(found.response) == pytest.approx(2.0 * np.ones(found.hz.size), rel=1e-3)
    lacking = "\n".join(("time_s,drive,response", *lines[:20000], *lines[20001:])) + "\n"
    with pytest.raises(InputError, match="record with an even rate, without gaps"):
        read(tmp_path, lacking)


def test_a_sweep_that_turns_is_said_to(tmp_path):
    lines = PLAIN.strip().split("\n")
    found = read(tmp_path, "\n".join([*lines, *lines[:20:-1]]))
    assert found.hz == pytest.approx(HZ)
    assert "the sweep turns at line 43" in found.remarks[0]


# -- mistakes -------------------------------------------------------------------------------------

SHORT = text("frequency_hz,amplitude", HZ[:3], SIZE[:3])

MISTAKES = {
    "empty": (
        "",
        'the file is empty; begin with a header row, for example "frequency_hz,amplitude"',
    ),
    "no header": (
        PLAIN.split("\n", 1)[1],
        "1:1: the first row holds numbers; add a header row, for example frequency_hz,amplitude, "
        "or number the columns: --column frequency_hz=1 --column amplitude=2",
    ),
    "half of a header": (
        PLAIN.replace("amplitude", "foo"),
        "1:1: the columns of a recording are frequency_hz with amplitude, with real and imaginary, "
        "or time_s with drive and response; found here: frequency_hz. Name those that are meant, "
        'for example --column amplitude=HEADING, of "frequency_hz", "foo"',
    ),
    "a word": (
        PLAIN.replace("\n23.0", "\nx23.0"),
        '5:1: frequency_hz "x23.000000" is not a number; write one with a decimal point, or leave '
        "the cell empty where nothing was read",
    ),
    "decimal commas between commas": (
        text("frequency_hz,amplitude", HZ[:1], SIZE[:1], comma=True),
        "2:11: the row has 4 cells and the header 2; if the numbers have decimal commas, separate "
        'the cells by ";"',
    ),
    "too short": (
        SHORT,
        "the recording has 3 readings; at least 16 are needed, and five or more within each "
        "resonance's half-power band",
    ),
    "a column twice": (
        text("frequency_hz,amplitude,magnitude", HZ, SIZE, SIZE),
        '1:24: "magnitude" is amplitude as column 2 is; say which is meant, for example --column '
        "amplitude=3",
    ),
    "an unknown unit": (
        PLAIN.replace("frequency_hz", "frequency (furlong)"),
        '1:1: frequency_hz in "furlong": the units known here are Hz, kHz, rad/s or rpm',
    ),
    "below zero": (
        text("frequency_hz,amplitude", HZ, -SIZE),
        "2:14: amplitude -0.071247 is below zero; if these are decibels, say so in the heading: "
        '"amplitude (dB)"',
    ),
    "a negative frequency": (
        text("frequency_hz,amplitude", HZ - 21.0, SIZE),
        "2:1: frequency_hz -1 is below zero; check the column",
    ),
    "all zero": (
        text("frequency_hz,amplitude", HZ, 0 * HZ),
        "1:14: every amplitude is zero; check which column is meant",
    ),
    "no reading": (
        text("frequency_hz,amplitude", HZ, SIZE).replace("0.071247", "1e308", 1),
        "2:14: amplitude 1e+308 is no reading; correct it, or empty the cell",
    ),
    "a list": (
        text("frequency_hz,nodes", HZ, SIZE),
        "1:1: this is a measured list, which saltline check and saltline fit read",
    ),
    "exchanged columns": (
        text("amplitude,frequency_hz", HZ, SIZE + 0.1 * np.sin(HZ)),
        "1:11: the columns frequency_hz and amplitude look exchanged: the amplitudes run on from "
        "one end to the other, and the frequencies go up and down; exchange the two headings",
    ),
    "one frequency": (
        text("frequency_hz,amplitude", 0 * HZ + 5.0, SIZE),
        "fewer than 16 different frequencies; is it a sweep?",
    ),
    "no drive": (
        text("frequency_hz,amplitude,drive", HZ, SIZE, np.maximum(HZ - 30.0, 0.0)),
        "drive is zero somewhere; leave the column out, or the rows without a drive",
    ),
    "uneven times": (
        text("time_s,drive,response", HZ + (HZ > 40.0), SIZE, SIZE),
        "23:1: time_s steps by 2 s here and by 1 s elsewhere; record with an even rate, without "
        "gaps",
    ),
    "times that stand still": (
        text("time_s,drive,response", 0 * HZ, SIZE, SIZE),
        "3:1: time_s does not run on; check the column",
    ),
    "a constant drive": (
        text("time_s,drive,response", HZ, 0 * SIZE, SIZE),
        "the drive is constant; record what drives the specimen",
    ),
}


@pytest.mark.parametrize("name", MISTAKES)
def test_mistakes_are_told_with_their_place(tmp_path, name):
    content, message = MISTAKES[name]
    with pytest.raises(InputError) as caught:
        read(tmp_path, content)
    path = str(tmp_path / "a.csv")
    due = f"{path}:{message}" if message[0].isdigit() else f"{path}: {message}"
    assert str(caught.value) == due


def test_every_wrong_cell_is_told_up_to_twenty(tmp_path):
    with pytest.raises(InputError) as caught:
        read(tmp_path, PLAIN.replace(".0", ".x"))
    lines = str(caught.value).split("\n")
    assert len(lines) == 21
    assert ":2:1: frequency_hz" in lines[0]
    assert lines[-1].endswith("and perhaps more: reading ended here")


def test_what_is_no_text_is_no_recording(tmp_path):
    with pytest.raises(InputError, match="this is no text file"):
        read(tmp_path, bytes(range(256)) * 8)
    with pytest.raises(InputError, match="there is no such file"):
        read_recording(tmp_path / "none.csv")
    with pytest.raises(InputError, match="this is a directory"):
        read_recording(tmp_path)


def test_a_column_number_beyond_the_row(tmp_path):
    with pytest.raises(InputError, match="the rows have 2 columns"):
        read(tmp_path, PLAIN.split("\n", 1)[1], {"frequency_hz": "1", "amplitude": "5"})
