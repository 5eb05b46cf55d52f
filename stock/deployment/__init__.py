"""What a machine needs that serves the kitchen to others: checks, and files for it."""
