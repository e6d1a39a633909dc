"""The examples of flat specimens: each has a list, and `check` names every line of it."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from saltline.cli import main

EXAMPLES = Path(__file__).parent.parent / "examples"

NAMED = {
    "square-plate": ("yaml", [1, 2, 3, 4, 7]),
    # Shaken through its bolt it moves as its symmetry lets it, and in an X where that fails a bit.
    "bolted-plate": ("yaml", [3, 5, 8, 13]),
    # The first two lines are twins.
    "free-disc": ("csv", [1, 1, 2, 3, 4, 5, 6, 7]),
    "spruce-sheet": ("yaml", [1, 2, 3, 4, 5, 6, 7]),
}
"""Specimen -> the ending of its list, and the ranks of the modes that the lines are."""


@pytest.mark.parametrize("name", NAMED)
def test_every_line_of_an_example_is_named(name: str) -> None:
    ending, ranks = NAMED[name]
    files = [EXAMPLES / f"{name}.yaml", EXAMPLES / f"{name}.measured.{ending}"]
    result = CliRunner().invoke(main, ["check", *map(str, files), "--format", "json"])
    assert result.exit_code == 0
    found = json.loads(result.stdout)
    assert found["verdict"] == "fits"
    assert [line["rank"] for line in found["measured"]] == ranks
    assert {line["finding"] for line in found["measured"]} == {"agrees"}
    assert found["scale"] == pytest.approx(1.0, abs=0.04)
    if name == "bolted-plate":
        assert all("excite it" in mode["why"] for mode in found["unseen"])
        assert found["unseen"]


def test_each_flat_example_has_its_list() -> None:
    kinds = {
        path.stem: path.read_text(encoding="utf-8") for path in sorted(EXAMPLES.glob("*.yaml"))
    }
    flat = {name for name, text in kinds.items() if re.search(r"^kind: (plate|disc)", text, re.M)}
    assert flat == set(NAMED)


def test_lists_say_that_they_are_invented() -> None:
    lists = sorted(EXAMPLES.glob("*.measured.*"))
    assert len(lists) > len(NAMED)
    for path in lists:
        assert path.read_text(encoding="utf-8").startswith("# An invented list: "), path.name
