"""A scanned label leads to what it is on."""
