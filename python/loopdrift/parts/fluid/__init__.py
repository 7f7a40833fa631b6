"""The fluid in the loop."""
