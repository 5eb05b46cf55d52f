"""Money, names and text that is safe in every program. Pure."""
