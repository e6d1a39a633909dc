"""Files that are named and files in a folder: their order, and what each is."""

import pytest

from saltline.files.complaints import InputError
from saltline.many.gathered import (
    LIST_ENDINGS,
    SPECIMEN_ENDINGS,
    Item,
    Pair,
    gathered,
    pairs_in,
    what_else,
)

FILES = {
    "reed-10.yaml": "kind: beam\n",
    "reed-2.yaml": "kind: beam\n",
    "reed-2.measured.csv": "frequency_hz\n26\n",
    "reed-10.measured.yaml": "measured: [{frequency: 26 Hz}]\n",
    "bench.yaml": "exciter: {}\n",
    "notes.txt": "",
    ".hidden.yaml": "kind: beam\n",
}


@pytest.fixture
def folder(tmp_path):
    for name, text in FILES.items():
        (tmp_path / name).write_text(text)
    (tmp_path / "deeper.yaml").mkdir()
    return tmp_path


def names(items):
    return [item.path.rpartition("/")[2].rpartition("\\")[2] for item in items]


def test_a_folder_is_its_files_as_a_person_counts_them(folder):
    items = gathered([str(folder)], SPECIMEN_ENDINGS)
    assert names(items) == ["bench.yaml", "reed-2.yaml", "reed-10.measured.yaml", "reed-10.yaml"]
    assert all(item.found for item in items)


def test_named_files_stay_in_their_order_and_are_not_looked_at():
    assert gathered(["b.yaml", "a.yaml"], SPECIMEN_ENDINGS) == (Item("b.yaml"), Item("a.yaml"))


def test_an_empty_folder_is_refused(tmp_path):
    with pytest.raises(InputError) as caught:
        gathered([str(tmp_path)], LIST_ENDINGS)
    assert str(caught.value) == (
        f"{tmp_path}: the folder holds no file in .csv, .yaml or .yml; name one that does"
    )


def test_what_a_file_is_instead(folder):
    assert what_else(str(folder / "bench.yaml"), "a specimen") == "a rig"
    assert what_else(str(folder / "reed-10.measured.yaml"), "a specimen") == "a measured list"
    assert what_else(str(folder / "reed-2.yaml"), "a specimen") == ""
    assert what_else(str(folder / "gone.yaml"), "a specimen") == ""


def test_pairs_go_by_their_names(folder):
    pairs, alone = pairs_in(str(folder))
    assert [
        (p.specimen[len(str(folder)) + 1 :], p.measured[len(str(folder)) + 1 :]) for p in pairs
    ] == [("reed-2.yaml", "reed-2.measured.csv"), ("reed-10.yaml", "reed-10.measured.yaml")]
    assert alone == (str(folder / "bench.yaml"),)
    assert Pair("a.yaml", "a.measured.csv").label == "a.yaml + a.measured.csv"


def test_a_folder_without_pairs_is_refused(tmp_path):
    (tmp_path / "a.yaml").write_text("kind: beam\n")
    with pytest.raises(InputError, match=r"name them NAME\.yaml and NAME\.measured\.csv"):
        pairs_in(str(tmp_path))
