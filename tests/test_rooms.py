"""The rooms: nothing imports upward, and a command loads no more than it needs."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SOURCE = ROOT / "src" / "saltline"

LEVELS = (
    ("files", "plates", "tracing", "naming", "fitting", "forced", "planning", "sweeps", "many"),
    ("record",),
    (
        "arrays",
        "many.workers",
        "naming.counted",
        "planning.pace",
        "planning.strobe",
        "units",
        "words",
    ),
    (
        "legendre",
        "many.outliers",
        "quantity_kinds",
        "sweeps.noise",
        "sweeps.poles",
        "sweeps.spectrum",
        "sweeps.swept",
    ),
    ("sweeps.clipping", "sweeps.curve", "sweeps.lateness", "sweeps.spikes", "sweeps.sweep"),
    ("sweeps.peaks",),
    ("sweeps.group_fit",),
    ("sweeps.resonance_fit",),
    ("sweeps.orientation",),
    ("planning.cautions", "naming.pairing", "quantity"),
    ("naming.alignment", "files.complaints", "material", "measured_list", "section"),
    ("specimen",),
    ("quantities_of", "planning.rig", "files.starter"),
    ("files.reading", "planning.axis", "sweeps.sweep_columns"),
    ("sweeps.sweep_layout",),
    ("sweeps.sweep_csv",),
    ("sweeps.sweep_file",),
    ("files.document",),
    ("files.csv_cells", "files.fields", "many.gathered"),
    ("files.measured_row", "files.specimen_values"),
    ("files.specimen_holds", "files.specimen_parts"),
    (
        "files.measured_csv",
        "files.measured_yaml",
        "files.rig_file",
        "files.measured_fit",
        "files.rig_fit",
        "files.specimen_places",
    ),
    ("files.measured", "files.specimen_fit"),
    ("files.specimen_file",),
    ("naming.suspects",),
    ("sweeps.judged", "sweeps.strange"),
    ("sweeps.doubts",),
    ("sweeps.hurried",),
    ("sweeps.heights", "sweeps.one_pick"),
    ("sweeps.picks",),
    ("sweeps.line_up",),
    ("eigen",),
    ("basis", "functional"),
    (
        "plates.cubature",
        "plates.plate_places",
        "plates.potentials",
        "problem",
        "integrals",
        "plates.stiffness",
    ),
    ("plates.corners", "plates.plate_products", "plates.singular", "plates.sources", "settling"),
    ("plates.plate_corners", "plates.plate_space"),
    ("plates.plate_singular",),
    ("plates.plate_supports",),
    ("plates.plate_axes", "plates.plate_shape"),
    ("plates.plate_blocks",),
    ("plates.plate_quotients",),
    ("disc_shape", "mixed_shape", "motions", "plate", "radial", "strip_form"),
    ("beam_elements", "disc", "strip_plate"),
    ("beam_quotients",),
    ("beam",),
    ("modes", "forced.together", "kinds"),
    ("merging",),
    ("solver",),
    ("forced.shapes",),
    ("beam_nodes", "naming.findings", "tracing.nodecircles", "tracing.shape_grid"),
    ("tracing.saddles",),
    ("tracing.crossings", "tracing.line_order"),
    ("tracing.nodelines",),
    ("fitting.uncertain", "naming.chances", "nodes"),
    (
        "effects",
        "naming.residuals",
        "fitting.estimate",
        "facts",
        "planning.places",
        "tracing.regions",
        "files.rewrite",
        "spread",
        "strip",
    ),
    (
        "fitting.fittable",
        "naming.identify",
        "forced.inertia",
        "fitting.separable",
        "fitting.standard_modulus",
        "turning",
        "planning.watch",
    ),
    (
        "fitting.adjustable",
        "forced.beyond",
        "forced.drive",
        "planning.envelope",
        "pairs",
        "forced.rigid",
        "forced.strain",
    ),
    ("fitting.followed", "many.grid", "planning.search", "naming.unseen"),
    (
        "fitting.advice",
        "naming.beam_ended",
        "naming.check",
        "naming.misfit",
        "mixture",
        "forced.response",
    ),
    ("many.lot", "naming.elsewhere", "naming.softer", "planning.loaded", "fitting.rematch"),
    ("planning.balance",),
    ("fitting.fit", "planning.limits"),
    ("planning.driving",),
    ("planning.each_mode",),
    ("planning.plan",),
    ("study",),
    ("show.paper", "show.table", "show.template_rings", "show.template_seams"),
    ("show.fitted_words", "show.mixing", "show.notes", "show.phrases", "show.scale_words"),
    ("show.place_sheet",),
    (
        "show.beyond",
        "show.checked",
        "show.fitted",
        "show.materials",
        "show.mode_sheet",
        "show.output",
        "show.predicted",
        "show.run_sheet",
        "show.sweep_sheet",
        "show.varied",
    ),
    ("show.outline", "show.pictures", "show.planned_data", "show.together"),
    ("show.lot_sheet",),
    ("show.face", "show.pictures_file", "show.pictures_labels"),
    ("show.pictures_signs",),
    (
        "show.pictures_axis",
        "show.pictures_beam",
        "show.pictures_face",
        "show.pictures_sheet",
        "show.sketch",
        "show.template",
    ),
    ("show.pictures_modes", "show.pictures_motion", "show.template_beam", "show.template_tiles"),
    ("show.pictures_lot", "show.pictures_varied"),
    ("show.pictures_compare", "show.pictures_map", "show.pictures_moving", "show.template_face"),
    ("show.template_draw", "show.template_sheet"),
    ("show.template_file",),
    ("cli.parameters",),
    ("cli.common", "show.marked", "show.picked", "show.pictures_sweep", "show.planned"),
    ("show.report_parts", "show.report_type"),
    ("show.report_canvas", "show.report_marks", "show.report_table", "show.report_words"),
    ("show.report_flow", "show.report_markdown", "show.report_measured", "show.report_plan"),
    ("show.report", "show.report_strips"),
    ("show.report_pages",),
    ("show.report_pdf",),
    (
        "cli.each",
        "cli.prediction",
        "cli.report_findings",
        "cli.writing",
    ),
    ("cli.picture_files",),
    ("cli.checking", "cli.draw_sheets", "cli.vary"),
    ("cli.new", "cli.predict", "cli.mark", "cli.check", "cli.fit", "cli.materials", "cli.plan"),
    ("cli.draw", "cli.pick", "cli.report"),
    ("show", "cli", ""),
    ("__main__",),
)
"""The rooms from the bottom to the top; those of one level do not know each other. "" is the
package itself."""

LEVEL = {name: level for level, names in enumerate(LEVELS) for name in names}


@cache
def modules() -> dict[str, Path]:
    """Name within the package -> file."""
    found = {}
    for path in SOURCE.rglob("*.py"):
        parts = path.relative_to(SOURCE).with_suffix("").parts
        found[".".join(part for part in parts if part != "__init__")] = path
    return found


def imports_of(path: Path) -> Iterator[str]:
    """The modules of the package that a file imports, anywhere in it, by their names within it."""
    known = modules()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: relative import"
            module = node.module or ""
            inner = [f"{module}.{alias.name}" for alias in node.names]
            names = [n if n.removeprefix("saltline.") in known else module for n in inner]
        else:
            continue
        for name in names:
            if name == "saltline" or name.startswith("saltline."):
                yield name.removeprefix("saltline").removeprefix(".")


def test_every_module_has_its_level() -> None:
    assert sorted(modules()) == sorted(LEVEL), "a new module must be entered in LEVELS"


def test_nothing_imports_upward() -> None:
    upward = [
        f"{name or 'saltline'} imports {imported}"
        for name, path in sorted(modules().items())
        for imported in imports_of(path)
        if LEVEL[imported] >= LEVEL[name]
    ]
    assert upward == []


# -- what is loaded -------------------------------------------------------------------------------


def loaded_by(*arguments: str) -> set[str]:
    """The modules that are loaded once the command has run, in a process of its own."""
    code = (
        "import sys\n"
        "from saltline.cli import main\n"
        "try:\n"
        "    main(sys.argv[1:])\n"
        "finally:\n"
        "    sys.stderr.write('\\n'.join(sys.modules))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *arguments],
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=ROOT,
        env={**os.environ, "PYTHONUTF8": "1"},
        timeout=120,
        check=True,
    )
    assert done.stdout
    return set(done.stderr.split("\n"))


def test_help_loads_nothing_heavy() -> None:
    loaded = loaded_by("--help")
    assert not loaded & {"numpy", "scipy", "yaml", "matplotlib"}
    assert {name for name in loaded if name.startswith("saltline.")} == {"saltline.cli"}


def test_a_beam_prediction_loads_only_what_it_needs() -> None:
    loaded = loaded_by("predict", "examples/clamped-reed.yaml")
    assert {"numpy", "yaml", "saltline.beam"} <= loaded
    assert not loaded & {"scipy", "matplotlib", "contourpy", "mpmath"}
    assert not loaded & {"saltline.plate", "saltline.disc", "saltline.tracing.nodelines"}
