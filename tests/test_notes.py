"""What is remarked on a list of modes, and where no remark is due."""

import pytest

from saltline.files.specimen_file import read_specimen
from saltline.show.notes import other_families, shear_note, soft_ends_note, unit_note
from saltline.show.predicted import predicted
from saltline.solver import find_modes, first_frequencies


def beam(section, *, ends="start: clamped, end: free", length="200 mm", modulus="200 GPa"):
    return read_specimen(f"""
kind: beam
material: {{youngs_modulus: {modulus}, density: 7850 kg/m3, poisson_ratio: 0.3}}
geometry: {{length: {length}, section: {{{section}}}}}
boundary: {{{ends}}}
""")


STRIP = "shape: rectangle, width: 20 mm, thickness: 2 mm"
THICK = "shape: rectangle, width: 40 mm, thickness: 10 mm"
SOFT = "start: {deflection: rigid, rotation: 100 N m/rad}, end: free"


def shear(specimen, families=("flatwise",), count=8):
    modes = find_modes(specimen, count=count, families=families)
    return shear_note(modes, predicted(modes).data["modes"])


def test_shear_is_named_for_each_family_from_its_first_mode_beyond_the_band():
    """The modes named are the first whose Euler-Bernoulli frequency lies above their band."""
    specimen = beam(THICK, modulus="200 GPa ± 4 %")
    (said,) = shear(specimen, ("flatwise", "edgewise"), 12)
    modes = find_modes(specimen, count=12, families=("flatwise", "edgewise")).modes
    first = {}
    for mode in modes:  # 4 % of the modulus is 2 % of the frequency
        if mode.euler_hz and mode.euler_hz > 1.02 * mode.frequency_hz:
            first.setdefault(mode.family, mode.order)
    assert set(first) == {"flatwise", "edgewise"}
    named = " and ".join(f"{family} {order}" for family, order in first.items())
    assert said == (
        f"from {named} on, Euler–Bernoulli's frequency is too high by more than the band"
    )


def test_without_a_band_one_percent_is_pointed_out_and_a_slender_beam_is_not():
    assert shear(beam(THICK))[0].endswith("by more than 1 %")
    assert shear(beam(STRIP), count=4) == ()


def test_other_motions_are_named_while_they_lie_in_the_range():
    few, many = (find_modes(beam(STRIP), count=n) for n in (2, 6))
    others = first_frequencies(beam(STRIP), besides=("flatwise",))
    assert other_families(few, others) == ()
    (said,) = other_families(many, others)
    assert f"edgewise from {others['edgewise']:.4g} Hz" in said
    assert said.endswith("--all lists them")


def test_a_round_section_bends_in_two_directions():
    rod = beam("shape: rod, diameter: 8 mm")
    modes = find_modes(rod, count=3)
    said = other_families(modes, first_frequencies(rod, besides=("flatwise",)))
    assert said[0] == "the section is round: each bending mode occurs in two directions"
    assert not any("edgewise" in note for note in said)


@pytest.mark.parametrize(("families", "due"), [(("flatwise", "edgewise"), 1), (("flatwise",), 0)])
def test_a_soft_end_is_remarked_where_edgewise_bending_is_listed(families, due):
    modes = find_modes(beam(STRIP, ends=SOFT), count=2, families=families)
    assert len(soft_ends_note(modes, {})) == due
    firm = find_modes(beam(STRIP), count=2, families=families)
    assert soft_ends_note(firm, {}) == ()


def test_an_absurd_unit_is_asked_about():
    (said,) = unit_note(find_modes(beam(STRIP, length="200 m"), count=1))
    assert said.startswith("the length is 100000 times the thickness; ")
    assert said.endswith(": are all units as you mean them?")
    assert unit_note(find_modes(beam(STRIP), count=1)) == ()
