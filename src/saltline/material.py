"""What the material is: elastic constants and density, and the built-in table with its sources."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType

from saltline.quantity import Quantity
from saltline.record import record
from saltline.words import listed, nearest, quoted


@record
class Material:
    """Elastic constants and density of a specimen's material.

    An isotropic material has `youngs_modulus` and `poisson_ratio`; its `youngs_modulus_y` is None,
    and where `shear_modulus` is None too, that is E / (2 (1 + nu)). An orthotropic one (plates)
    has different moduli along x and y and its own shear modulus. One that is only described along
    a beam (wood along the grain) states a shear modulus but no `youngs_modulus_y`.

    youngs_modulus:   Pa, along x (along a beam)
    density:          kg/m3
    poisson_ratio:    the major one, xy
    youngs_modulus_y: Pa
    shear_modulus:    Pa or None
    source:           where the values come from
    caution:          what the values depend on; "" where nothing is special
    endurance_strain: rough strain amplitude that is survived 1e7 times, None where unknown
    """

    name: str
    youngs_modulus: Quantity
    density: Quantity
    poisson_ratio: Quantity
    youngs_modulus_y: Quantity | None = None
    shear_modulus: Quantity | None = None
    source: str = ""
    caution: str = ""
    endurance_strain: Quantity | None = None

    @property
    def named_caution(self) -> str:
        """The caution after the material's name; "" where there is none."""
        return f"{self.name}: {self.caution}" if self.caution else ""

    @property
    def is_orthotropic(self) -> bool:
        """Whether the moduli along x and y are stated separately."""
        return self.youngs_modulus_y is not None

    @property
    def G(self) -> float:  # noqa: N802  (the symbol of the formula)
        """Shear modulus, Pa: the stated one, or E / (2 (1 + nu)) of an isotropic material."""
        if self.shear_modulus is not None:
            return self.shear_modulus.value
        return self.youngs_modulus.value / (2.0 * (1.0 + self.poisson_ratio.value))


class UnknownMaterialError(ValueError):
    """A material that the built-in table does not hold."""


def find_material(name: str) -> Material:
    """The built-in material of this name, whatever its case, hyphens and underscores.

    Raises UnknownMaterialError, which names the nearest ones.
    """
    plain = _plain(name)
    known = _BY_PLAIN_NAME.get(plain)
    if known is not None:
        return known
    near = nearest(plain, _BY_PLAIN_NAME, count=4)
    names = list(dict.fromkeys(_BY_PLAIN_NAME[word].name for word in near))
    meant = f"did you mean {listed(map(quoted, names))}? " if names else ""
    raise UnknownMaterialError(
        f"material {quoted(name)} is not built in; {meant}"
        '"saltline materials" lists them, or state youngs_modulus, density and poisson_ratio'
    )


def _plain(name: str) -> str:
    words = re.sub(r"[\s_-]+", " ", name.casefold()).strip()
    return words.replace("aluminum", "aluminium").replace("gray", "grey")


# -- the built-in table ---------------------------------------------------------------------------
#
# Each source names the handbook where such values are usually tabulated. None of them was at hand
# when the table was written: the values are typical ones recalled from memory, and the tolerances
# (95 %) cover what alloys, tempers and batches of that name are known to differ by.

_METALS_1 = "ASM Metals Handbook, vol. 1 (irons and steels), from memory"
_METALS_2 = "ASM Metals Handbook, vol. 2 (nonferrous alloys), from memory"
_CERAMICS = "ASM Engineered Materials Handbook, vol. 4 (ceramics and glasses), from memory"
_PLASTICS = "ASM Engineered Materials Handbook, vol. 2 (engineering plastics), from memory"
_COMPOSITES = "ASM Handbook, vol. 21 (composites), from memory"
_WOOD = "USDA Wood Handbook (FPL-GTR-282), ch. 5, from memory"
_PLYWOOD = "Handbook of Finnish Plywood, from memory"

