"""Shared by analyses of measurements: files of loggers, and correlated noise."""
