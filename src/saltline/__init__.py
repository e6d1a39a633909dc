"""Predict, mark and check the resonances of beams and plates on a vibration exciter."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from saltline.study import Study

__all__ = ["load"]


def load(path: str | os.PathLike[str]) -> Study:
    """Read a specimen file; what comes back can be asked for its modes and all that hangs on them.

    >>> import saltline
    >>> study = saltline.load("reed.yaml")  # doctest: +SKIP
    >>> [round(mode.frequency_hz, 1) for mode in study.modes(count=3).modes]  # doctest: +SKIP

    Raises `saltline.files.document.InputError` with everything that is wrong with the file.
    """
    from saltline.files.specimen_file import load as load_specimen
    from saltline.study import Study

    return Study(load_specimen(path))
