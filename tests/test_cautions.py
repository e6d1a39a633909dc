"""The standing cautions name every hazard of a driven specimen."""

from saltline.planning.cautions import CAUTIONS


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
