"""A measured list in YAML: its rows as mappings."""

from __future__ import annotations

import re
from collections.abc import Iterator

from saltline.files.csv_cells import content_begins
from saltline.files.document import Log, compose
from saltline.files.fields import Fields
from saltline.files.measured_row import MOST_ROWS
from saltline.quantity import Place

_YAML_ROW = '"- {frequency: 26.1 Hz, nodes: 0}"'
_LIST = 'what was measured and begins with "measured:"'
_YAML_START = re.compile(
    r"""\s*(?:---|%YAML|[{\[]|-(?:\s|\Z)|["']?[A-Za-z_]+["']?[ ]*:(?:\s|\Z))"""
)


def looks_like_yaml(text: str) -> bool:
    """Whether a text begins as YAML does."""
    return _YAML_START.match(text, content_begins(text)) is not None


def yaml_rows(text: str, log: Log) -> Iterator[Fields]:
    """The rows of a YAML text; raises InputError where reading cannot go on."""
    if content_begins(text) == len(text):
        cure = f'begin with "measured:" and add a line for each resonance, for example {_YAML_ROW}'
        raise log.fail(None, f"the list is empty; {cure}")
    if re.compile(r"\s*(?:-\s|\[)").match(text, content_begins(text)):
        place = Place(text[: content_begins(text)].count("\n") + 1, 1)
        raise log.fail(place, 'the list stands without its name; write "measured:" before it')
    top = Fields(compose(text, log), path="", log=log)
    if "measured" not in top.keys and {"kind", "geometry"} <= set(top.keys):
        raise log.fail(
            top.place,
            f"this is a specimen; a list holds {_LIST}, so look whether the two files are "
            "exchanged",
        )
    if "exciter" in top.keys:
        raise log.fail(top.place, f"this is a rig file; a list holds {_LIST}")
    if "recordings" in top.keys:
        raise log.fail(
            top.place,
            "this is all that pick found, in JSON; what is read here is the list that it writes "
            "with --list FILE, or with --format csv",
        )
    value = top.need("measured", "measured: [{frequency: 26.1 Hz, nodes: 0}]")
    top.finish()
    if value is not None and value.is_empty_list:
        cure = f"add a line for each resonance, for example {_YAML_ROW}"
        value.complain(f"measured is an empty list; {cure}")
    for item in value.items("[{frequency: 26.1 Hz, nodes: 0}]", most=MOST_ROWS) if value else ():
        fields = item.fields("{frequency: 26.1 Hz, nodes: 0}")
        if fields is not None:
            yield fields
