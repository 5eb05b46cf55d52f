"""What is asked of a plan: one more cake, other days, other orders."""
