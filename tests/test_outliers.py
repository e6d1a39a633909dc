"""Rosner's test: his own worked example, values that stand out, and how rarely others are told."""

import math

import numpy as np
import pytest
from scipy import stats

from outside import record
from saltline.many.outliers import critical, outliers

ROSNER = (
    "-0.25 0.68 0.94 1.15 1.20 1.26 1.26 1.34 1.38 1.43 1.49 1.49 1.55 1.56 1.58 1.65 1.69 1.70 "
    "1.76 1.77 1.81 1.91 1.94 1.96 1.99 2.06 2.09 2.10 2.14 2.15 2.23 2.24 2.26 2.35 2.37 2.40 "
    "2.47 2.54 2.62 2.64 2.90 2.92 2.92 2.93 3.21 3.26 3.30 3.59 3.68 4.30 4.64 5.34 5.42 6.01"
)
"""The vitamin E data that Rosner (1983) works through, and the NIST/SEMATECH e-Handbook of
Statistical Methods (1.3.5.17.3) after him; from memory. Its critical values, likewise:"""

CRITICAL = (
    "3.159",
    "3.151",
    "3.144",
    "3.136",
    "3.128",
    "3.120",
    "3.112",
    "3.103",
    "3.094",
    "3.085",
)


def test_critical_values_are_those_of_rosners_example():
    worst = max(
        abs(critical(54, i, level=0.05) - float(text)) / float(text)
        for i, text in enumerate(CRITICAL, start=1)
    )
    record(
        "Rosner's critical values for 54 values",
        "NIST/SEMATECH e-Handbook 1.3.5.17.3 (from memory)",
        worst,
        5e-4,
    )


def test_rosners_example_has_three_outliers():
    values = [float(text) for text in ROSNER.split()]
    assert len(values) == 54
    assert [values[i] for i in outliers(values, level=0.05)] == [5.34, 5.42, 6.01]


def test_one_outlier_is_grubbs_test():
    # Grubbs (1969): the two-sided critical value from Student's t at alpha/(2 n), n - 2 freedoms.
    for n in (6, 10, 14):
        t = stats.t.ppf(1.0 - 0.01 / (2 * n), n - 2)
        grubbs = (n - 1) / math.sqrt(n) * math.sqrt(t**2 / (n - 2 + t**2))
        assert critical(n, 1, level=0.01) == pytest.approx(grubbs, rel=1e-12)


def test_two_that_hide_each_other_are_both_found():
    values = [*np.linspace(-1.0, 1.0, 20), 6.0, 6.2]
    assert outliers(values, level=0.01) == (20, 21)


def test_equal_values_have_no_outlier():
    assert outliers([0.1 + 0.2] * 8 + [0.3] * 8, level=0.01) == ()
    assert outliers([1.0, 2.0], level=0.01) == ()


@pytest.mark.parametrize("n", [6, 12, 20, 40])
def test_false_alarms_are_as_rare_as_stated(n):
    """At level 5 %, 1000 samples: 50 alarms are expected, of 20 values a tenth more.

    (A binomial number of mean 55 exceeds 82 about twice in ten thousand times.)
    """
    random = np.random.default_rng(20 + n)
    told = sum(bool(outliers(random.standard_normal(n), level=0.05)) for _ in range(1000))
    assert 25 <= told <= 82
