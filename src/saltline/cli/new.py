"""`saltline new`: write a commented starter specimen."""

from __future__ import annotations

from pathlib import Path

import click

from saltline.cli.common import honest_errors, write_whole


@click.command("new")
@click.argument("kind", type=click.Choice(("beam", "plate", "disc")))
@click.argument("target", metavar="[FILE]", required=False, type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Write over an existing file.")
@honest_errors
def command(kind: str, target: Path | None, force: bool) -> None:
    """Write a commented starter specimen of a KIND to FILE, or to standard output.

    Example: saltline new beam reed.yaml
    """
    from saltline.starter import starter

    name = target.stem if target is not None else f"my {kind}"
    text = starter(kind, name)
    if target is None:
        click.echo(text, nl=False)
        return
    write_whole(target, text.encode(), force=force)
    click.echo(f"wrote {target}", err=True)
