"""Performance tables as manufacturers print them, read into rating points in SI."""
