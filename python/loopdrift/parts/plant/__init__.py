"""Heat pump, distribution and hot water."""
