"""`saltline materials`: the built-in materials, each with its source."""

from __future__ import annotations

import click

from saltline.cli.common import format_option, honest_errors, show


@click.command("materials")
@format_option
@honest_errors
def command(form: str) -> None:
    """List the built-in materials, each with its source.

    The values are typical; the modulus of the piece in the clamp may differ by the stated
    tolerance (95 %) or, for wood, plastics and laminates, by more.

    Example: saltline materials
    """
    from saltline.show.materials import material_table

    show(material_table(), form)
