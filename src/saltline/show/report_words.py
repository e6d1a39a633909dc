"""What a report says of its specimen, of what it assumes, and of where it comes from."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from datetime import datetime
from functools import singledispatch
from pathlib import PurePath

from saltline.files.rewrite import exact_text
from saltline.modes import Modes
from saltline.quantities_of import quantities
from saltline.quantity import Quantity
from saltline.record import record
from saltline.show.report_parts import Entries
from saltline.show.table import Column, Row, Table
from saltline.specimen import BeamGeometry, DiscGeometry, Geometry, PlateGeometry, Specimen
from saltline.strip_form import is_rectangular

THEORIES: Mapping[str, str] = {
    "timoshenko": "Timoshenko's theory: bending with shear and rotary inertia.",
    "euler": "Euler and Bernoulli's theory: bending without shear and rotary inertia.",
    "kirchhoff": "Kirchhoff's theory of thin plates.",
}
"""Theory -> what it is, in a sentence."""

DIGEST_SHOWN = 16
"""So many characters of a digest stand at the foot of every sheet."""


@record
class Source:
    """A file that a report is made from.

    role:   what it says: "specimen", "rig", "measured list".
    name:   as the user named it.
    digest: SHA-256 of its bytes, in hexadecimal; text: what stands in it.
    """

    role: str
    name: str
    digest: str
    text: str


@record
class Origin:
    """When, by what and from what a report is made; the specimen's file is the first source.

    made: with its time zone; versions: program or library -> its version.
    """

    made: datetime
    versions: Mapping[str, str]
    sources: tuple[Source, ...]

    @property
    def date(self) -> str:
        """To the second, with the time zone."""
        return f"{self.made:%Y-%m-%d %H:%M:%S %Z}"

    @property
    def trace(self) -> str:
        """The specimen's file in one line."""
        file = self.sources[0]
        version = self.versions["saltline"]
        name = PurePath(file.name).name
        return f"saltline {version}, {name} of SHA-256 {file.digest[:DIGEST_SHOWN]}..."


def origin_entries(origin: Origin) -> Entries:
    """Date, versions and digests."""
    versions = ", ".join(f"{name} {version}" for name, version in origin.versions.items())
    files = [(source.role, f"{source.name}, SHA-256 {source.digest}") for source in origin.sources]
    return Entries((("made", origin.date), ("with", versions), *files))


# -- the specimen ---------------------------------------------------------------------------------


def specimen_table(specimen: Specimen) -> Table:
    """Every quantity of a specimen as it is stated, and where; a hold that has a word by it."""
    words = {
        f"boundary.{name}": hold.word
        for name, hold in specimen.boundary.items()
        if hold.word != "elastic"
    }
    rows: dict[str, Row] = {}
    for path, quantity in quantities(specimen).items():
        if quantity.value == 0.0 and quantity.place is None:
            continue
        name = path.rpartition(".")[0] if path.rpartition(".")[0] in words else path
        written = words.get(name) or _written(quantity)
        shown = _in_words(name, specimen)
        rows.setdefault(name, {"path": shown, "written": written, "stated": _stated(quantity)})
    columns = (
        Column("path", "quantity", words=True),
        Column("written", "value, with its 95 % tolerance", words=True),
        Column("stated", "stated in", words=True),
    )
    return Table(columns, tuple(rows.values()))


def _in_words(path: str, specimen: Specimen) -> str:
    """A path whose numbers count from 0, for people: "supports.3.at.1" is "support 4, at, y".

    One without numbers stays: so it stands in the file, and so `fit --quantity` takes it.
    """
    parts = path.split(".")
    if not any(part.isdecimal() for part in parts):
        return path
    words: list[str] = []
    for part in parts:
        if not part.isdecimal():
            words.append(part.replace("_", " "))
        elif words[-1] in ("at", "to"):
            if specimen.kind == "plate":
                words.append("xy"[int(part)])
        else:
            words[-1] = f"{COUNTED.get(words[-1], words[-1])} {int(part) + 1}"
    return ", ".join(words)


