"""A response test as files: tables, charts and a page."""

from loopdrift.reporting.response_test.page import page, write_into

__all__ = ["page", "write_into"]
