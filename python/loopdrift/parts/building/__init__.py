"""Buildings, and their hourly loads from the weather."""

from loopdrift.parts.building.building import Building
from loopdrift.parts.building.envelope import Opaque, Window
from loopdrift.parts.building.week import Week

__all__ = ["Building", "Opaque", "Week", "Window"]
