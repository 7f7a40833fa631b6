"""A run as one page for a client and for a file."""

from loopdrift.reporting.report.page import page, require_title, write

__all__ = ["page", "require_title", "write"]
