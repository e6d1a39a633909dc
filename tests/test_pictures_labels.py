"""Where texts stand on paper: none overlaps another."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.textpath import TextPath

from saltline.show.pictures_axis import heads_of, round_numbers, spaced_numbers
from saltline.show.pictures_labels import rows_for, spread, text_width

EXAMPLES = settings(max_examples=60, deadline=None, derandomize=True)
"""The same ones in every run."""

texts = st.lists(
    st.tuples(st.floats(0.0, 150.0), st.floats(1.0, 12.0)), min_size=1, max_size=10
).map(lambda pairs: ([p for p, _ in pairs], [w for _, w in pairs]))


@pytest.mark.parametrize("text", ["180.0", "mode 3, flatwise 3: 456.40 Hz", "\N{MINUS SIGN}1 %"])
def test_a_texts_width_is_that_of_its_outlines(text):
    outlines = TextPath((0.0, 0.0), text, size=8.0).get_extents()
    assert 0.0 <= text_width(text) - outlines.width * 25.4 / 72.0 <= 0.7  # the air at both ends


@EXAMPLES
@given(texts)
def test_texts_in_one_row_do_not_overlap(case):
    places, widths = case
    rows = rows_for(places, widths, gap=1.0)
    for i, j in combinations(range(len(places)), 2):
        if rows[i] == rows[j]:
            assert abs(places[i] - places[j]) >= (widths[i] + widths[j]) / 2.0 + 1.0 - 1e-9


@EXAMPLES
@given(texts)
def test_spread_texts_keep_their_order_and_do_not_overlap(case):
    places, widths = case
    found = spread(places, widths, low=-10.0, high=160.0, gap=1.0)
    order = sorted(range(len(places)), key=lambda k: (places[k], k))
    for one, other in pairwise(order):
        assert found[other] - found[one] >= (widths[one] + widths[other]) / 2.0 + 1.0 - 1e-6
    assert found[order[0]] - widths[order[0]] / 2.0 >= -10.0 - 1e-6
    assert found[order[-1]] + widths[order[-1]] / 2.0 <= 160.0 + 1e-6


def test_texts_with_room_stay_where_they_belong():
    assert spread([30.0, 10.0], [4.0, 4.0], low=0.0, high=50.0) == [30.0, 10.0]
    assert rows_for([30.0, 10.0], [4.0, 4.0]) == [0, 0]


def test_texts_in_one_place_but_for_rounding_keep_their_order():
    assert rows_for([10.0, 10.0 - 1e-12, 10.0], [4.0, 4.0, 4.0]) == [0, 1, 2]


def test_many_heads_run_upward_and_too_many_are_left_out():
    few, many, more = (heads_of(["1234.5"] * n, [50.0] * n, 100.0) for n in (3, 20, 60))
    assert (few.is_upright, many.is_upright) == (False, True)
    assert (len(few.texts), len(many.texts), len(more.texts)) == (3, 20, 0)


@EXAMPLES
@given(st.floats(1.0, 1e4), st.floats(1.05, 1e4))
def test_an_axis_has_a_few_round_numbers_in_its_range(low, ratio):
    for numbers in (round_numbers, spaced_numbers):
        found = numbers(low, low * ratio)
        assert 2 <= len(found) <= 15
        assert all(low * (1 - 1e-9) <= value <= low * ratio * (1 + 1e-9) for value in found)
