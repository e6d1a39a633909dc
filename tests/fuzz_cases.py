"""Command lines for fuzzing, with good and bad options, on files of which some are spoilt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

import click

from fuzz_texts import content
from saltline.cli import COMMANDS, main

KEPT = b"what stood here before"
"""The content of the files that a command must not touch unless it is told to."""

KEPT_NAMES = ("kept.pdf", "kept.svg", "kept.png", "kept.gif", "kept.md", "kept.csv", "kept.yaml")


@dataclass(frozen=True, slots=True)
class Case:
    """One run of a command in a folder of its own.

    arguments: all after the program's name; files: name in the folder -> content.
    """

    arguments: tuple[str, ...]
    files: Mapping[str, bytes] = field(repr=False)
    input: bytes = field(default=b"", repr=False)

    @property
    def command(self) -> str:
        """The command that is run."""
        return self.arguments[0]

    @property
    def is_forced(self) -> bool:
        """Whether it may write over what is there."""
        return "--force" in self.arguments


_OUTPUTS = (
    "out.pdf", "out.svg", "out.png", "out.gif", "out.md", "out.csv", "out.yaml", "out.xyz", "out",
    "", ".", "none/out.pdf", "{name}.png", "a\x1b[31m.png", "n" * 300 + ".png", *KEPT_NAMES,
)  # fmt: skip
_FREQUENCIES = (
    "500 Hz",
    "2 kHz",
    "1 Hz",
    "10 MHz",
    "1e308 Hz",
    "0 Hz",
    "-3 Hz",
    "5",
    "1.200.5 Hz",
    "300 rpm",
)
_RANKS = ("1", "1-3", "2,5", "400", "1-400", "5-2", "0", "a", "", "1-", "٣", "9" * 30)
_COUNTS = ("1", "3", "8", "40", "0", "401", "-1", "1e3", "٣", "²", "9" * 30)
_RATIOS = ("0.4 %", "3 %", "0", "-1 %", "3", "100 %", "1e-12", "nan", "50 %", "")
_NAMES = (
    "material.youngs_modulus", "geometry.length", "geometry.section.thickness",
    "geometry.thickness",
    "boundary.start.rotation", "boundary.start", "material.density", "attached.0.mass",
    "supports.0.at",
    "geometry.segments.0.length", "geometry.diameter", "damping_ratio", "name", "x.y.z", "", ".",
    "..",
)  # fmt: skip
_OF_NAME = {
    "asked": (
        "geometry.length=200..400 mm/5", "geometry.length=1..1e9 m/3",
        "geometry.length=5..1 mm/3 log",
        "material.youngs_modulus=1, 2, 5 GPa", "x=1", "=", "geometry.length=0..1 mm/3",
        "geometry.thickness=1..2 mm/1000000000", "geometry.length=1..2 mm/0",
    ),
    "sensor": (
        "4.5 g at 100 mm", "4.5 g at 60 mm, 40 mm", "2 g at centre", "1e6 kg at 1 mm",
        "4.5 g at 9 km",
        "at", "-1 g at 1 mm", "1 g at nan mm", "1 g at ,", "1 g at [1 mm",
    ),
    "jobs": ("1", "0", "x"),
    "names": _NAMES,
    "bounds": (
        "material.youngs_modulus=90..110 GPa", "material.youngs_modulus=110..90 GPa", "=..",
        "a=1..2",
        "geometry.section.thickness=0..1e9 mm", "material.youngs_modulus=1..1 GPa",
    ),
    "weighed": ("45.9 g ± 0.1 g", "1 kg", "0 g", "1e-9 g", "1e6 kg", "5", "3 mm"),
    "columns": ("amplitude=2", "amplitude=99", "frequency_hz=1", "x=y", "=",
        "phase_deg=amplitude", "time_s=0"),
    "rate": ("1 octave/min", "2 Hz/s", "-1 octave/min", "0 Hz/s", "1e300 Hz/s", "5 mm"),
    "places": ("10 mm", "0 mm", "-1 mm", "1e9 m", "x"),
    "level": ("0.5 g", "20 mm/s", "1 mm", "5 N", "1e9 g", "0 g", "-1 g", "1", "3 kg", "1e-300 N"),
    "ranks": _RANKS,
    "count": _COUNTS,
    "below": _FREQUENCIES,
    "above": _FREQUENCIES,
    "at_hz": _FREQUENCIES,
    "tolerance": _RATIOS,
    "damping": _RATIOS,
}  # fmt: skip
_FILES_OF_NAME = {"rig_path": "rig.yaml", "measured_path": "list.csv"}
_ENDINGS_OF = {
    "template_path": (".pdf", ".svg"), "picture": (".png", ".svg", ".pdf"), "animate": (".gif",),
    "target": (".yaml",), "list_path": (".yaml", ".csv"), "picture_path": (".png", ".svg", ".pdf"),
}  # fmt: skip


def values_of(option: click.Parameter) -> tuple[str, ...]:
    """What an option is tried with, good and bad."""
    name = option.name or ""
    if isinstance(option.type, click.Choice):
        return (*option.type.choices, "xyz", "")
    if name in _FILES_OF_NAME:
        return (_FILES_OF_NAME[name],) * 4 + ("none.yaml", ".", "specimen.yaml", "")
    if name in _ENDINGS_OF:
        return tuple(f"out{ending}" for ending in _ENDINGS_OF[name]) * 4 + _OUTPUTS
    if (
        name == "rate"
        and isinstance(option.type, click.ParamType)
        and option.type.name == "quantity"
    ):
        return ("1 Hz", "2.9 Hz", "3 Hz", "0.01 Hz", "1e-300 Hz", "x")
    return _OF_NAME[name]


def options(random: Random, command: str, often: float) -> list[str]:
    """Some options of a command, each present with the probability `often`."""
    found = main.get_command(click.Context(main), command)
    assert found is not None
    chosen: list[str] = []
    for option in found.params:
        if not isinstance(option, click.Option) or random.random() >= often:
            continue
        if option.is_flag:
            chosen.append(option.opts[0])
            continue
        for _ in range(random.randint(1, 2) if option.multiple else 1):
            chosen += [option.opts[0], random.choice(values_of(option))]
    return chosen


def case_of(number: int, commands: Sequence[str] = tuple(COMMANDS), hostility: float = 0.6) -> Case:
    """The run of that number: one of the commands on files of which some are spoilt."""
    random = Random(number)
    command = random.choice(list(commands))
    lists = random.choice(("list.csv", "list.yaml"))
    files = {"specimen.yaml": content(random, "specimen", hostility)}
    if command in ("check", "fit", "draw", "report"):
        files["list.csv"] = content(random, lists, hostility / 2.0)
    if command in ("plan", "check", "report"):
        files["rig.yaml"] = content(random, "rig", hostility / 2.0)
    if command == "pick":
        files["sweep.csv"] = content(random, "sweep", hostility)
    files |= dict.fromkeys(KEPT_NAMES, KEPT)
    given = options(random, command, random.choice((0.0, 0.1, 0.3)))
    arguments = _positional(random, command)
    both = [*given, *arguments] if random.random() < 0.5 else [*arguments, *given]
    return Case((command, *both), files, input=files.get("list.csv", b""))


def _positional(random: Random, command: str) -> list[str]:
    specimen = random.choice(("specimen.yaml",) * 20 + ("none.yaml", ".", "", "list.csv", "-"))
    if command == "new":
        kind = random.choice(("beam", "plate", "disc", "rig", "shell", ""))
        return [kind, random.choice(_OUTPUTS)] if random.random() < 0.7 else [kind]
    if command in ("check", "fit"):
        others = ("-", "none.csv", ".", "rig.yaml")
        return [specimen, random.choice(("list.csv",) * 12 + others)]
    if command == "pick":
        return ["sweep.csv"] * random.choice((1, 1, 1, 2))
    if command in ("draw", "report"):
        ending = ("out.pdf", "out.svg", "out.png") if command == "draw" else ("out.pdf", "out.md")
        target = random.choice(ending * 5 + _OUTPUTS)
        return [specimen, target] if random.random() < 0.8 else [specimen]
    return [] if command == "materials" else [specimen]
