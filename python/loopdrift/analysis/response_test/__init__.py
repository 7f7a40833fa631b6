"""Thermal response tests: the straight line in ln t, and the engine's own bore fitted, side by side."""

from loopdrift.analysis.response_test.found import FoundGround
from loopdrift.analysis.response_test.response_test import ResponseTest

__all__ = ["FoundGround", "ResponseTest"]
