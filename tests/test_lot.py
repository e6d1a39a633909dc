"""A lot: what is made to stand out or to drift is told, and what is alike is not."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy import stats

from outside import record
from saltline.cli import main
from saltline.many.lot import FALSE_ALARMS, FEWEST, Listed, judged, lot_of
from seen import colours, overlapping, seen

EXAMPLES = Path(__file__).parent.parent / "examples"
REED = str(EXAMPLES / "clamped-reed.yaml")
MODES = {("flatwise", i + 1): (i + 1, hz) for i, hz in enumerate((26.03, 163.1, 456.4, 893.7))}


def lists_of(random, many, *, scatter=0.004, drift=0.0):
    """Lists of a lot whose frequencies scatter, all by one factor and each by its own."""
    found = []
    for number in range(1, many + 1):
        common = 1.0 + scatter * random.standard_normal() + drift * number
        hz = {
            key: p * common * (1.0 + 0.2 * scatter * random.standard_normal())
            for key, (_, p) in MODES.items()
        }
        found.append(Listed(number, f"{number}.csv", 4, 4, common, True, hz, MODES))
    return found


def test_false_alarms_are_as_rare_as_stated():
    """150 lots of twenty alike: 1.5 alarms of either kind are expected at most, 9 in all are more
    than chance makes (a Poisson number of mean 3 exceeds 8 less than once in two hundred)."""
    random = np.random.default_rng(5)
    lots = [lot_of(lists_of(random, 20)) for _ in range(150)]
    assert FALSE_ALARMS == 0.01
    assert all(lot.is_judged for lot in lots)
    assert sum(not lot.is_alike for lot in lots) <= 8


def test_an_outlier_of_eight_scatters_is_told_in_its_mode_alone():
    random = np.random.default_rng(6)
    told = 0
    for _ in range(40):
        lists = lists_of(random, 20)
        lists[11].found["flatwise", 3] *= 1.0 - 8.0 * 0.004
        lot = lot_of(lists)
        told += lot.modes[2].outliers == (12,)
        assert all(12 not in mode.outliers for i, mode in enumerate(lot.modes) if i != 2)
    assert told >= 38


def test_a_drift_is_told_with_its_size():
    random = np.random.default_rng(7)
    for _ in range(20):
        lot = lot_of(lists_of(random, 25, drift=0.001))
        assert not lot.is_alike
        for mode in lot.modes:
            assert mode.drift.is_told
            assert mode.drift.relative == pytest.approx(0.001, abs=0.0005)


def test_an_outlier_is_told_on_top_of_a_drift():
    random = np.random.default_rng(8)
    lists = lists_of(random, 25, drift=0.002)
    for key in MODES:
        lists[3].found[key] *= 1.04
    lot = lot_of(lists)
    assert all(mode.outliers == (4,) and mode.drift.is_told for mode in lot.modes)


def test_one_wild_list_at_the_end_is_no_drift():
    random = np.random.default_rng(9)
    lists = lists_of(random, 15)
    lists[-1].found["flatwise", 1] *= 1.2
    mode = lot_of(lists).modes[0]
    assert mode.outliers == (15,)
    assert not mode.drift.is_told


def test_too_few_lists_are_not_judged():
    lists = lists_of(np.random.default_rng(1), FEWEST - 1)
    lists[0].found["flatwise", 1] *= 2.0
    lot = lot_of(lists)
    assert not lot.is_judged
    assert lot.is_alike


def test_the_trend_of_an_exact_line_is_its_slope():
    n = np.arange(1.0, 13.0)
    drift, out = judged(n, np.log(100.0) + 1e-3 * n, 0.01)
    assert drift.relative == pytest.approx(np.expm1(1e-3), rel=1e-9)
    # All twelve in order: two of 12! orders have as strong a trend.
    exact = 2.0 / float(np.prod(np.arange(1.0, 13.0)))
    record("chance of twelve lists in strict order", "2/12!", abs(drift.p / exact - 1.0), 1e-9)
    assert out == ()
    assert stats.kendalltau(n, n).pvalue == pytest.approx(exact)


# -- as a command ---------------------------------------------------------------------------------


def run(*arguments):
    return CliRunner().invoke(main, list(map(str, arguments)))


@pytest.fixture(scope="module")
def pads(tmp_path_factory):
    """Eight lists, the last but one with a mode 5 % low, one that is none, and a specimen."""
    folder = tmp_path_factory.mktemp("pads")
    random = np.random.default_rng(4)
    for number in (*range(1, 9), 10):
        hz = [p * (1.0 + 0.002 * random.standard_normal()) for _, p in MODES.values()]
        hz[1] *= 0.95 if number == 8 else 1.0
        rows = "".join(f"{f:.2f},{i}\n" for i, f in enumerate(hz))
        (folder / f"pad-{number}.csv").write_text("frequency_hz,nodes\n" + rows)
    (folder / "pad-9.csv").write_text("frequency_hz,nodes\nloud,0\n")
    (folder / "reed.yaml").write_text(Path(REED).read_text())
    return folder


def test_a_folder_of_lists_is_a_lot_and_a_bad_one_is_reported(pads):
    found = run("check", REED, pads, "--format", "json")
    assert found.exit_code == 2
    data = json.loads(found.stdout)
    assert data["verdict"] == "the lot is not alike"
    assert [one["list"] for one in data["lists"]] == [1, 2, 3, 4, 5, 6, 7, 8, 10]
    assert [one["stands_out"] for one in data["lists"]] == [[]] * 7 + [[2]] + [[]]
    second = data["modes"][1]
    assert second["outliers"] == [8]
    values = [one["frequency_hz"] for one in second["values"]]
    assert second["mean_hz"] == pytest.approx(np.mean(values))
    assert second["standard_deviation_hz"] == pytest.approx(np.std(values, ddof=1))
    assert (second["min_hz"], second["max_hz"]) == (min(values), max(values))
    assert data["failed"][0]["file"].endswith("pad-9.csv")
    assert 'frequency_hz "loud" is not a number' in found.stderr
    assert "reed.yaml is a specimen and was passed over" in found.stderr
    assert found.stderr.endswith("1 of 10 lists could not be checked\n")


def test_each_list_of_a_lot_is_named_as_it_is_alone(pads):
    lot = json.loads(run("check", REED, pads, "--format", "json").stdout)
    for one in lot["lists"][::3]:
        alone = json.loads(run("check", REED, one["file"], "--format", "json").stdout)
        assert one["scale"] == alone["scale"]
        assert one["verdict"] == alone["verdict"]


def test_the_csv_of_a_lot_has_a_row_for_each_list_and_mode(pads):
    found = run("check", REED, pads / "pad-1.csv", pads / "pad-2.csv", "--format", "csv")
    head, *rows = found.stdout.splitlines()
    assert head.startswith("list,file,verdict,scale,rank,family,order,predicted_hz,frequency_hz")
    assert [row.split(",")[0] for row in rows] == ["1"] * 4 + ["2"] * 4
    assert found.exit_code == 0


def test_few_lists_say_so(pads):
    found = run("check", REED, pads / "pad-1.csv", pads / "pad-2.csv")
    assert found.stdout.endswith("too few lists to tell outliers or drift; 6 at least\n")


def test_options_of_a_lot_are_refused_for_one_list(pads):
    found = run("check", REED, pads / "pad-1.csv", "--picture", pads / "p.png")
    assert found.exit_code == 2
    assert "--picture, --force and --jobs belong to a lot, several lists" in found.stderr
    assert "Missing argument 'MEASURED...'" in run("check", REED).stderr


def test_the_picture_of_a_lot_can_be_read():
    from saltline.show.pictures import look
    from saltline.show.pictures_lot import lot_sheet
    from saltline.show.pictures_sheet import on_one_sheet

    lists = lists_of(np.random.default_rng(11), 30, drift=0.001)
    lists[8].found["flatwise", 2] *= 1.03
    lot = lot_of(lists)
    assert lot.modes[1].outliers == (9,)
    with look():
        figure = on_one_sheet(lot_sheet("reeds", lot))
        found = seen(figure)
    assert overlapping(found) == []
    assert min(found.sizes) >= 8.0
    assert "9" in found.texts
    assert all(red == green == blue for red, green, blue in colours(figure))


def test_the_lot_of_the_examples_is_what_its_script_makes(tmp_path):
    folder = EXAMPLES / "reed-lot"
    script = tmp_path / "make.py"
    script.write_text((folder / "make.py").read_text(encoding="utf-8"), encoding="utf-8")
    subprocess.run([sys.executable, script], check=True, timeout=60)
    made = sorted(tmp_path.glob("*.csv"))
    assert [file.name for file in made] == sorted(file.name for file in folder.glob("*.csv"))
    for file in made:
        assert file.read_bytes() == (folder / file.name).read_bytes()
