"""The ground: its properties, tabulated soils, and the wave of the year below the surface."""
