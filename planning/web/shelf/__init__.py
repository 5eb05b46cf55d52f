"""The shelf line: an item's days as one picture."""
