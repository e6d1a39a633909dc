"""The picture of a sweep: what is on it, that nothing lies on anything else, and its sizes."""

import matplotlib as mpl
import numpy as np
import pytest

from saltline.show.pictures import TYPE_PT, look
from saltline.show.pictures_sheet import on_one_sheet
from saltline.show.pictures_sweep import MOST_POINTS, _thinned, sweep_sheet
from saltline.sweeps.line_up import lined_up
from saltline.sweeps.picks import pick
from saltline.sweeps.sweep import Recording


def found(low=20.0, high=400.0, path="a.csv", unit="g/N"):
    hz = np.geomspace(low, high, 5000)
    rng = np.random.default_rng(1)
    peaks = (60.0, 198.0, 201.0)
    response = sum(hz**2 / (f**2 - hz**2 + 2j * 0.004 * f * hz) for f in peaks)
    response[1500] += 3.0
    noise = 0.02 * (rng.standard_normal(hz.size) + 1j * rng.standard_normal(hz.size))
    return pick(Recording(path, hz, response + noise, unit=unit))


@pytest.fixture(scope="module")
def axes():
    one = found()
    with look():
        figure = on_one_sheet(sweep_sheet([one], lined_up([one], ())))
        yield figure.axes[0]


def marked(axes, marker):
    return [line.get_xdata()[0] for line in axes.lines if line.get_marker() == marker]


def test_every_resonance_has_its_number_and_they_do_not_overlap(axes):
    numbers = [text for text in axes.texts if text.get_text() in "123"]
    assert [text.get_text() for text in numbers] == ["1", "2", "3"]
    boxes = [text.get_window_extent() for text in numbers]
    for i, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[:i])


def test_triangles_stand_at_the_resonances_and_crosses_at_what_is_strange(axes):
    assert marked(axes, "o") == pytest.approx([60.0, 198.0, 201.0], rel=1e-3)
    assert len(marked(axes, "x")) == 1


def test_scales_have_names_and_units_and_type_is_not_too_small(axes):
    assert axes.get_xlabel() == "frequency, Hz"
    assert axes.get_ylabel() == "response, g/N"
    texts = [*axes.texts, *axes.get_xticklabels(), *axes.get_yticklabels(), axes.xaxis.label]
    assert min(text.get_fontsize() for text in texts) >= TYPE_PT >= 8.0
    assert axes.get_xscale() == axes.get_yscale() == "log"


def test_everything_is_grey(axes):
    for line in axes.lines:
        red, green, blue = mpl.colors.to_rgb(line.get_color())
        assert red == green == blue


def test_a_narrow_range_has_an_even_scale_and_several_recordings_a_panel_each():
    pair = [found(100.0, 300.0, path=name, unit="") for name in ("a.csv", "b.csv")]
    with look():
        figure = on_one_sheet(sweep_sheet(pair, lined_up(pair, ())))
        assert len(figure.axes) == 2
        assert all(axes.get_xscale() == "linear" for axes in figure.axes)
        assert figure.axes[0].get_ylabel() == "response"


def test_a_thinned_curve_keeps_its_extremes():
    values = np.sin(np.arange(100_000.0))
    values[77_777] = 9.0
    for hz in (np.linspace(500.0, 600.0, values.size), np.geomspace(1.0, 1e4, values.size)):
        places, thin = _thinned(hz, values)
        assert places.size == thin.size <= MOST_POINTS
        assert thin.max() == 9.0
        assert thin.min() == values.min()
