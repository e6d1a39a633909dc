"""`saltline predict`: natural frequencies, mode by mode."""

from __future__ import annotations

import click

from saltline.cli.common import (
    all_option,
    below_option,
    chosen_families,
    count_option,
    family_option,
    format_option,
    honest_errors,
    load_specimen,
    one_of,
    show,
    specimen_argument,
    theory_option,
)


@click.command("predict")
@specimen_argument
@count_option
@below_option
@theory_option
@family_option
@all_option
@format_option
@honest_errors
def command(
    specimen_path: str,
    count: int | None,
    below: float | None,
    theory: str,
    families: tuple[str, ...],
    every: bool,
    form: str,
) -> None:
    """Predict the natural frequencies of SPECIMEN, mode by mode.

    Eight modes are listed unless --modes or --below says otherwise. A beam's frequencies are
    Timoshenko's, with Euler and Bernoulli's beside them, so that the effect of shear is seen; of
    its families of motion flatwise bending alone is listed unless --family or --all says otherwise.

    Example: saltline predict reed.yaml --below "5 kHz"
    """
    from saltline.modes import find_modes, first_frequencies
    from saltline.show.predicted import predicted

    one_of(count, below)
    specimen = load_specimen(specimen_path)
    chosen = chosen_families(specimen, families, every=every)
    modes = find_modes(specimen, count=count or 8, below_hz=below, theory=theory, families=chosen)
    others = first_frequencies(specimen, besides=chosen)
    show(predicted(modes, others), form)
