"""Hourly weather."""
