"""Write plates.csv: isotropic rectangular plates with classic edges, nu = 0.3."""

from collections.abc import Iterator

import levy
import numpy as np
import plate_ritz
from mpmath import mpf
from tables import digits, write_table

MODES = 8

HEADER = """
Thin (Kirchhoff) rectangular plates, nu = 0.3: lambda = omega a^2 sqrt(rho h/D), D = E
h^3/(12(1-nu^2)).
edges: ORDER left x=0, bottom y=0, right x=a, top y=b (as in Leissa 1973); C clamped, S pinned, F
free.
aspect: a/b, a along x and b along y (for CFFF a is the length of the cantilever); 0.666666666667
is 2/3.
mode counts elastic modes only, in order of frequency; a pair of equal values is a degenerate
pair.
lambda: recomputed by generate/plates.py. With the edges x=0 and x=a both S: exact Levy
determinant, mpmath at 30 digits, confirmed by Legendre-Ritz to 1e-10. Others: Legendre-Ritz at
degrees 24, 36, 54 each way, extrapolated by Aitken's rule where the error still falls (a corner
between a clamped and a free edge is singular and converges slowly).
uncertainty: relative; the size of that last correction (values lie within it, the Ritz ones
above).
The values agree within 2e-6 (1e-9 without a clamped-free corner) with an earlier independent
calculation (Ritz to degree 60, and conforming Hermite elements graded toward the corners).
leissa: the text printed in A. W. Leissa, The free vibration of rectangular plates, J. Sound Vib.
31 (1973) 257-293, FROM MEMORY (only the abstract was seen: 21 cases, 6 exact, 15 by 36-term
Ritz).
Those 15 are upper bounds, with free edges 0.03 to 1.0 % high: trust lambda, and expect to fall
below.
Misremembered or misprinted: CFFF at a/b = 0.4, mode 6: 23.731 skips the true sixth mode (it is
0.7 % above the seventh).
"""

# Printed text, from memory.
LEISSA = {
    ("SSSS", "1"): "19.7392 49.3480 49.3480 78.9568 98.6960 98.6960",
    ("SCSC", "1"): "28.9509 54.7431 69.3270 94.5853 102.2162 129.0955",
    ("SCSS", "1"): "23.6463 51.6743 58.6464 86.1345 100.2698 113.2281",
    ("SCSF", "1"): "12.6874 33.0651 41.7019 63.0148 72.3976 90.6114",
    ("SSSF", "1"): "11.6845 27.7563 41.1967 59.0655 61.8606 90.2941",
    ("SFSF", "1"): "9.6314 16.1348 36.7256 38.9450 46.7381 70.7401",
    ("CCCC", "1"): "35.992 73.413 73.413 108.27 131.64 132.24",
    ("CCCS", "1"): "31.829 63.347 71.084 100.83 116.40 130.37",
    ("CCCF", "1"): "24.020 40.039 63.493 76.761 80.713 116.80",
    ("CCSS", "1"): "27.056 60.544 60.791 92.865 114.57 114.72",
    ("CCSF", "1"): "17.615 36.046 52.065 71.194 74.349 106.28",
    ("CCFF", "1"): "6.9421 24.034 26.681 47.785 63.039 65.833",
    ("CSCF", "1"): "23.460 35.612 63.126 66.808 77.502 108.99",
    ("CSSF", "1"): "16.865 31.138 51.631 64.043 67.646 101.21",
    ("CSFF", "1"): "5.3639 19.171 24.768 43.191 53.000 64.050",
    ("CFCF", "1"): "22.272 26.529 43.664 61.466 67.549 79.904",
    ("CFSF", "1"): "15.285 20.673 39.775 49.730 56.617 77.368",
    ("CFFF", "1"): "3.4917 8.5246 21.429 27.331 31.111 54.443",
    ("SSFF", "1"): "3.3687 17.407 19.367 38.291 51.324 53.738",
    ("SFFF", "1"): "6.6480 15.023 25.492 26.126 48.711 50.849",
    ("FFFF", "1"): "13.489 19.789 24.432 35.024 35.024 61.526",
    ("CFFF", "0.4"): "3.5107 4.7861 8.1146 13.882 21.638 23.731",
    ("CFFF", "2/3"): "3.5024 6.4062 14.538 22.038 26.073 31.618",
    ("CFFF", "1.5"): "3.4772 11.676 21.618 39.492 53.876 61.994",
    ("CFFF", "2.5"): "3.4562 17.988 21.563 57.458 60.581 106.54",
    ("FFFF", "0.4"): "3.4629 5.2881 9.6220 11.437 18.793 19.100",
    ("FFFF", "2/3"): "8.9459 9.6015 20.735 22.353 25.867 29.973",
    ("FFFF", "1.5"): "20.128 21.603 46.654 50.293 58.201 67.494",
    ("FFFF", "2.5"): "21.643 33.050 60.137 71.484 117.45 119.38",
}
# Aspect ratios without a remembered print.
OTHERS = [
    ("CFFF", "0.2"), ("CFFF", "0.5"), ("CFFF", "2"), ("CFFF", "5"),
    ("SFSF", "0.4"), ("SFSF", "2/3"), ("SFSF", "1.5"), ("SFSF", "2.5"),
    ("CCCC", "0.4"), ("CCCC", "2/3"), ("CCCC", "1.5"), ("CCCC", "2.5"),
]  # fmt: skip


