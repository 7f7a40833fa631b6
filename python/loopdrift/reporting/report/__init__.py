"""The report of a run: one HTML page."""

from loopdrift.reporting.report.page import page, require_title, write

__all__ = ["page", "require_title", "write"]
