"""The option --damping of the commands that take a damping ratio."""

from __future__ import annotations

from typing import Any

import click

from saltline.cli.common import QuantityParameter


class DampingParameter(QuantityParameter):
    """A damping ratio; a bare number that looks like a percentage is refused, as in a file."""

    def __init__(self) -> None:
        super().__init__("ratio")

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float | None:
        """Parse the text; a bad one is a usage error that says which of the two to write."""
        from saltline.files.specimen_file import forgotten_percent
        from saltline.quantity import parse_quantity

        ratio = super().convert(value, param, ctx)
        fault = forgotten_percent(parse_quantity(value, "ratio"))
        if fault:
            self.fail(f"damping ratio {fault}", param, ctx)
        if ratio is not None and ratio >= 1.0:
            self.fail(f"a damping ratio of {value} leaves nothing that resonates", param, ctx)
        return ratio
