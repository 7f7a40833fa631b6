"""Bores."""
