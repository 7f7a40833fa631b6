"""The ground: its properties, tabulated soils, and the yearly temperature wave below the surface."""
