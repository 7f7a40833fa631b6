"""Design and run: data, and how the engine is called."""
