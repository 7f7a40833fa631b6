"""Independent references: published values, closed forms and plain numerical solutions.

They import nothing of loopdrift. The tests and `loopdrift verify` share them.
"""
