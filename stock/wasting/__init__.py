"""Waste: taking it off the record with its reason, and undoing that."""
