"""What the building asks of the heat pump, hour by hour, and the ways to know it."""

from loopdrift.parts.loads.bills import Bill
from loopdrift.parts.loads.loads import Loads

__all__ = ["Bill", "Loads"]
