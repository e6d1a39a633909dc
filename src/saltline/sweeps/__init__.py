"""A recorded sweep as resonances with damping."""
