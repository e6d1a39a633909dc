"""`saltline new`: write a commented starter specimen or rig."""

from __future__ import annotations

from pathlib import Path

import click

from saltline.cli.common import honest_errors, write_whole


@click.command("new")
@click.argument("kind", type=click.Choice(("beam", "plate", "disc", "rig")))
@click.argument("target", metavar="[FILE]", required=False, type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Write over an existing file.")
@honest_errors
def command(kind: str, target: Path | None, force: bool) -> None:
    """Write a commented starter file to FILE, or to standard output.

    KIND is the specimen's: beam, plate or disc; or rig, for the exciter, the strobe and the sensor
    that `saltline plan` plans with.

    Example: saltline new beam reed.yaml
    """
    from saltline.files.starter import starter

    name = target.stem.removesuffix(".rig") if target is not None else f"my {kind}"
    text = starter(kind, name)
    if target is None:
        click.echo(text, nl=False)
        return
    write_whole(target, text.encode(), force=force)
    click.echo(f"wrote {target}", err=True)
