"""Which mode each measured line is, and what the misfit says."""
