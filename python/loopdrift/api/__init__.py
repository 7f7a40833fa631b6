"""The face: designs, runs and sites with everything that follows from them as methods."""
