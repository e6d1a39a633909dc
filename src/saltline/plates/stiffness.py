"""The bending stiffnesses of a plate, Dx, Dy, D1 and Dk, from its material and thickness."""

from __future__ import annotations

from saltline.material import Material
from saltline.record import record
from saltline.specimen import PlateGeometry, Specimen


@record
class Stiffness:
    """Bending stiffnesses of a plate, N m, and mass per area, kg/m2."""

    Dx: float
    Dy: float
    D1: float
    Dk: float
    mass: float

    @property
    def H(self) -> float:  # noqa: N802
        """The stiffness of the mixed term of the equation, D1 + 2 Dk, N m."""
        return self.D1 + 2.0 * self.Dk


def plate_stiffness(specimen: Specimen) -> Stiffness:
    """Dx, Dy, D1, Dk and the mass per area from the specimen's material and thickness."""
    assert isinstance(specimen.geometry, PlateGeometry)
    return sheet_stiffness(specimen.material, specimen.geometry.thickness.value)


def sheet_stiffness(material: Material, h: float) -> Stiffness:
    """The same of a sheet of a thickness h, m."""
    Ex, nu_xy = material.youngs_modulus.value, material.poisson_ratio.value
    Ey = material.youngs_modulus_y.value if material.youngs_modulus_y is not None else Ex
    nu_yx = nu_xy * Ey / Ex
    reduced = h**3 / (12.0 * (1.0 - nu_xy * nu_yx))
    return Stiffness(
        Dx=Ex * reduced,
        Dy=Ey * reduced,
        D1=nu_yx * Ex * reduced,
        Dk=material.G * h**3 / 12.0,
        mass=material.density.value * h,
    )
