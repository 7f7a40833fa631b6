"""From a building and its weather to hourly loads."""

from loopdrift.building.building import Building
from loopdrift.building.envelope import Opaque, Window
from loopdrift.building.week import Week

__all__ = ["Building", "Opaque", "Week", "Window"]
