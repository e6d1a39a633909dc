"""The built-in materials as a table."""

from __future__ import annotations

from saltline.material import BUILT_IN, Material
from saltline.quantity import Quantity
from saltline.show.table import Column, Result, Table, fixed, significant


def material_table() -> Result:
    """The result of `materials`."""
    rows = [_row(material) for material in BUILT_IN.values()]
    columns = (
        Column("name", "name", words=True),
        Column("youngs_modulus_pa", "E", "GPa", lambda v: significant(4)(v / 1e9)),
        Column("youngs_modulus_tolerance_percent", "±", "%", fixed(0)),
        Column("youngs_modulus_y_pa", "E across", "GPa", lambda v: significant(3)(v and v / 1e9)),
        Column("shear_modulus_pa", "G", "GPa", lambda v: significant(3)(v and v / 1e9)),
        Column("density_kg_m3", "density", "kg/m3", fixed(0)),
        Column("poisson_ratio", "Poisson", "", fixed(2)),
        Column("source", "source", words=True),
        Column("caution", "caution", words=True, shown=False),
    )
    cautions = tuple(f"{row['name']}: {row['caution']}" for row in rows if row["caution"])
    return Result({"materials": rows}, (Table(columns, rows),), cautions)


def _row(material: Material) -> dict[str, object]:
    E = material.youngs_modulus

    def value(quantity: Quantity | None) -> float | None:
        return None if quantity is None else quantity.value

    return {
        "name": material.name,
        "youngs_modulus_pa": E.value,
        "youngs_modulus_tolerance_percent": 100.0 * E.tolerance / E.value,
        "youngs_modulus_y_pa": value(material.youngs_modulus_y),
        "shear_modulus_pa": value(material.shear_modulus),
        "density_kg_m3": material.density.value,
        "poisson_ratio": material.poisson_ratio.value,
        "source": material.source,
        "caution": material.caution,
    }
