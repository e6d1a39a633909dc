"""Set-up that every test shares."""

import os
from pathlib import Path

import pytest

# The matrices are small: a second BLAS thread costs more than it brings, and on a busy machine
# far more. It must be said before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write the checks against outside sources to the file that SALTLINE_CHECKS names."""
    file = os.environ.get("SALTLINE_CHECKS")
    if file:
        from outside import write_table

        write_table(Path(file))
