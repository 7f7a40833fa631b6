"""Trenches with straight pipes or coils."""
