"""The parts of a design; each validates itself and depends on nothing above it."""