_IRON = "the modulus of grey iron varies widely with its graphite and grows at small strain"
_POLYMER = "the modulus falls with temperature and rises with frequency"
_MOIST = _POLYMER + ", and falls by half or more as it takes up moisture"
_GRAIN = (
    "along the grain; varies from board to board, with moisture and with the angle of the grain, "
    "so measure a piece"
)
_WEAVE = "depends on the weave, and differs along and across the sheet"

# name: E in GPa and its tolerance in %, density in kg/m3 and its tolerance in %,
# Poisson's ratio and its tolerance, endurance strain in 1e-6 (0: unknown), source, caution
_ISOTROPIC: Mapping[str, tuple[float, float, float, float, float, float, float, str, str]] = {
    "steel": (205, 3, 7850, 1, 0.29, 0.01, 900, _METALS_1, ""),
    "spring steel": (207, 3, 7850, 1, 0.29, 0.01, 2000, _METALS_1, ""),
    "tool steel": (210, 3, 7800, 2, 0.29, 0.01, 0, _METALS_1, ""),
    "stainless steel": (193, 3, 8000, 1, 0.29, 0.015, 1200, _METALS_1, ""),
    "cast iron": (110, 20, 7150, 3, 0.26, 0.03, 0, _METALS_1, _IRON),
    "ductile iron": (169, 5, 7100, 2, 0.275, 0.015, 0, _METALS_1, ""),
    "invar": (141, 4, 8050, 1, 0.29, 0.02, 0, _METALS_1, ""),
    "aluminium": (69, 3, 2700, 1, 0.33, 0.01, 800, _METALS_2, ""),
    "aluminium 2024": (73.1, 3, 2780, 1, 0.33, 0.01, 1800, _METALS_2, ""),
    "aluminium 6061": (68.9, 3, 2700, 1, 0.33, 0.01, 1400, _METALS_2, ""),
    "aluminium 7075": (71.7, 3, 2810, 1, 0.33, 0.01, 2100, _METALS_2, ""),
    "brass": (103, 6, 8500, 1, 0.34, 0.02, 1000, _METALS_2, ""),
    "phosphor bronze": (110, 4, 8860, 1, 0.34, 0.02, 1700, _METALS_2, ""),
    "beryllium copper": (128, 4, 8250, 1, 0.30, 0.02, 2000, _METALS_2, ""),
    "copper": (117, 5, 8940, 1, 0.34, 0.015, 700, _METALS_2, ""),
    "nickel": (207, 4, 8900, 1, 0.31, 0.02, 0, _METALS_2, ""),
    "titanium": (105, 4, 4510, 1, 0.35, 0.03, 2000, _METALS_2, ""),
    "titanium 6al4v": (114, 4, 4430, 1, 0.33, 0.02, 4000, _METALS_2, ""),
    "magnesium": (45, 4, 1780, 2, 0.35, 0.015, 1800, _METALS_2, ""),
    "tungsten": (405, 3, 19300, 1, 0.28, 0.01, 0, _METALS_2, ""),
    "glass": (71, 5, 2500, 1, 0.22, 0.02, 0, _CERAMICS, "brittle: it breaks without warning"),
    "fused silica": (73, 2, 2200, 1, 0.17, 0.01, 0, _CERAMICS, "brittle"),
    "alumina": (370, 8, 3900, 3, 0.22, 0.02, 0, _CERAMICS, "the modulus falls with porosity"),
    "acrylic": (3.2, 15, 1190, 1, 0.37, 0.03, 0, _PLASTICS, _POLYMER),
    "polycarbonate": (2.4, 12, 1200, 1, 0.37, 0.03, 0, _PLASTICS, _POLYMER),
    "pvc": (3.0, 20, 1400, 4, 0.38, 0.03, 0, _PLASTICS, _POLYMER),
    "abs": (2.2, 20, 1050, 3, 0.37, 0.03, 0, _PLASTICS, _POLYMER),
    "acetal": (3.0, 15, 1410, 1, 0.37, 0.03, 0, _PLASTICS, _POLYMER),
    "nylon": (2.7, 40, 1140, 2, 0.39, 0.03, 0, _PLASTICS, _MOIST),
    "glass epoxy laminate": (22, 15, 1850, 5, 0.14, 0.03, 0, _COMPOSITES, _WEAVE),
}

