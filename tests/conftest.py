"""Set-up that every test shares."""

import os
from pathlib import Path
from typing import Any

import pytest

import outside

# The matrices are small: a second BLAS thread costs more than it brings, and on a busy machine
# far more. It must be said before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any) -> None:
    """Take over the outside checks that a parallel test process has made."""
    outside.take(getattr(node, "workeroutput", {}).get("checks", []))


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write the checks against outside sources to the file that SALTLINE_CHECKS names."""
    output = getattr(session.config, "workeroutput", None)
    if output is not None:
        output["checks"] = outside.handed_over()
    elif file := os.environ.get("SALTLINE_CHECKS"):
        outside.write_table(Path(file))
