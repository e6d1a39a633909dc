"""Writes the lists of a lot of reeds: twelve like clamped-reed.yaml, cut and measured one by one.

A scenario of our own. The cutter wears, so each reed is a little longer than the one before; reed 8
has a crack near its third antinode; and all scatter as blanks and readings do.

    python make.py
"""

import random
from pathlib import Path

PREDICTED_HZ = (26.03, 163.1, 456.4, 893.7)
SOFT = 0.985
"""The clamp and the blanks make every frequency this much lower."""

WEAR = -0.0008
"""Relative change of every frequency from reed to reed."""

BLANKS, READING = 0.0010, 0.0004
"""Relative scatter of a reed, all modes alike, and of one reading."""

CRACKED = (8, 2, 0.976)
"""Reed, mode (from 0) and what the crack makes of its frequency."""


def main() -> None:
    """Write pad-1.csv to pad-12.csv beside this file."""
    chance = random.Random(12)
    for reed in range(1, 13):
        common = SOFT * (1.0 + WEAR * reed + BLANKS * chance.gauss(0.0, 1.0))
        rows = ["frequency_hz,nodes"]
        for nodes, predicted in enumerate(PREDICTED_HZ):
            hz = predicted * common * (1.0 + READING * chance.gauss(0.0, 1.0))
            if (reed, nodes) == CRACKED[:2]:
                hz *= CRACKED[2]
            rows.append(f"{hz:.5g},{nodes}")
        file = Path(__file__).with_name(f"pad-{reed}.csv")
        file.write_text("\n".join(rows) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