# name: Ex, Ey and Gxy in GPa, each with its tolerance in %; Ey of 0: stated along a beam only;
# density in kg/m3 and its tolerance in %, major Poisson's ratio and its tolerance, source, caution
_DIRECTED: Mapping[
    str, tuple[float, float, float, float, float, float, float, float, float, float, str, str]
] = {
    "spruce": (11, 25, 0, 0, 0.7, 30, 420, 12, 0.37, 0.1, _WOOD, _GRAIN),
    "spruce sheet": (11, 25, 0.85, 30, 0.7, 30, 420, 12, 0.37, 0.1, _WOOD,
        "quarter-sawn, x " + _GRAIN),
    "birch plywood": (10.5, 20, 6.5, 25, 0.65, 25, 680, 6, 0.08, 0.05, _PLYWOOD,
        "x along the grain of the faces; depends on the number of plies and on moisture"),
    "carbon epoxy": (135, 12, 9, 15, 5, 20, 1560, 4, 0.3, 0.04, _COMPOSITES,
        "all fibres along x; the layup decides, so these values hold for no other"),
}  # fmt: skip

_ALIASES: Mapping[str, str] = {
    "mild steel": "steel",
    "carbon steel": "steel",
    "stainless": "stainless steel",
    "grey cast iron": "cast iron",
    "grey iron": "cast iron",
    "titanium 6al 4v": "titanium 6al4v",
    "ti 6al 4v": "titanium 6al4v",
    "soda lime glass": "glass",
    "pmma": "acrylic",
    "pom": "acetal",
    "fr4": "glass epoxy laminate",
    "plywood": "birch plywood",
    "cfrp": "carbon epoxy",
    "cfrp unidirectional": "carbon epoxy",
    "carbon fibre": "carbon epoxy",
    "carbon fiber": "carbon epoxy",
}

_STRAIN_SPREAD = 0.3


def _quantity(name: str, value: float, percent: float, unit: str, scale: float = 1.0) -> Quantity:
    return Quantity(value * scale, value * scale * percent / 100.0, unit, f"material.{name}")


def _built_in() -> Iterator[Material]:
    for name, (E, dE, rho, drho, nu, dnu, strain, source, caution) in _ISOTROPIC.items():
        endurance = _quantity("endurance_strain", strain * 1e-6, 100 * _STRAIN_SPREAD, "")
        yield Material(
            name,
            _quantity("youngs_modulus", E, dE, "GPa", 1e9),
            _quantity("density", rho, drho, "kg/m3"),
            Quantity(nu, dnu, "", "material.poisson_ratio"),
            source=source,
            caution=caution,
            endurance_strain=endurance if strain else None,
        )
    for name, (Ex, dEx, Ey, dEy, G, dG, rho, drho, nu, dnu, source, caution) in _DIRECTED.items():
        along_x = "youngs_modulus_x" if Ey else "youngs_modulus"
        yield Material(
            name,
            _quantity(along_x, Ex, dEx, "GPa", 1e9),
            _quantity("density", rho, drho, "kg/m3"),
            Quantity(nu, dnu, "", "material.poisson_ratio"),
            _quantity("youngs_modulus_y", Ey, dEy, "GPa", 1e9) if Ey else None,
            _quantity("shear_modulus", G, dG, "GPa", 1e9),
            source=source,
            caution=caution,
        )


BUILT_IN: Mapping[str, Material] = MappingProxyType({m.name: m for m in _built_in()})
"""The built-in materials by name. Endurance strains are rough guides for polished specimens."""

_BY_PLAIN_NAME: Mapping[str, Material] = {
    **BUILT_IN,
    **{alias: BUILT_IN[name] for alias, name in _ALIASES.items()},
}
