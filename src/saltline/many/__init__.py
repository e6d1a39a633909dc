"""Many specimens at once: files gathered, grids of values, lots, and all of it side by side."""
