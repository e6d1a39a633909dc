"""`saltline new`: write a commented starter specimen or rig."""

from __future__ import annotations

from pathlib import Path

import click

from saltline.cli.common import honest_errors
from saltline.cli.picture_files import check_target
from saltline.cli.writing import write_all

ENDINGS = (".yaml", ".yml")

LONGEST_NAME = 200
"""Characters that a specimen's name may have (`files.fields.LONGEST_TEXT`)."""


@click.command("new")
@click.argument("kind", type=click.Choice(("beam", "plate", "disc", "rig")))
@click.argument("target", metavar="[FILE]", required=False, type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Write over an existing file.")
@honest_errors
def command(kind: str, target: Path | None, force: bool) -> None:
    """Write a commented starter file to FILE, or to standard output.

    KIND is the specimen's: beam, plate or disc; or rig, for the exciter, the strobe and the sensor
    that `saltline plan` plans with.

    FILE ends in .yaml or .yml; the name before that becomes the specimen's.

    Example: saltline new beam reed.yaml
    """
    from saltline.files.starter import starter
    from saltline.words import visible

    if target is None:
        click.echo(starter(kind, f"my {kind}"), nl=False)
        return
    check_target(target, ENDINGS, force=force)
    name = visible(target.stem.removesuffix(".rig"))[:LONGEST_NAME].strip()
    write_all([(target, starter(kind, name or f"my {kind}").encode())], force=force)
