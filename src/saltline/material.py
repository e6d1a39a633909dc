"""What the material is: elastic constants and density, and the built-in table with its sources."""

from __future__ import annotations

from dataclasses import dataclass

from saltline.quantity import Quantity


@dataclass(frozen=True, slots=True)
class Material:
    """Elastic constants and density of a specimen's material.

    An isotropic material has `youngs_modulus` and `poisson_ratio`; an orthotropic one (plates)
    has different moduli along x and y and its own shear modulus. For an isotropic material
    youngs_modulus_y is the same object as youngs_modulus and shear_modulus is None, which means
    E / (2 (1 + nu)).

    youngs_modulus:   Pa, along x (along a beam)
    density:          kg/m3
    poisson_ratio:    the major one, xy
    youngs_modulus_y: Pa
    shear_modulus:    Pa or None
    """

    name: str
    youngs_modulus: Quantity
    density: Quantity
    poisson_ratio: Quantity
    youngs_modulus_y: Quantity | None = None
    shear_modulus: Quantity | None = None
    source: str = ""
    caution: str = ""

    @property
    def is_orthotropic(self) -> bool:
        """Whether the moduli along x and y are stated separately."""
        return self.youngs_modulus_y is not None

    @property
    def G(self) -> float:
        """Shear modulus, Pa: the stated one, or E / (2 (1 + nu)) of an isotropic material."""
        if self.shear_modulus is not None:
            return self.shear_modulus.value
        return self.youngs_modulus.value / (2.0 * (1.0 + self.poisson_ratio.value))
