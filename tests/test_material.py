"""The built-in materials: whether they hang together, and how they are found."""

from __future__ import annotations

import pytest

from saltline.material import BUILT_IN, Material, UnknownMaterialError, find_material
from saltline.quantity import Quantity

METALS = [m for m in BUILT_IN.values() if "Metals Handbook" in m.source]


def test_what_a_laboratory_bolts_to_an_exciter_is_there() -> None:
    wanted = {
        "steel", "stainless steel", "spring steel", "aluminium", "aluminium 6061",
        "aluminium 7075", "aluminium 2024", "brass", "phosphor bronze", "copper", "titanium",
        "titanium 6al4v", "cast iron", "magnesium", "glass", "alumina", "acrylic", "pvc",
        "polycarbonate", "spruce", "birch plywood", "carbon epoxy",
    }  # fmt: skip
    assert wanted <= BUILT_IN.keys()


@pytest.mark.parametrize("material", BUILT_IN.values(), ids=BUILT_IN)
def test_every_material_is_stable_and_names_its_source(material: Material) -> None:
    E, nu = material.youngs_modulus, material.poisson_ratio
    assert 1e9 < E.value < 500e9
    assert 300.0 < material.density.value < 20000.0
    # G from E and nu of an isotropic material, the stated one of a directed one: never above E/2.
    assert 0.0 < material.G < E.value / 2.0
    for quantity in (E, nu, material.density):
        assert 0.0 < quantity.tolerance < quantity.value
        assert quantity.path.startswith("material.")
        assert quantity.place is None
    if material.youngs_modulus_y is None:
        assert -1.0 < nu.value - nu.tolerance < nu.value + nu.tolerance < 0.5
    else:
        assert nu.value**2 < E.value / material.youngs_modulus_y.value
    assert material.source.endswith("from memory")


@pytest.mark.parametrize("material", METALS, ids=lambda m: m.name)
def test_specific_stiffness_of_metals_is_what_it_is_for_all_metals(material: Material) -> None:
    # Sound speed in a rod: about 5 km/s for steel, aluminium, titanium and magnesium alike, 3.5 to
    # 4 for copper alloys. A slip of a digit in E or density would show here.
    speed = (material.youngs_modulus.value / material.density.value) ** 0.5
    assert 3400.0 < speed < 5300.0


@pytest.mark.parametrize("material", METALS, ids=lambda m: m.name)
def test_endurance_strain_is_of_the_order_of_a_thousandth(material: Material) -> None:
    if material.endurance_strain is not None:
        assert 5e-4 < material.endurance_strain.value < 5e-3


@pytest.mark.parametrize("name", ["spruce", "nylon", "cast iron", "carbon epoxy", "acrylic"])
def test_what_varies_carries_a_caution(name: str) -> None:
    assert find_material(name).caution


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("Brass", "brass"),
        ("  stainless   STEEL ", "stainless steel"),
        ("stainless_steel", "stainless steel"),
        ("spring-steel", "spring steel"),
        ("aluminum", "aluminium"),
        ("Aluminum 6061", "aluminium 6061"),
        ("gray cast iron", "cast iron"),
        ("Ti-6Al-4V", "titanium 6al4v"),
        ("CFRP", "carbon epoxy"),
    ],
)
def test_a_material_is_found_however_it_is_written(written: str, name: str) -> None:
    assert find_material(written) is BUILT_IN[name]


def test_only_sheets_are_orthotropic() -> None:
    orthotropic = {name for name, material in BUILT_IN.items() if material.is_orthotropic}
    assert orthotropic == {"spruce sheet", "birch plywood", "carbon epoxy"}


def test_shear_modulus_of_an_isotropic_material_follows_from_the_others() -> None:
    material = Material("x", Quantity(200e9), Quantity(7800.0), Quantity(0.25))
    assert material.G == 80e9


def test_an_unknown_material_names_the_nearest() -> None:
    with pytest.raises(UnknownMaterialError) as caught:
        find_material("bras")
    assert str(caught.value) == (
        'material "bras" is not built in; did you mean "brass"? "saltline materials" lists them, '
        "or state youngs_modulus, density and poisson_ratio"
    )


def test_a_material_like_no_other_says_where_to_look() -> None:
    with pytest.raises(UnknownMaterialError) as caught:
        find_material("marzipan")
    assert str(caught.value) == (
        'material "marzipan" is not built in; "saltline materials" lists them, or state '
        "youngs_modulus, density and poisson_ratio"
    )


def test_the_table_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        BUILT_IN["brass"] = BUILT_IN["steel"]  # type: ignore[index]
