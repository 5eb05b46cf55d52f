"""The page Today: what needs a person now."""
