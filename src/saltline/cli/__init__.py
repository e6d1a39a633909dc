"""The command line: one file a command; each reads files, calls one function, shows the result."""

from __future__ import annotations

import atexit
import gc
import os
from importlib import import_module

import click

# The matrices are small: a second BLAS thread costs more than it brings. It must be said before
# numpy is imported, and a user's own setting stands.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A command lives for moments and leaves few rings of dead objects: looking for them as often as is
# usual, and through all that is alive once more at the end, took a seventh of a prediction.
gc.set_threshold(50_000)
atexit.register(gc.freeze)

COMMANDS = {
    "new": "Write a commented starter specimen.",
    "predict": "Natural frequencies, mode by mode.",
    "mark": "Node and antinode positions for marking the specimen.",
    "check": "Which mode each measured frequency is, and what does not fit.",
    "fit": "The material, sizes or stiffnesses that best explain what was measured.",
    "pick": "Resonances and damping out of a recorded sweep.",
    "plan": "Drive levels, sweep, strobe and sensor settings: the run sheet of a test.",
    "draw": "Pictures of the modes, still or moving.",
    "report": "All of it on printable sheets.",
    "materials": "The built-in materials, each with its source.",
}
"""Command -> its line in the list; its code is in the module of the same name."""


class _LazyGroup(click.Group):
    """A group that imports a command only when it is called, so that --help starts quickly."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in COMMANDS:
            return None
        command = import_module(f"saltline.cli.{cmd_name}").command
        assert isinstance(command, click.Command)
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command that is called; of a slip the nearest name is said."""
        name = args[0] if args else ""
        if name and not name.startswith("-") and name not in COMMANDS:
            from difflib import get_close_matches

            near = get_close_matches(name.lower(), COMMANDS, n=1)
            hint = f"did you mean {near[0]!r}? " if near else ""
            ctx.fail(f"there is no command {name!r}; {hint}the commands are {', '.join(COMMANDS)}")
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(
    cls=_LazyGroup,
    context_settings={"help_option_names": ["-h", "--help"]},
    epilog="Results go to standard output, remarks to standard error. Exit status: 0 done, "
    "1 something measured does not fit, 2 bad usage or bad input.",
)
@click.version_option(package_name="saltline", message="%(prog)s %(version)s")
def main() -> None:
    """Predict, mark and check the resonances of a beam or a plate on a vibration exciter.

    A specimen is described in a YAML file; "saltline new beam" writes one to start from.
    """
