"""Input files as files and as YAML: what is let in, and what each refusal says."""

from __future__ import annotations

import os
import pickle
import time
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from saltline.files import document
from saltline.files.document import (
    LARGEST_FILE,
    Complaint,
    InputError,
    ListNode,
    Log,
    MappingNode,
    TextNode,
    compose,
    read_text,
)
from saltline.files.fields import Fields
from saltline.quantity import Place

EXAMPLES = settings(max_examples=100, deadline=None, derandomize=True)
"""The same ones in every run."""

# -- the file -------------------------------------------------------------------------------------


def refusal(path: str | Path) -> str:
    with pytest.raises(InputError) as caught:
        read_text(path)
    return str(caught.value)


def test_a_byte_order_mark_is_dropped(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    file.write_bytes("\ufeffkind: beam\n".encode())
    assert read_text(file) == "kind: beam\n"


def test_missing_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert refusal("a.yaml") == "a.yaml: there is no such file; check its name and directory"


def test_the_file_is_shown_as_it_was_given(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert refusal("./a.yaml").startswith("./a.yaml: ")


def test_a_file_name_cannot_steer_the_terminal() -> None:
    assert refusal("a\x1b[31m.yaml").startswith(r"a\x1b[31m.yaml: ")


def test_directory(tmp_path: Path) -> None:
    assert refusal(tmp_path) == f"{tmp_path}: this is a directory; name a file in it"


def test_name_that_no_file_can_have() -> None:
    assert refusal("a\0b") == r"a\x00b: the file cannot be read: embedded null byte"


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="nothing is unreadable to root")
def test_unreadable_file(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    file.write_text("kind: beam\n")
    file.chmod(0)
    assert refusal(file) == f"{file}: the file cannot be read: Permission denied"


def test_a_directory_in_place_of_a_parent(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("")
    file = tmp_path / "a" / "b.yaml"
    assert refusal(file) == f"{file}: the file cannot be read: Not a directory"


def test_a_large_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    with file.open("wb") as stream:
        stream.truncate(10**11)
    assert refusal(file) == (
        f"{file}: the file is larger than 1,000,000 bytes; is it the one you meant?"
    )


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no such device here")
def test_a_device_without_end_is_refused() -> None:
    assert refusal("/dev/zero") == (
        "/dev/zero: the file is larger than 1,000,000 bytes; is it the one you meant?"
    )


def test_the_limit_can_be_raised_for_recorded_data(tmp_path: Path) -> None:
    file = tmp_path / "sweep.csv"
    file.write_text("0" * (LARGEST_FILE + 1))
    assert len(read_text(file, largest=2 * LARGEST_FILE)) == LARGEST_FILE + 1


def test_text_that_is_not_utf_8(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    file.write_bytes("name: Prüfling\n".encode("latin-1"))
    assert refusal(file) == (
        f"{file}:1:9: here the text is not UTF-8 (byte 0xFC); save it as plain text in UTF-8"
    )


# -- complaints -----------------------------------------------------------------------------------


def test_complaints_are_sorted_by_place_and_given_once() -> None:
    late, early = Complaint(Place(10, 2), "late"), Complaint(Place(9, 80), "early")
    error = InputError("a.yaml", [late, early, Complaint(None, "whole"), late])
    assert str(error) == "a.yaml: whole\na.yaml:9:80: early\na.yaml:10:2: late"


def test_an_error_survives_pickling() -> None:
    error = InputError("a.yaml", [Complaint(Place(1, 2), "x")])
    again = pickle.loads(pickle.dumps(error))
    assert (again.path, again.complaints) == (error.path, error.complaints)


def test_a_log_without_complaints_raises_nothing() -> None:
    Log("a.yaml").raise_if_any()


# -- YAML -----------------------------------------------------------------------------------------


def composed(text: str) -> MappingNode:
    log = Log("a.yaml")
    root = compose(text, log)
    log.raise_if_any()
    return root


def faults(text: str) -> list[str]:
    with pytest.raises(InputError) as caught:
        composed(text)
    return str(caught.value).splitlines()


def test_places_count_from_one_in_characters() -> None:
    root = composed("kind: beam\nµ: {ä: 3.2 ± 0.05 mm, b: [x, y]}\n")
    key, inner = root.entries["µ"]
    assert (key, inner.place) == (Place(2, 1), Place(2, 4))
    assert isinstance(inner, MappingNode)
    assert inner.entries["ä"] == (Place(2, 5), TextNode("3.2 ± 0.05 mm", Place(2, 8)))
    assert inner.entries["b"][1].place == Place(2, 26)


def test_nothing_is_turned_into_numbers_or_truth() -> None:
    root = composed("a: 1_000\nb: yes\nc: 012\nd: 12:30:00\ne: 2024-01-01\n")
    texts = [node.text for _, node in root.entries.values() if isinstance(node, TextNode)]
    assert texts == ["1_000", "yes", "012", "12:30:00", "2024-01-01"]


def test_an_alias_is_the_node_it_points_at() -> None:
    root = composed("a: &s {shape: rod}\nb: *s\n")
    assert root.entries["a"][1] is root.entries["b"][1]


@pytest.mark.parametrize("written", ["", "~", "null"])
def test_null_is_known_from_the_word_in_quotes(written: str) -> None:
    plain, in_quotes = composed(f"a: {written}\n"), composed(f"a: '{written}'\n")
    assert isinstance(node := plain.entries["a"][1], TextNode) and node.is_null
    assert isinstance(node := in_quotes.entries["a"][1], TextNode) and not node.is_null


def test_every_mistake_of_the_notation_is_reported_at_once() -> None:
    assert faults("a: 1\na: 2\nb: !!int 3\n? [x]\n: y\nc: *gone\na: 4\n") == [
        'a.yaml:2:1: "a" is given twice, first in line 1; remove one',
        'a.yaml:3:4: this has the tag "tag:yaml.org,2002:int"; tags are not taken, remove it',
        "a.yaml:4:3: this key is a list or a mapping; a key must be one word",
        'a.yaml:6:4: "*gone" refers to nothing before it; remove it',
        'a.yaml:7:1: "a" is given twice, first in line 1; remove one',
    ]


def test_a_tagged_key_is_one_mistake() -> None:
    assert len(faults("!!str a: 1\n")) == 1


def test_a_tag_on_the_whole() -> None:
    assert faults("!!map {a: 1}\n") == [
        'a.yaml:1:1: this has the tag "tag:yaml.org,2002:map"; tags are not taken, remove it'
    ]


def test_a_list_of_aliases_is_counted_as_what_it_stands_for() -> None:
    text = "a: &a [" + "x, " * 100 + "x]\nb: [" + "*a, " * 60 + "*a]\n"
    # 106 nodes come before the aliases and each adds 103: the 48th, in column 5 + 4 * 47, is over.
    assert faults(text) == [
        "a.yaml:2:193: the file holds more than 5,000 values; no input file needs that"
    ]


ATTACKS = {
    "deep lists": "a: " + "[" * 400_000,
    "deep mappings": "{a: " * 200_000,
    "deep indentation": "".join(" " * i + "a:\n" for i in range(1000)),
    "deep dashes": "- " * 400_000,
    "question marks": "? " * 400_000,
    "many keys": "".join(f"k{i}: 1\n" for i in range(90_000)),
    "one key again and again": "a: 1\n" * 190_000,
    "a long word": "a: " + "x" * 990_000,
    "a long key": "x" * 990_000 + ": a",
    "many anchors": "".join(f"k{i}: &a{i} 1\n" for i in range(50_000)),
    "an open quotation mark": 'a: "' + "x\n" * 400_000,
    "comments": "# x\n" * 240_000,
    "a long line of quotation marks": "a: " + "'" * 900_000,
    "many documents": "---\na: 1\n" * 100_000,
}


@pytest.mark.parametrize("attack", ATTACKS)
def test_an_attack_costs_little(attack: str) -> None:
    begin = time.process_time()
    log = Log("a.yaml")
    try:
        Fields(compose(ATTACKS[attack], log), path="", log=log).finish()
        log.raise_if_any()
    except InputError as error:
        assert len(str(error)) < 2_000_000
    # A generous bound against quadratic growth, not a benchmark: each takes well under a second.
    assert time.process_time() - begin < 20.0


def test_a_text_beyond_the_limit_is_refused_however_it_came() -> None:
    with pytest.raises(InputError, match="larger than 1,000,000 bytes"):
        compose("a" * (LARGEST_FILE + 1), Log("a.yaml"))


@EXAMPLES
@given(st.text())
def test_no_text_raises_anything_else(text: str) -> None:
    log = Log("a.yaml")
    try:
        compose(text, log)
    except InputError as error:
        assert error.complaints


@EXAMPLES
@given(st.text(alphabet="ab:-{}[],?&*!|>'\"%@`#~ \n\t<=\\", max_size=40))
def test_no_text_of_yaml_signs_raises_anything_else(text: str) -> None:
    for loader in (document._LOADER, yaml.SafeLoader):
        log = Log("a.yaml")
        try:
            document._Composer(log, yaml.parse(text, Loader=loader)).document()
        except (InputError, yaml.MarkedYAMLError):
            continue


def test_lists_hold_their_items_in_order() -> None:
    node = composed("a:\n  - x\n  - y\n").entries["a"][1]
    assert isinstance(node, ListNode)
    assert [item.text for item in node.items if isinstance(item, TextNode)] == ["x", "y"]
