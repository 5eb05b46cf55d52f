"""Converters of stored items, and what is worked out again when they change."""
