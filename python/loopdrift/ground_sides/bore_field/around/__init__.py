"""The ground around the bores: its temperature, maps of it, and its layers."""
