"""A well."""
