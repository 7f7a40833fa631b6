"""A pond with coils."""
