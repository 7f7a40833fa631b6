"""The installer's sheet: quantities, plans and a log to fill in, as a page and as tables."""

from loopdrift.reporting.sheet.page import page, write, write_into

__all__ = ["page", "write", "write_into"]