COUNTED = {"supports": "support", "attached": "attached", "segments": "segment"}
"""A list of the file -> what one of it is called."""


def _written(quantity: Quantity) -> str:
    is_hold = quantity.path.endswith((".deflection", ".rotation"))
    if math.isinf(quantity.value):
        return "rigid"
    if quantity.value == 0.0 and is_hold:
        return "free"
    return exact_text(quantity, quantity.value, "")


def _stated(quantity: Quantity) -> str:
    if quantity.place is not None:
        return f"line {quantity.place.line}"
    return "built-in table" if quantity.path.startswith("material.") else "by default"


def specimen_entries(specimen: Specimen, facts_line: str) -> Entries:
    """What the table has no numbers for."""
    return Entries(tuple(_specimen_rows(specimen, facts_line)))


def _specimen_rows(specimen: Specimen, facts_line: str) -> Iterator[tuple[str, str]]:
    material = specimen.material
    yield "material", f"{material.name}: {material.source or 'as the file states it'}"
    if facts_line:
        yield "at rest", facts_line
    drive = specimen.drive
    if drive is None:
        yield "drive", "the file states none"
    else:
        twin = "; two equal specimens opposite each other" if drive.layout == "twin" else ""
        through = "all supports together" if drive.through == "boundary" else "one point"
        yield "drive", f"through {through}{twin}"
    damping = specimen.damping_ratio
    stated = "the file states none" if damping is None else f"ratio {100.0 * damping.value:.4g} %"
    yield "damping", stated


# -- assumptions ----------------------------------------------------------------------------------


def assumptions(modes: Modes, *, has_bands: bool) -> tuple[str, ...]:
    """What the predictions rest on, in sentences."""
    specimen = modes.specimen
    return (
        "Small, linear vibration of uniform material; damping does not move the frequencies.",
        THEORIES[modes.theory],
        *_of_geometry(specimen.geometry, modes),
        *_of_holds(specimen),
        *_of_material(specimen),
        "Bands (from, to) are 95 % intervals by the tolerances of the file and of the material, "
        "to first order (JCGM 100:2008); what the theory leaves out is not in them."
        if has_bands
        else "Neither the file nor the material states a tolerance, so there are no bands.",
    )


@singledispatch
def _of_geometry(geometry: Geometry, modes: Modes) -> tuple[str, ...]:
    raise TypeError(f"no assumptions are known of {type(geometry).__name__}")


@_of_geometry.register
def _(geometry: BeamGeometry, modes: Modes) -> tuple[str, ...]:
    del geometry
    families = list(dict.fromkeys(mode.family for mode in modes.modes))
    listed = f"A straight beam. Listed: {', '.join(families)}."
    if not is_rectangular(modes.specimen):
        return (listed,)
    strip = "A strip grows node lines along its length higher up, which no beam theory has."
    return (f"{listed} {strip}",)


_THIN = (
    "Flat and thin: where the thickness is more than about a twentieth of the wave length, true "
    "frequencies are lower than predicted."
)


@_of_geometry.register(PlateGeometry)
@_of_geometry.register(DiscGeometry)
def _(geometry: PlateGeometry | DiscGeometry, modes: Modes) -> tuple[str, ...]:
    del geometry, modes
    return (_THIN,)


def _of_holds(specimen: Specimen) -> tuple[str, ...]:
    holds = [*specimen.boundary.values(), *(support.hold for support in specimen.supports)]
    if not any(math.isinf(hold.rotation.value) for hold in holds):
        return ()
    return (
        "What is held rigidly gives nothing. A real clamp always does: measured frequencies of "
        "cantilevers are commonly 0.5 to 5 % low (common practice, no source).",
    )


def _of_material(specimen: Specimen) -> tuple[str, ...]:
    own = [q for path, q in quantities(specimen).items() if path.startswith("material.")]
    if any(quantity.place is not None for quantity in own):
        return ()
    return ("The material's values are typical of its name, not measured on this piece.",)