def aspect_ratio(text: str) -> mpf:
    """Return the number that a label such as 2/3 stands for."""
    numerator, _, denominator = text.partition("/")
    return mpf(numerator) / mpf(denominator or 1)


def is_levy(edges: str) -> bool:
    """Tell whether two opposite edges in x are pinned, so that an exact solution exists."""
    return edges[0] == edges[2] == "S"


def has_singular_corner(edges: str) -> bool:
    """Tell whether a clamped edge meets a free one."""
    return any({edges[i], edges[(i + 1) % 4]} == {"C", "F"} for i in range(4))


def exact(edges: str, aspect: mpf) -> Iterator[tuple[str, str]]:
    """Yield lambda and its uncertainty by Levy's method, checked against Ritz."""
    ritz = plate_ritz.frequencies(edges, aspect=float(aspect), degree=36, count=MODES)
    found = levy.frequencies(edges, aspect=aspect, below=1.001 * ritz[-1])[:MODES]
    if max(abs(ritz / np.array([float(lam) for lam in found]) - 1)) > 1e-10:
        raise ValueError(f"{edges}: Levy {found} but Ritz {ritz}")
    for lam in found:
        yield digits(lam, 14), "1e-13"


def approximate(edges: str, aspect: mpf) -> Iterator[tuple[str, str]]:
    """Yield lambda and its uncertainty by Ritz."""
    places = 9 if has_singular_corner(edges) else 10
    values, uncertainties = plate_ritz.limit(edges, aspect=float(aspect), count=MODES)
    for value, uncertainty in zip(values, uncertainties, strict=True):
        yield f"{value:#.{places}g}", f"{uncertainty:.0e}"


def rows() -> Iterator[tuple[object, ...]]:
    """Yield every row of the table."""
    for edges, label in [*LEISSA, *OTHERS]:
        aspect = aspect_ratio(label)
        printed = LEISSA.get((edges, label), "").split()
        printed += [""] * (MODES - len(printed))
        values = exact(edges, aspect) if is_levy(edges) else approximate(edges, aspect)
        for mode, (lam, uncertainty) in enumerate(values, start=1):
            yield edges, f"{float(aspect):.12g}", mode, lam, uncertainty, printed[mode - 1]


def main() -> None:
    """Write the table."""
    columns = ("edges", "aspect", "mode", "lambda", "uncertainty", "leissa")
    write_table("plates.csv", HEADER, columns, rows())


if __name__ == "__main__":
    main()
