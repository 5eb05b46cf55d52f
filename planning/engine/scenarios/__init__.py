"""What would be: one more cake, a rescue, a changed plan."""
