"""The benchmarks run, and tell what they measured; no time is asserted."""

import importlib.util
import sys
from pathlib import Path

PATH = Path(__file__).parent / "benchmarks" / "cost.py"


def load():
    spec = importlib.util.spec_from_file_location("cost", PATH)
    module = importlib.util.module_from_spec(spec)
    sys.modules["cost"] = module
    spec.loader.exec_module(module)
    return module


def test_each_benchmark_gives_a_time_and_a_ratio():
    cost = load()
    rows = [*cost.start_up(1), *cost.plate(1, count=4)]
    assert len(rows) == 3
    for name, seconds, ratio in rows:
        assert name
        assert seconds > 0.0
        assert ratio > 0.0
