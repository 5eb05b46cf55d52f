"""The pages that try a change: one more cake, and what if."""
