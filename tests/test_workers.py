"""Work side by side: the same things in the same order, whatever the number of processes."""

import os

import pytest

from saltline.many import workers
from saltline.many.workers import in_order, processors


def squared(number):
    return number * number, os.getpid()


@pytest.mark.parametrize("jobs", [1, 2, None])
def test_the_order_is_kept(jobs):
    made = list(in_order(squared, range(23), jobs))
    assert [value for value, _ in made] == [n * n for n in range(23)]
    assert all((process == os.getpid()) == (jobs != 2) for _, process in made)


def test_what_would_take_long_is_spread(monkeypatch):
    monkeypatch.setattr(workers, "TRIED_S", 0.0)
    monkeypatch.setattr(workers, "WORTH_S", 0.0)
    monkeypatch.setattr(workers, "processors", lambda: 2)
    made = list(in_order(squared, range(9), None))
    assert [value for value, _ in made] == [n * n for n in range(9)]
    assert made[0][1] == os.getpid() != made[-1][1]


def test_nothing_makes_nothing():
    assert list(in_order(squared, (), None)) == []
    assert processors() >= 1
