"""Set-up that every test shares."""

import gc
import os
from pathlib import Path
from typing import Any

import pytest

import outside

# The matrices are small: a second BLAS thread costs more than it brings, and on a busy machine
# far more. It must be said before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@pytest.fixture
def rng() -> Any:
    """Random numbers, the same ones in each test whatever ran before."""
    import numpy as np

    return np.random.default_rng(8)


def pytest_collection_finish() -> None:
    """What was imported stays: the collector need not walk it again and again."""
    gc.collect()
    gc.freeze()


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take over the outside checks that a parallel test process has made."""
    outside.take(getattr(node, "workeroutput", {}).get("checks", []))


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write the checks against outside sources, or compare them with the page that names them."""
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["checks"] = outside.handed_over()
    elif file := os.environ.get("SALTLINE_CHECKS"):
        outside.write_page(Path(file))
    elif exitstatus == pytest.ExitCode.OK and _is_whole(session.config):
        different = outside.differences()
        reporter = session.config.pluginmanager.get_plugin("terminalreporter")
        for line in different:
            reporter.write_line(line)
        if different:
            reporter.write_line("write the page again: SALTLINE_CHECKS=docs/validation.md pytest")
            session.exitstatus = pytest.ExitCode.TESTS_FAILED


def _is_whole(config: pytest.Config) -> bool:
    """Whether every test was run: no file was named, nothing was deselected."""
    option = config.option
    chosen = (option.keyword, option.markexpr, option.lf, option.collectonly, option.deselect)
    return not any(chosen) and config.args == config.getini("testpaths")
