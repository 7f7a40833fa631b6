"""Checks of an installed loopdrift against independent references."""

from loopdrift.verification.check import Check
from loopdrift.verification.checks import GROUPS

__all__ = ["GROUPS", "Check"]
