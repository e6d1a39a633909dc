"""The standing cautions name every hazard of a driven specimen."""

from pathlib import Path

from saltline.planning.cautions import CAUTIONS

PAGE = Path(__file__).resolve().parent.parent / "docs" / "safety.md"


def test_every_hazard_has_its_caution_and_local_rules_come_first():
    assert [caution.topic for caution in CAUTIONS] == [
        "rules", "flying parts", "hands off", "fatigue", "hearing", "strobe",
    ]  # fmt: skip
    text = " ".join(caution.text for caution in CAUTIONS)
    for word in (
        "rules", "qualified people", "eye protection", "Guard", "energized", "crack", "hearing",
        "seizures", "photosensitive epilepsy", "3 to 65 Hz", "Harding", "from memory",
    ):  # fmt: skip
        assert word in text


def test_the_page_on_safety_prints_the_cautions_as_the_sheets_do():
    page = PAGE.read_text(encoding="utf-8")
    printed = page.partition("<!-- cautions -->")[2].partition("<!-- end of cautions -->")[0]
    lines = [f"- **{caution.topic}**: {caution.text}" for caution in CAUTIONS]
    assert printed.split() == " ".join(lines).split()
