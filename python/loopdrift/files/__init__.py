"""What is read from and written to folders."""
