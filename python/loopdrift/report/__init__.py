"""A run as one page for a client and for a file."""

from loopdrift.report.page import page, write

__all__ = ["page", "write"]
