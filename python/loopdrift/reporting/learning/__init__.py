"""Results of a plant's log, as files: tables, charts, a page, and a section of the report."""

from loopdrift.reporting.learning.page import page, section, write_into

__all__ = ["page", "section", "write_into"]
