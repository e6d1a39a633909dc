"""How results are shown: tables for a bench, JSON and CSV for other programs."""
