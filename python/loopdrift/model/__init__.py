"""Design and run: data, and calls of the engine."""
