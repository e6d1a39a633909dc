"""A plate's functions: smooth ones, and those its supports, masses and corners call for."""
