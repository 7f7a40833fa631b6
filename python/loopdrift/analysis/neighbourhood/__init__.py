"""Neighbourhoods: many plants, each of which changes the ground of the others."""

from loopdrift.analysis.neighbourhood.neighbourhood import Neighbourhood
from loopdrift.analysis.neighbourhood.plant import Plant
from loopdrift.analysis.neighbourhood.result import NeighbourhoodRun

__all__ = ["Neighbourhood", "NeighbourhoodRun", "Plant"]
