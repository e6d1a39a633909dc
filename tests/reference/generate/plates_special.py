"""Write plates_orthotropic.csv and plates_points.csv: orthotropic plates, point supports."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import plate_ritz
from mpmath import mp, mpf, pi, sqrt
from tables import digits, write_table

MODES = 6

ORTHOTROPIC = """
Thin orthotropic square plates: lambda = omega a^2 sqrt(rho h/Dx).
edges: ORDER left x=0, bottom y=0, right x=a, top y=a; C clamped, S pinned, F free; fibres along
x.
dy, d1, dk: Dy/Dx, D1/Dx, Dk/Dx with D1 = nu_yx Dx = nu_xy Dy and Dk = Gxy h^3/12 (twice Dk in H).
graphite-epoxy: Ex = 138 GPa, Ey = 8.96 GPa, Gxy = 7.1 GPa, nu_xy = 0.30 (from memory, of many
papers), Dx = Ex h^3/(12 (1 - nu_xy nu_yx)), nu_yx = nu_xy Ey/Ex. generic: Dx : Dy : D1 : Dk = 10
: 1 : 0.3 : 0.5.
Source for SSSS: lambda = pi^2 sqrt(m^4 + 2 (H/Dx) m^2 n^2 + (Dy/Dx) n^4), H = D1 + 2 Dk (Leissa,
NASA SP-160, 1969, ch. 9; Lekhnitskii; from memory), recomputed with mpmath at 30 digits by
generate/plates_special.py and confirmed there by Ritz. No published table could be recalled.
Others: recomputed there by Legendre-Ritz, degrees 24, 36, 54, extrapolated; an earlier
independent Ritz calculation agrees to 1e-7 (CFFF: to 5e-6). uncertainty: relative.
mode counts elastic modes only.
"""

POINTS = """
Free square plate held rigidly in deflection (w = 0, slopes free) at points, nu = 0.3:
lambda = omega a^2 sqrt(rho h/D).
support: corners = the four corners; centre = the centre; corners-centre = those five;
midsides = the middles of the four edges. mode counts elastic modes only (held at the centre the
plate keeps two rigid tilts, which are left out); equal values are degenerate pairs.
Values: recomputed by generate/plates_special.py, Legendre-Ritz with the supports as constraints,
each symmetry class by itself, degrees 32, 48, 72, extrapolated by Aitken's rule. uncertainty:
relative, the size of that correction: a point support inside a plate converges slowly, values
from above. An earlier independent calculation (Ritz, and finite elements graded toward the point)
agrees to the digits it gave: corners 7.110884, centre 11.22787, midsides 17.8332, corners-centre
22.388.
Published, from memory: corners 7.12 15.77 15.77 19.60 38.44 44.4 (Reed, NASA TN D-3030, 1965; Cox
and Boxer 1960; Leissa, NASA SP-160); 7.111 15.770 15.770 19.596 38.432 44.370 50.377 (Ritz
literature).
A slope held at a mere point has no answer in thin-plate theory: no such case is tabulated.
"""


@dataclass(frozen=True)
class Material:
    """Stiffnesses over Dx."""

    name: str
    dy: mpf
    d1: mpf
    dk: mpf

    @property
    def stiffness(self) -> tuple[float, float, float, float]:
        """D11, D12, D22, D66 for the Ritz calculation."""
        return 1.0, float(self.d1), float(self.dy), float(self.dk)


def graphite_epoxy() -> Material:
    """Return the material named in the header."""
    ex, ey, g, nu = mpf(138), mpf("8.96"), mpf("7.1"), mpf("0.3")
    return Material("graphite-epoxy", ey / ex, nu * ey / ex, g * (1 - nu * nu * ey / ex) / ex)


def pinned(material: Material) -> list[mpf]:
    """Return the closed form for SSSS."""
    h = material.d1 + 2 * material.dk
    found = [
        pi**2 * sqrt(m**4 + 2 * h * m**2 * n**2 + material.dy * n**4)
        for m in range(1, 8)
        for n in range(1, 15)
    ]
    return sorted(found)[:MODES]


def orthotropic_rows() -> Iterator[tuple[object, ...]]:
    """Yield the rows of the orthotropic table."""
    generic = Material("generic", mpf("0.1"), mpf("0.03"), mpf("0.05"))
    carbon = graphite_epoxy()
    cases = [(generic, "SSSS"), *((carbon, edges) for edges in ("SSSS", "CCCC", "FFFF", "CFFF"))]
    for material, edges in cases:
        label = (
            material.name,
            edges,
            *(digits(d, 15) for d in (material.dy, material.d1, material.dk)),
        )
        values, errors = plate_ritz.limit(
            edges, aspect=1.0, count=MODES, stiffness=material.stiffness
        )
        if edges == "SSSS":
            exact = pinned(material)
            if max(abs(values / np.array([float(lam) for lam in exact]) - 1)) > 1e-10:
                raise ValueError(f"closed form {exact} but Ritz {values}")
            for mode, lam in enumerate(exact, start=1):
                yield *label, mode, digits(lam, 14), "1e-13"
            continue
        for mode, (lam, error) in enumerate(zip(values, errors, strict=True), start=1):
            yield *label, mode, f"{lam:#.9g}", f"{error:.0e}"


SUPPORTS = {
    "corners": [(0.0, 0.0)],
    "centre": [(0.5, 0.5)],
    "corners-centre": [(0.0, 0.0), (0.5, 0.5)],
    "midsides": [(0.0, 0.5), (0.5, 0.0)],
}  # one of each kind: the symmetry class sees to the others
DEGREES = (32, 48, 72)
POINT_MODES = 12


def point_values(held: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return (lambda, uncertainty) of all four symmetry classes, in order."""
    found = []
    for parity in ((0, 0), (0, 1), (1, 0), (1, 1)):
        runs = [
            plate_ritz.frequencies(
                "FFFF", aspect=1.0, degree=degree, count=POINT_MODES, held=held, parity=parity
            )
            for degree in DEGREES
        ]
        found += zip(*plate_ritz.aitken(*runs), strict=True)
    return sorted(found)[:POINT_MODES]


def point_rows() -> Iterator[tuple[object, ...]]:
    """Yield the rows of the table of point supports."""
    for support, held in SUPPORTS.items():
        for mode, (lam, error) in enumerate(point_values(held), start=1):
            yield support, mode, f"{lam:#.8g}", f"{error:.0e}"


def main() -> None:
    """Write both tables."""
    mp.dps = 30
    columns = ("material", "edges", "dy", "d1", "dk", "mode", "lambda", "uncertainty")
    write_table("plates_orthotropic.csv", ORTHOTROPIC, columns, orthotropic_rows())
    columns = ("support", "mode", "lambda", "uncertainty")
    write_table("plates_points.csv", POINTS, columns, point_rows())


if __name__ == "__main__":
    main()
