"""Which input files are meant: those that are named, and those in a folder that is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from saltline.files.complaints import Log
from saltline.files.document import top_keys
from saltline.record import record
from saltline.words import listed

SPECIMEN_ENDINGS = (".yaml", ".yml")
LIST_ENDINGS = (".csv", ".yaml", ".yml")

OTHERS = {"exciter": "a rig", "measured": "a measured list", "geometry": "a specimen"}
"""A key at the top of a file -> what the file then is."""

MEASURED = ".measured"
"""A list that goes with NAME.yaml is NAME.measured.yaml or NAME.measured.csv."""


@record
class Item:
    """One input file.

    path:  as a message names it.
    found: whether it was found in a folder; one of another kind is then passed over.
    """

    path: str
    found: bool = False

    @property
    def label(self) -> str:
        """How it is named in a table."""
        return self.path


@record
class Pair:
    """A specimen's file and the list that goes with it."""

    specimen: str
    measured: str

    @property
    def label(self) -> str:
        """How it is named in a table."""
        return f"{self.specimen} + {self.measured}"


def gathered(paths: Iterable[str], endings: Sequence[str]) -> tuple[Item, ...]:
    """The files that are named, and in the place of a folder the files in it.

    endings: of the files in a folder that are looked at, in small letters. They come in the order
    in which a person counts, reed-2 before reed-10; folders in a folder are not entered.
    Raises InputError where a folder holds none or cannot be read.
    """
    items: list[Item] = []
    for path in paths:
        if not Path(path).is_dir():
            items.append(Item(path))
            continue
        within = files_in(path, endings)
        if not within:
            raise Log(path).fail(
                None, f"the folder holds no file in {listed(endings)}; name one that does"
            )
        items += [Item(file, found=True) for file in within]
    return tuple(items)


def files_in(folder: str, endings: Sequence[str]) -> list[str]:
    """The files in a folder with these endings, hidden ones left out; raises InputError."""
    try:
        inside = [
            file
            for file in Path(folder).iterdir()
            if file.suffix.lower() in endings and not file.name.startswith(".") and file.is_file()
        ]
    except OSError as fault:
        raise Log(folder).fail(None, f"the folder cannot be read: {fault.strerror}") from None
    return [str(file) for file in sorted(inside, key=lambda file: counted_order(file.name))]


def counted_order(name: str) -> tuple[tuple[int, int | str], ...]:
    """A key that sorts names as a person counts.

    >>> sorted(["reed-10", "reed-2", "Reed-1"], key=counted_order)
    ['Reed-1', 'reed-2', 'reed-10']
    """
    parts = re.split(r"([0-9]+)", name.casefold())
    return tuple((0, int(part)) if part.isdecimal() else (1, part) for part in parts if part)


def what_else(path: str, due: str) -> str:
    """What a file is that is not what is due ("a specimen"): "a rig" ...; "" where that is unclear.

    For a file in a folder that could not be read as what is due.
    """
    keys = top_keys(path)
    kinds = [kind for key, kind in OTHERS.items() if key in keys]
    return "" if due in kinds or ("kind" in keys and due == "a specimen") else next(iter(kinds), "")


def pairs_in(folder: str) -> tuple[tuple[Pair, ...], tuple[str, ...]]:
    """The specimens in a folder that have a list beside them, and the other files in YAML.

    Raises InputError where there is no such pair.
    """
    files = files_in(folder, LIST_ENDINGS)
    lists = {
        Path(file).stem.removesuffix(MEASURED): file
        for file in reversed(files)
        if Path(file).stem.endswith(MEASURED)
    }
    others = [
        file
        for file in files
        if Path(file).suffix in SPECIMEN_ENDINGS and file not in lists.values()
    ]
    pairs = tuple(Pair(o, lists[Path(o).stem]) for o in others if Path(o).stem in lists)
    if not pairs:
        raise Log(folder).fail(
            None,
            "the folder holds no pair of a specimen and its list; name them NAME.yaml and "
            "NAME.measured.csv or NAME.measured.yaml, or give a specimen and its lists",
        )
    alone = tuple(o for o in others if Path(o).stem not in lists)
    return pairs, alone
