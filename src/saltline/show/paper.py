"""The sizes of paper that are printed on."""

from __future__ import annotations

from collections.abc import Mapping

PAPERS: Mapping[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Width and height of a sheet of paper, mm (ISO 216; ANSI/ASME Y14.1)."""
